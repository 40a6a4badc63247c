r"""Mutual potentials of flat triangles: the double integral of 1/R over every pair.

The inner integral of a near pair is exact (D. R. Wilton et al., "Potential integrals for uniform and linear source
distributions on polygonal and polyhedral domains", IEEE Transactions on Antennas and Propagation 32 (1984) 276-281,
eq. 5, from memory); the outer one has twelve points. A triangle with itself is exact in both (T. F. Eibert, V. Hansen,
"On the calculation of potential integrals for linear source distributions on triangular domains", the same 43 (1995)
1499-1502, from memory; checked against quadrature).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rule:
    """Points of a quadrature over triangles in barycentric coordinates (k, 3), and their weights (k,), sum 1."""

    points: Floats
    weights: Floats


# Degree 2: three inner points of equal weight. Degree 6: twelve points (D. A. Dunavant, International Journal for
# Numerical Methods in Engineering 21 (1985) 1129-1148, from memory; the tests integrate polynomials with it).
THREE = np.array([[4, 1, 1], [1, 4, 1], [1, 1, 4]]) / 6
_A, _B, _C, _D = 0.249286745170910, 0.063089014491502, 0.053145049844817, 0.310352451033784
_E = 1 - _C - _D
THREE_POINTS = Rule(points=THREE, weights=np.full(3, 1 / 3))
TWELVE = Rule(
    points=np.array(
        [
            *[np.roll([1 - 2 * _A, _A, _A], k) for k in range(3)],
            *[np.roll([1 - 2 * _B, _B, _B], k) for k in range(3)],
            *[np.roll([_C, _D, _E], k) for k in range(3)],
            *[np.roll([_D, _C, _E], k) for k in range(3)],
        ]
    ),
    weights=np.repeat([0.116786275726379, 0.050844906370207, 0.082851075618374], [3, 3, 6]),
)


def triangle_areas(corners: Floats) -> Floats:
    """Areas of triangles in a plane from their corners, (n, 3, 2) [m] -> (n,) [m²]."""
    a, b, c = np.moveaxis(corners, 1, 0)
    return np.asarray(np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Triangles:
    """Horizontal triangles; `corners` (n, 3, 2) and `heights` (n,) [m]."""

    corners: Floats
    heights: Floats

    @property
    def areas(self) -> Floats:
        """Area of each [m²]."""
        return triangle_areas(self.corners)

    @property
    def centroids(self) -> Floats:
        """Centre of gravity of each, (n, 3) [m]."""
        return np.column_stack([self.corners.mean(axis=1), self.heights])

    @property
    def radii(self) -> Floats:
        """Largest distance of a corner from the centroid [m]."""
        arms = np.linalg.norm(self.corners - self.corners.mean(axis=1)[:, None], axis=2)
        return np.asarray(arms.max(axis=1))


def potential_at(x: Floats, y: Floats, corners: Floats, offset: Floats) -> Floats:
    r"""Integral of 1/R over triangles, seen from points.

    .. math::
        \int\frac{dS'}R = \sum_{edges} t\,\ln\frac{R^+ + l^+}{R^- + l^-} - |d|\,\Omega

    with t the distance of the edge's line from the point's foot, l the positions of its ends along it and
    :math:`\Omega` the solid angle of the triangle, which stands for the sum of the source's arctangents (A. van
    Oosterom, J. Strackee, "The solid angle of a plane triangle", IEEE Transactions on Biomedical Engineering 30 (1983)
    125-126, from memory).

    Parameters
    ----------
    x, y : (..., n) array
        Feet of the points in the triangles' plane [m].
    corners : (n, 3, 2) array
        Corners counter-clockwise [m].
    offset : (n,) array
        Height of each point over the plane d [m].

    Returns
    -------
    (..., n) array
        The integral [m].
    """
    rise = np.abs(offset)
    along = [(corners[:, k, 0] - x, corners[:, k, 1] - y) for k in range(3)]
    distance = [np.sqrt(one * one + other * other + rise * rise) for one, other in along]
    total = np.zeros_like(x)
    for k, following in ((0, 1), (1, 2), (2, 0)):
        edge = corners[:, following] - corners[:, k]
        east, north = (edge / np.hypot(edge[:, 0], edge[:, 1])[:, None]).T
        near = along[k][0] * east + along[k][1] * north
        far = along[following][0] * east + along[following][1] * north
        aside = along[k][0] * north - along[k][1] * east
        total += aside * _log_ratio(near, distance[k], far, distance[following])
    if rise.any():
        total -= rise * _solid_angle(along, distance, rise)
    return total


def _solid_angle(along: list[tuple[Floats, Floats]], distance: list[Floats], rise: Floats) -> Floats:
    """Solid angle of triangles from the vectors and distances to their corners, at a height."""
    (ax, ay), (bx, by), (cx, cy) = along
    a, b, c = distance
    square = rise * rise
    doubled = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    below = a * b * c + (ax * bx + ay * by + square) * c
    below += (bx * cx + by * cy + square) * a
    below += (cx * ax + cy * ay + square) * b
    return np.asarray(2 * np.arctan2(rise * np.abs(doubled), below))


def _log_ratio(near: Floats, near_distance: Floats, far: Floats, far_distance: Floats) -> Floats:
    """Logarithm of (R+ + l+)/(R- + l-), by whichever of two equal forms loses no digits; 0 on the edge itself."""
    ahead = near + far > 0
    top = np.where(ahead, far_distance + far, near_distance - near)
    bottom = np.where(ahead, near_distance + near, far_distance - far)
    return np.log(np.divide(top, bottom, out=np.ones_like(top), where=bottom > 0))


def self_potentials(triangles: Triangles) -> Floats:
    r"""Double integral of 1/R over each triangle with itself [m³].

    .. math:: \iint\frac{dS\,dS'}R = -\frac{4A^2}3\sum_{edges}\frac1l\ln\left(1 - \frac ls\right)

    with the lengths l of the edges and half their sum s.
    """
    sides = np.linalg.norm(triangles.corners - np.roll(triangles.corners, -1, axis=1), axis=2)
    half = sides.sum(axis=1, keepdims=True) / 2
    return np.asarray(-4 / 3 * triangles.areas**2 * np.sum(np.log1p(-sides / half) / sides, axis=1))


def exact_potentials(outer: Floats, inner: Floats, offset: Floats, rule: Rule) -> Floats:
    """Mean over each outer triangle of the potential of an inner one [m].

    Parameters
    ----------
    outer, inner : (n, 3, 2) array
        Corners counter-clockwise [m]; the outer ones should be the smaller.
    offset : (n,) array
        Vertical distances [m].
    rule : Rule
        Points in the outer triangle.
    """
    x, y = (rule.points @ outer[:, :, axis].T for axis in (0, 1))
    return np.asarray(rule.weights @ potential_at(x, y, inner, offset))
