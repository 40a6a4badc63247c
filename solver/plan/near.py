"""Double integrals of 1/R over near pairs of triangles, less what the smooth kernel says between their three points.

Close pairs are integrated exactly (see :mod:`solver.plan.potentials`), and triangles one over the other, as on two
faces of a sheet, share what lies at the same vertical distance. Of all others only the sharp part of the kernel
is summed: over three points in either, or, where they lie far apart against their size, at the centroids with the
triangles' second moments, which three points have too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solver.plan.kernel import sharp_kernel, sharp_kernel_derivatives, smooth_kernel
from solver.plan.pairs import Pairs, pairs_within
from solver.plan.potentials import THREE, THREE_POINTS, TWELVE, Triangles, exact_potentials, self_potentials

Floats = NDArray[np.float64]
Numbers = NDArray[np.inexact]

_EXACT = 1.5
"""Pairs nearer than this multiple of the sum of their radii are integrated exactly."""

_FEW_POINTS = 1.3
"""Beyond this multiple three outer points do beside an exact inner integral, else twelve."""

_THREE_POINTS = 3.0
"""Pairs nearer than this multiple are summed over three points in either."""

_SAMPLE = 300
_CHUNK, _BLOCK = 4_000, 40_000
"""Pairs summed at once, and pairs sorted at once: they bound the memory."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cloud:
    """All triangles of a layout with what sums over them need.

    Parameters
    ----------
    triangles : Triangles
        Of all sheets.
    areas, radii : (n,) array
        Area [m²] and largest distance of a corner from the centroid [m] of each.
    middles : (2, n) array
        Centroids [m].
    points : (2, 3, n) array
        x and y of the three points in each [m].
    moments : (3, n) array
        Second moments about the centroid along x, along y and mixed, per area [m²].
    stacks : (k, footprints) array
        Triangles that lie exactly one over the other, in columns; -1 where there is none.
    """

    triangles: Triangles
    areas: Floats = field(init=False)
    radii: Floats = field(init=False)
    middles: Floats = field(init=False)
    points: Floats = field(init=False)
    moments: Floats = field(init=False)
    stacks: NDArray[np.int32] = field(init=False)

    def __post_init__(self) -> None:
        points = np.einsum("kc,ncd->dkn", THREE, self.triangles.corners)
        middles = np.ascontiguousarray(self.triangles.corners.mean(axis=1).T)
        x, y = points - middles[:, None]
        moments = np.stack([(x * x).mean(axis=0), (y * y).mean(axis=0), (x * y).mean(axis=0)])
        for name, value in (
            ("areas", self.triangles.areas),
            ("radii", self.triangles.radii),
            ("middles", middles),
            ("points", points),
            ("moments", moments),
            ("stacks", _stacks(self.triangles)),
        ):
            object.__setattr__(self, name, value)

    def squares(self, pairs: Pairs) -> Floats:
        """Squares of the horizontal distances between centroids [m²]."""
        x, y = (np.square(each[pairs.first] - each[pairs.second]) for each in self.middles)
        return np.asarray(x + y)


def _stacks(triangles: Triangles) -> NDArray[np.int32]:
    corners = triangles.corners.reshape(len(triangles.corners), -1)
    order = np.lexsort(corners.T)
    starts = np.append(True, (np.diff(corners[order], axis=0) != 0).any(axis=1))
    footprint = np.cumsum(starts) - 1
    place = np.arange(len(order)) - np.flatnonzero(starts)[footprint]
    stacks = np.full((place.max() + 1, footprint[-1] + 1), -1, dtype=np.int32)
    stacks[place, footprint] = order
    return np.asarray(stacks[:, np.argsort(stacks[0])])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NearPart:
    """Values of near pairs.

    Parameters
    ----------
    pairs : Pairs
        Those with a value.
    sharp : (pairs,) array
        Double integrals of 1/R less the smooth kernel between the triangles' points [m³].
    close : (pairs,) array of bool
        Whether a pair was integrated exactly.
    plain : (close pairs,) array
        The integrals of these themselves [m³].
    """

    pairs: Pairs
    sharp: Numbers
    close: NDArray[np.bool_]
    plain: Numbers


