"""Placements at the switching edge, on the bench, in budgets and in the deciding table: the whole loop counts once."""

import math
from dataclasses import replace

import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario
from geometries.operation.budgets import read_budgets
from geometries.operation.measurements import Measurement, RingPair
from geometries.operation.switching import Switching, SwitchingTolerance
from solver.measurement.comparison import compare_measurement
from solver.study.budget_kinds import judged
from solver.study.budgets import answer_budgets
from solver.study.results import StudyResult
from solver.study.summary import join
from solver.switching.comparison import beside_copper, compare_switching, switch_figures, variant_loop

SWITCHING = Switching(
    input_voltage=12.0,
    edge_time=1e-9,
    output_capacitance=300e-12,
    switch_resistance=1.0,
    capacitor_resistance=0.0,
    voltage_rating=20.0,
)


def test_the_loop_at_the_report_frequency_is_the_whole_loop(placed_study: StudyResult) -> None:
    """The hand-made section is off from its own circuit by a few per cent of itself, which stays as it is."""
    result = placed_study.results[0]
    section = result.circuit.impedance(1e8)[0, 0].imag / (2 * math.pi * 1e8)
    found = variant_loop(SWITCHING, result).series_impedance(1e8).imag / (2 * math.pi * 1e8)
    assert found - section == pytest.approx(result.whole_loop.inductance - result.loop_inductance, rel=1e-9, abs=0)


def test_the_stated_package_does_not_count_beside_that_of_the_placement(placed_study: StudyResult) -> None:
    large = replace(SWITCHING, package_inductance=2e-9)
    peaks = [switch_figures(each, placed_study.results[0]).peak for each in (SWITCHING, large)]
    assert peaks[1] == pytest.approx(peaks[0], rel=1e-12)


def test_losses_stay_those_of_the_section(placed_study: StudyResult) -> None:
    result = placed_study.results[0]
    bare = variant_loop(SWITCHING, replace(result, whole_loop=None)).series_impedance(1e8).real
    assert variant_loop(SWITCHING, result).series_impedance(1e8).real == pytest.approx(bare, rel=1e-12)


def test_beside_the_copper_are_capacitor_and_package(placed_study: StudyResult) -> None:
    assert beside_copper(SWITCHING, placed_study.results[0]) == pytest.approx(0.425e-9, rel=1e-12, abs=0)


def test_the_terms_uncertainty_stands_in_place_of_mesh_and_package(placed_study: StudyResult) -> None:
    wide = replace(SWITCHING, tolerance=SwitchingTolerance(package_inductance=0.3))
    comparison = compare_switching(wide, placed_study.results, placed_study.results[0].variant.name)
    assert [each.source for each in comparison.readings[0].influences] == ["terms of the whole loop"]


def test_the_peak_moves_by_the_whole_loops_uncertainty(placed_study: StudyResult) -> None:
    result = placed_study.results[0]
    more = replace(
        result.whole_loop,
        terms=tuple(
            replace(each, amount=each.amount + (result.whole_loop.uncertainty if each.name == "copper" else 0.0))
            for each in result.whole_loop.terms
        ),
    )
    nominal, moved = (switch_figures(SWITCHING, each) for each in (result, replace(result, whole_loop=more)))
    assert nominal.peak_error >= moved.peak - nominal.peak > 0


def test_the_bench_tells_the_terms_apart(placed_study: StudyResult) -> None:
    pair = RingPair(frequency=205e6, loaded_frequency=103e6, added_capacitance=900e-12)
    reading = compare_measurement(Measurement(variant="x", pair=pair), placed_study.results[0], SWITCHING, None).pair
    assert [part.name for part in reading.parts] == [
        "copper, predicted",
        "capacitor, predicted",
        "vias, predicted",
        "package, predicted",
        "not explained",
    ]
    assert sum(part.value for part in reading.parts) == pytest.approx(reading.inductance, rel=1e-12, abs=0)


def test_the_deciding_table_ranks_whole_loops(placed_study: StudyResult) -> None:
    switching = compare_switching(SWITCHING, placed_study.results, placed_study.results[0].variant.name)
    summary = join(
        placed_study.scenario,
        placed_study.results,
        placed_study.results[0].variant.name,
        switching=switching,
        emission=None,
        budgets=(),
    )
    assert summary.rows[1].inductance == pytest.approx(0.725e-9, rel=1e-12, abs=0)
    assert summary.rows[1].inductance_change == pytest.approx(-1e-9, rel=1e-12, abs=0)


def test_the_whole_loop_has_a_budget_of_its_own(placed_study: StudyResult) -> None:
    results = placed_study.results
    variants = tuple(replace(result.variant, placed=result.whole_loop.placed) for result in results)
    scenario = replace(
        placed_study.scenario,
        variants=variants,
        budgets=read_budgets({"whole_loop_inductance": "1 nH"}),
    )
    answers = answer_budgets(scenario, results)
    assert [answer.kept for answer in answers] == [False, True]
    assert answers[0].value == pytest.approx(1.725e-9, rel=1e-12, abs=0)
    assert answers[0].uncertainty == results[0].whole_loop.uncertainty


def test_without_placements_the_whole_loop_has_no_budget() -> None:
    board = 'title = "x"\nstackup = "2L-1.6"\nloop = { kind = "next-layer", width = "2 mm", length = "6 mm" }\n'
    with pytest.raises(ScenarioError, match=r"whole_loop_inductance cannot be checked.*\[placement\]"):
        judged(parse_scenario(f'{board}budgets = {{ whole_loop_inductance = "1 nH" }}\n'))
