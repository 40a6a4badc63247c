"""Triangles on the copper of a layout: fine at free edges and corners, where the current crowds, coarse between."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry
from skfem import MeshTri

from geometries.outline import Point
from geometries.plan import NEAR, CopperSheet, EdgeTerminal, PadTerminal, PlanLayout, Terminal
from solver.grading import Points, SizeField, spread_nodes
from solver.mesh import mesh_plate

_GROUP = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanMeshSettings:
    """How fine the copper is meshed.

    Parameters
    ----------
    edge_fraction : float
        Element size at an edge, as a fraction of the copper's width there or, where that is less, of `reach` times
        the distance to the nearest other copper above or below (the mirror image included).
    corner_fraction : float
        The same at re-entrant corners and at the ends of terminals.
    growth : float
        Increase of element size per distance from the edge [1].
    reach : float
        See `edge_fraction` [1].
    """

    edge_fraction: float = 0.04
    corner_fraction: float = 0.004
    growth: float = 0.5
    reach: float = 3.0

    def coarser(self) -> PlanMeshSettings:
        """Settings with twice the error.

        The error is proportional to the sizes at edges and corners, where the density has a singularity, and to the
        square of the growth, which rules where it is smooth.
        """
        return PlanMeshSettings(
            edge_fraction=2 * self.edge_fraction,
            corner_fraction=2 * self.corner_fraction,
            growth=math.sqrt(2) * self.growth,
            reach=self.reach,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetMesh:
    """A sheet and its triangles.

    Parameters
    ----------
    sheet : CopperSheet
        What was meshed.
    mesh : MeshTri
        Its triangles.
    terminals : tuple of (indices, array)
        Index in the layout's list of terminals, and the facets that make the terminal up.
    holes : tuple of array
        Nodes on the rim of each hole of the sheet.
    groups : tuple of slice
        Triangles that lie together, group after group.
    """

    sheet: CopperSheet
    mesh: MeshTri
    terminals: tuple[tuple[int, NDArray[np.int64]], ...]
    holes: tuple[NDArray[np.int64], ...]
    groups: tuple[slice, ...]


def mesh_layout(layout: PlanLayout, settings: PlanMeshSettings) -> tuple[SheetMesh, ...]:
    """Mesh every sheet of a layout.

    Raises
    ------
    MeshError
        If the generator fails or copper is lost.
    """
    features = [_sheet_features(layout, sheet, settings) for sheet in layout.sheets]
    return tuple(
        _mesh_sheet(layout, index, _size_field(layout, index, features, settings))
        for index in range(len(layout.sheets))
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Features:
    """Points on the edges of a sheet with the size of elements wanted there."""

    points: Points
    sizes: NDArray[np.float64]


def _rings(layout: PlanLayout, sheet: CopperSheet) -> list[tuple[Point, ...]]:
    """Vertices of the outer edge, the holes and the pads of a sheet, ends of terminals included."""
    ends = [
        point
        for _, terminal in layout.terminals()
        if isinstance(terminal, EdgeTerminal) and terminal.sheet == sheet.name
        for point in (terminal.start, terminal.end)
    ]
    rings = [_with_points(ring.vertices, ends) for ring in (sheet.outline, *sheet.holes)]
    return rings + [pad.outline.vertices for pad in _pads(layout, sheet)]


def _pads(layout: PlanLayout, sheet: CopperSheet) -> list[PadTerminal]:
    return [
        terminal
        for _, terminal in layout.terminals()
        if isinstance(terminal, PadTerminal) and terminal.sheet == sheet.name
    ]


def _with_points(vertices: tuple[Point, ...], extra: list[Point]) -> tuple[Point, ...]:
    """The ring with further points set into its straight edges."""
    ring: list[Point] = []
    for start, end in zip(vertices, (*vertices[1:], vertices[0]), strict=True):
        edge = LineString([start, end])
        inner = [
            (edge.project(ShapelyPoint(point)), point)
            for point in extra
            if edge.distance(ShapelyPoint(point)) < NEAR and min(math.dist(point, start), math.dist(point, end)) > NEAR
        ]
        ring += [start, *(point for _, point in sorted(inner))]
    return tuple(ring)


def _sheet_features(layout: PlanLayout, sheet: CopperSheet, settings: PlanMeshSettings) -> _Features:
    """Corners and samples along all edges, with sizes from the width of the copper there."""
    shape: BaseGeometry = sheet.shape
    for pad in _pads(layout, sheet):
        shape = shape.difference(pad.outline.shape)
    clearance = settings.reach * _nearest_level(layout, sheet)
    span = math.hypot(shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1])
    points, sizes = [], []
    for ring in _rings(layout, sheet):
        for start, end in zip(ring, (*ring[1:], ring[0]), strict=True):
            for part in (np.arange(9) + 0.5) / 9:
                width = _width_across(shape, start, end, part, span)
                points.append(_between(start, end, part))
                sizes.append(settings.edge_fraction * min(width, clearance))
    samples, wanted = np.array(points), np.array(sizes)
    ends = np.array([vertex for ring in _rings(layout, sheet) for vertex in _sharp_vertices(ring, shape)])
    if len(ends):
        nearest = KDTree(samples).query(ends)[1]
        ratio = settings.corner_fraction / settings.edge_fraction
        samples, wanted = np.vstack([samples, ends]), np.append(wanted, ratio * wanted[nearest])
    return _Features(points=samples, sizes=wanted)


def _nearest_level(layout: PlanLayout, sheet: CopperSheet) -> float:
    """Vertical distance to the nearest other copper, the sheet's own image included [m]; infinite without any."""
    gaps = [abs(sheet.height - other.height) for other in layout.sheets if other.height != sheet.height]
    if layout.plane is not None:
        gaps.append(2 * (sheet.height - layout.plane.height))
    return min(gaps, default=math.inf)


