"""A sweep solves every point once, whatever interrupts it, and says what it found."""

import csv
import json
import math
import os
import signal
import subprocess
import sys
import time

import pytest
from typer.testing import CliRunner

import solver.study.sweep
from geometries.files.reading import parse_scenario
from geometries.files.sweep_reading import parse_sweep
from geometries.study.sweep import sweep_points
from solver.cli import EXIT_INPUT, EXIT_INTERRUPTED, EXIT_OUTPUT, EXIT_SOLVER, app
from solver.errors import MeshError
from solver.figures import sweep_figure
from solver.notation.numbers import counted
from solver.report.sweep_files import write_sweep
from solver.runs.checkpoint import open_journal
from solver.study.points import SolvedPoint
from solver.study.study import run_study
from solver.study.sweep import (
    SweepFailure,
    SweepRow,
    conclude_sweep,
    journal_header,
    run_sweep,
    solve_sweep,
    solved_rows,
    swept_figures,
)
from solver.variant.figure import Reading

TINY = """
title = "one board"
stackup = "2L-0.8"
loop = { kind = "next-layer", width = "2 mm", return_width = "4 mm", length = "6 mm" }
analysis = { report_frequency = "1 MHz", tolerance = "1 %" }

[sweep]
vary = [VARY]
"""
SEGMENT = """
[[variant.segment]]
name = "over bare laminate"
loop = { length = "2 mm", return_width = "1 mm" }
"""
WIDTHS = '{ key = "loop.width", from = "1 mm", to = "3 mm", steps = 5 }'
LENGTHS = '{ key = "loop.length", values = ["6 mm", "4 mm", "9 mm"] }'


def text_of(*vary):
    return TINY.replace("VARY", ", ".join(vary))


def sweep_of(*vary):
    return parse_sweep(text_of(*vary))


KEYS = ("loop_inductance", "loop_resistance", "peak_field_above", "peak_field_below", "line_moment", "loop_moment")
"""The headline figures of a section."""


HERE = {"index": -1}
"""The point that is being solved by a stand-in."""


def point_with(inductance, **values):
    readings = {key: Reading(value=values.get(key, 3.0)) for key in KEYS}
    readings["loop_inductance"] = Reading(value=inductance, uncertainty=1e-4 * inductance)
    return SolvedPoint(readings=readings, warnings=("W-SHORT-LOOP",), seconds=0.1)


def row_at(point, inductance=1e-9):
    return SweepRow(index=point.index, values=point.values, point=point_with(inductance))


def rows_of(sweep, *nanohenries):
    return [row_at(point, value * 1e-9) for point, value in zip(sweep_points(sweep), nanohenries, strict=True)]


@pytest.fixture
def calls(monkeypatch):
    """Points that were solved, in order; the solver itself is replaced by a formula."""
    solved = []

    attempt = solver.study.sweep._attempt

    def noted(case, keys, span):
        HERE["index"] = case.point.index
        return attempt(case, keys, span)

    def stand_in(scenario, keys, span):
        solved.append(HERE["index"])
        return point_with(1e-9 * (1 + HERE["index"]))

    monkeypatch.setattr(solver.study.sweep, "_attempt", noted)
    monkeypatch.setattr(solver.study.sweep, "solve_point", stand_in)
    return solved


@pytest.fixture
def board(tmp_path):
    path = tmp_path / "board.toml"
    path.write_text(text_of(WIDTHS))
    return path


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def solve(path, sweep, *, stop_after=math.inf):
    with open_journal(path, journal_header(sweep)) as journal:
        outcomes = []
        for outcome in solve_sweep(sweep, journal, workers=1):
            outcomes.append(outcome)
            if len(outcomes) == stop_after:
                break
        return [*solved_rows(journal), *(each for each in outcomes if isinstance(each, SweepFailure))]


@pytest.mark.parametrize("segment", ["", SEGMENT])
def test_a_point_has_the_numbers_of_a_comparison(segment):
    board = TINY.split("[sweep]")[0] + '[[variant]]\nname = "it"\n' + segment
    sweep = parse_sweep(f'{board}\n[sweep]\nvary = [{{ key = "loop.width", values = ["3 mm", "1 mm"] }}]')
    figures = swept_figures(sweep)
    swept = run_sweep(sweep, workers=1).rows[0].point.readings
    study = run_study(parse_scenario(board.replace("2 mm", "3 mm", 1)), workers=1)
    compared = {figure.key: study.reading("it", figure.key).value for figure in figures}
    assert {key: reading.value for key, reading in swept.items()} == pytest.approx(compared, rel=1e-9, abs=0)


