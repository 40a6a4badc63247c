from dataclasses import replace

import numpy as np
import pytest

from geometries.operation.capacitance import ConstantCapacitance
from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import SeriesLoop
from solver.pickup.ringing_drive import (
    PinSource,
    RingingWave,
    Transient,
    pin_parts,
    pin_times,
    ring_transients,
    straight_response,
    wave_harmonics,
)
from solver.pickup.waveform import Transfer, Trapezoid
from tests.closed_forms import harmonics, periodic_response

SHAPE = Trapezoid(height=5.0, period=2e-6, duty=0.3, rise_time=3e-9, fall_time=5e-9)
CIRCUIT = Transfer(level=0.2, slope=-3e-9, poles=np.array([-2e8, -3e6, -1e9]), residues=np.array([4e7, -1e5, 2e8]))
INDUCTOR = Transfer(level=0.0, slope=1e-9, poles=np.zeros(0), residues=np.zeros(0))
LOOP = SeriesLoop(resistance=0.4, inductance=1.2e-9, capacitance=300e-12)
RINGING = NonlinearLoop(loop=LOOP, capacitance=ConstantCapacitance(value=300e-12))
EDGE = Edge(height=24.0, duration=2e-9)


def source(wave: RingingWave, transfer: Transfer = CIRCUIT) -> PinSource:
    return PinSource(name="loop", transfer=transfer, wave=wave)


def test_answer_to_a_bare_trapezoid_is_the_exact_one() -> None:
    times, parts = pin_parts([source(RingingWave(shape=SHAPE))])
    expected = periodic_response(CIRCUIT, SHAPE, times)
    np.testing.assert_allclose(parts[0], expected, atol=1e-5 * np.abs(expected).max())


def test_harmonics_of_a_bare_trapezoid_are_the_exact_ones() -> None:
    times = pin_times([source(RingingWave(shape=SHAPE))])
    expected = harmonics(SHAPE, 300)
    np.testing.assert_allclose(wave_harmonics(times, SHAPE.values(times), 300), expected, atol=1e-5)


def test_mutual_inductance_sees_the_slope_of_the_ring() -> None:
    ring, _ = ring_transients(RINGING, EDGE)
    ends, parts = pin_parts([source(RingingWave(shape=SHAPE, rise=ring), INDUCTOR)])
    times = (ends[::2] + ends[1::2]) / 2  # of the straight pieces, within which the slope stays
    inside = (times > 4e-9) & (times < 20e-9)
    step = 1e-13
    exact = edge_response(LOOP, EDGE)
    slope = (exact.current(times[inside] + step) - exact.current(times[inside] - step)) / (2 * step)
    np.testing.assert_allclose(parts[0, ::2][inside], 1e-9 * slope, atol=2e-3 * 1e-9 * np.abs(slope).max())


def test_ring_multiplies_the_peak_that_the_bare_trapezoid_leaves() -> None:
    ring, _ = ring_transients(RINGING, EDGE)
    bare, ringing = RingingWave(shape=SHAPE), RingingWave(shape=SHAPE, rise=ring, fall=-ring)
    peaks = [np.abs(pin_parts([source(wave, INDUCTOR)])[1]).max() for wave in (bare, ringing)]
    assert peaks[1] > 2 * peaks[0]


def test_sources_add_at_the_pin() -> None:
    ring, _ = ring_transients(RINGING, EDGE)
    one, two = source(RingingWave(shape=SHAPE)), source(RingingWave(shape=SHAPE, rise=ring))
    _, parts = pin_parts([one, two])
    times, alone = pin_parts([two])
    assert parts.shape[0] == 2
    np.testing.assert_allclose(np.interp(times, pin_parts([one, two])[0], parts[1]), alone[0], atol=1e-4 * alone.max())


def test_voltage_transient_is_what_overshoots_the_straight_edge() -> None:
    _, transient = ring_transients(RINGING, EDGE)
    exact = edge_response(LOOP, EDGE).voltage(transient.times) - 24.0 * np.clip(transient.times / 2e-9, 0, 1)
    np.testing.assert_allclose(transient.values, exact, atol=1e-6 * 24.0)


def test_ring_that_wraps_round_the_period_goes_on_at_its_start() -> None:
    late = Trapezoid(height=0.0, period=1e-7, duty=0.9, rise_time=1e-9, fall_time=1e-9)
    pulse = Transient(times=np.linspace(0.0, 3e-8, 61), values=np.linspace(3.0, 0.0, 61))
    wave = RingingWave(shape=late, fall=pulse)
    assert wave.values(np.array([5e-9]))[0] == pytest.approx(1.5)


def test_ring_longer_than_the_period_adds_to_the_next_one() -> None:
    pulse = Transient(times=np.linspace(0.0, 5e-6, 51), values=np.linspace(5.0, 0.0, 51))
    wave = RingingWave(shape=replace(SHAPE, height=0.0), rise=pulse)
    assert wave.values(np.array([1e-6]))[0] == pytest.approx(4.0 + 2.0)


def test_loop_without_resistance_is_refused() -> None:
    lossless = NonlinearLoop(
        loop=SeriesLoop(resistance=0.0, inductance=1e-9, capacitance=300e-12),
        capacitance=ConstantCapacitance(value=300e-12),
    )
    with pytest.raises(ValueError, match="no resistance"):
        ring_transients(lossless, EDGE)


def test_sources_of_different_periods_are_refused() -> None:
    other = Trapezoid(height=5.0, period=1e-6, duty=0.3, rise_time=3e-9, fall_time=5e-9)
    with pytest.raises(ValueError, match="switch together"):
        pin_parts([source(RingingWave(shape=SHAPE)), source(RingingWave(shape=other))])


def test_mean_level_is_passed_on() -> None:
    times = pin_times([source(RingingWave(shape=SHAPE))])
    answer = straight_response(CIRCUIT, times, SHAPE.values(times))
    mean = float(np.trapezoid(answer, np.repeat(times, 2)[1:-1]) / SHAPE.period)
    assert mean == pytest.approx(CIRCUIT.level * SHAPE.mean, rel=1e-4)
