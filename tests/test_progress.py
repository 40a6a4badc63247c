"""Facts about what is said while a run takes its time."""

from __future__ import annotations

import re

from solver.report.progress import finished


def test_without_a_terminal_every_finished_step_has_its_line_with_the_time_left(capsys):
    done, interrupted = finished(iter([1, 2]), lambda each: f"point {each}", what="points", total=4, found=2)
    said = capsys.readouterr().err.splitlines()
    assert (done, interrupted) == ([1, 2], False)
    assert re.fullmatch(r"solved point 1: 3 of 4 points, about \d+ s left", said[0])
    assert said[1:] == ["solved point 2: 4 of 4 points"]


def test_names_can_not_steer_the_terminal(capsys):
    finished(iter(["x"]), lambda each: "\x1b[2Jname", what="points", total=1)
    assert "\x1b" not in capsys.readouterr().err
