"""The skeleton of a mesh: nodes on every conductor's surface and the layers beneath it. Knows no mesh generator.

A four-sided conductor becomes one patch of layers from one long side to the other; any other outline
becomes a band of patches along its surface around a core that the mesh generator fills.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon as ShapelyPolygon

from geometries.section.outline import Circle, Polygon, Rectangle, Ring
from geometries.section.section import CrossSection, Region, View
from solver.errors import MeshError
from solver.formulas.skin import skin_depth
from solver.section.effort import require_few_corners
from solver.section.element_size import Points, SizeField, skin_layers, spread_nodes, two_sided_layers
from solver.section.round_outlines import circle_nodes

_FREE_AIR = 0.5
"""Distance over which the field round a circle on its own varies, in radii."""

_ROUND_LAYERS = 0.5
"""Growth of the layers in a circle, of that elsewhere: without corners nothing else makes its elements small."""

_AXIS_REACH = 1.0
"""How far past the conductors the elements on the axis are kept small, in sizes of the section."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshSettings:
    """How fine the mesh is.

    Parameters
    ----------
    growth : float
        Growth of element size per distance from the nearest corner [1].
    corner_fraction : float
        Element size at a corner as a fraction of the conductor's smallest dimension [1].
    finer_corners : tuple of (str, float)
        Regions whose corners are finer, with the factor by which [1].
    layers_per_skin_depth : float
        Surface layers per skin depth at the highest frequency [1].
    layer_growth : float
        Growth of the layer thickness per distance from the surface [1].
    sides_per_circle : int
        Fewest arcs that a circle is meshed with.
    far_radius : float
        Radius of the outer circle in extents of the section [1].
    far_distance : float
        Smallest radius of the outer circle [m], where the field is asked for far away.
    axis_fraction : float
        Element size on the axis of an axisymmetric view as a fraction of the distance to the nearest conductor [1].
        The field is only linear in a triangle on the axis.

    Examples
    --------
    >>> from solver import MeshSettings
    >>> MeshSettings(growth=1.0, corner_fraction=0.3).sides_per_circle
    16
    """

    growth: float = 0.5
    corner_fraction: float = 0.08
    finer_corners: tuple[tuple[str, float], ...] = ()
    layers_per_skin_depth: float = 1.2
    layer_growth: float = 0.8
    sides_per_circle: int = 16
    far_radius: float = 500.0
    far_distance: float = 0.0
    axis_fraction: float = 0.06


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Patch:
    """Layers of elements between two facing rows of nodes.

    Parameters
    ----------
    near, far : (n + 1, 2) array
        The two rows, in the same direction [m].
    layers : (m + 1,) array
        Borders of the layers from near to far, 0 to 1.
    """

    near: Points
    far: Points
    layers: NDArray[np.float64]

    def rung(self, index: int) -> Points:
        """Nodes of the line across the layers from near[index] to far[index]."""
        start, end = self.near[index], self.far[index]
        return between(start, end, self.layers)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RegionSkeleton:
    """Surface nodes, patches and cores of one conductor.

    Parameters
    ----------
    name : str
        The region's name.
    outer : (n, 2) array
        Closed row of nodes round the conductor, first not repeated [m].
    holes : tuple of (n, 2) array
        The same round its hole, if it has one.
    patches : tuple of Patch
        Layered parts.
    cores : tuple of (n, 2) array
        Closed rows round the parts left to the mesh generator.
    """

    name: str
    outer: Points
    holes: tuple[Points, ...]
    patches: tuple[Patch, ...]
    cores: tuple[Points, ...]


def tessellate(
    section: CrossSection, highest_frequency: float, settings: MeshSettings
) -> tuple[tuple[RegionSkeleton, ...], SizeField]:
    """Lay out every conductor's nodes and layers, and the element size in between.

    Parameters
    ----------
    section : CrossSection
        What is to be meshed.
    highest_frequency : float
        Frequency whose skin depth the layers must resolve [Hz]; 0 for none.
    settings : MeshSettings
        How fine.

    Returns
    -------
    tuple of RegionSkeleton, SizeField
    """
    sides = {region.name: _side_count(region, section, settings) for region in section.regions}
    require_few_corners(section.name, ((region, sides[region.name]) for region in section.regions))
    first = {region.name: _first_layer(region, highest_frequency, settings) for region in section.regions}
    features, sizes = [], []
    for region in section.regions:
        corners = _features(region, sides[region.name])
        size = first[region.name] if sides[region.name] == 0 else _edge_length(corners)
        features.append(corners)
        sizes.append(np.full(len(corners), size))
    size_field = SizeField(features=np.vstack(features), sizes=np.concatenate(sizes), growth=settings.growth)
    if section.view is View.AXISYMMETRIC:
        size_field = _with_axis(size_field, section, settings.axis_fraction)
    skeletons = tuple(
        _skeleton(region, sides[region.name], first[region.name], size_field, settings) for region in section.regions
    )
    return skeletons, size_field


