"""What a voltage limit asks of a loop: its largest inductance, its fastest edge."""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy.optimize import brentq

from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.series_loop import SeriesLoop
from solver.switching.reading import peak_of

_STEP_OF_INDUCTANCE = 1.1
_LARGEST_INDUCTANCE = 1e6
_ACCURACY = 1e-9


def peak_voltage(loop: SeriesLoop, edge: Edge) -> float:
    """Largest voltage at the switch after an edge [V]."""
    return peak_of(edge_response(loop, edge)).voltage


def largest_inductance(resistance: float, capacitance: float, edge: Edge, limit: float) -> float:
    """Largest inductance of a loop up to which every loop of constant elements keeps a voltage limit.

    Parameters
    ----------
    resistance : float
        In series [ohm].
    capacitance : float
        Of the switch [F].
    edge : Edge
        What drives the loop.
    limit : float
        Largest voltage allowed at the switch [V], above the height of the edge.

    Returns
    -------
    float
        [H]; infinite if no inductance reaches the limit.

    Raises
    ------
    ValueError
        If the limit is not above the height of the edge, or the edge is a step without resistance.

    Notes
    -----
    The overshoot without damping is at most 2/(omega T) of the height; inductances below the one that follows from this
    keep the limit for certain. From there the peak is followed upwards in steps of a tenth, and less where several
    periods of the ring fit into the edge.

    Examples
    --------
    >>> limit = largest_inductance(1.0, 300e-12, Edge(height=12.0, duration=1e-9), 16.0)
    >>> f"{limit * 1e9:.2f} nH"
    '0.91 nH'
    """
    _require_above(limit, edge)
    scale = max(edge.duration, resistance * capacitance) ** 2 / capacitance
    if scale == 0:
        raise ValueError("a step drives a loop without resistance: every inductance doubles the voltage")

    def excess(inductance: float) -> float:
        loop = SeriesLoop(resistance=resistance, inductance=inductance, capacitance=capacitance)
        return peak_voltage(loop, edge) - limit

    share = limit / edge.height - 1
    low = max((share * edge.duration / 2) ** 2 / capacitance, 1e-6 * scale)
    ratio = 1 + (_STEP_OF_INDUCTANCE - 1) / max(1.0, 1 / (math.pi * share))
    return kept_up_to(excess, (low, _LARGEST_INDUCTANCE * scale), ratio, _ACCURACY)


def kept_up_to(excess: Callable[[float], float], span: tuple[float, float], ratio: float, accuracy: float) -> float:
    """Value up to which nothing exceeds a limit, followed upwards through a span in steps of a ratio; or infinity."""
    low, end = span
    while low < end:
        high = low * ratio
        if excess(high) > 0:
            return float(brentq(excess, low, high, rtol=accuracy, xtol=accuracy * low)) if excess(low) < 0 else low
        low = high
    return math.inf


def kept_from(excess: Callable[[float], float], period: float, points: int, accuracy: float) -> float:
    """Time from which on nothing exceeds a limit, at so many points in a period; zero if nothing ever does."""
    if excess(0.0) <= 0:
        return 0.0
    late = period
    while not _kept_through(excess, late, period, points):
        late *= 2
    step = period / points
    high = late
    while high > step and excess(high - step) <= 0:
        high -= step
    low = max(0.0, high - step)
    return float(brentq(excess, low, high, xtol=accuracy * high)) if excess(high) < 0 else high


def _kept_through(excess: Callable[[float], float], late: float, period: float, points: int) -> bool:
    """Whether a limit is kept at edges through two periods from `late` on: later ones overshoot less."""
    steps = 2 * points
    return all(excess(late + 2 * period * index / steps) <= 0 for index in range(steps + 1))


def _require_above(limit: float, edge: Edge) -> None:
    if not limit > edge.height:
        raise ValueError(f"the limit is {limit:g} V; it must be above the height of the edge, {edge.height:g} V")
