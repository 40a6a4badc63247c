import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.errors import GeometryError, ScenarioError
from geometries.operation.capacitance import ConstantCapacitance, JunctionCapacitance
from geometries.operation.voltage_limit import Pulse, VoltageLimit, read_voltage_limit
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop, nonlinear_edge
from solver.circuit.series_loop import SeriesLoop
from solver.switching.edge_peak import edge_peak, limit_excess, time_above
from solver.switching.limits import largest_inductance
from solver.switching.voltage_limits import largest_inductance_within, smallest_edge_within

NANO, PICO = 1e-9, 1e-12
EDGE = Edge(height=24.0, duration=2 * NANO)
JUNCTION = JunctionCapacitance(zero_bias=1670 * PICO, junction_voltage=0.8, exponent=0.5)
CONSTANT = ConstantCapacitance(value=300 * PICO)


def circuit(inductance: float, capacitance: JunctionCapacitance | ConstantCapacitance = JUNCTION) -> NonlinearLoop:
    loop = SeriesLoop(resistance=0.305, inductance=inductance, capacitance=300 * PICO)
    return NonlinearLoop(loop=loop, capacitance=capacitance)


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        ("40 V", VoltageLimit(level=40.0)),
        ("24 V, 28 V for 10 ns", VoltageLimit(level=24.0, pulse=Pulse(level=28.0, time=1e-8))),
        ("0.03 kV,32V for 5ns", VoltageLimit(level=30.0, pulse=Pulse(level=32.0, time=5e-9))),
    ],
)
def test_limit_is_read(text: str, limit: VoltageLimit) -> None:
    assert read_voltage_limit(text) == limit


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("24", "no unit"),
        ("24 V, 28 V", 'write "24 V", or'),
        ("24 V, 20 V for 10 ns", "the short one is"),
        ("24 V, 28 V for 10 mm", "is not a time"),
        ("0 V", "above zero"),
        ("24 V, 28 V for 0 ns", "time of the higher level"),
    ],
)
def test_limit_that_cannot_be_meant_is_refused(text: str, message: str) -> None:
    with pytest.raises(GeometryError, match=message):
        read_voltage_limit(text)


def test_derating_lowers_both_levels() -> None:
    assert read_voltage_limit("30 V, 40 V for 5 ns").derated(0.8) == read_voltage_limit("24 V, 32 V for 5 ns")


def test_time_above_a_level_is_that_of_the_waveform() -> None:
    solved = nonlinear_edge(circuit(1.16 * NANO), EDGE, until=60 * NANO)
    times = np.linspace(0.0, 60 * NANO, 600_001)
    expected = float(np.mean(solved.voltage(times) > 30.0)) * 60 * NANO
    assert time_above(circuit(1.16 * NANO), EDGE, 30.0) == pytest.approx(expected, rel=2e-3)


def test_time_above_the_peak_is_zero() -> None:
    assert time_above(circuit(1.16 * NANO), EDGE, 60.0) == 0.0


def test_ring_that_stays_above_a_level_too_long_is_refused() -> None:
    lossless = circuit(1.16 * NANO)
    with pytest.raises(ValueError, match="state how it is damped"):
        time_above(replace(lossless, loop=replace(lossless.loop, resistance=1e-3)), EDGE, 24.1)


def test_largest_inductance_of_a_constant_capacitance_is_that_of_the_closed_form() -> None:
    found = largest_inductance_within(lambda each: circuit(each, CONSTANT), NANO, EDGE, VoltageLimit(level=40.0))
    assert found == pytest.approx(largest_inductance(0.305, 300 * PICO, EDGE, 40.0), rel=1e-5)


@pytest.mark.parametrize("limit", ["40 V", "34 V, 40 V for 1 ns"])
def test_largest_inductance_just_keeps_its_limit(limit: str) -> None:
    found = largest_inductance_within(circuit, NANO, EDGE, read_voltage_limit(limit))
    assert limit_excess(circuit(found), EDGE, read_voltage_limit(limit)) == pytest.approx(0.0, abs=1e-4)


def test_short_higher_level_allows_less_inductance_than_it_would_for_ever() -> None:
    short = largest_inductance_within(circuit, NANO, EDGE, read_voltage_limit("34 V, 40 V for 0.6 ns"))
    ever = largest_inductance_within(circuit, NANO, EDGE, read_voltage_limit("40 V"))
    never = largest_inductance_within(circuit, NANO, EDGE, read_voltage_limit("34 V"))
    assert never < short < ever


def test_largest_inductance_does_not_depend_on_where_the_search_starts() -> None:
    found = [largest_inductance_within(circuit, start, EDGE, VoltageLimit(level=40.0)) for start in (0.1e-9, 20e-9)]
    assert found[0] == pytest.approx(found[1], rel=1e-4)


def test_no_inductance_exceeds_a_limit_far_above() -> None:
    assert largest_inductance_within(circuit, NANO, EDGE, VoltageLimit(level=1e3)) == math.inf


def test_smallest_edge_just_keeps_the_limit() -> None:
    duration = smallest_edge_within(circuit(1.16 * NANO), EDGE, VoltageLimit(level=40.0))
    peak = edge_peak(circuit(1.16 * NANO), Edge(height=24.0, duration=duration)).voltage
    assert peak == pytest.approx(40.0, abs=1e-2)
    slower = [Edge(height=24.0, duration=duration * (1.001 + 0.2 * step)) for step in range(12)]
    assert max(edge_peak(circuit(1.16 * NANO), each).voltage for each in slower) <= 40.0 + 1e-2


def test_limit_below_the_edge_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above it"):
        smallest_edge_within(circuit(NANO), EDGE, VoltageLimit(level=20.0))


def test_limit_is_a_scenarios_error() -> None:
    with pytest.raises(ScenarioError):
        VoltageLimit(level=-1.0)
