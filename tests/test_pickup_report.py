"""What the victims hear is shown as it was computed; made by hand, without mesh or solver."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.files.reading import parse_scenario
from geometries.operation.budgets import read_budgets
from geometries.section.victims import Run
from solver.circuit.rl_network import BroadbandModel
from solver.figures import distance_figure, figure_svg, pickup_figure, pickup_levels_figure
from solver.pickup.divider import electric_transfer, magnetic_transfer, pin_circuit
from solver.pickup.pin import PinTransfers, pin_signal, pin_sources, pin_spectrum
from solver.pickup.results import (
    BudgetDistance,
    LineReading,
    MutualCurve,
    NodeReading,
    PickupResult,
    VictimReading,
    WiderTrace,
)
from solver.report.documents import study_document
from solver.report.folder import write_report
from solver.report.html import render_report
from solver.report.pickup_part import PICKUP_PART, findings, pickup_records, pickup_section
from solver.report.plain import plain
from solver.report.summary_part import summary_table, verdict_table
from solver.section.results import CapacitanceMatrix, PotentialMap
from solver.study.budgets import check_budgets
from solver.study.figures_of_merit import figure_named, read_figures
from solver.study.study import conclude
from solver.study.summary import Summary, summarize
from solver.variant.pickup_uncertainty import combined_peak, peak_influences

SCENARIO = """
title = "bench supply"
stackup = "4L-7628"
planes.L2 = { tie = "none", width = "40 mm" }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
switch_node = { conductor = "go", length = "4 mm" }
victims.near = { layer = "L1", distance = "2 mm", width = "0.2 mm", reference = "L2", length = "8 mm" }
victims.below = { layer = "L3", distance = "2 mm", width = "0.2 mm", reference = "L2", length = "8 mm", run = "pin" }