def test_every_point_is_solved_in_the_order_of_the_grid(tmp_path, calls):
    rows = solve(tmp_path / "points.jsonl", sweep_of(WIDTHS, LENGTHS))
    assert calls == list(range(15))
    assert [row.values for row in rows[:4]] == [(1e-3, 6e-3), (1e-3, 4e-3), (1e-3, 9e-3), (1.5e-3, 6e-3)]


def test_what_is_finished_is_not_repeated(tmp_path, calls):
    path, sweep = tmp_path / "points.jsonl", sweep_of(WIDTHS)
    solve(path, sweep, stop_after=2)
    rows = solve(path, sweep)
    assert calls == [0, 1, 2, 3, 4]
    assert sorted(row.index for row in rows) == [0, 1, 2, 3, 4]
    assert solve(path, sweep) == rows
    assert len(calls) == 5


def test_a_point_whose_line_is_torn_is_solved_again(tmp_path, calls):
    path, sweep = tmp_path / "points.jsonl", sweep_of(WIDTHS)
    solve(path, sweep, stop_after=3)
    path.write_bytes(path.read_bytes()[:-20])
    assert len(solve(path, sweep)) == 5
    assert calls == [0, 1, 2, 2, 3, 4]


def test_a_row_is_read_back_as_it_was(tmp_path, calls):
    path, sweep = tmp_path / "points.jsonl", sweep_of(WIDTHS)
    written = solve(path, sweep)
    assert solve(path, sweep) == written


def test_a_point_that_fails_is_written_down_and_tried_again(tmp_path, calls, monkeypatch):
    path, sweep, works = tmp_path / "points.jsonl", sweep_of(WIDTHS), solver.study.sweep.solve_point

    def fails_once(scenario, keys, span):
        if HERE["index"] == 1:
            raise MeshError("region 'go' has no triangle")
        return works(scenario, keys, span)

    monkeypatch.setattr(solver.study.sweep, "solve_point", fails_once)
    result = conclude_sweep(sweep, solve(path, sweep))
    assert result.failures == (SweepFailure(index=1, values=(1.5e-3,), message="region 'go' has no triangle"),)
    assert [row.index for row in result.rows] == [0, 2, 3, 4]
    monkeypatch.setattr(solver.study.sweep, "solve_point", works)
    assert [row.index for row in conclude_sweep(sweep, solve(path, sweep)).rows] == [0, 1, 2, 3, 4]
    assert calls == [0, 2, 3, 4, 1]


def test_two_processes_give_the_numbers_of_one(tmp_path):
    sweep = sweep_of('{ key = "loop.width", values = ["1 mm", "2 mm", "3 mm"] }')
    found = []
    for workers in (1, 2):
        with open_journal(tmp_path / f"{workers}.jsonl", journal_header(sweep)) as journal:
            rows = conclude_sweep(sweep, solve_sweep(sweep, journal, workers=workers)).rows
        found.append([row.point.readings for row in rows])
    assert found[0] == found[1]


def test_growth_is_told_with_its_steepest_place():
    sweep = sweep_of(WIDTHS)
    finding = conclude_sweep(sweep, rows_of(sweep, 0.81, 1.1, 1.2, 1.28, 1.32)).finding
    assert finding == (
        "Loop inductance grows from 0.810 nH to 1.32 nH (+63 %) as loop.width goes from 1 mm to 3 mm; it changes most "
        "near 1 mm."
    )


@pytest.mark.parametrize(
    ("nanohenries", "words"),
    [
        ((5, 4, 3, 2, 1), "falls from 5.00 nH to 1.00 nH (−80 %) as loop.width goes from 1 mm to 3 mm, evenly."),
        ((5, 4.9, 2, 1.9, 1.8), "it changes most between 1.5 mm and 2 mm."),
        ((2, 2.1, 2.2, 2.3, 4), "it changes most near 3 mm."),
        ((2, 1.5, 1, 3, 4), "is least, 1.00 nH, at loop.width = 2 mm and largest, 4.00 nH, at 3 mm."),
        ((1, 1.0001, 1, 1, 1), "stays at 1.00 nH within 0.0010 nH, whatever loop.width."),
        ((1, 1.01, 1.02, 1.03, 1.04), "grows from 1.000 nH to 1.040 nH (+4.0 %)"),
    ],
)
def test_a_finding_says_how_the_inductance_goes(nanohenries, words):
    sweep = sweep_of(WIDTHS)
    assert words in conclude_sweep(sweep, rows_of(sweep, *nanohenries)).finding