def _width_across(shape: BaseGeometry, start: Point, end: Point, part: float, span: float) -> float:
    """Distance across the copper from a point of an edge to the edge opposite [m]."""
    length = math.dist(start, end)
    normal = (-(end[1] - start[1]) / length, (end[0] - start[0]) / length)
    foot = _between(start, end, part)
    for sign in (1.0, -1.0):
        probe = (foot[0] + sign * normal[0] * 1e3 * NEAR, foot[1] + sign * normal[1] * 1e3 * NEAR)
        if shape.contains(ShapelyPoint(probe)):
            far = (foot[0] + sign * normal[0] * span, foot[1] + sign * normal[1] * span)
            return float(shape.boundary.intersection(LineString([probe, far])).distance(ShapelyPoint(foot)))
    return length


def _between(start: Point, end: Point, part: float) -> Point:
    return start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1])


def _sharp_vertices(ring: tuple[Point, ...], shape: BaseGeometry) -> list[Point]:
    """Re-entrant corners and points on straight edges (ends of terminals); shallow corners of arcs are left out."""
    sharp = []
    for before, vertex, after in zip((ring[-1], *ring[:-1]), ring, (*ring[1:], ring[0]), strict=True):
        one = math.atan2(before[1] - vertex[1], before[0] - vertex[0])
        other = math.atan2(after[1] - vertex[1], after[0] - vertex[0])
        turn = math.degrees((other - one) % (2 * math.pi))
        straight = abs(turn - 180) < 1e-3
        probe = 1e3 * NEAR
        bisector = (one + other) / 2
        inside = [
            shape.contains(
                ShapelyPoint(
                    vertex[0] + sign * probe * math.cos(bisector), vertex[1] + sign * probe * math.sin(bisector)
                )
            )
            for sign in (1.0, -1.0)
        ]
        narrow = 180 - abs(turn - 180)
        reentrant = abs(turn - 180) > 30 and inside[0 if abs(other - one) > math.pi else 1]
        if straight or (reentrant and narrow < 150):
            sharp.append(vertex)
    return sharp


