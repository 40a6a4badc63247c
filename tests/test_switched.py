"""Several switched loops: described in a file, solved together, shown."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario
from solver.formulas import MU_0
from solver.report.couplings_part import COUPLINGS
from solver.report.html import render_report
from solver.report.plain import plain
from solver.variant.needs import Need
from solver.variant.solve import solve_variant
from solver.variant.warnings import variant_warnings

FILE = """
title = "t"
stackup = "2L-1.6"
loop = { kind = "same-layer", width = "0.2 mm", gap = "1.8 mm", length = "10 mm" }
[analysis]
frequencies = ["100 MHz"]
tolerance = "2 %"
[switched.loop]
current = "4 A"
edge = "2 ns"
[switched.gate]
current = "1 A"
edge = "4 ns"
length = "5 mm"
trace = { layer = "L1", distance = "2 mm", width = "0.2 mm" }
return_trace = { layer = "L1", distance = "3 mm", width = "0.2 mm" }
"""


def changed(*pairs):
    text = FILE
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


def solved(text):
    scenario = parse_scenario(text)
    return solve_variant(scenario.variants[0], scenario.analysis).couplings


@pytest.fixture(scope="module")
def apart():
    return solved(FILE)


@pytest.fixture(scope="module")
def shared():
    return solved(
        changed(('return_trace = { layer = "L1", distance = "3 mm", width = "0.2 mm" }', 'reference = "return"'))
    )


def test_the_matrix_is_symmetric_and_positive(apart):
    matrix = apart.inductance_per_length
    np.testing.assert_allclose(matrix, matrix.T, rtol=1e-6)
    assert np.linalg.eigvalsh(matrix).min() > 0


def test_mutual_of_two_narrow_pairs_is_that_of_filaments(apart):
    # Middles: loop at -1 and 1 mm, gate at 3.2 and 4.2 mm. A strip w wide turns the field near it like a dipole of
    # w^2/16 per length: with w/d = 0.2/2.2 from each of four strips, 2 %.
    go, back, out, home = -1.0, 1.0, 3.2, 4.2
    expected = MU_0 / (2 * math.pi) * math.log((out - back) * (home - go) / ((out - go) * (home - back)))
    assert abs(apart.inductance_per_length[0, 1]) == pytest.approx(abs(expected), rel=0.02, abs=0)


def test_mutual_inductance_counts_the_shorter_length(apart):
    expected = abs(apart.inductance_per_length[0, 1]) * 5e-3
    assert abs(apart.inductance[0, 1]) == pytest.approx(expected, abs=0)
    assert apart.inductance[0, 0] == pytest.approx(apart.inductance_per_length[0, 0] * 10e-3, abs=0)


def test_the_edge_of_a_loop_induces_mutual_times_rate(apart):
    assert apart.voltages[0, 1] == pytest.approx(abs(apart.inductance[0, 1]) * 4 / 2e-9)
    assert apart.voltages[1, 0] == pytest.approx(abs(apart.inductance[0, 1]) * 1 / 4e-9)


def test_shared_copper_couples_far_more(apart, shared):
    assert abs(shared.inductance_per_length[0, 1]) > 5 * abs(apart.inductance_per_length[0, 1])


def test_the_document_names_every_loop(apart, study):
    first = replace(study.results[0], couplings=apart)
    (document,) = plain(COUPLINGS.details(replace(study, results=(first, *study.results[1:]))))
    assert document["names"] == ["loop", "gate"]
    assert np.array(document["edge_voltages"]).shape == (2, 2)


def test_the_page_shows_what_each_edge_induces(apart, study):
    first = replace(study.results[0], couplings=apart)
    page = render_report(replace(study, results=(first, *study.results[1:])))
    assert 'id="couplings"' in page
    assert "into gate" in page


def test_without_such_tables_there_are_none():
    text = FILE[: FILE.index("[switched.loop]")]
    assert parse_scenario(text).variants[0].switched is None


VICTIM = """
[victims.feedback]
layer = "L1"
distance = "6 mm"
width = "0.2 mm"
return_trace = { layer = "L1", distance = "7 mm", width = "0.2 mm" }
length = "8 mm"
[pickup]
current = "4 A"
frequency = "400 kHz"
rise_time = "2 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "30 kohm", lower = "10 kohm" }
"""


def test_victims_are_heard_by_every_loop():
    switched = parse_scenario(FILE + VICTIM).variants[0].switched
    assert switched.victims == (("feedback", 8e-3),)
    assert [loop.name for loop in switched.section.loops] == ["loop", "gate", "feedback"]


@pytest.fixture(scope="module")
def heard():
    scenario = parse_scenario(FILE + VICTIM)
    return solve_variant(scenario.variants[0], scenario.analysis, frozenset({Need.PICKUP, Need.COUPLINGS}))


def test_a_further_loop_is_heard_at_the_pin(heard):
    # Without feed-forward a sense run is filtered; the emf itself is what the table of couplings shows.
    (name, peak), *others = heard.pickup.victims[0].signal.further_peaks
    assert (name, others) == ("gate", [])
    assert peak > 0


def test_the_peak_at_the_pin_holds_every_source(heard):
    signal = heard.pickup.victims[0].signal
    parts = [signal.magnetic, signal.electric, signal.further[0][1]]
    assert signal.peak == pytest.approx(np.abs(parts).sum(axis=0).max())


def test_the_spectrum_holds_every_source(heard):
    lines = heard.pickup.victims[0].spectrum
    assert np.all(lines.total >= lines.magnetic + lines.further[0][1])


def test_pick_up_and_couplings_see_the_same_mutual_inductance(heard):
    model, couplings = heard.pickup.model, heard.couplings
    loops = [each.name for each in heard.pickup.pickup.section.loops]
    gate, victim = loops.index("gate"), loops.index("feedback")
    from_pickup = model.impedance(1e8)[gate, victim].imag / (2e8 * math.pi) * 5e-3
    row, column = couplings.names.index("gate"), couplings.names.index("feedback")
    assert abs(from_pickup) == pytest.approx(abs(couplings.inductance[row, column]), rel=0.02)


def test_another_current_than_that_of_the_pick_up_is_warned_of():
    for current, warned in (("4 A", False), ("3 A", True)):
        scenario = parse_scenario(FILE + VICTIM.replace('current = "4 A"', f'current = "{current}"'))
        codes = [each.code for each in variant_warnings(scenario.variants[0], scenario.analysis)]
        assert ("W-TWO-CURRENTS" in codes) is warned


@pytest.mark.parametrize(
    ("pairs", "message"),
    [
        ([("[switched.loop]", "[switched.main]")], r"need a table for the main loop .*\[switched\.loop\]"),
        ([('length = "5 mm"', "")], "needs its length and the conductor"),
        ([('length = "5 mm"', 'length = "5 mm"\nreference = "return"')], "needs its length and the conductor"),
        ([('edge = "4 ns"', 'edge = "0 ns"')], "the edge of switched loop 'gate' is 0"),
        ([('distance = "2 mm"', 'distance = "-0.1 mm"')], "overlap|touch"),
        ([('edge = "2 ns"', 'edge = "2 ns"\nreference = "return"')], "needs its trace too"),
    ],
)
def test_what_does_not_fit_is_refused(pairs, message):
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(changed(*pairs))
