"""Circles and arcs as polygons, close enough for copper: at most a micrometre between chord and arc."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.errors import FabricationError
from geometries.quantities import UM
from geometries.section.outline import Point

CHORD_ERROR = 1 * UM
"""Largest distance between a chord and its arc [m]."""

_FEWEST, _MOST = 4, 64
_RADIUS_MISMATCH = 0.05
"""Start and end of an arc may differ in radius by this fraction; files round their coordinates."""


def quarter_segments(radius: float) -> int:
    """Chords per quarter circle that keep to `CHORD_ERROR`; at least 4, at most 64.

    Examples
    --------
    >>> quarter_segments(0.3e-3), quarter_segments(3e-3)
    (10, 31)
    """
    ratio = min(CHORD_ERROR / max(radius, CHORD_ERROR), 1.0)
    return min(max(math.ceil(math.pi / 4 / math.acos(1 - ratio)), _FEWEST), _MOST)


def same_area_radius(radius: float) -> float:
    """Radius of the polygon's corners for which it has the circle's area [m]."""
    step = 2 * math.pi / (4 * quarter_segments(radius))
    return radius * math.sqrt(step / math.sin(step))


def disc(radius: float, centre: Point = (0.0, 0.0)) -> BaseGeometry:
    """A filled circle as a polygon of the same area."""
    return ShapelyPoint(centre).buffer(same_area_radius(radius), quad_segs=quarter_segments(radius))


def arc_points(start: Point, end: Point, centre: Point, *, clockwise: bool) -> NDArray[np.float64]:
    """Points along an arc after its start, the end included; a full circle if start and end are the same, (n, 2) [m].

    Raises
    ------
    FabricationError
        If start and end are not equally far from the centre.
    """
    first, last = np.subtract(start, centre), np.subtract(end, centre)
    radius, other = float(np.hypot(*first)), float(np.hypot(*last))
    if abs(radius - other) > _RADIUS_MISMATCH * max(radius, other) + CHORD_ERROR:
        raise FabricationError(
            f"an arc's start and end are {radius * 1e3:.4g} and {other * 1e3:.4g} mm from its centre"
        )
    begin = math.atan2(first[1], first[0])
    sweep = (math.atan2(last[1], last[0]) - begin) % (2 * math.pi) or 2 * math.pi
    if clockwise:
        sweep = sweep - 2 * math.pi or -2 * math.pi
    steps = max(math.ceil(abs(sweep) / (math.pi / 2) * quarter_segments(radius)), 1)
    turn = np.arange(1, steps + 1) / steps
    radii = radius + (other - radius) * turn
    angles = begin + sweep * turn
    points = np.column_stack([centre[0] + radii * np.cos(angles), centre[1] + radii * np.sin(angles)])
    points[-1] = end
    return points
