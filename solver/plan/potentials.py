r"""Mutual potentials of flat triangles: the double integral of 1/R over every pair.

The inner integral of a near pair is exact (D. R. Wilton et al., "Potential integrals for uniform and linear source
distributions on polygonal and polyhedral domains", IEEE Transactions on Antennas and Propagation 32 (1984) 276-281,
eq. 5, from memory); the outer one has twelve points. A triangle with itself is exact in both (T. F. Eibert, V. Hansen,
"On the calculation of potential integrals for linear source distributions on triangular domains", the same 43 (1995)
1499-1502, from memory; checked against quadrature). All other pairs are summed over three points in either.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.spatial import KDTree
from scipy.spatial.distance import cdist

Floats = NDArray[np.float64]

_NEARNESS, _FAR = 1.5, 5.0
_CHUNK = 20_000

# Degree 2: three inner points of equal weight. Degree 6: twelve points (D. A. Dunavant, International Journal for
# Numerical Methods in Engineering 21 (1985) 1129-1148, from memory; the tests integrate polynomials with it).
_ONE = np.array([[1, 1, 1]]) / 3
_THREE = np.array([[4, 1, 1], [1, 4, 1], [1, 1, 4]]) / 6
_A, _B, _C, _D = 0.249286745170910, 0.063089014491502, 0.053145049844817, 0.310352451033784
_E = 1 - _C - _D
_TWELVE = np.array(
    [
        *[np.roll([1 - 2 * _A, _A, _A], k) for k in range(3)],
        *[np.roll([1 - 2 * _B, _B, _B], k) for k in range(3)],
        *[np.roll([_C, _D, _E], k) for k in range(3)],
        *[np.roll([_D, _C, _E], k) for k in range(3)],
    ]
)
_TWELVE_WEIGHTS = np.repeat([0.116786275726379, 0.050844906370207, 0.082851075618374], [3, 3, 6])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Triangles:
    """Horizontal triangles; `corners` (n, 3, 2) and `heights` (n,) [m]."""

    corners: Floats
    heights: Floats

    @property
    def areas(self) -> Floats:
        """Area of each [m²]."""
        a, b, c = np.moveaxis(self.corners, 1, 0)
        doubled: Floats = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
        return doubled / 2

    @property
    def centroids(self) -> Floats:
        """Centre of gravity of each, (n, 3) [m]."""
        return np.column_stack([self.corners.mean(axis=1), self.heights])

    @property
    def radii(self) -> Floats:
        """Largest distance of a corner from the centroid [m]."""
        arms = np.linalg.norm(self.corners - self.corners.mean(axis=1)[:, None], axis=2)
        return np.asarray(arms.max(axis=1))

    def part(self, chosen: slice) -> Triangles:
        """Some of them."""
        return Triangles(corners=self.corners[chosen], heights=self.heights[chosen])

    def at_height(self, height: float) -> Triangles:
        """The same triangles, all at one height [m]."""
        return Triangles(corners=self.corners, heights=np.full(len(self.heights), height))

    def points(self, barycentric: Floats) -> Floats:
        """Positions (k, n, 3) of the points with given barycentric coordinates (k, 3) [m]."""
        flat = np.einsum("kc,ncd->knd", barycentric, self.corners)
        return np.concatenate([flat, np.broadcast_to(self.heights[:, None], (*flat.shape[:2], 1))], axis=2)


def potential_at(points: Floats, corners: Floats, offset: Floats) -> Floats:
    r"""Integral of 1/R over triangles, seen from points.

    .. math::
        \int\frac{dS'}R = \sum_{edges} t\,\ln\frac{R^+ + l^+}{R^- + l^-}
        - |d|\left(\arctan\frac{t\,l^+}{R_0^2 + |d|R^+} - \arctan\frac{t\,l^-}{R_0^2 + |d|R^-}\right)

    with t the distance of the edge's line from the point's foot, l the positions of its ends along it and
    :math:`R_0^2 = t^2 + d^2`.

    Parameters
    ----------
    points : (..., 2) array
        Feet of the points in the triangles' plane [m].
    corners : (..., 3, 2) array
        Corners counter-clockwise [m].
    offset : (...) array
        Height of each point over the plane d [m].

    Returns
    -------
    (...) array
        The integral [m].
    """
    total = np.zeros(np.broadcast_shapes(points.shape[:-1], corners.shape[:-2]))
    rise = np.abs(offset)
    for k in range(3):
        start, end = corners[..., k, :] - points, corners[..., (k + 1) % 3, :] - points
        along = end - start
        along = along / np.linalg.norm(along, axis=-1, keepdims=True)
        near, far = np.sum(start * along, axis=-1), np.sum(end * along, axis=-1)
        aside = start[..., 0] * along[..., 1] - start[..., 1] * along[..., 0]
        square = aside**2 + rise**2
        near_distance, far_distance = np.sqrt(square + near**2), np.sqrt(square + far**2)
        total += aside * _log_ratio(near, near_distance, far, far_distance)
        total -= rise * (
            np.arctan2(aside * far, square + rise * far_distance)
            - np.arctan2(aside * near, square + rise * near_distance)
        )
    return total


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


def far_potentials(targets: Triangles, sources: Triangles, shift: complex) -> NDArray[np.inexact]:
    """Mutual potentials by sums over points (targets, sources) [m³]; coinciding points count nothing.

    One point stands for each triangle where source and targets lie far apart, three where they are nearer.

    Parameters
    ----------
    targets, sources : Triangles
        Rows and columns; the targets should lie together.
    shift : complex
        Added to the vertical distance.
    """
    near = np.flatnonzero(_clearance(targets, sources) < _FAR)
    potentials: Any = _inverse_distance(targets.points(_ONE)[0], sources.points(_ONE)[0], shift)
    kernel = (
        _inverse_distance(target, source, shift)
        for target in targets.points(_THREE)
        for source in sources.points(_THREE)[:, near]
    )
    total: Any = next(kernel)
    for part in kernel:
        total += part
    potentials[:, near] = total / 9
    potentials *= targets.areas[:, None]
    potentials *= sources.areas
    return np.asarray(potentials)


def _clearance(targets: Triangles, sources: Triangles) -> Floats:
    """Least distance of each source from a group of targets, over the sum of its radius and their largest."""
    group = targets.centroids
    middle = group.mean(axis=0)
    reach = np.linalg.norm(group - middle, axis=1).max()
    distance = np.linalg.norm(sources.centroids - middle, axis=1) - reach
    return np.asarray(distance / (sources.radii + targets.radii.max()))


def _inverse_distance(target: Floats, source: Floats, shift: complex) -> NDArray[np.inexact]:
    if shift == 0:
        distance = cdist(target, source)
        return np.divide(1.0, distance, out=np.zeros_like(distance), where=distance > 0)
    flat = cdist(target[:, :2], source[:, :2], "sqeuclidean")
    drop = target[:, None, 2] - source[None, :, 2] + shift
    return np.asarray(1 / np.sqrt(flat + drop**2))


def near_correction(targets: Triangles, sources: Triangles) -> sparse.csr_matrix:
    """What the three-point sums miss for near pairs, as a sparse matrix (targets, sources) [m³]."""
    near_target, near_source = _near_pairs(targets, sources)
    values = np.zeros(len(near_target))
    for start in range(0, len(near_target), _CHUNK):
        chunk = slice(start, start + _CHUNK)
        values[chunk] = _pair_correction(targets, sources, near_target[chunk], near_source[chunk])
    shape = (len(targets.heights), len(sources.heights))
    correction = sparse.csr_matrix((values, (near_target, near_source)), shape=shape)
    if targets is not sources:
        return correction
    own = self_potentials(targets) - _coinciding_sum(targets)
    return (correction + sparse.diags(own - correction.diagonal())).tocsr()


def _near_pairs(targets: Triangles, sources: Triangles) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Index pairs of near triangles: centroids no farther apart than a multiple of the sum of their radii."""
    found = [_near_smaller(targets, sources, strictly=False), _near_smaller(sources, targets, strictly=True)[::-1]]
    target, source = np.concatenate(found, axis=1)
    return target, source


def _near_smaller(of: Triangles, than: Triangles, *, strictly: bool) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Near pairs of which the first is the smaller one."""
    small, large = of.radii, than.radii
    lists = KDTree(of.centroids).query_ball_point(than.centroids, 2 * _NEARNESS * large)
    second = np.repeat(np.arange(len(large)), [len(found) for found in lists])
    first = np.concatenate([np.asarray(found, dtype=np.int64) for found in lists])
    smaller = small[first] < large[second] if strictly else small[first] <= large[second]
    distance = np.linalg.norm(of.centroids[first] - than.centroids[second], axis=1)
    keep = smaller & (distance < _NEARNESS * (small[first] + large[second]))
    return first[keep], second[keep]


def _pair_correction(
    targets: Triangles, sources: Triangles, target: NDArray[np.int64], source: NDArray[np.int64]
) -> Floats:
    """Exact inner integral over the larger of each pair, twelve points in the smaller, less the three-point sum."""
    areas = targets.areas[target] * sources.areas[source]
    coarse = areas * _three_point_sum(targets.points(_THREE)[:, target], sources.points(_THREE)[:, source])
    exact = np.zeros(len(target))
    swap = targets.radii[target] > sources.radii[source]
    for chosen, outer, outer_index, inner, inner_index in (
        (~swap, targets, target, sources, source),
        (swap, sources, source, targets, target),
    ):
        small, large = outer_index[chosen], inner_index[chosen]
        places = np.einsum("kc,ncd->knd", _TWELVE, outer.corners[small])
        offset = outer.heights[small] - inner.heights[large]
        potential = potential_at(places, inner.corners[large], offset)
        exact[chosen] = outer.areas[small] * (_TWELVE_WEIGHTS @ potential)
    return exact - coarse


def _three_point_sum(targets: Floats, sources: Floats) -> Floats:
    distance = np.linalg.norm(targets[:, None] - sources[None], axis=-1)
    inverse = np.divide(1.0, distance, out=np.zeros_like(distance), where=distance > 0)
    return np.asarray(inverse.mean(axis=(0, 1)))


def _coinciding_sum(triangles: Triangles) -> Floats:
    points = triangles.points(_THREE)
    return _three_point_sum(points, points) * triangles.areas**2
