"""Facts about the documents for machines: one schema, and the same figures by the same keys everywhere."""

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import numpy as np
import pytest
from typer.testing import CliRunner

from geometries.files.reading import describe, parse_scenario
from geometries.files.sweep_reading import parse_sweep
from geometries.files.tolerance_reading import parse_tolerance
from geometries.operation.budgets import read_budgets
from geometries.study.read_back import read_back as read_keys
from geometries.study.sweep import sweep_points
from solver.cli import app
from solver.report.documents import check_document, inspect_document, study_document
from solver.report.parts import PARTS, shown_parts
from solver.report.plain import plain
from solver.report.schema import document_schema
from solver.report.sweep_report import sweep_document
from solver.report.tolerance_report import tolerance_document
from solver.study.budgets import check_budgets
from solver.study.figures_of_merit import every_figure
from solver.study.points import SolvedPoint
from solver.study.results import StudyResult
from solver.study.sweep import SweepRow, conclude_sweep, swept_figures
from solver.study.tolerance import run_tolerance
from solver.variant.figure import Reading

BOARD = """
title = "one board"
stackup = "2L-0.8"
loop = { kind = "next-layer", width = "2 mm", return_width = "4 mm", length = "6 mm" }
analysis = { report_frequency = "1 MHz", frequencies = ["1 MHz"], tolerance = "5 %", axisymmetric_view = false }
"""
SWEEP = '[sweep]\nvary = [{ key = "loop.width", values = ["1 mm", "2 mm"] }]\n'
TOLERANCE = '[tolerance]\nwidth = "10 %"\nsamples = 50\nfigures = ["loop_inductance"]\n'


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    schema = document_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def read_back(document: object) -> dict:
    return json.loads(json.dumps(document, allow_nan=False))


@pytest.fixture(scope="module")
def swept():
    sweep = parse_sweep(BOARD + SWEEP)
    readings = {figure.key: Reading(value=1e-9, uncertainty=1e-12) for figure in swept_figures(sweep)}
    point = SolvedPoint(readings=readings, warnings=("W-SHORT-LOOP",), seconds=0.1)
    rows = [SweepRow(index=each.index, values=each.values, point=point) for each in sweep_points(sweep)]
    return conclude_sweep(sweep, rows)


def test_a_comparison_follows_the_schema(validator, study: StudyResult) -> None:
    validator.validate(read_back(study_document(study, "compare")))


def test_a_comparison_of_placements_follows_the_schema(validator, placed_study: StudyResult) -> None:
    validator.validate(read_back(study_document(placed_study, "solve")))


def test_a_sweep_follows_the_schema(validator, swept) -> None:
    validator.validate(read_back(sweep_document(swept)))


def test_a_tolerance_study_follows_the_schema(validator) -> None:
    validator.validate(read_back(tolerance_document(run_tolerance(parse_tolerance(BOARD + TOLERANCE), workers=1))))


def test_a_check_follows_the_schema(validator, study: StudyResult) -> None:
    scenario = replace(study.scenario, budgets=read_budgets({"loop_inductance": "2 nH"}))
    validator.validate(read_back(check_document(scenario, check_budgets(scenario, study.results), study.versions)))


def test_an_inspection_follows_the_schema(validator) -> None:
    validator.validate(read_back(inspect_document(parse_scenario(BOARD), read_keys(describe(BOARD)))))


def test_the_schema_refuses_a_figure_in_another_unit(validator, study: StudyResult) -> None:
    document = read_back(study_document(study, "compare"))
    document["variants"][0]["figures"]["loop_inductance"]["unit"] = "nH"
    with pytest.raises(jsonschema.ValidationError, match="'H' was expected"):
        validator.validate(document)


def test_the_schema_refuses_a_figure_that_does_not_exist(validator, study: StudyResult) -> None:
    document = read_back(study_document(study, "compare"))
    document["variants"][0]["figures"]["loop_inductence"] = {"value": 1.0, "uncertainty": 0.0, "unit": "H"}
    with pytest.raises(jsonschema.ValidationError, match="loop_inductence"):
        validator.validate(document)


def test_the_command_prints_the_schema() -> None:
    printed = json.loads(CliRunner().invoke(app, ["schema"]).stdout)
    assert printed == document_schema()
    assert list(printed["$defs"]["figures"]["properties"]) == [figure.key for figure in every_figure()]


def test_figures_have_the_same_keys_in_comparison_and_sweep(study: StudyResult, swept) -> None:
    compared = study_document(study, "compare")["variants"][0]["figures"]
    point = sweep_document(swept)["points"][0]["figures"]
    assert set(point) <= set(compared)
    assert {key: each["unit"] for key, each in point.items()} == {key: compared[key]["unit"] for key in point}


def test_parts_have_keys_of_their_own() -> None:
    assert len({part.key for part in PARTS}) == len(PARTS)


def test_a_part_is_shown_only_where_it_has_something_to_show(study: StudyResult, placed_study: StudyResult) -> None:
    bare, placed = ({part.key for part in shown_parts(each)} for each in (study, placed_study))
    assert "emission" not in bare
    assert placed - bare == {"whole-loop"}


def test_a_plain_value_has_no_number_that_json_lacks() -> None:
    assert plain({"a": np.array([1.0, np.nan]), "b": np.float64(np.inf)}) == {"a": [1.0, None], "b": None}


def test_a_complex_number_is_written_in_its_parts() -> None:
    assert plain(np.array([1 + 2j])) == {"real": [1.0], "imag": [2.0]}


def test_what_has_no_plain_form_is_refused() -> None:
    with pytest.raises(TypeError, match="object has no plain form"):
        plain(object())