def test_values_may_come_in_any_order():
    sweep = sweep_of('{ key = "loop.width", values = ["3 mm", "1 mm", "2 mm"] }')
    assert "grows from 1.00 nH to 3.00 nH (+200 %) as loop.width goes from 1 mm to 3 mm" in (
        conclude_sweep(sweep, rows_of(sweep, 3, 1, 2)).finding
    )


def test_a_grid_says_which_key_matters_more():
    sweep = sweep_of(WIDTHS, LENGTHS)
    rows = [
        row_at(point, 1e-9 * (1 + point.values[0] / 1e-2) * point.values[1] / 4e-3) for point in sweep_points(sweep)
    ]
    assert conclude_sweep(sweep, rows).finding == (
        "Loop inductance lies between 1.10 nH (loop.width 1 mm, loop.length 4 mm) and 2.92 nH (loop.width 3 mm, "
        "loop.length 9 mm). loop.length changes it by up to 125 %, loop.width by up to 18 %, the other held."
    )


def test_too_few_points_are_no_finding():
    sweep = sweep_of(WIDTHS)
    assert conclude_sweep(sweep, rows_of(sweep, 1, 2, 3, 4, 5)[:1]).finding.startswith("1 of 5 points could be solved")


def test_one_key_is_drawn_as_lines_through_every_point():
    sweep = sweep_of(WIDTHS)
    figure = sweep_figure(conclude_sweep(sweep, rows_of(sweep, 1, 2, 4, 5, 7)), "whole loop")
    assert [axes.get_title(loc="left").partition(",")[0] for axes in figure.axes] == [
        figure.title for figure in swept_figures(sweep)
    ]
    inductance, resistance, *_, last = figure.axes
    assert inductance.lines[0].get_xdata() == pytest.approx([1, 1.5, 2, 2.5, 3], rel=1e-9, abs=0)
    assert inductance.lines[0].get_ydata() == pytest.approx([1, 2, 4, 5, 7], rel=1e-9, abs=0)
    assert resistance.lines[0].get_ydata() == pytest.approx([3000] * 5, rel=1e-9, abs=0)
    assert last.get_xlabel() == "loop width, mm"


def drawn(text):
    sweep = parse_sweep(text)
    return sweep_figure(conclude_sweep(sweep, rows_of(sweep, 1, 2, 4, 5, 7)), "whole loop")


def test_a_budget_is_a_labelled_line_in_the_panel_of_its_figure_alone():
    inductance, resistance, *_ = drawn(f'{text_of(WIDTHS)}\n[budgets]\nloop_inductance = "3.5 nH"\n').axes
    assert "budget: at most 3.5 nH" in [each.get_text() for each in inductance.texts]
    assert [3.5, 3.5] in [pytest.approx(each.get_ydata(), rel=1e-12, abs=0) for each in inductance.lines]
    assert not any("budget" in each.get_text() for each in resistance.texts)


def test_a_budget_of_a_figure_in_decibels_is_set_against_the_first_point():
    *_, moment = drawn(f'{text_of(WIDTHS)}\n[budgets]\nloop_moment = "6 mm^2"\n').axes
    # Every point has 3 m²: 20 lg(6e-6/3) = -113.98 dB.
    assert moment.lines[1].get_ydata() == pytest.approx([-113.9794] * 2, rel=1e-6, abs=0)
    assert moment.get_ylim()[0] < -113.9794


def test_the_value_described_is_an_upright_line_in_every_panel_and_named_in_the_first():
    first, *others = drawn(text_of(WIDTHS)).axes
    for axes in (first, *others):
        assert axes.lines[-1].get_xdata() == pytest.approx([2, 2], rel=1e-12, abs=0)
    assert [each.get_text() for each in first.texts] == ["as described: 2 mm"]
    assert not any(axes.texts for axes in others)


def test_a_value_that_the_sweep_does_not_pass_is_not_marked():
    narrow = text_of('{ key = "loop.width", from = "0.2 mm", to = "1.8 mm", steps = 5 }')
    assert not any(axes.texts for axes in drawn(narrow).axes)