def near_part(cloud: Cloud, pairs: Pairs, between: Callable[[Pairs], Numbers], radius: float) -> NearPart:
    """Sum the sharp part of the kernel over pairs.

    Parameters
    ----------
    cloud : Cloud
        The triangles.
    pairs : Pairs
        Of footprints, from :func:`near_pairs`.
    between : callable
        Gives the vertical distance of each of some pairs [m]; complex for images in a lossy plane.
    radius : float
        Radius of the softened kernel [m].
    """
    blocks = [
        part
        for start in range(0, len(pairs), _BLOCK)
        for part in _block(cloud, pairs.part(slice(start, start + _BLOCK)), between, radius)
    ]
    return NearPart(
        pairs=Pairs(
            first=np.concatenate([block.pairs.first for block in blocks]),
            second=np.concatenate([block.pairs.second for block in blocks]),
        ),
        sharp=np.concatenate([block.sharp for block in blocks]),
        close=np.concatenate([block.close for block in blocks]),
        plain=np.concatenate([block.plain for block in blocks]),
    )


def near_pairs(cloud: Cloud, radius: float) -> Pairs:
    """Pairs of footprints that have a near part at some vertical distance."""
    lowest = cloud.stacks[0]
    return pairs_within(cloud.middles.T[lowest], cloud.radii[lowest], lambda size: _reach(size, radius))


