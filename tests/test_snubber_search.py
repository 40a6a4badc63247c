import math

import pytest

from geometries.operation.capacitance import ConstantCapacitance, JunctionCapacitance
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import SeriesLoop
from solver.switching.edge_peak import edge_peak
from solver.switching.snubber_search import (
    E12,
    E24,
    USUAL_RATIOS,
    assess_snubber,
    damping_resistors,
    design_snubber,
    nearest_standard,
    quality_left,
    with_snubber,
    worst_peak,
)

CAPACITANCE = 120e-12
INDUCTANCE = 1 / ((2 * math.pi * 178e6) ** 2 * CAPACITANCE)
EDGES = [Edge(height=100.0, duration=time * 1e-9) for time in (5.6, 5.0, 5.5, 6.0, 6.5, 7.0)]


def ringing(quality: float) -> NonlinearLoop:
    """One period of the ring lasts as long as the edge."""
    resistance = math.sqrt(INDUCTANCE / CAPACITANCE) / quality
    loop = SeriesLoop(resistance=resistance, inductance=INDUCTANCE, capacitance=CAPACITANCE)
    return NonlinearLoop(loop=loop, capacitance=ConstantCapacitance(value=CAPACITANCE))


@pytest.mark.parametrize("quality", [7.2, 12.0, 20.0])
def test_snubber_for_an_edge_of_one_ring_period_damps_and_lowers_the_worst_peak(quality: float) -> None:
    circuit = ringing(quality)
    usual = [design_snubber(circuit, ratio * CAPACITANCE, EDGES) for ratio in USUAL_RATIOS]
    design = min(usual, key=lambda each: each.worst_peak)
    built = with_snubber(circuit, design.resistance, design.capacitance)
    assert quality_left(built, EDGES[0]) <= 1.0
    assert worst_peak(built, EDGES) < worst_peak(circuit, EDGES)


def test_no_other_damping_resistor_has_a_lower_worst_peak() -> None:
    circuit, capacitance = ringing(7.2), 3 * CAPACITANCE
    design = design_snubber(circuit, capacitance, EDGES)
    _, low, high = damping_resistors(circuit, capacitance, EDGES[0])
    tried = [low * (high / low) ** (index / 60) for index in range(61)]
    best = min(worst_peak(with_snubber(circuit, each, capacitance), EDGES) for each in tried)
    assert design.worst_peak <= best * (1 + 1e-4)


def test_ends_of_the_damping_resistors_have_the_bounding_quality() -> None:
    bound, low, high = damping_resistors(ringing(7.2), 3 * CAPACITANCE, EDGES[0])
    ends = [quality_left(with_snubber(ringing(7.2), each, 3 * CAPACITANCE), EDGES[0]) for each in (low, high)]
    assert ends == pytest.approx([bound, bound], rel=1e-3)


def test_bound_of_a_capacitor_too_small_to_damp_follows_the_least_it_allows() -> None:
    bound, _, _ = damping_resistors(ringing(20.0), CAPACITANCE, EDGES[0])
    assert 2.0 < bound < 3.0


def test_resistors_of_a_loop_that_hardly_rings_lie_about_its_impedance() -> None:
    _, low, high = damping_resistors(ringing(0.8), 3 * CAPACITANCE, EDGES[0])
    impedance = math.sqrt(INDUCTANCE / CAPACITANCE)
    assert (low, high) == pytest.approx((impedance / 10, impedance * 10))


def test_peak_for_a_step_is_shown_beside_that_of_the_edge() -> None:
    design = design_snubber(ringing(7.2), 4 * CAPACITANCE, EDGES, 500e3)
    built = with_snubber(ringing(7.2), design.resistance, design.capacitance)
    assert design.step_peak == pytest.approx(edge_peak(built, Edge(height=100.0, duration=0.0)).voltage)
    assert design.peak < design.worst_peak < design.step_peak


def test_loss_is_charge_times_voltage_times_frequency() -> None:
    design = assess_snubber(ringing(7.2), 9.0, 360e-12, EDGES, 500e3)
    assert design.loss == pytest.approx(360e-12 * 100.0 * 100.0 * 500e3)


def test_snubber_of_a_junction_lowers_its_worst_peak() -> None:
    junction = JunctionCapacitance(zero_bias=CAPACITANCE * math.sqrt(126.0), junction_voltage=0.8, exponent=0.5)
    circuit = NonlinearLoop(loop=ringing(7.2).loop, capacitance=junction)
    design = design_snubber(circuit, 3 * CAPACITANCE, EDGES[:2])
    assert design.worst_peak < worst_peak(circuit, EDGES[:2])


@pytest.mark.parametrize(
    ("value", "series", "nearest"), [(2.13, E24, 2.2), (9.6, E24, 10.0), (940e-12, E12, 1e-9), (3.6e-10, E12, 3.9e-10)]
)
def test_nearest_preferred_value(value: float, series: tuple[float, ...], nearest: float) -> None:
    assert nearest_standard(value, series) == pytest.approx(nearest)
