"""The board's outline from the lines of its profile file."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.gerber import GerberFile, Kind
from geometries.quantities import UM
from geometries.section.outline import Point

_GAPS = (0.1 * UM, 5 * UM, 50 * UM)
"""Ends of lines that lie this close are joined, the smallest that closes the outline first."""


def outline_of(files: Sequence[GerberFile], extent: BaseGeometry) -> tuple[BaseGeometry, str]:
    """Area of the board, cutouts taken away, and a remark if it had to be assumed.

    Parameters
    ----------
    files : sequence of GerberFile
        The profile, usually one file.
    extent : shapely geometry
        The box around all copper, which stands in if the profile is missing or does not close.
    """
    items = [item for file in files for item in file.objects]
    filled = [item.shape for item in items if item.kind is Kind.REGION]
    paths = [item.path for item in items if len(item.path) > 1]
    if filled and not paths:
        return shapely.union_all(filled), ""
    for gap in _GAPS:
        area = _closed_area(paths, gap)
        if area is not None:
            return area, ""
    reason = "does not close" if paths else "is missing"
    return extent, f"the board's outline {reason}; the box around its copper stands in for it"


def _closed_area(paths: Sequence[Sequence[Point]], gap: float) -> BaseGeometry | None:
    """The largest ring with the rings inside it cut out; None if no ring closes around the rest."""
    lines = [LineString(np.round(np.array(path) / gap) * gap) for path in paths]
    rings = list(shapely.get_parts(shapely.polygonize([shapely.union_all(lines)])))
    if not rings:
        return None
    whole = shapely.union_all([shapely.Polygon(ring.exterior) for ring in rings])
    largest = max(shapely.get_parts(whole), key=lambda part: part.area)
    if shapely.box(*largest.bounds).area < _MOST_OF * shapely.MultiLineString(lines).envelope.area:
        return None
    board = max(rings, key=lambda ring: shapely.Polygon(ring.exterior).area)
    closed: BaseGeometry = shapely.make_valid(board)
    return closed


_MOST_OF = 0.9
"""A ring that spans less of the drawn lines than this is a cutout of an outline that does not close."""
