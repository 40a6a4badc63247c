"""How fine a mesh must be where: element size near corners, along faces and across skin layers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

Points = NDArray[np.float64]
"""Array of shape (n, 2): x and y [m]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SizeField:
    """Element size that starts at a given value at each feature and grows linearly away from it.

    Parameters
    ----------
    features : (n, 2) array
        Corners of conductors and points on curved faces [m].
    sizes : (n,) array
        Element size at each feature [m].
    growth : float
        Increase of element size per distance from the nearest feature [1].
    """

    features: Points
    sizes: NDArray[np.float64]
    growth: float

    def at(self, points: Points) -> NDArray[np.float64]:
        """Element size [m] at `points`, (n, 2) -> (n,)."""
        reach = self.sizes + self.growth * cdist(points, self.features)
        return np.asarray(reach.min(axis=1))

    def around(self, place: Points, radius: float) -> SizeField:
        """The same field within a radius [m] of a place, (2,), from the features that decide there and no others."""
        reach = self.sizes + self.growth * cdist(place[None], self.features)[0]
        deciding = reach <= reach.min() + 2 * self.growth * radius
        return SizeField(features=self.features[deciding], sizes=self.sizes[deciding], growth=self.growth)


def spread_nodes(size_along: Callable[[NDArray[np.float64]], NDArray[np.float64]]) -> NDArray[np.float64]:
    """Place nodes on a segment so that their spacing follows the wanted element size.

    Parameters
    ----------
    size_along : callable
        Wanted size as a fraction of the segment's length, at positions t in [0, 1].

    Returns
    -------
    (n + 1,) array
        Positions from 0 to 1, at least the two ends.
    """
    samples = _march(size_along)
    density = 1 / size_along(samples)
    count = np.concatenate([[0.0], np.cumsum(np.diff(samples) * (density[1:] + density[:-1]) / 2)])
    elements = max(1, int(np.ceil(count[-1] - 1e-9)))
    nodes = np.interp(np.linspace(0, count[-1], elements + 1), count, samples)
    nodes[0], nodes[-1] = 0.0, 1.0
    return nodes


def _march(size_along: Callable[[NDArray[np.float64]], NDArray[np.float64]]) -> NDArray[np.float64]:
    """Sample positions from both ends inwards, a third of the local size apart."""
    uniform = np.linspace(0, 1, 65)
    decades = np.logspace(-7, 0, 400)
    samples = np.unique(np.concatenate([uniform, decades, 1 - decades]))
    minimum = size_along(samples).min()
    inner = np.linspace(0, 1, min(4000, int(3 / minimum) + 2))
    return np.asarray(np.unique(np.concatenate([samples, inner])))


def skin_layers(thickness: float, first: float, growth: float, widest: float) -> NDArray[np.float64]:
    """Layers from a surface inwards: the first `first` thick, each the next by `growth` more, none above `widest`.

    Returns
    -------
    (n + 1,) array
        Layer borders as fractions of `thickness`, from 0 to 1.
    """

    def size(t: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.minimum(first + growth * t * thickness, widest) / thickness

    return spread_nodes(size)


def two_sided_layers(thickness: float, first: float, growth: float) -> NDArray[np.float64]:
    """Layers across a sheet, thin at both faces; borders as fractions of `thickness`, from 0 to 1."""

    def size(t: NDArray[np.float64]) -> NDArray[np.float64]:
        return (first + growth * np.minimum(t, 1 - t) * thickness) / thickness

    return spread_nodes(size)