def test_two_keys_are_drawn_as_a_map_with_labelled_contours():
    sweep = sweep_of(WIDTHS, LENGTHS)
    rows = [row_at(point, 1e-9 * point.values[0] * point.values[1] / 1e-6) for point in sweep_points(sweep)]
    large = sweep_figure(conclude_sweep(sweep, rows), "whole loop").axes[0]
    labels = [float(label.get_text()) for label in large.texts]
    assert len(labels) >= 3
    for label in large.texts:
        x, y = large.transData.inverted().transform(label.get_transform().transform(label.get_position()))
        assert x * y == pytest.approx(float(label.get_text()), rel=0.1, abs=0)


def test_a_point_that_failed_leaves_a_hole_in_the_map():
    sweep = sweep_of(WIDTHS, LENGTHS)
    rows = [row_at(point, 1e-9 * (1 + point.index)) for point in sweep_points(sweep) if point.index != 7]
    large = sweep_figure(conclude_sweep(sweep, rows), "whole loop").axes[0]
    assert large.collections[0].get_array().mask.sum() == 1
    (solved,) = (line for line in large.lines if line.get_marker() == ".")
    assert len(solved.get_xdata()) == 14


def test_one_point_alone_is_not_drawn():
    sweep = sweep_of(WIDTHS)
    with pytest.raises(ValueError, match="needs at least two"):
        sweep_figure(conclude_sweep(sweep, rows_of(sweep, 1, 2, 3, 4, 5)[:1]), "whole loop")


def test_the_command_prints_the_finding_first_and_writes_everything(board, tmp_path, calls):
    done = run("sweep", board, "-o", tmp_path / "out", "--workers", "1")
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("Loop inductance grows from 1.00 nH to 5.00 nH (+400 %)")
    files = sorted(path.relative_to(tmp_path / "out").as_posix() for path in (tmp_path / "out").rglob("*.*"))
    assert files == [
        "figures/sweep.svg",
        "points.jsonl",
        "sweep.csv",
        "sweep.html",
        "sweep.json",
    ]
    with (tmp_path / "out" / "sweep.csv").open() as file:
        table = list(csv.DictReader(file))
    assert [line["loop.width [mm]"] for line in table] == ["1", "1.5", "2", "2.5", "3"]
    assert float(table[4]["loop inductance [nH]"]) == pytest.approx(5, rel=1e-9, abs=0)
    page = (tmp_path / "out" / "sweep.html").read_text(encoding="utf-8")
    assert "Loop inductance grows from 1.00 nH to 5.00 nH" in page
    assert "data:image/svg+xml;base64," in page
    assert "loop of copper with its ends" in page
    assert "W-ESTIMATE" in page


def test_json_is_for_machines(board, tmp_path, calls):
    done = run("sweep", board, "-o", tmp_path / "out", "--workers", "1", "--json")
    document = json.loads(done.stdout)
    assert document["schema"] == "copperfield-result/2"
    assert document["vary"] == [{"key": "loop.width", "unit": "m", "values": [1e-3, 1.5e-3, 2e-3, 2.5e-3, 3e-3]}]
    assert len(document["points"]) == 5
    assert document == json.loads((tmp_path / "out" / "sweep.json").read_text(encoding="utf-8"))


def test_the_command_goes_on_where_it_was_and_says_so(board, tmp_path, calls):
    run("sweep", board, "-o", tmp_path / "out", "--workers", "1")
    done = run("sweep", board, "-o", tmp_path / "out", "--workers", "1")
    assert "5 points found in" in done.stderr
    assert len(calls) == 5


def test_a_changed_scenario_is_refused_until_a_fresh_start(board, tmp_path, calls):
    run("sweep", board, "-o", tmp_path / "out", "--workers", "1")
    board.write_text(board.read_text().replace('length = "6 mm"', 'length = "7 mm"'))
    done = run("sweep", board, "-o", tmp_path / "out", "--workers", "1")
    assert done.exit_code == EXIT_OUTPUT
    assert "loop.length was 0.006, now 0.007" in done.stderr
    assert len(calls) == 5
    assert run("sweep", board, "-o", tmp_path / "out", "--workers", "1", "--fresh").exit_code == 0
    assert len(calls) == 10


def test_a_fresh_start_takes_old_results_away_at_once(board, tmp_path, calls, monkeypatch):
    run("sweep", board, "-o", tmp_path / "out", "--workers", "1")

    def interrupted(scenario, keys, span):
        raise KeyboardInterrupt

    monkeypatch.setattr(solver.study.sweep, "solve_point", interrupted)
    done = run("sweep", board, "-o", tmp_path / "out", "--workers", "1", "--fresh")
    assert done.exit_code == EXIT_INTERRUPTED
    assert "0 points kept in" in done.stderr
    assert [path.name for path in (tmp_path / "out").rglob("*.*")] == ["points.jsonl"]