def _with_axis(size_field: SizeField, section: CrossSection, fraction: float) -> SizeField:
    """Small elements on the axis between the conductors; where a disc meets the axis nothing is singular."""
    off_axis = size_field.features[:, 0] > 0
    features, sizes = size_field.features[off_axis], size_field.sizes[off_axis]
    _, bottom, _, top = section.extent
    heights, here = [], bottom - _AXIS_REACH * section.size
    while here < top + _AXIS_REACH * section.size:
        heights.append(here)
        here += fraction * float(np.hypot(features[:, 0], features[:, 1] - here).min())
    places = np.column_stack([np.zeros(len(heights)), heights])
    inside = [region.outline.bounds for region in section.regions if region.outline.bounds[0] == 0]
    free = np.all([(places[:, 1] < low) | (places[:, 1] > high) for _, low, _, high in inside], axis=0)
    places = places[np.broadcast_to(free, len(places))]
    nearest = np.hypot(*(places[:, None, :] - features).transpose(2, 0, 1)).min(axis=1)
    return SizeField(
        features=np.vstack([features, places]),
        sizes=np.concatenate([sizes, fraction * nearest]),
        growth=size_field.growth,
    )


def _skeleton(
    region: Region, sides: int, first: float, size_field: SizeField, settings: MeshSettings
) -> RegionSkeleton:
    outline = region.outline
    if isinstance(outline, Circle | Ring):
        settings = replace(settings, layer_growth=_ROUND_LAYERS * settings.layer_growth)
    if isinstance(outline, Ring):
        return _ring_skeleton(region.name, outline, sides, first, settings)
    if isinstance(outline, Circle):
        rows = _quarter_rows(circle_nodes(outline.centre, outline.radius, sides))
        inner_rows = _quarter_rows(circle_nodes(outline.centre, outline.radius / 2, sides))
        return _banded_skeleton(region.name, rows, inner_rows, outline.radius / 2, first, settings)
    corners = np.asarray(outline.vertices, dtype=float)
    if len(corners) == 4 and _is_convex(corners):
        return _layered_skeleton(region.name, corners, first, size_field, settings)
    depth = _band_depth(region.name, corners)
    moved = inset(corners, depth)
    rows = [edge_row(a, b, size_field) for a, b in _edges(corners)]
    inner_rows = [between(a, b, _fractions(row)) for row, (a, b) in zip(rows, _edges(moved), strict=True)]
    return _banded_skeleton(region.name, rows, inner_rows, depth, first, settings)


def _layered_skeleton(
    name: str, corners: Points, first: float, size_field: SizeField, settings: MeshSettings
) -> RegionSkeleton:
    """One patch across a four-sided conductor, from one of its longer sides to the opposite one."""
    lengths = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    a, b, c, d = corners if lengths[0] + lengths[2] >= lengths[1] + lengths[3] else np.roll(corners, -1, axis=0)

    def size_along(t: NDArray[np.float64]) -> NDArray[np.float64]:
        near = size_field.at(between(a, b, t))
        far = size_field.at(between(d, c, t))
        return np.minimum(near / np.linalg.norm(b - a), far / np.linalg.norm(c - d))

    t = spread_nodes(size_along)
    thickness = float(min(np.linalg.norm(d - a), np.linalg.norm(c - b)))
    patch = Patch(
        near=between(a, b, t),
        far=between(d, c, t),
        layers=two_sided_layers(thickness, first, settings.layer_growth),
    )
    outer = np.vstack([patch.near[:-1], patch.rung(-1)[:-1], patch.far[:0:-1], patch.rung(0)[:0:-1]])
    return RegionSkeleton(name=name, outer=outer, holes=(), patches=(patch,), cores=())


def _banded_skeleton(
    name: str,
    rows: list[Points],
    inner_rows: list[Points],
    depth: float,
    first: float,
    settings: MeshSettings,
) -> RegionSkeleton:
    """Layers along the surface, one patch per row of surface nodes, around a core."""
    widest = max(float(np.linalg.norm(np.diff(row, axis=0), axis=1).max()) for row in rows)
    layers = skin_layers(depth, min(first, depth / 3), settings.layer_growth, max(widest, first))
    patches = tuple(Patch(near=row, far=inner, layers=layers) for row, inner in zip(rows, inner_rows, strict=True))
    return RegionSkeleton(
        name=name,
        outer=np.vstack([row[:-1] for row in rows]),
        holes=(),
        patches=patches,
        cores=(np.vstack([inner[:-1] for inner in inner_rows]),),
    )


def _ring_skeleton(name: str, ring: Ring, sides: int, first: float, settings: MeshSettings) -> RegionSkeleton:
    outer = circle_nodes(ring.centre, ring.outer_radius, sides)
    inner = circle_nodes(ring.centre, ring.inner_radius, sides)
    layers = two_sided_layers(ring.outer_radius - ring.inner_radius, first, settings.layer_growth)
    pairs = zip(_quarter_rows(outer), _quarter_rows(inner), strict=True)
    patches = tuple(Patch(near=near, far=far, layers=layers) for near, far in pairs)
    return RegionSkeleton(name=name, outer=outer, holes=(inner,), patches=patches, cores=())


