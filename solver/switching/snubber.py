"""Resistor and capacitor across the switch: the best resistor by search, the smallest capacitor that keeps a limit."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq, minimize_scalar

from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.series_loop import SeriesLoop
from solver.switching.limits import peak_voltage
from solver.switching.reading import ring_of

USUAL_RATIO = 3.0
"""Usual capacitance of a snubber over that of the switch (common practice: 3 to 4)."""

LARGEST_RATIO = 30.0
"""Snubbers with more than so many times the switch's capacitance are not looked for: they lose more than they damp."""

_SMALLEST_RATIO = 0.05
_COARSE = 13
_REACH = math.log(20.0)
_ACCURACY = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class SnubberReading:
    """A snubber in a loop, and what it does.

    Parameters
    ----------
    purpose : str
        Why this one: stated, usual, or the smallest that keeps the limit.
    resistance, capacitance : float
        [ohm], [F].
    peak : float
        Largest voltage with it [V].
    quality : float, optional
        Quality factor of the ring that is left [1]; none if nothing rings.
    loss : float, optional
        Mean power that its resistor turns into heat [W]; none without a switching frequency.
    """

    purpose: str
    resistance: float
    capacitance: float
    peak: float
    quality: float | None
    loss: float | None


def best_resistance(loop: SeriesLoop, capacitance: float, edge: Edge) -> float:
    """Resistance of a snubber of given capacitance with which the peak is least [ohm].

    Parameters
    ----------
    loop : SeriesLoop
        Its own snubber, if it has one, is replaced.
    capacitance : float
        Of the snubber [F].
    edge : Edge
        What drives the loop.

    Returns
    -------
    float
        To four digits; if nothing overshoots over a range, a resistance within it.

    Notes
    -----
    Searched over a factor of 20 to both sides of the loop's characteristic impedance, first in coarse steps, then
    within the best one.
    """
    centre = math.log(math.sqrt(_low_frequency_inductance(loop) / loop.capacitance))

    def peak(logarithm: float) -> float:
        return peak_voltage(loop.with_snubber(math.exp(logarithm), capacitance), edge)

    step = 2 * _REACH / (_COARSE - 1)
    coarse = [centre - _REACH + step * index for index in range(_COARSE)]
    best = min(coarse, key=peak)
    found = minimize_scalar(peak, bounds=(best - step, best + step), method="bounded", options={"xatol": _ACCURACY})
    return math.exp(float(found.x))


def read_snubber(
    loop: SeriesLoop, resistance: float, capacitance: float, edge: Edge, frequency: float | None, purpose: str
) -> SnubberReading:
    """What a snubber does in a loop.

    Notes
    -----
    The loss is C V² f: half of it when the edge charges the capacitor, half when it is discharged. It holds if the
    snubber settles between edges, and does not depend on its resistor.
    """
    response = edge_response(loop.with_snubber(resistance, capacitance), edge)
    ring = ring_of(response)
    return SnubberReading(
        purpose=purpose,
        resistance=resistance,
        capacitance=capacitance,
        peak=peak_voltage(loop.with_snubber(resistance, capacitance), edge),
        quality=None if ring is None else ring.quality,
        loss=None if frequency is None else snubber_loss(capacitance, edge.height, frequency),
    )


def snubber_loss(capacitance: float, voltage: float, frequency: float) -> float:
    """Mean power lost in a snubber [W] that is charged to a voltage [V] and discharged at a frequency [Hz].

    Examples
    --------
    >>> f"{snubber_loss(900e-12, 12.0, 400e3) * 1e3:.1f} mW"
    '51.8 mW'
    """
    return capacitance * voltage**2 * frequency


def smallest_capacitance(loop: SeriesLoop, edge: Edge, limit: float) -> float | None:
    """Smallest capacitance of a snubber with which, at its best resistance, a voltage limit is kept [F].

    Returns
    -------
    float or None
        None if :data:`LARGEST_RATIO` times the switch's capacitance is not enough.
    """

    def excess(logarithm: float) -> float:
        capacitance = loop.capacitance * math.exp(logarithm)
        return peak_voltage(loop.with_snubber(best_resistance(loop, capacitance, edge), capacitance), edge) - limit

    low, high = math.log(_SMALLEST_RATIO), math.log(LARGEST_RATIO)
    if excess(high) > 0:
        return None
    if excess(low) <= 0:
        return loop.capacitance * _SMALLEST_RATIO
    return loop.capacitance * math.exp(float(brentq(excess, low, high, xtol=1e-4)))


def _low_frequency_inductance(loop: SeriesLoop) -> float:
    return loop.inductance + sum(inductor for _, inductor in loop.cells)
