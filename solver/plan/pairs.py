"""Which triangles lie near each other, found class by class of their size."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

Floats = NDArray[np.float64]
Indices = NDArray[np.int32]

_PART = 2_000
_CLASSES = 2.0
"""Ratio of the largest to the smallest radius in a class."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Triangles or footprints `first` and `second`, each pair once, one with itself included."""

    first: Indices
    second: Indices

    def part(self, chosen: slice | NDArray[np.bool_]) -> Pairs:
        """Some of them."""
        return Pairs(first=self.first[chosen], second=self.second[chosen])

    def __len__(self) -> int:
        return len(self.first)


def pairs_within(places: Floats, radii: Floats, reach: Callable[[Floats], Floats]) -> Pairs:
    """Pairs of circles whose middles (n, 2) are nearer than `reach` [m] gives for the sum of their radii (n,) [m]."""
    classes = _classes(radii)
    found = [
        pair
        for index, one in enumerate(classes)
        for other in classes[index:]
        for pair in _between(places, radii, (one, other), reach)
    ]
    first, second = (np.concatenate(column) for column in zip(*found, strict=True))
    return Pairs(first=first, second=second)


def _classes(radii: Floats) -> list[NDArray[np.int64]]:
    level = np.floor(np.log(radii / radii.min()) / np.log(_CLASSES) + 1e-9).astype(int)
    return [np.flatnonzero(level == each) for each in np.unique(level)]


def _between(
    places: Floats,
    radii: Floats,
    classes: tuple[NDArray[np.int64], NDArray[np.int64]],
    reach: Callable[[Floats], Floats],
) -> Iterator[tuple[Indices, Indices]]:
    one, other = classes
    widest = float(reach(np.array([radii[one].max() + radii[other].max()]))[0])
    tree = KDTree(places[other])
    for start in range(0, len(one), _PART):
        part = one[start : start + _PART]
        found = KDTree(places[part]).sparse_distance_matrix(tree, widest, output_type="ndarray")
        first, second = part[found["i"]], other[found["j"]]
        keep = found["v"] < reach(radii[first] + radii[second])
        if one is other:
            keep &= first <= second
        yield first[keep].astype(np.int32), second[keep].astype(np.int32)
