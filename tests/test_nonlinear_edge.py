import numpy as np
import pytest
from scipy.integrate import quad

from geometries.operation.capacitance import ConstantCapacitance, JunctionCapacitance
from geometries.operation.recovery import RecoveredCharge, RecoveryCurrent
from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.nonlinear_edge import NonlinearLoop, edge_maxima, nonlinear_edge
from solver.circuit.series_loop import SeriesLoop
from solver.errors import SolutionError
from solver.switching.edge_peak import edge_peak, highest_maximum, late_ring, solve_edge
from solver.switching.reading import peak_of

NANO, PICO = 1e-9, 1e-12
CELLS = ((2e-3, 20 * PICO), (30e-3, 60 * PICO), (0.2, 90 * PICO), (30.0, 50 * PICO))
PLAIN = SeriesLoop(resistance=0.3, inductance=1.2 * NANO, capacitance=300 * PICO, cells=CELLS)
SNUBBED = PLAIN.with_snubber(2.1, 900 * PICO)
EDGE = Edge(height=24.0, duration=2 * NANO)
STEP = Edge(height=24.0, duration=0.0)
CONSTANT = ConstantCapacitance(value=300 * PICO)
JUNCTION = JunctionCapacitance(zero_bias=1670 * PICO, junction_voltage=0.8, exponent=0.5)


@pytest.mark.parametrize("edge", [EDGE, STEP])
@pytest.mark.parametrize("loop", [PLAIN, SNUBBED])
def test_constant_capacitance_gives_the_closed_form(loop: SeriesLoop, edge: Edge) -> None:
    solved = nonlinear_edge(NonlinearLoop(loop=loop, capacitance=CONSTANT), edge, until=20 * NANO)
    times = np.linspace(0.0, 20 * NANO, 301)
    exact = edge_response(loop, edge)
    np.testing.assert_allclose(solved.voltage(times), exact.voltage(times), atol=1e-6 * edge.height)


@pytest.mark.parametrize("loop", [PLAIN, SNUBBED])
def test_peak_of_a_constant_capacitance_is_that_of_the_closed_form(loop: SeriesLoop) -> None:
    solved = nonlinear_edge(NonlinearLoop(loop=loop, capacitance=CONSTANT), EDGE)
    assert highest_maximum(solved.maxima, EDGE).voltage == pytest.approx(
        peak_of(edge_response(loop, EDGE)).voltage, rel=1e-6
    )


def test_cells_that_follow_the_ring_at_once_change_the_waveform_little() -> None:
    loop = SeriesLoop(resistance=0.3, inductance=1.2 * NANO, capacitance=300 * PICO, cells=(*CELLS, (0.5, 3 * PICO)))
    solved = nonlinear_edge(NonlinearLoop(loop=loop, capacitance=CONSTANT), EDGE)
    times = np.linspace(0.0, solved.end, 301)
    off = np.abs(solved.voltage(times) - edge_response(loop, EDGE).voltage(times)).max() / EDGE.height
    assert 1e-8 < off < 5e-5  # and is left out, as it is not off by nothing


def test_peak_of_a_constant_capacitance_is_taken_from_the_closed_form() -> None:
    circuit = NonlinearLoop(loop=PLAIN, capacitance=CONSTANT)
    assert edge_peak(circuit, EDGE) == peak_of(edge_response(PLAIN, EDGE))


def test_charge_on_the_switch_is_what_the_current_brought() -> None:
    circuit = NonlinearLoop(loop=PLAIN, capacitance=JUNCTION)
    solved = nonlinear_edge(circuit, EDGE, until=3 * NANO)
    brought = sum(
        quad(lambda t: float(solved.current(np.array([t]))[0]), *span, epsrel=1e-9)[0]
        for span in ((0.0, 2 * NANO), (2 * NANO, 3 * NANO))
    )
    voltage = float(solved.voltage(np.array([3 * NANO]))[0])
    assert JUNCTION.charge(voltage) == pytest.approx(brought, rel=1e-7)


def test_lossless_step_gives_twice_the_charge_its_source_brings_as_energy() -> None:
    loop = SeriesLoop(resistance=0.0, inductance=1e-9, capacitance=1e-10)
    peak = edge_peak(NonlinearLoop(loop=loop, capacitance=JUNCTION), STEP).voltage
    assert JUNCTION.energy(peak) == pytest.approx(STEP.height * JUNCTION.charge(peak), rel=1e-6)


