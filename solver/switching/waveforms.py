"""Waveform of a loop after an edge, and the numbers read off it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from solver.circuit.edge_response import Edge, EdgeResponse
from solver.circuit.nonlinear_edge import NonlinearEdge, NonlinearLoop, nonlinear_edge, slow_period
from solver.switching.edge_peak import edge_peak, late_ring, solve_edge
from solver.switching.reading import SETTLED, Ring, peak_of, ring_of, settling_time
from solver.switching.results import Waveform

_PERIODS_SHOWN = 12
_POINTS, _MOST_POINTS = 1200, 20_000
_PER_PERIOD = 48
"""A ring that hardly decays is drawn with so many points a period, lest it be a polygon."""

_MOST_PERIODS = 60
_FINE = 128


def waveform(circuit: NonlinearLoop, edge: Edge) -> Waveform:
    """Waveform of a loop after an edge, and the numbers read off it."""
    solved = solve_edge(circuit, edge)
    return _linear(circuit, solved) if isinstance(solved, EdgeResponse) else _integrated(circuit, edge)


def _linear(circuit: NonlinearLoop, response: EdgeResponse) -> Waveform:
    edge, ring = response.edge, ring_of(response)
    settling = settling_time(response)
    times = _shown_times(circuit, edge, ring, settling)
    return Waveform(
        times=times,
        voltage=response.voltage(times),
        current=response.current(times),
        final=edge.height,
        peak=peak_of(response),
        ring=ring,
        settling=settling,
    )


def _integrated(circuit: NonlinearLoop, edge: Edge) -> Waveform:
    ring = late_ring(circuit, edge)
    solved = nonlinear_edge(circuit, edge, until=_end(circuit, edge, ring))
    settling = _settled(solved)
    times = np.minimum(_shown_times(circuit, edge, ring, settling), solved.end)
    return Waveform(
        times=times,
        voltage=solved.voltage(times),
        current=solved.current(times),
        final=edge.height,
        peak=edge_peak(circuit, edge),
        ring=ring,
        settling=settling,
    )


def _shown_times(circuit: NonlinearLoop, edge: Edge, ring: Ring | None, settling: float) -> NDArray[np.float64]:
    linear = circuit.linear_at(edge.height)
    period = 2 * math.pi / linear.natural_frequency if ring is None else 1 / ring.frequency
    end = max(edge.duration + _PERIODS_SHOWN * period, 1.1 * settling)
    count = min(_MOST_POINTS, max(_POINTS, math.ceil(_PER_PERIOD * end / period)))
    return np.linspace(0.0, end, count)


def _end(circuit: NonlinearLoop, edge: Edge, ring: Ring | None) -> float:
    """So late that twice the height has decayed into the band of what is settled, or sixty periods [s]."""
    period = slow_period(circuit, edge.height)
    fall = math.log(2 / SETTLED)
    decay = _PERIODS_SHOWN * period if ring is None else fall / ring.decay_rate
    return edge.duration + min(max(decay, _PERIODS_SHOWN * period), _MOST_PERIODS * period) + 2 * period


def _settled(solved: NonlinearEdge) -> float:
    """Time after which the voltage stays within 5 % of its final value [s], on straight lines between fine steps."""
    band = SETTLED * solved.edge.height
    spacing = np.diff(solved.maxima[:, 0]).min() if len(solved.maxima) > 1 else solved.end / _FINE
    times = np.linspace(0.0, solved.end, math.ceil(solved.end / spacing * _FINE) + 1)
    excess = np.abs(solved.voltage(times) - solved.edge.height) - band
    outside = np.flatnonzero(excess > 0)
    if not len(outside):
        return 0.0
    last = int(outside[-1])
    if last + 1 == len(times):
        return float(times[last])
    return float(times[last] + (times[last + 1] - times[last]) * excess[last] / (excess[last] - excess[last + 1]))
