"""How often the lines of a drawing cross, estimated before shapes are made of them: that is what uniting them costs.

Every crossing is a corner of the united shape. A board's copper crosses itself a few times per object; a file in which
everything crosses everything would take hours and all memory.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.errors import FabricationError

MOST_CROSSINGS = 200_000
"""Of the strokes and outlines of a file with themselves; so many take some ten seconds."""
MOST_OVERLAPS = 1_000_000
"""Pairs of objects of a layer that overlap, besides `_EACH` for every object."""
_EACH = 20
_ASKED, _AMONG = 100, 5_000
_QUESTIONS = 3_000_000
"""At most so many pairs of objects are looked at."""
_SEED = 5
"""Of the samples, so that the same file is judged the same way."""


def own_crossings(path: LineString) -> float:
    """About how often a path crosses itself, from a sample of its pieces.

    Examples
    --------
    >>> own_crossings(LineString([(0, 0), (2, 0), (2, 1), (1, 1), (1, -1)]))
    1.0
    """
    corners, random = shapely.get_coordinates(path), np.random.default_rng(_SEED)
    if len(corners) <= _AMONG and path.is_simple:
        return 0.0
    pieces = len(corners) - 1
    asked, among = (random.choice(pieces, min(pieces, count), replace=False) for count in (_ASKED, _AMONG))
    return float(_crossed(corners, asked[:, None], among).mean()) * pieces**2 / 2


def _crossed(corners: NDArray[np.float64], asked: NDArray[np.int64], among: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which pieces cross which: the ends of each lie on both sides of the other."""
    start, stop, first, last = corners[asked], corners[asked + 1], corners[among], corners[among + 1]
    apart = _side(start, stop, first) * _side(start, stop, last) < 0
    crossed: NDArray[np.bool_] = apart & (_side(first, last, start) * _side(first, last, stop) < 0)
    return crossed


def _side(start: NDArray[np.float64], stop: NDArray[np.float64], point: NDArray[np.float64]) -> NDArray[np.float64]:
    """On which side of a line a point lies, by sign."""
    along, there = stop - start, point - start
    side: NDArray[np.float64] = along[..., 0] * there[..., 1] - along[..., 1] * there[..., 0]
    return side


def require_few_overlaps(name: str, shapes: Sequence[BaseGeometry]) -> None:
    """Refuse to unite the shapes of a file if too many pairs of them overlap, judged by a sample.

    Raises
    ------
    FabricationError
        With an estimate of how many.

    Examples
    --------
    >>> from shapely.geometry import box
    >>> require_few_overlaps("lamp.gbr", [box(0, 0, 2, 2), box(1, 1, 3, 3)])
    """
    if len(shapes) <= _ASKED:
        return
    count = min(_ASKED, 2 + _QUESTIONS // len(shapes))
    asked = np.random.default_rng(_SEED).choice(len(shapes), count, replace=False)
    met, _ = shapely.STRtree(shapes).query([shapes[one] for one in asked], predicate="intersects")
    usual = np.sort(np.bincount(met, minlength=count))[:-1] - 1  # but for the one that overlaps most, perhaps a plane
    pairs = float(usual.mean()) * len(shapes) / 2
    if pairs > MOST_OVERLAPS + _EACH * len(shapes):
        raise FabricationError(
            f"{name}: of {len(shapes)} objects about {pairs:.0e} pairs overlap; more than {MOST_OVERLAPS:.0e} are not "
            "read, and no copper of a board has as many: export the layer again, filled areas as regions"
        )