def _size_field(layout: PlanLayout, index: int, features: list[_Features], settings: PlanMeshSettings) -> SizeField:
    """Own edges, and the edges of copper above and below, whose shadow is as wide as the distance."""
    own = layout.sheets[index]
    points, sizes = [features[index].points], [features[index].sizes]
    for other, found in zip(layout.sheets, features, strict=True):
        gap = abs(other.height - own.height)
        if gap > 0:
            points.append(found.points)
            sizes.append(np.maximum(found.sizes, settings.edge_fraction * settings.reach * gap))
    wanted = np.concatenate(sizes)
    levels = np.floor(2 * np.log2(wanted / wanted.min()) + 1e-6)  # few levels: the generator measures from each
    return SizeField(features=np.vstack(points), sizes=wanted.min() * 2 ** (levels / 2), growth=settings.growth)


def _mesh_sheet(layout: PlanLayout, index: int, field: SizeField) -> SheetMesh:
    sheet = layout.sheets[index]
    rings = [_divided(ring, field) for ring in _rings(layout, sheet)]
    meshed = mesh_plate(sheet.name, rings[0], tuple(rings[1:]), field)
    groups = _neighbourhoods(meshed.p[:, meshed.t].mean(axis=1).T, np.arange(meshed.nelements))
    mesh = MeshTri(meshed.p, np.ascontiguousarray(meshed.t[:, np.concatenate(groups)]))
    ends = np.cumsum([0, *map(len, groups)]).tolist()
    nodes = [_nodes_at(mesh, ring) for ring in rings]
    terminals = tuple(
        (number, _terminal_facets(mesh, terminal))
        for number, (_, terminal) in enumerate(layout.terminals())
        if terminal.sheet == sheet.name
    )
    return SheetMesh(
        sheet=sheet,
        mesh=mesh,
        terminals=terminals,
        holes=tuple(nodes[1 : 1 + len(sheet.holes)]),
        groups=tuple(slice(start, end) for start, end in pairwise(ends)),
    )


def _neighbourhoods(places: Points, members: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Halve along the longer side until no group is larger than a limit."""
    if len(members) <= _GROUP:
        return [members]
    here = places[members]
    ordered = members[np.argsort(here[:, np.argmax(np.ptp(here, axis=0))], kind="stable")]
    middle = (len(ordered) + 1) // 2
    return _neighbourhoods(places, ordered[:middle]) + _neighbourhoods(places, ordered[middle:])


def _divided(ring: tuple[Point, ...], field: SizeField) -> Points:
    """Nodes along a closed ring, as far apart as the size field wants."""
    return np.vstack([_edge_nodes(start, end, field) for start, end in zip(ring, (*ring[1:], ring[0]), strict=True)])


def _edge_nodes(start: Point, end: Point, field: SizeField) -> Points:
    first, step, length = np.array(start), np.subtract(end, start), math.dist(start, end)

    def size(t: NDArray[np.float64]) -> NDArray[np.float64]:
        return field.at(first + t[:, None] * step) / length

    return np.asarray(first + spread_nodes(size)[:-1, None] * step)


def _nodes_at(mesh: MeshTri, points: Points) -> NDArray[np.int64]:
    return np.asarray(KDTree(mesh.p.T).query(points)[1], dtype=np.int64)


def _terminal_facets(mesh: MeshTri, terminal: Terminal) -> NDArray[np.int64]:
    """Boundary facets of which both ends and the middle lie on the terminal."""
    line = terminal.line if isinstance(terminal, EdgeTerminal) else terminal.outline.shape.boundary
    boundary = mesh.boundary_facets()
    middles = mesh.p[:, mesh.facets[:, boundary]].mean(axis=1).T
    return np.array(
        [facet for facet, (x, y) in zip(boundary, middles, strict=True) if line.distance(ShapelyPoint(x, y)) < NEAR],
        dtype=np.int64,
    )
