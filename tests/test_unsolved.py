"""A variant that cannot be solved is a row of its own; the others are solved, shown and written."""

import csv
import json
from dataclasses import replace

import pytest
from typer.testing import CliRunner

from geometries.files.reading import parse_scenario
from solver.cli import EXIT_SOLVER, app
from solver.errors import MeshError
from solver.study.study import attempt_variants, conclude, solve_variants
from solver.variant.needs import Needs
from solver.variant.results import UnsolvedVariant

TEXT = """
title = "one of three cannot be solved"
length = "8 mm"
[analysis]
frequencies = ["100 MHz"]
report_frequency = "100 MHz"
heights_above = ["3 mm"]
heights_below = ["3 mm"]
"""


def variant(name, top):
    strip = (
        '{{ name = "{0}", role = "{0}", shape = "rectangle", left = "{1} mm", right = "{2} mm", '
        'bottom = "0 mm", top = "{3}" }}'
    )
    regions = f"{strip.format('go', 0, 3, top)}, {strip.format('return', 4, 7, '0.035 mm')}"
    return f'[[variant]]\nname = "{name}"\nregion = [{regions}]\n'


FULL = TEXT + variant("usual", "0.035 mm") + variant("too thin", "1e-4 nm") + variant("thick", "0.07 mm")


@pytest.fixture(scope="module")
def scenario():
    return parse_scenario(FULL)


@pytest.fixture(scope="module")
def outcomes(scenario):
    return list(attempt_variants(scenario, needs=Needs(), workers=1))


def test_the_others_are_solved(outcomes):
    assert [each.name if isinstance(each, UnsolvedVariant) else each.variant.name for each in outcomes] == [
        "usual",
        "too thin",
        "thick",
    ]


def test_the_reason_names_the_variant_and_what_is_wrong(outcomes):
    assert outcomes[1].reason.startswith("variant 'too thin': region 'go' has an edge, diameter or wall of 1e-13 m")


def test_a_strict_run_ends_with_the_failure_itself(scenario):
    with pytest.raises(MeshError, match="variant 'too thin'"):
        list(solve_variants(scenario, needs=Needs(), workers=1))


def test_if_the_reference_cannot_be_solved_the_first_that_is_takes_its_place(scenario):
    swapped = replace(scenario, reference="too thin")
    assert conclude(swapped, attempt_variants(swapped, workers=1)).reference == "usual"


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    folder = tmp_path_factory.mktemp("unsolved")
    (folder / "board.toml").write_text(FULL)
    found = CliRunner().invoke(
        app, ["compare", str(folder / "board.toml"), "-o", str(folder / "out"), "--workers", "1"]
    )
    return folder / "out", found


def test_the_exit_code_says_that_one_was_not_solved(run):
    assert run[1].exit_code == EXIT_SOLVER
    assert "1 of 3 variants could not be solved" in run[1].output


def test_the_terminal_has_a_row_for_it(run):
    assert "too thin (not solved)" in " ".join(run[1].output.split())


def test_the_table_has_a_line_for_it(run):
    lines = list(csv.reader((run[0] / "comparison.csv").read_text().splitlines()))
    assert [line[0] for line in lines[1:]] == ["usual", "thick", "too thin"]
    assert lines[3][1].startswith("not solved: variant 'too thin'")


def test_the_document_names_it_with_the_reason_and_a_numbered_warning(run):
    document = json.loads((run[0] / "result.json").read_text())
    assert [each["name"] for each in document["not_solved"]] == ["too thin"]
    assert not document["complete"]
    assert "W-NOT-SOLVED" in [each["code"] for each in document["warnings"]]


def test_the_page_has_a_row_for_it(run):
    assert "too thin (not solved)" in (run[0] / "report.html").read_text()
