"""Victims of a scenario that describes its switching edge: the ring is in what drives them."""

import numpy as np
import pytest

from geometries.files.reading import parse_scenario
from solver.variant.needs import EVERYTHING, Need
from solver.variant.solve import solve_variant

SCENARIO = """
title = "bench supply"
stackup = "4L-7628"
planes.L2 = { tie = "none", width = "40 mm" }
analysis = { frequencies = ["10 MHz", "100 MHz", "500 MHz"], report_frequency = "100 MHz", axisymmetric_view = false }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "15 mm" }

[victims.feedback]
layer = "L1"
distance = "2 mm"
width = "0.2 mm"
reference = "L2"
length = "15 mm"

[switch_node]
conductor = "return"
length = "4 mm"

[pickup]
current = "1 A"
frequency = "400 kHz"
duty = "40 %"
rise_time = "2 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "73.2 kohm", lower = "10 kohm", feed_forward = "22 pF" }

[[variant]]
name = "four layers"
"""
EDGE = """
[switching]
input_voltage = "12 V"
edge_time = "2 ns"
output_capacitance = { constant = "300 pF" }
ringing = { quality_factor = 7 }
"""
SPACING_LEFT_OUT = EVERYTHING - {Need.SPACING}


def solved(text: str, needs=SPACING_LEFT_OUT):
    scenario = parse_scenario(text)
    return solve_variant(scenario.variants[0], scenario.analysis, needs)


@pytest.fixture(scope="module")
def ringing():
    return solved(SCENARIO + EDGE)


@pytest.fixture(scope="module")
def bare():
    return solved(SCENARIO)


def test_ring_multiplies_the_magnetic_peak(ringing, bare) -> None:
    before, after = (each.pickup.victims[0].signal.magnetic_peak for each in (bare, ringing))
    assert 1.5 < after / before < 8


def test_magnetic_peak_is_the_mutual_inductance_times_the_steepest_current(ringing) -> None:
    """Of a run on the sense side the divider passes its feed-forward's part on at the edges."""
    victim = ringing.pickup.victims[0]
    step = victim.signal.times
    rise = victim.signal.magnetic[step < 40e-9]
    assert np.abs(rise).max() == pytest.approx(victim.signal.magnetic_peak, rel=1e-3)  # both edges, as sampled
    assert victim.open_peak >= victim.signal.magnetic_peak


def test_spectrum_has_a_line_at_the_ring(ringing, bare) -> None:
    with_ring, without = (each.pickup.victims[0].spectrum for each in (ringing, bare))
    ratio = with_ring.magnetic / without.magnetic
    capacitance, circuit = 300e-12, ringing.loop.inductance + 0.5e-9
    ring = 1 / (2 * np.pi * np.sqrt(capacitance * circuit))
    near = np.abs(with_ring.frequencies / ring - 1) < 0.1
    assert ratio[near].max() > 3
    assert np.median(ratio[with_ring.frequencies < 0.1 * ring]) < 1.2


def test_without_an_edge_trapezoids_alone_drive(bare) -> None:
    assert bare.pickup.ringing is False


def test_sweep_that_asks_for_pickup_alone_has_the_same_peak(ringing) -> None:
    lean = solved(SCENARIO + EDGE, frozenset({Need.PICKUP}))
    found, full = (each.pickup.victims[0].signal.peak for each in (lean, ringing))
    assert found == pytest.approx(full, rel=1e-9)
