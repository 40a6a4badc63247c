"""A small scenario through the whole chain, and what a study says about it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.files.reading import parse_scenario
from geometries.study.scenario import Segment
from solver.notation.decibels import decibels
from solver.study.study import conclude, run_study, solve_variants
from solver.variant.loop_figures import PEAKS
from solver.variant.needs import Need, Needs
from solver.variant.solve import solve_variant

TEXT = """
title = "small study"
setting = "Invented, for a test."
stackup = "4L-7628"
reference = "bare"
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }

[analysis]
frequencies = ["1 MHz"]
report_frequency = "100 MHz"

[[variant]]
name = "bare"

[[variant]]
name = "floating"
planes.L2 = { tie = "none", width = "20 mm" }

[[variant]]
name = "stitched"
planes.L2 = { tie = "both ends", width = "20 mm" }
planes.L3 = { tie = "both ends", width = "20 mm" }
"""


@pytest.fixture(scope="module")
def scenario():
    return parse_scenario(TEXT)


@pytest.fixture(scope="module")
def study(scenario):
    return run_study(scenario, workers=1)


def test_results_stand_in_the_scenarios_order(study):
    assert [result.variant.name for result in study.results] == ["bare", "floating", "stitched"]
    assert study.complete


def test_the_reference_compares_with_itself_as_zero(study):
    assert {study.change("bare", figure) for figure in study.figures} == {0.0}


def test_a_plane_lowers_inductance_and_field(study):
    bare, floating, stitched = (result.loop_inductance for result in study.results)
    assert stitched < floating < bare
    assert study.change("floating", PEAKS["above"]) < -10
    assert study.change("floating", PEAKS["below"]) < -40


def test_section_times_length_stands_beside_the_loop(study):
    result = study.results[0]
    assert result.section_inductance == pytest.approx(
        8e-3 * study.reading("bare", "inductance_per_length").value, rel=1e-12, abs=0
    )


def test_the_limits_embrace_every_frequency(study):
    for result in study.results:
        section = result.loop_inductances - (result.loop_inductance - result.section_inductance)
        assert np.all(section <= result.dc_limits[1])
        assert np.all(section >= result.perfect_limits[0])


def test_segments_add_up_each_with_its_own_section(scenario, study):
    bare, floating, _ = scenario.variants
    joined = replace(floating, segments=(Segment(name="no plane", section=bare.section, length=2e-3),))
    result = solve_variant(joined, scenario.analysis, Needs({Need.BROADBAND}))
    main, further = result.segments
    expected = study.results[1].section_inductance + study.results[0].section_inductance / 4
    assert (main.length, further.length) == (8e-3, 2e-3)
    assert result.section_inductance == pytest.approx(expected, rel=1e-9, abs=0)
    assert result.perfect_limits[0] < result.section_inductance < result.dc_limits[1]


def test_the_first_ground_layer_is_worth_all_the_second_nothing(study):
    first, second = study.results[2].benefit
    assert (first.layer, second.layer) == ("L2", "L3")
    assert first.inductance_after < 0.2 * first.inductance_before
    assert second.inductance_after == pytest.approx(second.inductance_before, rel=2e-3, abs=0)


def test_the_last_step_is_the_variant_itself(study):
    result = study.results[2]
    assert result.benefit[-1].inductance_after == pytest.approx(
        study.reading("stitched", "inductance_per_length").value, rel=1e-4, abs=0
    )


def test_a_loop_with_its_ends_says_what_it_leaves_out(study):
    assert study.results[0].warnings == ()
    assert {"W-PORTS", "W-ESTIMATE", "W-VOLTAGE"} <= {warning.code for warning in study.warnings}


def test_a_long_loop_at_a_high_frequency_is_cautioned(scenario):
    variant = replace(scenario.variants[0], length=0.1)
    warnings = solve_variant(variant, scenario.analysis, Needs()).warnings
    assert [warning.code for warning in warnings] == ["W-QUASI-STATIC"]


def test_the_decision_names_winner_gain_and_reference(study):
    start = "“stitched” has the smallest loop, 0.771 nH at 100 MHz (loop of copper with its ends)"
    assert study.decision.startswith(start)
    assert "less than “bare”" in study.decision
    assert "“floating” comes next" in study.decision


def test_layers_that_add_nothing_are_named(study):
    assert "Its ground layer L3 changes the loop by less than 0.1 %." in study.decision


def test_all_field_lines_run_over_the_same_span(study):
    spans = {(line.x[0], line.x[-1]) for result in study.results for line in result.lines}
    assert spans == {(-20e-3, 20e-3)}


def test_an_interrupted_study_keeps_what_is_solved(scenario, study):
    partial = conclude(scenario, study.results[1:])
    assert not partial.complete
    assert [result.variant.name for result in partial.results] == ["floating", "stitched"]
    assert partial.reference == "floating"


def test_processes_give_the_same_numbers(scenario, study):
    first = replace(scenario, variants=scenario.variants[:2])
    parallel = conclude(first, solve_variants(first, workers=2))
    assert parallel.readings == study.readings[:2]


def test_decibels_are_twenty_times_the_logarithm():
    assert decibels(0.5, 1.0, 1e-5) == pytest.approx(20 * math.log10(0.5))
