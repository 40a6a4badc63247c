"""What lies outside the conductors, cut into faces: each dielectric by itself, and air.

The borders of the dielectrics run from corner to corner of the conductors, or clear of them. Together with the surfaces
of the conductors and the border of the mesh they are a network of short lines, whose meshes are the faces.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.section.section import AIR, CrossSection
from solver.errors import MeshError
from solver.section.boundary_layers import RegionSkeleton, between, edge_row
from solver.section.element_size import Points, SizeField

_SLENDER = 10.0
"""Longest element on the border of a dielectric, in thicknesses of it."""

Face = tuple[Points, ...]
"""Closed rows of nodes, first not repeated: round a face, then round each of its holes."""


def dielectric_label(number: int) -> str:
    """Name of the triangles of a section's dielectric, counted from 0."""
    return f"dielectric {number}"


def part_outside(
    section: CrossSection, skeletons: tuple[RegionSkeleton, ...], border: Points, size_field: SizeField
) -> dict[str, list[Face]]:
    """Cut everything between the conductors and the border of the mesh into faces.

    Parameters
    ----------
    section : CrossSection
        What is to be meshed.
    skeletons : tuple of RegionSkeleton
        Nodes on the conductors' surfaces.
    border : (n, 2) array
        Closed row of nodes, the border of the mesh; parts of it may run along conductors.
    size_field : SizeField
        Element size on the borders of the dielectrics.

    Returns
    -------
    dict
        Faces of ``air`` and of every dielectric that has any, by its label.

    Raises
    ------
    MeshError
        If the border of a dielectric meets a conductor elsewhere than at its corners.
    """
    shapes = _visible(section)
    surfaces = [_closed(ring) for each in skeletons for ring in (each.outer, *each.holes)]
    rows = _border_rows(section, shapes, size_field)
    _require_joined(rows, surfaces)
    lines = np.vstack([_segments(row) for row in (_closed(border), *surfaces, *rows)])
    network = np.asarray(shapely.linestrings(_without_repetition(lines)))
    copper = [region.outline.shape for region in section.regions]
    parts: dict[str, list[Face]] = {}
    for face in shapely.get_parts(shapely.polygonize(network)):
        place = face.representative_point()
        if not any(shape.contains(place) for shape in copper):
            inside = (dielectric_label(number) for number, shape in enumerate(shapes) if shape.contains(place))
            rings = (face.exterior, *face.interiors)
            parts.setdefault(next(inside, AIR), []).append(tuple(np.array(ring.coords)[:-1] for ring in rings))
    return parts


def _visible(section: CrossSection) -> list[BaseGeometry]:
    """What each dielectric fills where earlier ones do not."""
    shapes: list[BaseGeometry] = []
    taken: BaseGeometry = ShapelyPolygon()
    for dielectric in section.dielectrics:
        shape = dielectric.outline.shape
        shapes.append(shape.difference(taken))
        taken = taken.union(shape)
    return shapes


def _border_rows(section: CrossSection, shapes: list[BaseGeometry], size_field: SizeField) -> list[Points]:
    """Nodes along every straight piece of the dielectrics' borders outside the conductors."""
    copper = shapely.union_all([region.outline.shape for region in section.regions])
    borders = shapely.union_all([shape.boundary for shape in shapes]).difference(copper)
    thinnest = min((_thickness(shape) for shape in shapes if shape.area > 0), default=math.inf)
    rows = []
    for line in shapely.get_parts(borders):
        corners = np.array(line.coords)
        for start, end in pairwise(corners):
            row = edge_row(start, end, size_field)
            rows.append(_no_longer_than(row, _SLENDER * thinnest))
    return rows


def _thickness(shape: BaseGeometry) -> float:
    """Area over half the perimeter [m]; a little less than the thickness of a band."""
    return float(2 * shape.area / shape.length)


def _no_longer_than(row: Points, longest: float) -> Points:
    """The row with further nodes where two of them are farther apart than `longest`."""
    steps = np.linalg.norm(np.diff(row, axis=0), axis=1)
    parts = [
        between(start, end, np.linspace(0, 1, math.ceil(step / longest) + 1))[:-1]
        for start, end, step in zip(row[:-1], row[1:], steps, strict=True)
    ]
    return np.vstack([*parts, row[-1:]])


def _require_joined(rows: list[Points], surfaces: list[Points]) -> None:
    """Check that every piece of a border ends at a node of a conductor or at another piece."""
    nodes = {tuple(point) for surface in surfaces for point in surface}
    ends = [tuple(end) for row in rows for end in (row[0], row[-1])]
    for x, y in ends:
        if (x, y) not in nodes and ends.count((x, y)) < 2:
            raise MeshError(
                f"the border of a dielectric meets a conductor near x = {x * 1e3:.4g} mm, y = {y * 1e3:.4g} mm "
                "away from its corners; let dielectrics begin and end at the heights of the conductors' corners"
            )


def _closed(ring: Points) -> Points:
    return np.vstack([ring, ring[:1]])


def _segments(row: Points) -> NDArray[np.float64]:
    """Lines between neighbours of a row, (n - 1, 2, 2)."""
    return np.stack([row[:-1], row[1:]], axis=1)


def _without_repetition(lines: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each line once, whichever way it runs."""
    backwards = (lines[:, 0, 0] > lines[:, 1, 0]) | (
        (lines[:, 0, 0] == lines[:, 1, 0]) & (lines[:, 0, 1] > lines[:, 1, 1])
    )
    lines[backwards] = lines[backwards, ::-1]
    return np.unique(lines, axis=0)
