"""Numbers read off an edge whose switch has any capacitance: peak, ring, time above a level."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from geometries.operation.capacitance import ConstantCapacitance
from geometries.operation.recovery import NoRecovery
from geometries.operation.voltage_limit import VoltageLimit
from solver.circuit.edge_response import Edge, EdgeResponse, edge_response
from solver.circuit.nonlinear_edge import NonlinearEdge, NonlinearLoop, edge_maxima, nonlinear_edge, slow_period
from solver.switching.reading import Peak, Ring, peak_of, ring_of

_POINTS_PER_PERIOD = 256
_MOST_PERIODS = 60


def solve_edge(circuit: NonlinearLoop, edge: Edge, *, until: float | None = None) -> EdgeResponse | NonlinearEdge:
    """Waveforms after an edge: the closed form where every element is constant and at rest, else integrated in time.

    Parameters
    ----------
    circuit : NonlinearLoop
        The loop.
    edge : Edge
        What drives it.
    until : float, optional
        Up to when they are needed [s]; by default until the highest peak.
    """
    if _has_closed_form(circuit):
        return edge_response(circuit.linear_at(edge.height), edge)
    return nonlinear_edge(circuit, edge, until=until)


@lru_cache(maxsize=2048)
def edge_peak(circuit: NonlinearLoop, edge: Edge) -> Peak:
    """Largest voltage at the switch after an edge; remembered, since budget, limit and snubbers ask for the same."""
    if _has_closed_form(circuit):
        return peak_of(edge_response(circuit.linear_at(edge.height), edge))
    return highest_maximum(edge_maxima(circuit, edge), edge)


def _has_closed_form(circuit: NonlinearLoop) -> bool:
    return isinstance(circuit.capacitance, ConstantCapacitance) and isinstance(circuit.recovery, NoRecovery)


def highest_maximum(maxima: NDArray[np.float64], edge: Edge) -> Peak:
    """Largest voltage of an integrated waveform's maxima; the final one, at infinity, if none is above it."""
    if not len(maxima) or not maxima[:, 1].max() > edge.height:
        return Peak(voltage=edge.height, time=math.inf)
    time, voltage = maxima[int(maxima[:, 1].argmax())]
    return Peak(voltage=float(voltage), time=float(time))


def late_ring(circuit: NonlinearLoop, edge: Edge) -> Ring | None:
    """The ring once it is small: of the loop with the capacitance at the final voltage."""
    return ring_of(edge_response(circuit.linear_at(edge.height), edge))


def time_above(circuit: NonlinearLoop, edge: Edge, level: float) -> float:
    """How long the voltage lies above a level after one edge, all stretches together [s].

    Read off 256 points per period, crossings interpolated on straight lines: to a thousandth of a period.

    Raises
    ------
    ValueError
        If the level is not above the final voltage, or the ring stays above it for more than sixty periods.
    """
    if not level > edge.height:
        raise ValueError(f"the level is {level:g} V; it must be above the final voltage of {edge.height:g} V")
    peak = edge_peak(circuit, edge)
    if peak.voltage <= level:
        return 0.0
    times = _times_above(circuit, edge, level, peak)
    over = solve_edge(circuit, edge, until=float(times[-1])).voltage(times) - level
    return _time_positive(times, over)


def limit_excess(circuit: NonlinearLoop, edge: Edge, limit: VoltageLimit) -> float:
    """How far an edge exceeds a limit, relative to it; negative where it keeps it [1].

    The larger of two: of the highest voltage over the highest level, and with a second level, of the time above the
    first one over the time allowed. Continuous in every element of the circuit above the first level.
    """
    voltage = edge_peak(circuit, edge).voltage
    if limit.pulse is None or voltage <= limit.level:
        return voltage / limit.level - 1
    within = time_above(circuit, edge, limit.level) / limit.pulse.time - 1
    return max(voltage / limit.pulse.level - 1, within)


def _times_above(circuit: NonlinearLoop, edge: Edge, level: float, peak: Peak) -> NDArray[np.float64]:
    """Times from zero until the ring's envelope is below a level."""
    period, ring = slow_period(circuit, edge.height), late_ring(circuit, edge)
    fall = math.log((peak.voltage - edge.height) / (level - edge.height))
    periods = 2.0 if ring is None else 2.0 + fall / (ring.decay_rate * period)
    if periods > _MOST_PERIODS:
        raise ValueError(
            f"the ring stays above {level:g} V for {periods:.0f} periods; state how it is damped, or a level further "
            f"above the final voltage of {edge.height:g} V"
        )
    end = max(peak.time, edge.duration) + periods * period
    return np.linspace(0.0, end, math.ceil(end / period * _POINTS_PER_PERIOD))


def _time_positive(times: NDArray[np.float64], values: NDArray[np.float64]) -> float:
    """Time during which values are positive, on straight lines between them."""
    first, second = values[:-1], values[1:]
    rising, falling = np.maximum(first, 0.0), np.maximum(second, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(first * second < 0, (rising + falling) / np.abs(second - first), (first + second > 0) * 1.0)
    return float(np.sum(part * np.diff(times)))