[pickup]
current = "1 A"
frequency = "400 kHz"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
budget = "5 mV"
divider = { upper = "73.2 kohm", lower = "10 kohm", feed_forward = "22 pF" }
"""
MUTUAL = 1.4e-9


def model(mutual):
    return BroadbandModel(
        resistance=np.diag([0.3, 0.5, 0.5]),
        inductance=np.array([[1.4e-7, mutual, 1e-12], [mutual, 4e-7, 0.0], [1e-12, 0.0, 7e-7]]),
        rates=np.array([1e6]),
        weights=np.array([[0.1, 1e-9, 1e-9]]),
        band=(1e5, 3e8),
        shifts=(3e8,),
        residual=0.0,
        resistance_residual=0.0,
    )


def reading(pickup, number, mutual, distance):
    victim = pickup.victims[number - 1]
    line = LineReading(inductance=4e-7, capacitance=9e-11, impedance=66.7, effective_permittivity=3.02)
    circuit = pin_circuit(pickup.drive.divider, victim.run, line.capacitance * victim.length)
    transfers = PinTransfers(
        magnetic=magnetic_transfer(model(mutual), number, victim.length, circuit.from_emf),
        electric=electric_transfer(1e-13 * 4e-3, circuit.from_injection),
    )
    value = mutual if number == 1 else 1e-12
    return VictimReading(
        victim=victim,
        mutual_inductance=np.array([20 * value, value, value]),
        mutual_resistance=np.zeros(3),
        mutual_error=2e-13,
        mutual_bounds=(0.99 * value, 1.01 * value),
        line=line,
        node_capacitance=1e-13,
        node_capacitance_error=2e-15,
        open_peak=value * victim.length * 1e9,
        signal=pin_signal(pin_sources(pickup.drive, transfers)),
        spectrum=pin_spectrum(pin_sources(pickup.drive, transfers), 3e8),
        wider=WiderTrace(factor=4.0, mutual_ratio=1.02, capacitance_ratio=2.3),
        budget_distances=distance,
    )


def pickup_result(mutual):
    pickup = parse_scenario(SCENARIO).variants[0].pickup
    groups = pickup.section.groups
    matrix = 1e-10 * (len(groups) * np.eye(len(groups)) - 1)
    x = np.geomspace(1e-4, 1e-2, 20)
    return PickupResult(
        pickup=pickup,
        model=model(mutual),
        capacitance=CapacitanceMatrix(groups=groups, lower=matrix - 1e-13, upper=matrix + 1e-13),
        victims=(
            reading(pickup, 1, mutual, (BudgetDistance(layer="L1", distance=3.21e-3, farthest=16e-3),)),
            reading(pickup, 2, mutual, (BudgetDistance(layer="L3", distance=math.inf, farthest=16e-3),)),
        ),
        node=NodeReading(
            shares=(("return", 1e-11), ("L2", 6.3e-10)),
            total=6.4e-10,
            plate=5.8e-10,
            width=3e-3,
            length=4e-3,
            area_total=2.7e-12,
        ),
        curves=(
            MutualCurve(layer="L1", distance=x, mutual=mutual * 2e-3 / x),
            MutualCurve(layer="L3", distance=x, mutual=x),
        ),
        potential_map=PotentialMap(
            points=1e-3 * np.array([[-8.0, -4.0], [8.0, -4.0], [8.0, 4.0], [-8.0, 4.0]]),
            triangles=np.array([[0, 1, 2], [0, 2, 3]]),
            potential=np.array([0.0, 0.2, 1.0, 0.5]),
        ),
    )


@pytest.fixture(scope="module")
def heard(study):
    """Both variants of the hand-made study with victims; the second hears a tenth."""
    results = tuple(
        replace(result, pickup=pickup_result(MUTUAL * factor))
        for result, factor in zip(study.results, (1.0, 0.1), strict=True)
    )
    asked = tuple(replace(result, variant=replace(result.variant, pickup=result.pickup.pickup)) for result in results)
    return conclude(replace(study.scenario, variants=tuple(result.variant for result in asked)), asked)


def test_without_victims_there_is_no_section(study):
    assert pickup_section(study) is None
    assert "What the feedback trace picks up" not in render_report(study)


def test_every_victim_of_every_variant_has_a_row(heard):
    rows = pickup_section(heard).rows
    assert [(row.variant, row.victim) for row in rows] == [
        (result.variant.name, name) for result in heard.results for name in ("near", "below")
    ]


def test_numbers_carry_the_digits_that_their_error_allows(heard):
    assert pickup_section(heard).rows[0].mutual == "1.400 ± 0.001"


def test_the_budgets_distance_is_said_in_words(heard):
    near, below, *_ = pickup_section(heard).rows
    assert (near.distance, below.distance) == ("3.2 mm", "not within 16 mm")


def test_where_the_trace_may_go_is_said_first(heard):
    (sentence,) = PICKUP_PART.sentences(heard)
    assert sentence.startswith("Where the trace may go to keep 5.00 mV at the pin.")
    assert "“no ground”, near: L1 from 3.2 mm on" in sentence
    assert "“no ground”, below: L3 nowhere within 16 mm" in sentence


def test_a_typical_edge_makes_the_peak_uncertain_by_a_quarter(heard):
    """Edges a fifth shorter: of an emf that follows the slope of the current a quarter more."""
    result = heard.results[0]
    parts = {each.source: each.peak for each in peak_influences(None, result, result.pickup, "near")}
    assert parts["edge time"] == pytest.approx(0.25 * result.pickup.victims[0].signal.peak, rel=0.05)


def test_the_peak_is_shown_with_what_its_parts_make_together(heard):
    result, section = heard.results[0], pickup_section(heard)
    error = combined_peak(peak_influences(None, result, result.pickup, "near"))
    figure = figure_named("feedback_noise", heard.scenario, where="test")
    assert read_figures(heard.scenario, result, [figure])["feedback_noise"].uncertainty == pytest.approx(error)
    assert "±" in section.rows[0].peak
    assert [row[1] for row in section.parts if row[0].startswith("no ground, near")] == [
        "mesh error of the mutual inductance"
    ]


def test_what_is_over_the_budget_is_marked(heard):
    rows = pickup_section(heard).rows
    assert [row.over_budget for row in rows] == [True, False, False, False]


def test_findings_quantify_the_rules_of_the_trade(heard):
    said = " ".join(findings(heard))
    assert "a distance says nothing without the depth" in said
    assert "1.02 times as much magnetically, and 2.3" in said
    assert "below of no ground picks up 0.0010 pH/mm at 100 MHz" in said
    assert "2.70 pF" in said


def test_without_a_switch_node_nothing_is_said_of_it(heard):
    silent = tuple(
        replace(result, pickup=replace(result.pickup, node=None, potential_map=None)) for result in heard.results
    )
    quiet = replace(heard, results=silent)
    assert pickup_section(quiet).nodes == ()
    assert "switch node adds" not in " ".join(findings(quiet))


def test_the_document_has_everything_in_si_units(heard):
    first = plain(heard.results[0].pickup)["victims"][0]
    assert first["mutual_inductance"][1] == MUTUAL
    assert first["victim"]["run"] == Run.SENSE.value
    assert first["signal"]["mean"] == heard.results[0].pickup.victims[0].signal.mean


def test_the_document_is_json_without_infinities(heard):
    text = json.dumps(study_document(heard, "compare"), allow_nan=False)
    assert json.loads(text)["details"]["pickup"]["no ground"]["victims"][1]["budget_distances"][0]["distance"] is None


def test_the_table_file_has_a_line_per_victim_and_frequency(heard):
    assert len(list(pickup_records(heard))) == 1 + 2 * 2 * 3


def test_the_page_shows_the_section_and_escapes_names(heard):
    page = render_report(heard)
    assert "What the feedback trace picks up" in page
    assert "Nonlinear detection" in page
    assert "<script>alert(1)" not in page


def test_the_report_folder_has_pictures_and_table(heard, tmp_path):
    names = {path.relative_to(tmp_path / "out").as_posix() for path in write_report(heard, tmp_path / "out")}
    assert {"pickup.csv", "figures/pickup.svg", "figures/pickup-distance.svg", "figures/pickup-no-ground.svg"} <= names
    assert any(name.endswith(".s3p") for name in names)
    assert "fields/no-ground-potential.vtu" in names


@pytest.mark.parametrize("draw", [pickup_figure, distance_figure])
def test_pictures_of_the_study_name_every_variant(heard, draw):
    assert "no ground" in figure_svg(draw(heard))


def test_the_picture_of_a_variant_names_its_victims(heard):
    svg = figure_svg(pickup_levels_figure(heard.results[0]))
    assert "near" in svg
    assert "below" in svg


def test_a_variant_without_victims_has_no_such_picture(study):
    with pytest.raises(ValueError, match="has no victims to draw"):
        pickup_levels_figure(study.results[0])


def test_the_summary_holds_the_peak_of_the_leading_victim(heard):
    summary = heard.outcome(Summary)
    loudest = [max(victim.signal.peak for victim in result.pickup.victims) for result in heard.results]
    assert [row.value("feedback_noise") for row in summary.rows] == loudest
    assert "pick-up" in [column.name for column in summary_table(summary).columns]


def test_the_verdict_sets_the_peak_beside_that_of_the_reference(heard):
    summary = summarize(replace(heard, reference=heard.results[1].variant.name))
    table = verdict_table(summary)
    row = next(row for row in table.rows if row[0].text == "noise at the pin")
    peaks = [summary.row(name).value("feedback_noise") for name in (summary.choice, summary.reference)]
    shown = [float(cell.text.split()[0]) for cell in row[1:3]]
    assert shown == pytest.approx([peak / 1e-3 for peak in peaks], rel=0.05)


def test_the_budget_of_feedback_noise_is_set_against_the_leading_victim(heard):
    scenario = replace(heard.scenario, budgets=read_budgets({"feedback_noise": "1 V"}))
    checks = check_budgets(scenario, heard.results).checks
    assert checks[0].reading.value == max(victim.signal.peak for victim in heard.results[0].pickup.victims)
    assert checks[1].kept
