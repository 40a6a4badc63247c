"""Facts about what is said while a run takes its time."""

from __future__ import annotations

import re

from geometries import CopperSheet, PlanLayout, Rectangle, RingPort
from solver.plan import PlanMeshSettings, solve_plan_over
from solver.report.progress import finished, tell_time_left


def test_without_a_terminal_every_finished_step_has_its_line_with_the_time_left(capsys):
    done, interrupted = finished(iter([1, 2]), lambda each: f"point {each}", what="points", total=4, found=2)
    said = capsys.readouterr().err.splitlines()
    assert (done, interrupted) == ([1, 2], False)
    assert re.fullmatch(r"solved point 1: 3 of 4 points, about \d+ s left", said[0])
    assert said[1:] == ["solved point 2: 4 of 4 points"]


def test_names_can_not_steer_the_terminal(capsys):
    finished(iter(["x"]), lambda each: "\x1b[2Jname", what="points", total=1)
    assert "\x1b" not in capsys.readouterr().err


def test_one_solution_tells_its_time_left_after_a_second(capsys, monkeypatch):
    times = iter([0.0, 0.5, 6.0])
    monkeypatch.setattr("solver.report.progress.time.monotonic", lambda: next(times))
    tell = tell_time_left("strip")
    tell(0.1)
    tell(0.75)
    assert capsys.readouterr().err == "solving strip: 75 %, about 2 s left\n"


def test_a_plan_view_tells_growing_parts_of_its_work():
    parts = []
    board = Rectangle(left=0.0, right=5e-3, bottom=0.0, top=3e-3)
    hole = Rectangle(left=1e-3, right=4e-3, bottom=1e-3, top=2e-3)
    sheet = CopperSheet(name="top", outline=board, height=0.2e-3, holes=(hole,))
    ring = RingPort(name="loop", sheet="top", inside=(2e-3, 1.5e-3))
    coarse = PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0)
    solve_plan_over(PlanLayout(name="ring", sheets=(sheet,), ports=(ring,)), (1e6, 1e8), coarse, parts.append)
    assert len(parts) == 4
    assert 0 < parts[0] < parts[1] < parts[2] < parts[3] < 1
