"""Triangles on the copper of a layout: thin layers along its edges, where the current crowds, and a core between."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import KDTree
from shapely import contains_xy
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry
from skfem import MeshTri

from geometries.layout.layout import NEAR, CopperSheet, EdgeTerminal, PadTerminal, PlanLayout, Side, Terminal
from geometries.section.outline import Point
from solver.errors import MeshError
from solver.plan.branches import carrying_terminals
from solver.plan.cost import require_few_triangles
from solver.section.boundary_layers import Patch, between, edge_row, inset, keeps_shape
from solver.section.element_size import Points, SizeField, skin_layers
from solver.section.mesh import mesh_plate

_GROUP = 128
_PROBE = 1e3 * NEAR
_STEP = 0.5
"""Distance of samples along an edge, in widths of the copper."""

_MOST_SAMPLES = 400
_TRIANGLES_PER_ELEMENT = 15.0
"""Triangles over elements along the edges; measured 15 to 19 with the default settings."""

_ROOM = 0.3
"""Part of the distance from a pad to the next edge that layers around it may take."""

_SHALLOW = 30.0
"""Turn of an outline that makes no singularity worth a finer mesh [°]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanMeshSettings:
    """How fine the copper is meshed; all lengths are fractions of the copper's width at the nearest edge.

    Where the next copper above or below, or the sheet's own image, is nearer than the copper is wide, `reach` times
    that distance stands for the width.

    Parameters
    ----------
    layer_fraction : float
        Thickness of the outermost layer along an edge.
    layer_growth : float
        Increase of the layers' thickness per distance from the edge [1].
    band_fraction : float
        Depth of all layers together.
    along_fraction : float
        Length of elements along an edge.
    corner_fraction : float
        The same at re-entrant corners and at the ends of terminals.
    pad_fraction : float
        Length of elements around a pad or a post as a fraction of its smaller extent.
    pad_corner_fraction : float
        The same at a pad's corners, around which the current crowds.
    growth : float
        Increase of element size per distance from such places, and from the edges inwards [1].
    reach : float
        See above [1].

    Examples
    --------
    >>> from solver import PlanMeshSettings
    >>> PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0).reach
    3.0
    """

    layer_fraction: float = 0.003
    layer_growth: float = 1.0
    band_fraction: float = 0.2
    along_fraction: float = 0.35
    corner_fraction: float = 0.005
    pad_fraction: float = 0.2
    pad_corner_fraction: float = 0.03
    growth: float = 0.4
    reach: float = 3.0

    def pad_size(self, turn: float) -> float:
        """Length of elements at a corner of a pad, over its smaller extent, from the corner's turn [°]."""
        return self.pad_corner_fraction if turn > _SHALLOW else self.pad_fraction

    def coarser(self) -> PlanMeshSettings:
        """Settings with about twice the error.

        The error is proportional to the sizes at edges and corners, where the density has a singularity, and to the
        square of sizes and growth elsewhere, where it is smooth.
        """
        return PlanMeshSettings(
            layer_fraction=2 * self.layer_fraction,
            layer_growth=math.sqrt(2) * self.layer_growth,
            band_fraction=self.band_fraction,
            along_fraction=math.sqrt(2) * self.along_fraction,
            corner_fraction=2 * self.corner_fraction,
            pad_fraction=math.sqrt(2) * self.pad_fraction,
            pad_corner_fraction=2 * self.pad_corner_fraction,
            growth=math.sqrt(2) * self.growth,
            reach=self.reach,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeshedTerminal:
    """A terminal in a mesh.

    Parameters
    ----------
    number : int
        Index in the layout's list of terminals.
    facets : array
        Facets that make it up.
    faces : tuple of int
        Faces of the sheet that it touches.
    """

    number: int
    facets: NDArray[np.int64]
    faces: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """Triangles that carry current at one height.

    Parameters
    ----------
    face : int
        On which face of the sheet they lie.
    triangles : array
        Their numbers.
    """

    face: int
    triangles: NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetMesh:
    """A sheet and its triangles, which lie together if their numbers do.

    Parameters
    ----------
    sheet : CopperSheet
        What was meshed.
    mesh : MeshTri
        Its triangles, the same for both of two joined faces.
    terminals : tuple of MeshedTerminal
        Where current enters and leaves; those of idle ties are left out.
    holes : tuple of array
        Nodes on the rim of each hole of the sheet.
    faces : tuple of array
        Triangles of each face: all but those under a pad that lies on it.
    lands : tuple of array
        Triangles of each face under pads soldered to it; the copper is solid there.
    """

    sheet: CopperSheet
    mesh: MeshTri
    terminals: tuple[MeshedTerminal, ...]
    holes: tuple[NDArray[np.int64], ...]
    faces: tuple[NDArray[np.int64], ...]
    lands: tuple[NDArray[np.int64], ...]

    @property
    def surfaces(self) -> tuple[Surface, ...]:
        """The faces, then what lies under the lands of each face that has some."""
        faces = [Surface(face=number, triangles=each) for number, each in enumerate(self.faces)]
        return (*faces, *(Surface(face=number, triangles=each) for number, each in enumerate(self.lands) if len(each)))

    def rows(self, surface: int) -> slice:
        """Where the facets of a surface stand among those of all surfaces, one after the other."""
        return slice(surface * self.mesh.nfacets, (surface + 1) * self.mesh.nfacets)


def mesh_layout(layout: PlanLayout, settings: PlanMeshSettings) -> tuple[SheetMesh, ...]:
    """Mesh every sheet of a layout.

    Raises
    ------
    MeshError
        If the generator fails or copper is lost.
    """
    drafts = [_draft(layout, sheet, settings) for sheet in layout.sheets]
    return tuple(_mesh_sheet(layout, index, drafts, settings) for index in range(len(drafts)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Draft:
    """A sheet with what its mesh must follow.

    Parameters
    ----------
    sheet : CopperSheet
        The sheet.
    copper : Polygon
        Its copper without the pads.
    rings : tuple of (n, 2) array
        Vertices of the outer edge and of each hole, ends of terminals included, the copper to the left.
    pads : tuple of (n, 2) array
        Vertices of each pad, clockwise: the copper to the left.
    around : tuple of (n, 2) array
        The same, moved as far into the copper as thin layers reach.
    bands : tuple of (float, float)
        Depth of the layers around each pad, 0 for none, and the pad's smaller extent [m].
    lands : tuple of shape
        Pads that are soldered to a face; the copper under them is whole.
    samples, sizes : (m, 2) and (m,) array
        Places along all edges and the length of elements wanted there.
    width : float
        Width of the copper where it is narrowest [m].
    """

    sheet: CopperSheet
    copper: BaseGeometry
    rings: tuple[Points, ...]
    pads: tuple[Points, ...]
    around: tuple[Points, ...]
    bands: tuple[tuple[float, float], ...]
    lands: tuple[BaseGeometry, ...]
    samples: Points
    sizes: NDArray[np.float64]
    width: float


def _draft(layout: PlanLayout, sheet: CopperSheet, settings: PlanMeshSettings) -> _Draft:
    pads = _pads(layout, sheet)
    copper: BaseGeometry = sheet.shape
    for pad in pads:
        copper = copper.difference(pad.outline.shape)
    ends, rings = _terminal_ends(layout, sheet), sheet_rings(layout, sheet)
    places, widths = _edge_samples(layout, sheet, rings, sheet_pads(layout, sheet), settings)
    sizes = settings.along_fraction * widths
    sharp = [vertex for ring in rings for vertex in _sharp_vertices(ring, ends)]
    if sharp:
        nearest = KDTree(places).query(np.array(sharp))[1]
        places, sizes = np.vstack([places, sharp]), np.append(sizes, settings.corner_fraction * widths[nearest])
    for pad in pads:
        extent = pad_extent(pad)
        places = np.vstack([places, pad.outline.vertices])
        sizes = np.append(sizes, [settings.pad_size(turn) * extent for turn in _turns(pad.outline.vertices)])
    rims, bands = [np.array(pad.outline.vertices)[::-1] for pad in pads], list(_bands(sheet, pads, settings))
    return _Draft(
        sheet=sheet,
        copper=copper,
        rings=tuple(np.array(ring) for ring in rings),
        pads=tuple(rims),
        around=tuple(inset(rim, depth) if depth else rim for rim, depth in zip(rims, bands, strict=True)),
        bands=tuple(zip(bands, map(pad_extent, pads), strict=True)),
        lands=tuple(pad.outline.shape for pad in pads if pad.side is not Side.THROUGH),
        samples=places,
        sizes=sizes,
        width=float(widths.min()),
    )


def sheet_rings(layout: PlanLayout, sheet: CopperSheet) -> list[list[Point]]:
    """Points of the outer edge, then of each hole, ends of terminals included, the copper to the left."""
    ends = _terminal_ends(layout, sheet)
    rings = [_with_points(sheet.outline.vertices, ends)]
    return rings + [_with_points(hole.vertices, ends)[::-1] for hole in sheet.holes]


def sheet_pads(layout: PlanLayout, sheet: CopperSheet) -> list[list[Point]]:
    """Corners of each pad on a sheet that a current can pass."""
    return [list(pad.outline.vertices) for pad in _pads(layout, sheet)]


def _pads(layout: PlanLayout, sheet: CopperSheet) -> list[PadTerminal]:
    return [
        terminal
        for _, terminal in carrying_terminals(layout)
        if isinstance(terminal, PadTerminal) and terminal.sheet == sheet.name
    ]


def _touched(sheet: CopperSheet, terminal: Terminal) -> tuple[int, ...]:
    """Faces of a sheet that a terminal touches."""
    if len(sheet.levels) == 1 or isinstance(terminal, EdgeTerminal) or terminal.side is Side.THROUGH:
        return tuple(range(len(sheet.levels)))
    return (0,) if terminal.side is Side.LOWER else (1,)


def _terminal_ends(layout: PlanLayout, sheet: CopperSheet) -> list[Point]:
    return [
        point
        for _, terminal in layout.terminals()
        if isinstance(terminal, EdgeTerminal) and terminal.sheet == sheet.name
        for point in (terminal.start, terminal.end)
    ]


def _with_points(vertices: tuple[Point, ...], extra: list[Point]) -> list[Point]:
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
    return ring


class _Levels:
    """Copper at other heights than a sheet's, and the sheet's own image."""

    def __init__(self, layout: PlanLayout, sheet: CopperSheet) -> None:
        others = [other for other in layout.sheets if other.height != sheet.height]
        self._shapes = np.array([other.shape for other in others], dtype=object)
        self._rises = np.array([sheet.height - other.height for other in others])
        self._image = math.inf if layout.plane is None else 2 * (sheet.height - layout.plane.height)

    def nearest(self, place: Point) -> float:
        """Distance from a place on the sheet to the nearest of them [m]."""
        gaps = np.hypot(self._rises, shapely.distance(self._shapes, ShapelyPoint(place)))
        return float(gaps.min(initial=self._image))


def _edge_samples(
    layout: PlanLayout,
    sheet: CopperSheet,
    rings: list[list[Point]],
    pads: list[list[Point]],
    settings: PlanMeshSettings,
) -> tuple[Points, NDArray[np.float64]]:
    """Places along all edges, and the width of the copper there or what stands for it where other copper is near.

    Raises
    ------
    MeshError
        As soon as the elements along the edges make more triangles than are meshed.
    """
    elements = 0.0
    walls, levels = _Walls(rings=[np.array(ring) for ring in (*rings, *pads)]), _Levels(layout, sheet)
    places, widths = [], []
    for number, ring in enumerate(rings):
        for edge, (start, end) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
            length, walked = math.dist(start, end), 0.0
            while walked < length:
                part = max(walked, min(_PROBE, length / 2)) / length
                place = (start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1]))
                width = min(walls.width(number, edge, place), settings.reach * levels.nearest(place))
                places.append(place)
                widths.append(width)
                step = max(_STEP * width, length / _MOST_SAMPLES)
                elements += min(step, length - walked) / (settings.along_fraction * width)
                require_few_triangles(sheet.name, _TRIANGLES_PER_ELEMENT * elements)
                walked += step
    return np.array(places), np.array(widths)


class _Walls:
    """All edges of a sheet, to measure across its copper; rings have it to their left."""

    def __init__(self, rings: list[Points]) -> None:
        self._start = np.vstack(rings)
        self._along = np.vstack([np.roll(ring, -1, axis=0) - ring for ring in rings])
        self._first = np.cumsum([0, *map(len, rings)])
        self._span = float(np.hypot(*np.ptp(self._start, axis=0)))

    def width(self, ring: int, edge: int, place: Point) -> float:
        """Distance across the copper from a place on an edge to the next one, its two neighbours not counted [m].

        In an acute corner the copper's width is not the distance to the other side of that corner.
        """
        size = int(self._first[ring + 1] - self._first[ring])
        own = self._first[ring] + np.array([edge - 1, edge, edge + 1]) % size
        across = self._along[own[1]] / np.linalg.norm(self._along[own[1]])
        gap = self._start - np.array(place)
        turn = self._along @ across  # the ray runs along the edge's left normal
        with np.errstate(divide="ignore", invalid="ignore"):
            part = -(gap @ across) / turn
            depth = gap @ [-across[1], across[0]] + part * (self._along @ [-across[1], across[0]])
        hit = (part >= 0) & (part <= 1) & (depth > _PROBE)
        hit[own] = False
        return float(min(depth[hit], default=self._widest(own[1])))

    def _widest(self, edge: int) -> float:
        """What stands for the width where nothing but the neighbours lies across: the edge's own length."""
        return min(self._span, float(np.linalg.norm(self._along[edge])))


def _turns(vertices: tuple[Point, ...]) -> list[float]:
    """By how much a closed outline turns at each of its corners [°]."""
    points = np.array(vertices)
    after, before = np.roll(points, -1, axis=0) - points, points - np.roll(points, 1, axis=0)
    sine = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return [float(each) for each in np.degrees(np.abs(np.arctan2(sine, (before * after).sum(axis=1))))]


def _sharp_vertices(ring: list[Point], terminal_ends: list[Point]) -> Iterator[Point]:
    """Re-entrant corners and ends of terminals; the shallow corners of arcs are left out."""
    for before, vertex, after in zip([ring[-1], *ring[:-1]], ring, [*ring[1:], ring[0]], strict=True):
        one, other = np.subtract(vertex, before), np.subtract(after, vertex)
        turn = math.degrees(math.atan2(one[0] * other[1] - one[1] * other[0], float(one @ other)))
        ends_here = any(math.dist(vertex, end) < NEAR for end in terminal_ends)
        if turn < -_SHALLOW or (ends_here and turn < _SHALLOW):
            yield vertex


def _mesh_sheet(layout: PlanLayout, index: int, drafts: list[_Draft], settings: PlanMeshSettings) -> SheetMesh:
    draft = drafts[index]
    field = _size_field(drafts, index, settings)
    depth = _band_depth(draft, settings.band_fraction * draft.width)
    rows = [_ring_rows(ring, inset(ring, depth), field) for ring in draft.rings]
    pads = [_ring_rows(pad, around, field) for pad, around in zip(draft.pads, draft.around, strict=True)]
    patches = [patch for ring in rows for patch in _patches(ring, depth, draft.width, settings)]
    for pad, (deep, extent) in zip(pads, draft.bands, strict=True):
        patches += _patches(pad, deep, extent, settings) if deep else []
    core = [np.vstack([far[:-1] for _, far in ring]) for ring in (*rows, *pads)]
    meshed = mesh_plate(draft.sheet.name, tuple(patches), tuple(core), field, draft.copper.area)
    for rim in (np.vstack([near[:-1] for near, _ in pad]) for pad in pads):
        meshed = _with_land(draft, meshed, rim, field)
    return _sheet_mesh(layout, draft, meshed, [np.vstack([near[:-1] for near, _ in ring]) for ring in rows[1:]])


def _patches(rows: list[tuple[Points, Points]], depth: float, width: float, settings: PlanMeshSettings) -> list[Patch]:
    """Layers along the edges of a ring, down to a depth, for copper of a width [m]."""
    layers = skin_layers(depth, min(settings.layer_fraction * width, depth / 3), settings.layer_growth, depth)
    return [Patch(near=near, far=far, layers=layers) for near, far in rows]


def _bands(sheet: CopperSheet, pads: list[PadTerminal], settings: PlanMeshSettings) -> Iterator[float]:
    """Depth of thin layers around each pad, as far as there is copper [m]; none around round ones."""
    for pad in pads:
        others = [other.outline.shape for other in pads if other is not pad]
        room = min([sheet.shape.boundary.distance(pad.outline.shape), *map(pad.outline.shape.distance, others)])
        has_corners = max(_turns(pad.outline.vertices)) > _SHALLOW
        yield min(settings.band_fraction * pad_extent(pad), _ROOM * room) if has_corners else 0.0


def pad_extent(pad: PadTerminal) -> float:
    """A pad's smaller extent [m]."""
    left, bottom, right, top = pad.outline.bounds
    return float(min(right - left, top - bottom))


def _size_field(drafts: list[_Draft], index: int, settings: PlanMeshSettings) -> SizeField:
    """Own edges, and the edges of copper above and below, whose shadow is as wide as the distance."""
    own = drafts[index]
    places, sizes = [own.samples], [own.sizes]
    for other in drafts:
        gap = abs(other.sheet.height - own.sheet.height)
        if gap > 0:
            places.append(other.samples)
            sizes.append(np.maximum(other.sizes, settings.along_fraction * gap))
    wanted = np.concatenate(sizes)
    levels = np.floor(2 * np.log2(wanted / wanted.min()) + 1e-6)  # few levels: the generator measures from each
    return SizeField(features=np.vstack(places), sizes=wanted.min() * 2 ** (levels / 2), growth=settings.growth)


def _band_depth(draft: _Draft, depth: float) -> float:
    """A depth to which all edges can be moved into the copper without one vanishing or meeting another."""
    for _ in range(40):
        moved = [inset(ring, depth) for ring in draft.rings]
        core = ShapelyPolygon(moved[0], moved[1:])
        if all(map(keeps_shape, draft.rings, moved)) and core.is_valid and _holds(core, draft):
            return depth
        depth /= 2
    raise MeshError(f"copper {draft.sheet.name!r} is too thin somewhere to be meshed; simplify its outline")


def _holds(core: ShapelyPolygon, draft: _Draft) -> bool:
    """Whether the core lies within the copper and around all its pads."""
    outline = ShapelyPolygon(core.exterior)
    holes_stay = all(ShapelyPolygon(hole).within(outline) for hole in core.interiors)
    return holes_stay and all(core.contains(ShapelyPolygon(around)) for around in draft.around)


def _ring_rows(ring: Points, moved: Points, field: SizeField) -> list[tuple[Points, Points]]:
    """Nodes along each edge of a ring and along the edge it was moved to, at the same fractions of both."""
    rows = []
    for k in range(len(ring)):
        start, end = ring[k], ring[(k + 1) % len(ring)]
        near = edge_row(start, end, field)
        walked = np.linalg.norm(near - start, axis=1) / np.linalg.norm(end - start)
        walked[-1] = 1.0
        rows.append((near, between(moved[k], moved[(k + 1) % len(ring)], walked)))
    return rows


def _with_land(draft: _Draft, meshed: MeshTri, rim: Points, field: SizeField) -> MeshTri:
    """The mesh with triangles under a pad too, if it is soldered to a face."""
    shape = ShapelyPolygon(rim)
    if not any(
        land.equals_exact(shape, NEAR) or land.symmetric_difference(shape).area < NEAR**2 for land in draft.lands
    ):
        return meshed
    inner = mesh_plate(draft.sheet.name, (), (rim,), field, shape.area)
    found = KDTree(meshed.p.T).query(inner.p.T)
    own = found[0] > NEAR / 10
    numbers = np.where(own, meshed.nvertices + np.cumsum(own) - 1, found[1])
    return MeshTri(np.hstack([meshed.p, inner.p[:, own]]), np.hstack([meshed.t, numbers[inner.t]]))


def _sheet_mesh(layout: PlanLayout, draft: _Draft, meshed: MeshTri, holes: list[Points]) -> SheetMesh:
    """Sort the triangles into groups and find terminals and holes in the mesh."""
    groups = _neighbourhoods(meshed.p[:, meshed.t].mean(axis=1).T, np.arange(meshed.nelements))
    mesh = MeshTri(meshed.p, np.ascontiguousarray(meshed.t[:, np.concatenate(groups)]))
    tree = KDTree(mesh.p.T)
    here = [each for each in carrying_terminals(layout) if each[1].sheet == draft.sheet.name]
    ends = [end for _, end in here]
    under = [_under_pads(mesh, draft.sheet, face, ends) for face in range(len(draft.sheet.levels))]
    return SheetMesh(
        sheet=draft.sheet,
        mesh=mesh,
        terminals=tuple(
            MeshedTerminal(number=number, facets=_terminal_facets(mesh, end), faces=_touched(draft.sheet, end))
            for number, end in here
        ),
        holes=tuple(np.asarray(tree.query(hole)[1], dtype=np.int64) for hole in holes),
        faces=tuple(np.flatnonzero(~each) for each in under),
        lands=tuple(map(np.flatnonzero, under)),
    )


def _neighbourhoods(places: Points, members: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Halve along the longer side until no group is larger than a limit."""
    if len(members) <= _GROUP:
        return [members]
    here = places[members]
    ordered = members[np.argsort(here[:, np.argmax(np.ptp(here, axis=0))], kind="stable")]
    middle = (len(ordered) + 1) // 2
    return _neighbourhoods(places, ordered[:middle]) + _neighbourhoods(places, ordered[middle:])


def _under_pads(mesh: MeshTri, sheet: CopperSheet, face: int, terminals: list[Terminal]) -> NDArray[np.bool_]:
    """Which triangles lie under a pad on a face."""
    under = np.zeros(mesh.nelements, dtype=bool)
    middles = mesh.p[:, mesh.t].mean(axis=1)
    for terminal in terminals:
        if isinstance(terminal, PadTerminal) and face in _touched(sheet, terminal):
            under |= contains_xy(terminal.outline.shape, *middles)
    return under


def _terminal_facets(mesh: MeshTri, terminal: Terminal) -> NDArray[np.int64]:
    """Facets that lie on the terminal's line."""
    line = terminal.line if isinstance(terminal, EdgeTerminal) else terminal.outline.shape.boundary
    on_line = shapely.distance(line, shapely.points(mesh.p.T)) < NEAR
    candidates = np.flatnonzero(on_line[mesh.facets].all(axis=0))
    middles = mesh.p[:, mesh.facets[:, candidates]].mean(axis=1)
    return np.asarray(candidates[shapely.distance(line, shapely.points(middles.T)) < NEAR], dtype=np.int64)
