"""Series circuit of R, L and C: step, edge, ring-down; and the bench's pair of frequencies.

Sources: any text on linear circuits (closed forms, derived anew); numbers below were computed independently from them
with a numerical integration. The waveform of the program comes from the eigenvalues of the state equations and knows
none of these closed forms.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.series_loop import SeriesLoop
from solver.formulas import ring_inductance, ring_pair_capacitance, series_ring_overshoot, series_ring_voltage
from solver.switching.limits import largest_inductance
from solver.switching.reading import peak_of, ring_of, settling_time

SERIES = "series circuit of R, L, C, step from rest"
EDGE = "series circuit of R, L, C, straight edge"
PAIR = "ring frequency with and without added capacitance"
DIGITS = "nine digits"
STEP = Edge(height=1.0, duration=0.0)
LOOP = SeriesLoop(resistance=0.4, inductance=1e-9, capacitance=500e-12)


def check(references, found: float, reference: float, item: str, unit: str, rtol: float = 1e-8) -> None:
    references.compare(
        found=found,
        reference=reference,
        rtol=rtol,
        source=SERIES,
        item=f"1 nH, 500 pF, 0.4 ohm: {item}",
        unit=unit,
        reason=DIGITS,
        mark="computed independently",
    )


def test_step_overshoots_as_the_closed_form(references) -> None:
    check(references, peak_of(edge_response(LOOP, STEP)).voltage - 1, 0.638394435, "overshoot of a step", "V/V")


def test_step_after_one_nanosecond(references) -> None:
    found = float(edge_response(LOOP, STEP).voltage(np.array([1e-9]))[0])
    check(references, found, 0.745582959, "voltage 1 ns after a step of 1 V", "V")


def test_step_after_five_nanoseconds(references) -> None:
    found = float(edge_response(LOOP, STEP).voltage(np.array([5e-9]))[0])
    check(references, found, 0.688127451, "voltage 5 ns after a step of 1 V", "V")


def test_ring_frequency_is_the_damped_one(references) -> None:
    ring = ring_of(edge_response(LOOP, STEP))
    check(references, ring.frequency / 1e6, 222.81692, "damped ring frequency", "MHz")


def test_ring_down_follows_the_closed_form_over_twenty_periods() -> None:
    times = np.linspace(0.0, 20 / 222.8e6, 400)
    closed = [series_ring_voltage(0.4, 1e-9, 500e-12, float(t)) for t in times]
    np.testing.assert_allclose(edge_response(LOOP, STEP).voltage(times), closed, rtol=0, atol=1e-11)


@pytest.mark.parametrize("damping", [0.01, 0.2, 0.6, 0.9])
def test_overshoot_at_every_damping(damping: float) -> None:
    loop = SeriesLoop(resistance=2 * damping, inductance=1.0, capacitance=1.0)
    found = peak_of(edge_response(loop, STEP)).voltage - 1
    assert found == pytest.approx(series_ring_overshoot(damping), rel=1e-9, abs=0)


def test_edge_is_the_integral_of_the_step_less_itself_later() -> None:
    """Closed form integrated by quadrature: an edge of 3 ns on the loop of 1 nH."""
    times = np.array([0.5e-9, 2e-9, 3e-9, 4.7e-9, 11e-9])
    nodes, weights = np.polynomial.legendre.leggauss(40)

    def integral(t: float) -> float:
        if t <= 0:
            return 0.0
        values = [series_ring_voltage(0.4, 1e-9, 500e-12, t * (1 + float(x)) / 2) for x in nodes]
        return t / 2 * float(np.dot(weights, values))

    expected = [12 * (integral(float(t)) - integral(float(t) - 3e-9)) / 3e-9 for t in times]
    found = edge_response(LOOP, Edge(height=12.0, duration=3e-9)).voltage(times)
    np.testing.assert_allclose(found, expected, rtol=1e-10)


def test_edge_with_skin_effect_and_snubber_against_a_numerical_integration() -> None:
    """Three cells and a snubber, by an implicit Runge-Kutta method on the circuit's own equations."""
    cells = ((2e-3, 20e-12), (30e-3, 60e-12), (0.2, 90e-12))
    loop = SeriesLoop(resistance=0.05, inductance=1.2e-9, capacitance=250e-12, cells=cells).with_snubber(2.1, 600e-12)

    def rate(t: float, state: np.ndarray) -> np.ndarray:
        current, voltage, held, *inner = state
        source = 24.0 * min(t / 2e-9, 1.0)
        drops = [r * (current - own) for (r, _), own in zip(cells, inner, strict=True)]
        leak = (voltage - held) / 2.1
        own = [drop / inductor for drop, (_, inductor) in zip(drops, cells, strict=True)]
        slope = (source - 0.05 * current - sum(drops) - voltage) / 1.2e-9
        return np.array([slope, (current - leak) / 250e-12, leak / 600e-12, *own])

    times = np.array([1e-9, 2e-9, 3.3e-9, 7e-9, 20e-9])
    done = solve_ivp(rate, (0.0, 20e-9), np.zeros(6), "Radau", t_eval=times, rtol=1e-9, atol=1e-11, max_step=5e-11)
    response = edge_response(loop, Edge(height=24.0, duration=2e-9))
    np.testing.assert_allclose(response.voltage(times), done.y[1], rtol=1e-6)
    np.testing.assert_allclose(response.current(times), done.y[0], atol=1e-5)