def test_all_of_the_waveforms_maxima_are_given_up_to_a_stated_end() -> None:
    solved = nonlinear_edge(NonlinearLoop(loop=PLAIN, capacitance=JUNCTION), EDGE, until=20 * NANO)
    times = np.linspace(0.0, 20 * NANO, 20001)
    values = solved.voltage(times)
    assert len(solved.maxima) == np.sum((values[1:-1] > values[:-2]) & (values[1:-1] >= values[2:]))


def test_first_maximum_after_the_edge_is_the_highest() -> None:
    circuit = NonlinearLoop(loop=PLAIN, capacitance=JUNCTION)
    short, long = nonlinear_edge(circuit, EDGE), nonlinear_edge(circuit, EDGE, until=30 * NANO)
    assert highest_maximum(short.maxima, EDGE).voltage == pytest.approx(long.maxima[:, 1].max(), rel=1e-7)


def test_step_with_recovered_charge_adds_its_energy() -> None:
    loop = SeriesLoop(resistance=0.0, inductance=1e-9, capacitance=1e-10)
    charge = 2e-9
    circuit = NonlinearLoop(loop=loop, capacitance=JUNCTION, recovery=RecoveredCharge(charge=charge))
    peak = edge_peak(circuit, STEP).voltage
    assert JUNCTION.energy(peak) == pytest.approx(STEP.height * (JUNCTION.charge(peak) + charge), rel=1e-6)


def test_charge_of_a_triangular_recovery_is_its_current() -> None:
    loop = SeriesLoop(resistance=0.0, inductance=1e-9, capacitance=1e-10)
    by_charge = NonlinearLoop(loop=loop, capacitance=JUNCTION, recovery=RecoveredCharge(charge=2e-9))
    current = (2 * 2e-9 * STEP.height / 1e-9) ** 0.5
    by_current = NonlinearLoop(loop=loop, capacitance=JUNCTION, recovery=RecoveryCurrent(current=current))
    assert edge_peak(by_charge, STEP).voltage == pytest.approx(edge_peak(by_current, STEP).voltage, rel=1e-7)


def test_voltage_is_zero_until_the_diode_has_recovered() -> None:
    circuit = NonlinearLoop(loop=PLAIN, capacitance=JUNCTION, recovery=RecoveredCharge(charge=2e-9))
    solved = nonlinear_edge(circuit, EDGE)
    assert np.all(solved.voltage(np.linspace(0.0, solved.released, 20)) == 0.0)


def test_current_that_the_loop_cannot_reach_is_an_error() -> None:
    circuit = NonlinearLoop(loop=PLAIN, capacitance=JUNCTION, recovery=RecoveryCurrent(current=1e4))
    with pytest.raises(SolutionError, match="has not recovered"):
        nonlinear_edge(circuit, EDGE)


def test_maxima_are_the_same_without_the_waveform() -> None:
    circuit = NonlinearLoop(loop=PLAIN, capacitance=JUNCTION, recovery=RecoveredCharge(charge=2e-9))
    assert np.array_equal(edge_maxima(circuit, EDGE), nonlinear_edge(circuit, EDGE).maxima)


def test_waveform_is_refused_beyond_its_end() -> None:
    solved = nonlinear_edge(NonlinearLoop(loop=PLAIN, capacitance=JUNCTION), EDGE)
    with pytest.raises(ValueError, match="is known from 0 to"):
        solved.voltage(np.array([1e-3]))


def test_late_ring_is_that_of_the_capacitance_at_the_final_voltage() -> None:
    circuit = NonlinearLoop(loop=PLAIN, capacitance=JUNCTION)
    solved = solve_edge(circuit, EDGE, until=60 * NANO)
    assert not isinstance(solved, type(edge_response(PLAIN, EDGE)))
    late = np.diff([time for time, _ in solved.maxima[-6:]])
    ring = late_ring(circuit, EDGE)
    assert ring is not None
    assert 1 / ring.frequency == pytest.approx(late.mean(), rel=1e-3)