def _side_count(region: Region, section: CrossSection, settings: MeshSettings) -> int:
    """Arcs round a circular conductor, a multiple of four; 0 for straight outlines.

    They are as long as the elements may be that far from the nearest conductor, or half a radius into the air.
    """
    outline = region.outline
    if not isinstance(outline, Circle | Ring):
        return 0
    radius = outline.radius if isinstance(outline, Circle) else outline.outer_radius
    others = [other.outline.shape for other in section.regions if other is not region]
    gap = min((outline.shape.distance(shape) for shape in others), default=math.inf)
    near = 2 * math.pi * radius / (settings.growth * min(gap, _FREE_AIR * radius))
    return 4 * math.ceil(max(settings.sides_per_circle, near) / 4)


def _first_layer(region: Region, highest_frequency: float, settings: MeshSettings) -> float:
    first = settings.corner_fraction * smallest_dimension(region) * dict(settings.finer_corners).get(region.name, 1.0)
    if highest_frequency > 0:
        depth = skin_depth(highest_frequency, region.material.conductivity)
        first = min(first, depth / settings.layers_per_skin_depth)
    return first


def smallest_dimension(region: Region) -> float:
    """Shortest edge, diameter or wall thickness of a conductor [m]."""
    outline = region.outline
    if isinstance(outline, Circle):
        return 2 * outline.radius
    if isinstance(outline, Ring):
        return outline.outer_radius - outline.inner_radius
    corners = np.asarray(outline.vertices)
    edges = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    return float(edges.min())


def _features(region: Region, sides: int) -> Points:
    outline = region.outline
    if isinstance(outline, Rectangle | Polygon):
        return np.asarray(outline.vertices, dtype=float)
    if isinstance(outline, Circle):
        return circle_nodes(outline.centre, outline.radius, sides)
    outer = circle_nodes(outline.centre, outline.outer_radius, sides)
    inner = circle_nodes(outline.centre, outline.inner_radius, sides)
    return np.vstack([outer, inner])


def _quarter_rows(polygon: Points) -> list[Points]:
    quarter = len(polygon) // 4
    closed = np.vstack([polygon, polygon[:1]])
    return [closed[k * quarter : (k + 1) * quarter + 1] for k in range(4)]


def edge_row(start: Points, end: Points, size_field: SizeField) -> Points:
    """Nodes of a straight edge, spaced as the size field wants."""
    length = float(np.linalg.norm(end - start))
    near = size_field.around((start + end) / 2, (1 + 1e-9) * length / 2)

    def size_along(t: NDArray[np.float64]) -> NDArray[np.float64]:
        return near.at(between(start, end, t)) / length

    return between(start, end, spread_nodes(size_along))


def between(start: Points, end: Points, t: NDArray[np.float64]) -> Points:
    """Points at fractions t of the way from start to end; exact at both ends, so that neighbours share them."""
    return np.asarray(np.outer(1 - t, start) + np.outer(t, end))


def _edge_length(polygon: Points) -> float:
    return float(np.linalg.norm(polygon[1] - polygon[0]))


def _fractions(row: Points) -> NDArray[np.float64]:
    walked = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(row, axis=0), axis=1))])
    return np.asarray(walked / walked[-1])


def _is_convex(corners: Points) -> bool:
    edges = np.roll(corners, -1, axis=0) - corners
    following = np.roll(edges, -1, axis=0)
    return bool(np.all(edges[:, 0] * following[:, 1] - edges[:, 1] * following[:, 0] > 0))


def _edges(corners: Points) -> list[tuple[Points, Points]]:
    return list(zip(corners, np.roll(corners, -1, axis=0), strict=True))


def _band_depth(name: str, corners: Points) -> float:
    """A depth to which the surface can be moved inwards without any edge vanishing."""
    depth = min(float(np.linalg.norm(b - a)) for a, b in _edges(corners))
    for _ in range(40):
        depth /= 2
        moved = inset(corners, depth)
        if keeps_shape(corners, moved) and ShapelyPolygon(corners).contains(ShapelyPolygon(moved)):
            return depth
    raise MeshError(f"region {name!r} is too thin somewhere to take surface layers; simplify its outline")


def inset(corners: Points, depth: float) -> Points:
    """Move every edge of a polygon to its left by `depth`, which is inwards if it runs counter-clockwise; mitred."""
    edges = np.roll(corners, -1, axis=0) - corners
    inward = np.column_stack([-edges[:, 1], edges[:, 0]]) / np.linalg.norm(edges, axis=1)[:, None]
    before = np.roll(inward, 1, axis=0)
    scale = 1 + np.sum(inward * before, axis=1)
    return np.asarray(corners + depth * (inward + before) / scale[:, None])


def keeps_shape(corners: Points, moved: Points) -> bool:
    """Whether every edge of a polygon has kept its sense and a quarter of its length after `inset`."""
    old, new = (np.roll(ring, -1, axis=0) - ring for ring in (corners, moved))
    same_sense = bool(np.all(np.sum(old * new, axis=1) > 0.25 * np.sum(old * old, axis=1)))
    return same_sense and ShapelyPolygon(moved).is_valid
