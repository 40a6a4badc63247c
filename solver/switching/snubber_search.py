"""A snubber's resistor with the least worst peak over the span of an edge, and a ring that is damped for certain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.switching.edge_peak import edge_peak, late_ring

LARGEST_QUALITY = 1.0
"""Quality factor that a snubber has to bring the ring down to (common practice: gone after about one cycle)."""

USUAL_RATIOS = (3.0, 4.0, 6.0, 9.0, 14.0, 20.0)
"""Capacitances of a snubber over that of the switch that are tried, the smallest first (common practice: 3 to 4)."""

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
"""Preferred values of a decade, IEC 60063, for capacitors."""

E24 = (
    1.0,
    1.1,
    1.2,
    1.3,
    1.5,
    1.6,
    1.8,
    2.0,
    2.2,
    2.4,
    2.7,
    3.0,
    3.3,
    3.6,
    3.9,
    4.3,
    4.7,
    5.1,
    5.6,
    6.2,
    6.8,
    7.5,
    8.2,
    9.1,
)
"""Likewise for resistors."""

_REACH = math.log(40.0)
_GRID = 81
_COARSE = 9
_SLACK = 1.1
_ACCURACY = 1e-4
_FLAT = 1e-5
"""How closely the logarithm of a resistor is found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SnubberDesign:
    """A snubber, and what it does over the span of an edge.

    Parameters
    ----------
    resistance, capacitance : float
        [ohm], [F].
    peak : float
        Largest voltage for the nominal edge [V].
    worst_peak : float
        Largest over the edge's span [V].
    step_peak : float
        For a step: whatever the edge [V].
    quality : float
        Of the ring that is left [1]; 0.5 if nothing rings.
    quality_bound : float
        What it was held under [1]: :data:`LARGEST_QUALITY`, or a tenth above the least that the capacitor allows.
    loss : float, optional
        [W]; none without a switching frequency.
    """

    resistance: float
    capacitance: float
    peak: float
    worst_peak: float
    step_peak: float
    quality: float
    quality_bound: float
    loss: float | None


def design_snubber(
    circuit: NonlinearLoop, capacitance: float, edges: Sequence[Edge], frequency: float | None = None
) -> SnubberDesign:
    """The resistor with the least worst peak over several edges among those that damp the ring.

    Parameters
    ----------
    circuit : NonlinearLoop
        Its own snubber, if it has one, is replaced.
    capacitance : float
        Of the snubber [F].
    edges : sequence of Edge
        The nominal one first, then those of its span; of one height.
    frequency : float, optional
        Switching frequency, for the loss [Hz].

    Returns
    -------
    SnubberDesign

    Notes
    -----
    Without the bound on the quality factor the search is degenerate where the edge lasts about one ring period: there
    the undamped loop peaks least, at one exact edge time.
    """
    bound, low, high = damping_resistors(circuit, capacitance, edges[0])
    found = least_peak_resistance(circuit, capacitance, edges, (low, high))
    return assess_snubber(circuit, found, capacitance, edges, frequency, bound)


def least_peak_resistance(
    circuit: NonlinearLoop, capacitance: float, edges: Sequence[Edge], span: tuple[float, float]
) -> float:
    """Resistance of a snubber within a span that has the least worst peak over several edges [ohm]."""

    def worst(logarithm: float) -> float:
        return worst_peak(with_snubber(circuit, math.exp(logarithm), capacitance), edges)

    coarse = np.linspace(math.log(span[0]), math.log(span[1]), _COARSE)
    best = int(np.argmin([worst(float(each)) for each in coarse]))
    inside = float(coarse[max(best - 1, 0)]), float(coarse[min(best + 1, _COARSE - 1)])
    found = minimize_scalar(worst, bounds=inside, method="bounded", options={"xatol": _FLAT})
    return math.exp(min(float(found.x), float(coarse[best]), key=worst))


def assess_snubber(
    circuit: NonlinearLoop,
    resistance: float,
    capacitance: float,
    edges: Sequence[Edge],
    frequency: float | None,
    bound: float = LARGEST_QUALITY,
) -> SnubberDesign:
    """What a snubber of stated values does; the parameters are those of :func:`design_snubber`."""
    built, nominal = with_snubber(circuit, resistance, capacitance), edges[0]
    return SnubberDesign(
        resistance=resistance,
        capacitance=capacitance,
        peak=edge_peak(built, nominal).voltage,
        worst_peak=worst_peak(built, edges),
        step_peak=edge_peak(built, Edge(height=nominal.height, duration=0.0)).voltage,
        quality=quality_left(built, nominal),
        quality_bound=bound,
        loss=None if frequency is None else capacitance * nominal.height**2 * frequency,
    )


def damping_resistors(circuit: NonlinearLoop, capacitance: float, edge: Edge) -> tuple[float, float, float]:
    """Bound of the quality factor, and smallest and largest resistor of a snubber that keep it [1], [ohm], [ohm].

    Looked for over a factor of 40 to both sides of the ring's impedance; where the capacitor alone damps, a tenth of
    that impedance or ten times it stand for them.
    """
    centre = math.log(circuit.linear_at(edge.height).characteristic_impedance)
    grid = np.linspace(centre - _REACH, centre + _REACH, _GRID)

    def quality(logarithm: float) -> float:
        return quality_left(with_snubber(circuit, math.exp(logarithm), capacitance), edge)

    qualities = np.array([quality(float(each)) for each in grid])
    least = int(qualities.argmin())
    bound = max(LARGEST_QUALITY, _SLACK * float(qualities[least]))
    above = np.flatnonzero(qualities > bound)
    below, over = above[above < least], above[above > least]

    def crossing(left: int) -> float:
        ends = float(grid[left]), float(grid[left + 1])
        return math.exp(float(brentq(lambda x: quality(x) - bound, *ends, xtol=_ACCURACY)))

    inside = 1 + 2 * _ACCURACY
    low = crossing(int(below[-1])) * inside if len(below) else math.exp(centre) / 10
    return bound, low, crossing(int(over[0]) - 1) / inside if len(over) else math.exp(centre) * 10


def standard_snubber(design: SnubberDesign) -> tuple[float, float]:
    """Resistance (E24) and capacitance (E12) next to a design [ohm], [F].

    Examples
    --------
    >>> f"{nearest_standard(2.13, E24):.3g}", f"{nearest_standard(640e-12, E12) * 1e12:.0f} pF"
    ('2.2', '680 pF')
    """
    return nearest_standard(design.resistance, E24), nearest_standard(design.capacitance, E12)


def nearest_standard(value: float, series: Sequence[float]) -> float:
    """Preferred value that is nearest by its ratio."""
    decade = math.floor(math.log10(value))
    known = [each * 10.0**power for power in (decade, decade + 1) for each in series]
    return float(f"{min(known, key=lambda each: abs(math.log(each / value))):.3g}")


def worst_peak(circuit: NonlinearLoop, edges: Sequence[Edge]) -> float:
    """Largest peak of several edges [V]."""
    return max(edge_peak(circuit, edge).voltage for edge in edges)


def quality_left(circuit: NonlinearLoop, edge: Edge) -> float:
    """Quality factor of the late ring [1]; 0.5 if nothing rings."""
    ring = late_ring(circuit, edge)
    return 0.5 if ring is None else ring.quality


def with_snubber(circuit: NonlinearLoop, resistance: float, capacitance: float) -> NonlinearLoop:
    """The same loop with another snubber."""
    return replace(circuit, loop=circuit.loop.with_snubber(resistance, capacitance))
