"""A snubber as it is reported."""

from __future__ import annotations

from dataclasses import dataclass

from solver.switching.snubber_search import SnubberDesign, standard_snubber

_NO_RING = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class SnubberReading:
    """A snubber in a loop, and what it does.

    Parameters
    ----------
    purpose : str
        Why this one: stated, usual, or the smallest that keeps the limit.
    resistance, capacitance : float
        [ohm], [F].
    standard : tuple of float
        Preferred values next to them, E24 and E12 [ohm], [F].
    peak, worst_peak, step_peak : float
        Largest voltage with it for the edge, over the edge's span, and for a step [V].
    peak_error : float
        Uncertainty of the peak for the edge, from everything that is uncertain of loop, switch and edge [V].
    quality : float, optional
        Quality factor of the ring that is left [1]; none if nothing rings.
    loss : float, optional
        Mean power that its resistor turns into heat [W]; none without a switching frequency.
    """

    purpose: str
    resistance: float
    capacitance: float
    standard: tuple[float, float]
    peak: float
    peak_error: float
    worst_peak: float
    step_peak: float
    quality: float | None
    loss: float | None


def snubber_reading(design: SnubberDesign, purpose: str, peak_error: float) -> SnubberReading:
    """A design, why it is shown, and how uncertain its peak is [V]."""
    return SnubberReading(
        purpose=purpose,
        resistance=design.resistance,
        capacitance=design.capacitance,
        standard=standard_snubber(design),
        peak=design.peak,
        peak_error=peak_error,
        worst_peak=design.worst_peak,
        step_peak=design.step_peak,
        quality=None if design.quality <= _NO_RING else design.quality,
        loss=design.loss,
    )
