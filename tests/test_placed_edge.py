"""Placements at the switching edge, on the bench, in budgets and in the deciding table: the whole loop counts once."""

import math
from dataclasses import replace

import pytest

from geometries.operation.budgets import read_budgets
from geometries.operation.measurements import Measurement
from geometries.operation.ring_measurement import LoadedRing, RingMeasurement
from geometries.operation.switching import Switching, SwitchingTolerance
from solver.measurement.comparison import compare_measurement
from solver.study.budgets import check_budgets
from solver.study.results import StudyResult
from solver.study.study import conclude
from solver.study.summary import Summary
from solver.switching.comparison import compare_switching
from solver.switching.figures import switch_figures
from solver.variant.edge_circuit import variant_loop
from solver.variant.edge_sources import CURVE

SWITCHING = Switching(
    input_voltage=12.0,
    edge_time=1e-9,
    output_capacitance=300e-12,
    switch_resistance=1.0,
    capacitor_resistance=0.0,
    voltage_rating=20.0,
)


def test_the_loop_at_the_report_frequency_is_the_whole_loop(placed_study: StudyResult) -> None:
    result = placed_study.results[0]
    found = variant_loop(SWITCHING, result).series_impedance(1e8).imag / (2 * math.pi * 1e8)
    assert found == pytest.approx(result.whole_loop.inductance, rel=1e-9, abs=0)


def test_the_stated_package_does_not_count_beside_that_of_the_placement(placed_study: StudyResult) -> None:
    large = replace(SWITCHING, package_inductance=2e-9)
    peaks = [switch_figures(each, placed_study.results[0]).peak.value for each in (SWITCHING, large)]
    assert peaks[1] == pytest.approx(peaks[0], rel=1e-12)


def test_losses_over_frequency_are_the_sections_in_the_proportion_of_the_whole_loops(placed_study: StudyResult) -> None:
    result = placed_study.results[0]
    bare = replace(result, whole_loop=None)
    switch = SWITCHING.series_resistance
    for frequency in (1e6, 1e8):
        whole, section = (variant_loop(SWITCHING, each).series_impedance(frequency).real for each in (result, bare))
        ratio = result.whole_loop.resistance / result.section_resistance
        assert whole - switch == pytest.approx(ratio * (section - switch), rel=1e-9)
    assert result.loop.resistance == pytest.approx(result.whole_loop.resistance, rel=1e-12)
    assert result.loop.resistance_uncertainty == result.whole_loop.resistance_uncertainty


def test_the_terms_uncertainty_stands_in_place_of_mesh_and_package(placed_study: StudyResult) -> None:
    wide = replace(SWITCHING, tolerance=SwitchingTolerance(package_inductance=0.3))
    comparison = compare_switching(wide, placed_study.results, placed_study.results[0].variant.name)
    sources = [each.source for each in comparison.readings[0].influences]
    assert sources == ["terms of the whole loop", "edge time", CURVE]


def test_the_peak_moves_by_the_whole_loops_uncertainty(placed_study: StudyResult) -> None:
    result = placed_study.results[0]
    more = replace(
        result.whole_loop,
        terms=tuple(
            replace(each, amount=each.amount + (result.whole_loop.uncertainty if each.name == "copper" else 0.0))
            for each in result.whole_loop.terms
        ),
    )
    nominal, moved = (switch_figures(SWITCHING, each).peak for each in (result, replace(result, whole_loop=more)))
    assert nominal.uncertainty >= moved.value - nominal.value > 0


def test_the_bench_tells_the_terms_apart(placed_study: StudyResult) -> None:
    ring = RingMeasurement(frequency=205e6, loaded=(LoadedRing(capacitance=900e-12, frequency=103e6),))
    reading = compare_measurement(Measurement(variant="x", ring=ring), placed_study.results[0], SWITCHING, None).pair
    assert [part.name for part in reading.parts] == [
        "copper, predicted",
        "capacitor, predicted",
        "vias, predicted",
        "package, predicted",
        "not explained",
    ]
    assert sum(part.value for part in reading.parts) == pytest.approx(reading.inductance, rel=1e-12, abs=0)


def test_the_summary_ranks_whole_loops(placed_study: StudyResult) -> None:
    summary = conclude(placed_study.scenario.asking(SWITCHING), placed_study.results).outcome(Summary)
    assert summary.rows[1].inductance == pytest.approx(0.725e-9, rel=1e-12, abs=0)
    assert summary.rows[1].changes["loop_inductance"] == pytest.approx(-1e-9, rel=1e-12, abs=0)


def test_the_budget_of_a_placement_limits_its_whole_loop(placed_study: StudyResult) -> None:
    scenario = replace(placed_study.scenario, budgets=read_budgets({"loop_inductance": "1 nH"}))
    checks = check_budgets(scenario, placed_study.results).checks
    assert [check.kept for check in checks] == [False, True]
    assert checks[0].reading.value == pytest.approx(1.725e-9, rel=1e-12, abs=0)
    assert checks[0].reading.uncertainty == placed_study.results[0].whole_loop.uncertainty