def test_a_folder_with_other_files_is_refused_before_solving(board, tmp_path, calls):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "notes.txt").write_text("mine")
    done = run("sweep", board, "-o", tmp_path / "out")
    assert done.exit_code == EXIT_OUTPUT
    assert "files that are not of an earlier sweep" in done.stderr
    assert not calls


def test_a_wrong_key_is_one_message(board, tmp_path):
    board.write_text(board.read_text().replace("loop.width", "loop.widht"))
    done = run("sweep", board, "-o", tmp_path / "out")
    assert done.exit_code == EXIT_INPUT
    assert "did you mean 'width'" in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_budget_that_cannot_be_read_is_refused_before_solving(board, tmp_path, calls):
    board.write_text(f'{text_of(WIDTHS)}\n[budgets]\nloop_inductance = "3.5 mm"\n')
    done = run("sweep", board, "-o", tmp_path / "out")
    assert done.exit_code == EXIT_INPUT
    assert "budgets: loop_inductance" in done.stderr
    assert not calls


def test_points_that_fail_are_told_and_the_rest_is_kept(board, tmp_path, calls, monkeypatch):
    works = solver.study.sweep.solve_point

    def sometimes(scenario, keys, span):
        if HERE["index"] == 2:
            raise MeshError("region 'go' has no triangle")
        return works(scenario, keys, span)

    monkeypatch.setattr(solver.study.sweep, "solve_point", sometimes)
    done = run("sweep", board, "-o", tmp_path / "out", "--workers", "1")
    assert done.exit_code == EXIT_SOLVER
    assert "point 2: region 'go' has no triangle" in done.stderr
    assert "1 of 5 points could not be solved" in done.stderr
    assert "region &#39;go&#39; has no triangle" in (tmp_path / "out" / "sweep.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(("end", "code"), [(signal.SIGINT, EXIT_INTERRUPTED), (signal.SIGKILL, -signal.SIGKILL)])
def test_after_an_interruption_nothing_finished_is_repeated(tmp_path, end, code):
    path, out = tmp_path / "many.toml", tmp_path / "out"
    path.write_text(text_of(WIDTHS.replace("steps = 5", "steps = 60")))
    program = "from solver.cli import main\nif __name__ == '__main__':\n    main()\n"
    command = [sys.executable, "-c", program, "sweep", str(path), "-o", str(out), "--workers", "2"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env={**os.environ, "COLUMNS": "200"}) as process:
        deadline = time.monotonic() + 60
        while lines_of(out / "points.jsonl") < 4 and time.monotonic() < deadline:
            time.sleep(0.05)
        process.send_signal(end)
        _, said = process.communicate(timeout=120)
    assert process.returncode == code, said
    sweep = parse_sweep(path.read_text())
    with open_journal(out / "points.jsonl", journal_header(sweep)) as journal:
        kept = {row.index for row in solved_rows(journal)}
        assert 3 <= len(kept) < 60
        assert end == signal.SIGKILL or f"interrupted: {counted(len(kept), 'point')} kept" in said
        following = next(iter(solve_sweep(sweep, journal, workers=1)))
    assert following.index == min(set(range(60)) - kept)


def lines_of(path):
    return path.read_bytes().count(b"\n") if path.exists() else 0


HEARD = """
[victims.feedback]
layer = "L1"
distance = "1 mm"
width = "0.2 mm"
reference = "L2"
length = "6 mm"

[pickup]
current = "1 A"
frequency = "400 kHz"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "73.2 kohm", lower = "10 kohm" }
"""


def test_a_sweep_moves_a_victim_and_reads_what_it_hears(tmp_path):
    text = text_of('{ key = "victims.feedback.distance", values = ["1 mm", "4 mm"] }')
    # its return layer holds a plane wide enough for both places
    text = text.replace('return_width = "4 mm"', 'return_width = "30 mm"').replace("[sweep]", HEARD + "\n[sweep]")
    text = text.replace('reference = "L2"', 'reference = "return"').replace('"1 MHz"', '"100 MHz"')
    sweep = parse_sweep(text)
    result = run_sweep(sweep, workers=1)
    near, far = result.rows
    assert near.value("feedback_noise") > 3 * far.value("feedback_noise")
    write_sweep(result, tmp_path)
    assert "feedback noise [mV]" in (tmp_path / "sweep.csv").read_text(encoding="utf-8")
