"""The magnetic moment by which a loop radiates: what lies on the board, and what stands on it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopMoment:
    """Magnetic moment per ampere of a loop with the currents that it drives in ground layers.

    Parameters
    ----------
    lying : float
        Part upright to the board, of the area that lies on it [m²]; a ground layer's currents take most of it away.
    upright : float
        Part along the board, of the area that stands on it between the copper and the layer of its return [m²].
    added : float
        Area that stands on the board beside the section's: bodies of capacitor and switches [m²]. A ground layer does
        not shield upright areas.
    source : str
        Which view the numbers come from.
    """

    lying: float
    upright: float
    added: float
    source: str

    def __post_init__(self) -> None:
        if min(self.lying, self.upright, self.added) < 0:
            raise ValueError("parts of a moment per ampere are areas; give them as zero or more square metres")

    @property
    def total(self) -> float:
        """Magnitude [m²]: both parts stand at right angles; upright areas are taken as if they added up."""
        return math.hypot(self.lying, self.upright + self.added)


def section_moment(
    stretches: Iterable[tuple[float, float, float]], *, upright_height: float, upright_length: float
) -> LoopMoment:
    """Moment from the section view.

    Parameters
    ----------
    stretches : iterable of (float, float, float)
        Of each stretch of the loop: lying and upright part of its line moment per ampere [m], and its length [m].
    upright_height, upright_length : float
        Of a further upright part [m].

    Returns
    -------
    LoopMoment

    Notes
    -----
    Line moment times length: ends of the loop add to its lying part, and a ground layer that is not much longer than
    the loop shields it less than one without end does.

    Examples
    --------
    >>> moment = section_moment([(3e-3, 4e-3, 0.01)], upright_height=0.0, upright_length=0.0)
    >>> f"{moment.total * 1e6:.0f} mm²"
    '50 mm²'
    """
    parts = list(stretches)
    return LoopMoment(
        lying=sum(lying * length for lying, _, length in parts),
        upright=sum(upright * length for _, upright, length in parts),
        added=upright_height * upright_length,
        source="section view: line moment × length",
    )
