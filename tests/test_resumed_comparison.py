"""A comparison keeps what is solved, and goes on from there with the same numbers."""

import json
import shutil

import pytest
from typer.testing import CliRunner

from geometries.files.reading import parse_scenario
from solver.cli import EXIT_OUTPUT, EXIT_SOLVER, app
from solver.errors import ReportError, SolutionError
from solver.runs.checkpoint import Journal, open_journal
from solver.study.kept_variants import HEADER, solve_missing
from solver.study.study import attempt_variants
from solver.variant import schedule

TEXT = """
title = "resumed"
stackup = "4L-7628"
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
[analysis]
frequencies = ["100 MHz"]
heights_above = ["3 mm"]
heights_below = ["3 mm"]
tolerance = "2 %"
axisymmetric_view = false
[[variant]]
name = "bare"
[[variant]]
name = "layer"
planes.L2 = { tie = "none", width = "20 mm" }
"""
UNCHANGING = ("title", "decision", "variants", "details", "warnings", "complete")


def run(folder, *options):
    return CliRunner().invoke(
        app, ["compare", str(folder / "board.toml"), "-o", str(folder / "out"), "--workers", "1", *options]
    )


def refuse(monkeypatch, name):
    """Let one variant fail, once for all its views."""
    solve = schedule.solve_variant

    def failing(variant, *arguments):
        if variant.name == name:
            raise SolutionError(f"variant {name!r}: it fails")
        return solve(variant, *arguments)

    monkeypatch.setattr(schedule, "solve_variant", failing)


def result(folder):
    document = json.loads((folder / "out" / "result.json").read_text())
    found = {key: document[key] for key in UNCHANGING}
    for variant in found["variants"]:
        del variant["mesh"]["seconds"]
    return found


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    (folder / "board.toml").write_text(TEXT)
    assert run(folder).exit_code == 0
    return result(folder)


@pytest.fixture(scope="module")
def halved(tmp_path_factory):
    """A folder in which one of two variants could not be solved."""
    folder = tmp_path_factory.mktemp("halved")
    (folder / "board.toml").write_text(TEXT)
    with pytest.MonkeyPatch.context() as patch:
        refuse(patch, "layer")
        done = run(folder)
    assert done.exit_code == EXIT_SOLVER
    return folder


@pytest.fixture
def half(halved, tmp_path):
    shutil.copytree(halved, tmp_path / "half")
    return tmp_path / "half"


def test_what_is_solved_lies_in_the_folder_until_all_is(half):
    assert (half / "out" / "variants.jsonl").exists()
    assert not json.loads((half / "out" / "result.json").read_text())["complete"]
    assert run(half).exit_code == 0
    assert not (half / "out" / "variants.jsonl").exists()


def test_a_resumed_comparison_solves_the_rest_alone_and_has_the_same_numbers(half, whole, monkeypatch):
    refuse(monkeypatch, "bare")
    done = run(half)
    assert done.exit_code == 0
    assert "resumed: 1 of 2 variants" in done.output
    assert result(half) == whole


@pytest.mark.parametrize(("old", "new"), [("resumed", "another"), ('name = "layer"', 'name = "other"')])
def test_what_changes_no_number_of_a_kept_variant_resumes(half, monkeypatch, old, new):
    refuse(monkeypatch, "bare")
    (half / "board.toml").write_text(TEXT.replace(old, new))
    assert run(half).exit_code == 0


# The third: scan lines run as far as the widest copper of all variants.
@pytest.mark.parametrize(("old", "new"), [('"3 mm", gap', '"2.9 mm", gap'), ("2 %", "3 %"), ('"20 mm"', '"30 mm"')])
def test_a_variant_of_other_inputs_is_solved_anew(half, old, new):
    (half / "board.toml").write_text(TEXT.replace(old, new))
    done = run(half)
    assert done.exit_code == 0
    assert "resumed" not in done.output


def test_a_fresh_start_solves_all_anew(half, monkeypatch):
    refuse(monkeypatch, "bare")
    assert run(half, "--fresh").exit_code == EXIT_SOLVER


@pytest.mark.parametrize(
    ("damage", "reason"),
    [
        (lambda text: text.replace('"class": "VariantResult"', '"class": "Variant"'), "does not describe a variant"),
        (lambda text: text.replace('"report_index": 0', '"report_index": "0"'), "does not describe a variant"),
        (lambda text: text.replace('"data": "', '"data": "AAAA', 1), "does not describe a variant"),
        (lambda text: text.replace("{", "", 1), "is no journal of ours"),
        (lambda text: text.replace('"inputs"', '"inputs', 1), "line 2 is damaged"),
    ],
)
def test_a_damaged_journal_is_refused_in_one_line_and_left_alone(half, damage, reason):
    path = half / "out" / "variants.jsonl"
    path.write_text(damage(path.read_text()))
    before = path.read_bytes()
    done = run(half)
    assert done.exit_code == EXIT_OUTPUT
    assert reason in done.output
    assert "--fresh" in done.output or "another folder" in done.output
    assert path.read_bytes() == before


def test_a_disk_that_is_full_loses_no_result(tmp_path, monkeypatch):
    def full(self, record):
        raise ReportError("cannot write: no space left")

    scenario = parse_scenario(TEXT)
    solved = list(attempt_variants(scenario, workers=1))
    monkeypatch.setattr("solver.study.kept_variants.attempt_variants", lambda *_, **__: iter(solved))
    said = []
    with open_journal(tmp_path / "variants.jsonl", HEADER) as journal:
        monkeypatch.setattr(Journal, "append", full)
        found = list(solve_missing(scenario, journal, (), not_kept=said.append))
    assert found == solved
    assert [str(each) for each in said] == ["cannot write: no space left"]
