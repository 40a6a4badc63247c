"""Upright round posts: partial inductances of their vertical currents, images in the plane included; resistances."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometries.layout.layout import PlanLayout, Via
from solver.formulas import filaments_partial_mutual, sheet_impedance_one_side, sheet_resistance

Floats = NDArray[np.float64]


def via_inductances(layout: PlanLayout) -> Floats:
    r"""Partial inductances of the posts [H], with images of equal sense in a mirror plane.

    .. math:: M = \frac{\mu_0}{4\pi}\int\!\!\int\frac{dz\,dz'}{\sqrt{d^2 + (z - z')^2}}

    with d the distance of two posts, or the radius for a post with itself and with one that continues from its end
    (current on its surface; E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau
    of Standards 4 (1908) 301-344, from memory).

    Notes
    -----
    Range: posts at least twice their diameter apart; their surface currents are taken as even around them.
    """
    matrix = np.zeros((len(layout.vias), len(layout.vias)))
    for row, one in enumerate(layout.vias):
        for column, other in enumerate(layout.vias):
            distance = max(one.radius, math.dist(one.centre, other.centre))
            low, high = layout.ends(other)
            matrix[row, column] = _between(layout.ends(one), (low, high), distance)
            if layout.plane is not None:
                mirrored = (2 * layout.plane.height - high, 2 * layout.plane.height - low)
                matrix[row, column] += _between(layout.ends(one), mirrored, distance)
    return matrix


def via_impedance(layout: PlanLayout, via: Via, frequency: float) -> complex:
    """Impedance of a post's metal [ohm], its current towards its outer face; the direct-current value at 0 Hz."""
    low, high = layout.ends(via)
    squares = (high - low) / (2 * math.pi * (via.radius - via.wall / 2))
    conductivity = via.material.conductivity
    if frequency == 0:
        return squares * sheet_resistance(via.wall, conductivity)
    return squares * sheet_impedance_one_side(frequency, via.wall, conductivity)


def _between(one: tuple[float, float], other: tuple[float, float], distance: float) -> float:
    """Partial mutual inductance of two posts from the heights of their ends [H]."""
    return filaments_partial_mutual(one[1] - one[0], other[1] - other[0], other[0] - one[0], distance)