def sampled_neighbours(cloud: Cloud, radius: float) -> float:
    """Near triangles of one, itself included, on the average over a sample."""
    count = len(cloud.areas)
    chosen = np.arange(0, count, max(1, count // _SAMPLE))
    near = sum(
        np.count_nonzero(
            np.hypot(*(cloud.middles.T - cloud.middles[:, each]).T) < _reach(cloud.radii + cloud.radii[each], radius)
        )
        for each in chosen
    )
    return near / len(chosen)


def _reach(size: Floats, radius: float) -> Floats:
    """Horizontal distance within which triangles with a sum of radii have a near part [m]."""
    summed = np.minimum(_THREE_POINTS * size, radius + size)
    return np.asarray(np.maximum(np.maximum(radius, _EXACT * size), summed))


def _block(cloud: Cloud, pairs: Pairs, between: Callable[[Pairs], Numbers], radius: float) -> Iterator[NearPart]:
    """All triangles of each pair of footprints; those at a vertical distance that was met before share its values."""
    first, second = cloud.stacks[:, pairs.first], cloud.stacks[:, pairs.second]
    lead = Pairs(first=first[0], second=second[0])
    squares = cloud.squares(lead)
    met: list[tuple[Numbers, Numbers, Numbers]] = []
    for one, other in product(range(len(first)), repeat=2):
        there = (first[one] >= 0) & (second[other] >= 0) & ((lead.first != lead.second) | (one <= other))
        distance = between(Pairs(first=first[one], second=second[other]))
        sharp, plain = (np.full(len(pairs), np.nan, dtype=distance.dtype) for _ in range(2))
        fresh = there.copy()
        for before, *values in met:
            same = fresh & (before == distance)
            sharp[same], plain[same] = (each[same] for each in values)
            fresh &= ~same
        sharp[fresh], plain[fresh] = _summed(cloud, lead.part(fresh), squares[fresh], distance[fresh], radius)
        met.append((np.where(there, distance, np.nan), sharp, plain))
        counting = there & (sharp != 0)
        close = ~np.isnan(plain)
        yield NearPart(
            pairs=Pairs(first=first[one][counting], second=second[other][counting]),
            sharp=sharp[counting],
            close=close[counting],
            plain=plain[counting & close],
        )


def _summed(cloud: Cloud, pairs: Pairs, squares: Floats, distance: Numbers, radius: float) -> tuple[Numbers, Numbers]:
    """Sharp and plain values, each kind of pair in its own way; plain ones of close pairs only, else NaN."""
    size = cloud.radii[pairs.first] + cloud.radii[pairs.second]
    away = squares + np.real(distance) ** 2
    exact = away < (_EXACT * size) ** 2
    soft = ~exact & (np.abs(distance) < radius)
    apart = away >= (_THREE_POINTS * size) ** 2
    values, plain = np.zeros(len(pairs), dtype=distance.dtype), np.full(len(pairs), np.nan, dtype=distance.dtype)
    values[exact] = plain[exact] = _in_chunks(_close, cloud, pairs.part(exact), distance[exact])
    values[exact] -= _in_chunks(_smooth(radius), cloud, pairs.part(exact), distance[exact])
    kinds = ((soft & ~apart, _three_points), (soft & apart & (squares < radius**2), _centroids))
    for chosen, summed in kinds:
        values[chosen] = _in_chunks(summed(radius), cloud, pairs.part(chosen), distance[chosen])
    areas = cloud.areas[pairs.first] * cloud.areas[pairs.second]
    return values * areas, plain * areas


_Sum = Callable[[Cloud, Pairs, Any], Any]


def _in_chunks(summed: _Sum, cloud: Cloud, pairs: Pairs, distance: Numbers) -> Numbers:
    values = np.zeros(len(pairs), dtype=distance.dtype)
    for start in range(0, len(pairs), _CHUNK):
        rows = slice(start, start + _CHUNK)
        values[rows] = summed(cloud, pairs.part(rows), distance[rows])
    return values


def _close(cloud: Cloud, pairs: Pairs, distance: Any) -> Any:
    """Mean of 1/R over both triangles; a complex part of the distance counts as between their points."""
    value = mean_inverse_distance(cloud, pairs, np.real(distance))
    if not np.iscomplexobj(distance):
        return value
    squares = _point_squares(cloud, pairs)
    return value + (1 / np.sqrt(squares + distance**2) - 1 / np.sqrt(squares + distance.real**2)).mean((0, 1))


def _smooth(radius: float) -> _Sum:
    return lambda cloud, pairs, distance: smooth_kernel(_point_squares(cloud, pairs), distance, radius).mean((0, 1))


def _three_points(radius: float) -> _Sum:
    return lambda cloud, pairs, distance: sharp_kernel(_point_squares(cloud, pairs), distance, radius).mean((0, 1))


def _centroids(radius: float) -> _Sum:
    def summed(cloud: Cloud, pairs: Pairs, distance: Any) -> Any:
        x, y = (each[pairs.first] - each[pairs.second] for each in cloud.middles)
        along, across, mixed = cloud.moments[:, pairs.first] + cloud.moments[:, pairs.second]
        value, slope, bend = sharp_kernel_derivatives(x * x + y * y, distance, radius)
        return value + (along + across) * slope + 2 * (along * x * x + 2 * mixed * x * y + across * y * y) * bend

    return summed


def _point_squares(cloud: Cloud, pairs: Pairs) -> Floats:
    """Squares of the horizontal distances of all three points of one from those of the other, (3, 3, pairs) [m²]."""
    first, second = (np.take(cloud.points, chosen, axis=2) for chosen in (pairs.first, pairs.second))
    x, y = first[:, :, None] - second[:, None]
    x *= x
    y *= y
    x += y
    return np.asarray(x)


def mean_inverse_distance(cloud: Cloud, pairs: Pairs, distance: Floats) -> Floats:
    """Mean of 1/R over both triangles of close pairs [1/m], at vertical distances [m]."""
    triangles, own = cloud.triangles, (pairs.first == pairs.second) & (distance == 0)
    swap = cloud.radii[pairs.first] > cloud.radii[pairs.second]
    outer, inner = np.where(swap, pairs.second, pairs.first), np.where(swap, pairs.first, pairs.second)
    size = cloud.radii[pairs.first] + cloud.radii[pairs.second]
    apart = cloud.squares(pairs) + distance**2 > (_FEW_POINTS * size) ** 2
    values = np.empty(len(pairs))
    for chosen, rule in ((apart, THREE_POINTS), (~apart, TWELVE)):
        here, there = (triangles.corners[each[chosen]] for each in (outer, inner))
        values[chosen] = exact_potentials(here, there, distance[chosen], rule) / cloud.areas[inner[chosen]]
    if own.any():
        same = pairs.first[own]
        part = Triangles(corners=triangles.corners[same], heights=triangles.heights[same])
        values[own] = self_potentials(part) / cloud.areas[same] ** 2
    return np.asarray(values)
