"""Upright round posts: partial inductances of their vertical currents, images in the plane included; resistances."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometries.layout.layout import PlanLayout, Via, Wall
from solver.formulas import filaments_partial_mutual, sheet_impedance_one_side, sheet_resistance

_CHORDS, _ACROSS = 48, 128
"""Distances that stand for those within a hole and within a wall."""

_SAME = 1e-9

_ROUNDING = 12
"""Decimals of a distance in metres."""

Floats = NDArray[np.float64]


def via_inductances(layout: PlanLayout) -> Floats:
    r"""Partial inductances of the posts [H], with images of equal sense in a mirror plane.

    .. math:: M = \frac{\mu_0}{4\pi}\int\!\!\int\frac{dz\,dz'}{\sqrt{d^2 + (z - z')^2}}

    with d the distance of two posts, or the chords of a post with itself and with one that continues from its end
    (current on its surface, whose geometric mean distance is the radius; E. B. Rosa, "The self and mutual inductances
    of linear conductors", Bulletin of the Bureau of Standards 4 (1908) 301-344, from memory).

    Notes
    -----
    Range: posts at least twice their diameter apart; their surface currents are taken as even around them, those of
    walls as even over their width.
    """
    matrix = np.zeros((len(layout.vias), len(layout.vias)))
    for row, one in enumerate(layout.vias):
        for column, other in enumerate(layout.vias):
            distances = _distances(one, other)
            low, high = layout.ends(other)
            images = [(low, high)]
            if layout.plane is not None:
                images.append((2 * layout.plane.height - high, 2 * layout.plane.height - low))
            matrix[row, column] = sum(_mean(layout.ends(one), image, distances) for image in images)
    return matrix


def _distances(one: Via | Wall, other: Via | Wall) -> Floats:
    """Between filaments of one and of the other that share its current evenly [m].

    Of a conductor with itself, or with one that continues it, distances in equal parts of their distribution
    stand for all of them, scaled to their exact geometric mean: the chords of a circle have its radius, the points of a
    line exp(-3/2) of its length.
    """
    if math.dist(one.centre, other.centre) < _SAME:
        if isinstance(one, Via):
            return _with_mean(np.sin(math.pi / 2 * _parts(_CHORDS)), one.radius)
        return _with_mean(1 - np.sqrt(1 - _parts(_ACROSS)), one.girth * math.exp(-1.5))
    apart = np.array(one.filaments)[:, None] - np.array(other.filaments)
    return np.asarray(np.hypot(apart[..., 0], apart[..., 1])).ravel()


def _parts(count: int) -> Floats:
    """Middles of equal parts of one."""
    return np.asarray((np.arange(count) + 0.5) / count)


def _with_mean(distances: Floats, mean: float) -> Floats:
    """Scaled to a geometric mean."""
    return np.asarray(distances * mean / np.exp(np.log(distances).mean()))


def _mean(one: tuple[float, float], other: tuple[float, float], distances: Floats) -> float:
    """Of filaments that share the current evenly [H]; alike distances are summed once."""
    values, counts = np.unique(distances.round(_ROUNDING), return_counts=True)
    pairs = zip(values.tolist(), counts.tolist(), strict=True)
    return math.fsum(count * _between(one, other, each) for each, count in pairs) / len(distances)


def via_impedance(layout: PlanLayout, via: Via | Wall, frequency: float) -> complex:
    """Impedance of a post's metal [ohm], its current towards its outer face; the direct-current value at 0 Hz."""
    low, high = layout.ends(via)
    squares = (high - low) / via.girth
    conductivity = via.material.conductivity
    if frequency == 0:
        return squares * sheet_resistance(via.wall, conductivity)
    return squares * sheet_impedance_one_side(frequency, via.wall, conductivity)


def _between(one: tuple[float, float], other: tuple[float, float], distance: float) -> float:
    """Partial mutual inductance of two posts from the heights of their ends [H]."""
    return filaments_partial_mutual(one[1] - one[0], other[1] - other[0], other[0] - one[0], distance)
