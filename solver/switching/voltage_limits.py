"""What a voltage limit asks of a loop whose switch has any capacitance: its largest inductance, its fastest edge."""

from __future__ import annotations

import math
from collections.abc import Callable

from geometries.operation.voltage_limit import VoltageLimit
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.switching.edge_peak import limit_excess
from solver.switching.limits import kept_from, kept_up_to

_STEP_OF_INDUCTANCE = 1.2
_POINTS_PER_PERIOD = 8
_ACCURACY = 1e-5
_SPAN = 1e3


def largest_inductance_within(
    circuit_of: Callable[[float], NonlinearLoop], start: float, edge: Edge, limit: VoltageLimit
) -> float:
    """Largest inductance up to which every loop keeps a voltage limit.

    Parameters
    ----------
    circuit_of : callable
        The loop with an inductance [H]: damping and recovered current may follow it.
    start : float
        Inductance from which it is followed, downwards until the limit is kept and then upwards [H].
    edge : Edge
        What drives the loop.
    limit : VoltageLimit
        With levels above the height of the edge.

    Returns
    -------
    float
        [H]; infinite if a thousand times the start still keeps the limit, zero if a thousandth does not.

    Raises
    ------
    ValueError
        If the limit is not above the height of the edge.
    """
    _require_above(limit, edge)

    def excess(inductance: float) -> float:
        return limit_excess(circuit_of(inductance), edge, limit)

    low = start
    while excess(low) > 0 or excess(low / _STEP_OF_INDUCTANCE) > 0:
        low /= 2
        if low < start / _SPAN:
            return 0.0
    return kept_up_to(excess, (low, _SPAN * start), _STEP_OF_INDUCTANCE, _ACCURACY)


def smallest_edge_within(circuit: NonlinearLoop, edge: Edge, limit: VoltageLimit) -> float:
    """Time of an edge, 0 to 100 %, from which on every slower one keeps a voltage limit [s]; zero if a step does.

    Raises ValueError as :func:`largest_inductance_within` does.
    """
    _require_above(limit, edge)

    def excess(duration: float) -> float:
        return limit_excess(circuit, Edge(height=edge.height, duration=duration), limit)

    period = 2 * math.pi / circuit.linear_at(edge.height).natural_frequency
    return kept_from(excess, period, _POINTS_PER_PERIOD, _ACCURACY)


def _require_above(limit: VoltageLimit, edge: Edge) -> None:
    if not limit.level > edge.height:
        raise ValueError(f"the limit is {limit} and the edge {edge.height:g} V high; the limit must be above it")