def test_settling_is_the_last_crossing_of_the_band() -> None:
    response = edge_response(LOOP, STEP)
    settled = settling_time(response)
    after = np.linspace(settled * (1 + 1e-9), 4 * settled, 5000)
    assert abs(response.voltage(np.array([settled]))[0] - 1) == pytest.approx(0.05, rel=1e-6)
    assert np.abs(response.voltage(after) - 1).max() < 0.05


@pytest.mark.parametrize(("inductance", "reference"), [(3.0, 19.0), (2.0, 18.0), (1.0, 16.2), (0.5, 14.4)])
def test_peak_of_a_switch_of_300_picofarads(references, inductance: float, reference: float) -> None:
    loop = SeriesLoop(resistance=1.0, inductance=inductance * 1e-9, capacitance=300e-12)
    references.compare(
        found=peak_of(edge_response(loop, Edge(height=12.0, duration=1e-9))).voltage,
        reference=reference,
        rtol=0.03,
        source=EDGE,
        item=f"12 V, 300 pF, 1 ohm, edge of 1 ns (0 to 100 %), {inductance:g} nH: peak",
        unit="V",
        reason="three digits of a design estimate",
        mark="computed independently",
    )


def test_largest_inductance_for_16_volts(references) -> None:
    found = largest_inductance(1.0, 300e-12, Edge(height=12.0, duration=1e-9), 16.0)
    references.compare(
        found=found * 1e9,
        reference=0.90,
        rtol=0.03,
        source=EDGE,
        item="12 V, 300 pF, 1 ohm, edge of 1 ns (0 to 100 %): largest inductance for a peak of 16 V",
        unit="nH",
        reason="two digits of a design estimate",
        mark="computed independently",
    )


def test_pair_of_ring_frequencies(references) -> None:
    capacitance = ring_pair_capacitance(200e6, 150e6, 470e-12)
    for found, reference, item, unit in (
        (capacitance * 1e12, 604.285714, "capacitance", "pF"),
        (ring_inductance(200e6, capacitance) * 1e9, 1.04794368, "inductance", "nH"),
    ):
        references.compare(
            found=found,
            reference=reference,
            rtol=1e-8,
            source=PAIR,
            item=f"200 MHz, 150 MHz with 470 pF: {item}",
            unit=unit,
            reason=DIGITS,
            mark="computed independently",
        )


def test_pair_of_ring_frequencies_of_a_bench(references) -> None:
    capacitance = ring_pair_capacitance(205e6, 103e6, 900e-12)
    for found, reference, item, unit in (
        (capacitance * 1e12, 300.0, "capacitance", "pF"),
        (ring_inductance(205e6, capacitance) * 1e9, 2.0, "inductance", "nH"),
    ):
        references.compare(
            found=found,
            reference=reference,
            rtol=0.015,
            source=PAIR,
            item=f"205 MHz, 103 MHz with 900 pF: {item}",
            unit=unit,
            reason="frequencies of three digits: 1 % in their ratio",
            mark="computed independently",
        )


def test_pair_gives_back_the_loop_that_rings() -> None:
    """The program's own ring with and without 900 pF, at a quality factor above 200."""
    inductance, capacitance = 2e-9, 300e-12
    rings = [
        ring_of(edge_response(SeriesLoop(resistance=0.01, inductance=inductance, capacitance=each), STEP)).frequency
        for each in (capacitance, capacitance + 900e-12)
    ]
    found = ring_pair_capacitance(*rings, 900e-12)
    assert found == pytest.approx(capacitance, rel=1e-4, abs=0)
    assert ring_inductance(rings[0], found) == pytest.approx(inductance, rel=1e-4, abs=0)
    assert math.isclose(rings[0], 1 / (2 * math.pi * math.sqrt(inductance * capacitance)), rel_tol=1e-5)
