"""From a cross-section to a triangle mesh with named regions. The only module that talks to gmsh and meshio.

Every conductor gets layers that follow its surface, thin enough for the skin depth at the highest
frequency; the air and the dielectrics between are filled with triangles that grow away from every corner, out to a far
circle. Triangles along a circle are curved (:mod:`solver.section.round_outlines`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import meshio
import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri

from geometries.section.section import CrossSection, View
from solver.errors import MeshError, SolverError, SystemLibraryError
from solver.section.boundary_layers import MeshSettings, Patch, RegionSkeleton, edge_row, tessellate
from solver.section.dielectric_faces import dielectric_label, part_outside
from solver.section.effort import estimated_triangles, require_affordable, require_resolvable
from solver.section.element_size import Points, SizeField
from solver.section.elements import Triangles
from solver.section.round_outlines import with_round_outlines

try:
    import gmsh
except OSError as missing:
    raise SystemLibraryError(
        f"gmsh cannot be loaded ({missing}); install its system libraries, on Debian or Ubuntu: "
        "sudo apt-get install -y libglu1-mesa libgl1 libgomp1 libfontconfig1 libx11-6 libxcursor1 libxext6 libxfixes3 "
        "libxft2 libxinerama1 libxrender1"
    ) from missing

FAR = "far"
"""Name of the border of the mesh far away, on which the potential is zero."""

_AREA_TOLERANCE = 1e-9
_SLIVER = 1e-6
_DELAUNAY = 5
_TRIANGLE = 2
_FAR_SIDES = 32


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeshedSection:
    """A section and its triangles.

    Parameters
    ----------
    section : CrossSection
        What was meshed.
    mesh : MeshTri
        All triangles; one subdomain per region, by name, one per dielectric, by number, and ``air``; the border
        ``far``. In the axisymmetric view the rest of the border lies on the axis x = 0.
    far_radius : float
        Radius of the outer circle, on which the potential is zero [m].
    highest_frequency : float
        Frequency whose skin depth the layers resolve [Hz]; 0 if none was asked for.

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import mesh_section
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> meshed = mesh_section(pair, highest_frequency=1e6)
    >>> sorted(meshed.mesh.subdomains), round(meshed.far_radius / pair.size)
    (['air', 'go', 'return'], 500)
    """

    section: CrossSection
    mesh: MeshTri
    far_radius: float
    highest_frequency: float

    def elements(self, name: str) -> NDArray[np.int64]:
        """Indices of the triangles of the region called `name`."""
        return np.asarray(self.mesh.subdomains[name])

    @property
    def outside(self) -> NDArray[np.int64]:
        """Indices of the triangles outside all conductors."""
        outside = np.ones(self.mesh.nelements, dtype=bool)
        for region in self.section.regions:
            outside[self.elements(region.name)] = False
        return np.flatnonzero(outside)

    @property
    def relative_permittivity(self) -> NDArray[np.float64]:
        """Of every triangle, (e,); 1 in air, and in conductors, where it has no meaning."""
        values = np.ones(self.mesh.nelements)
        for number, dielectric in enumerate(self.section.dielectrics):
            values[self.mesh.subdomains.get(dielectric_label(number), [])] = dielectric.relative_permittivity
        return values


def mesh_section(
    section: CrossSection, *, highest_frequency: float, settings: MeshSettings | None = None
) -> MeshedSection:
    """Mesh a cross-section and the air around it.

    Parameters
    ----------
    section : CrossSection
        Conductors in air.
    highest_frequency : float
        Highest frequency that will be solved on this mesh [Hz], >= 0; it sets the surface layers.
    settings : MeshSettings, optional
        How fine; the default suits 0.1 % in inductance.

    Returns
    -------
    MeshedSection

    Raises
    ------
    ValueError
        If the frequency is negative.
    MeshError
        If a dimension is too small to be meshed, the mesh would take too much memory, the generator fails, or a region
        is missing, empty or of the wrong area.

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import MeshSettings, mesh_section
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> meshed = mesh_section(pair, highest_frequency=1e6)
    >>> coarse = mesh_section(pair, highest_frequency=1e6, settings=MeshSettings(growth=1.0, corner_fraction=0.3))
    >>> coarse.mesh.nelements < meshed.mesh.nelements
    True
    """
    if not highest_frequency >= 0:
        raise ValueError(f"highest frequency is {highest_frequency} Hz; it must be 0 or above")
    settings = settings or MeshSettings()
    require_resolvable(section)
    skeletons, size_field = tessellate(section, highest_frequency, settings)
    require_affordable(section, _estimate(skeletons, size_field), counted=False)
    far_radius = max(settings.far_radius * section.size, settings.far_distance)
    with _generator_session():
        drawing = _Drawing(unit=float(size_field.sizes.min()))
        border = _border(section, skeletons, size_field, far_radius)
        _draw(drawing, section, skeletons, border, size_field)
        _set_sizes(drawing, size_field)
        mesh = with_round_outlines(section, _with_borders(_generate(drawing.unit), section.view))
    require_affordable(section, mesh.nelements, counted=True)
    _verify(section, mesh)
    return MeshedSection(section=section, mesh=mesh, far_radius=far_radius, highest_frequency=highest_frequency)


def _estimate(skeletons: tuple[RegionSkeleton, ...], size_field: SizeField) -> float:
    patches = [patch for skeleton in skeletons for patch in skeleton.patches]
    layered = sum(2 * (len(patch.near) - 1) * (len(patch.layers) - 1) for patch in patches)
    surface = sum(len(skeleton.outer) + sum(map(len, skeleton.holes)) for skeleton in skeletons)
    return estimated_triangles(layered, surface, size_field.growth)


def mesh_plate(
    name: str, patches: tuple[Patch, ...], core: tuple[Points, ...], size_field: SizeField, area: float
) -> MeshTri:
    """Mesh a plate from layers along its edges and what they leave free.

    Parameters
    ----------
    name : str
        The plate, for messages.
    patches : tuple of Patch
        Layered parts.
    core : tuple of (n, 2) array
        Nodes of the outer edge of the part between them, then of each hole in it [m], in order, first not repeated.
    size_field : SizeField
        Size of the triangles in the core; its features may lie anywhere.
    area : float
        What the plate's outline encloses [m²].

    Returns
    -------
    MeshTri

    Raises
    ------
    MeshError
        If the generator fails, or the plate's area is not the described one.
    """
    with _generator_session():
        drawing = _Drawing(unit=float(size_field.sizes.min()))
        surfaces = [_draw_patch(drawing, patch) for patch in patches]
        surfaces.append(gmsh.model.geo.addPlaneSurface([drawing.loop(ring) for ring in core]))
        gmsh.model.geo.addPhysicalGroup(2, surfaces, name=name)
        _set_sizes(drawing, size_field)
        mesh = _generate(drawing.unit)
    _require_area(name, float(_areas(mesh).sum()), area)
    require_no_slivers(name, mesh)
    return mesh


def require_no_slivers(name: str, mesh: MeshTri) -> None:
    """Check that no triangle is so flat that integrals over it mean nothing."""
    corners = mesh.p[:, mesh.t]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=0)
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    heights = np.abs(first[0] * second[1] - first[1] * second[0]) / sides.max(axis=0)
    flattest = int((heights / sides.max(axis=0)).argmin())
    if heights[flattest] < _SLIVER * sides[:, flattest].max():
        x, y = corners[:, :, flattest].mean(axis=1) * 1e3
        raise MeshError(
            f"copper {name!r} leaves a triangle without height near x = {x:.4g} mm, y = {y:.4g} mm; a pad, hole or "
            "terminal lies too close to an edge there: move it away from the edge or onto it"
        )


@contextmanager
def _generator_session() -> Iterator[None]:
    """Open and close the mesh generator; its bare exceptions become MeshError."""
    gmsh.initialize(argv=["copperfield"], readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("Mesh.Algorithm", _DELAUNAY)
        for option in ("MeshSizeExtendFromBoundary", "MeshSizeFromPoints", "MeshSizeFromCurvature"):
            gmsh.option.setNumber(f"Mesh.{option}", 0)
        yield
    except SolverError:
        raise
    except Exception as failure:
        if type(failure) is not Exception:  # the generator raises the bare class; anything else is ours
            raise
        raise MeshError(f"the mesh generator failed: {failure}") from failure
    finally:
        gmsh.finalize()


class _Drawing:
    """Points and lines drawn so far, so that neighbours share them; the generator sees lengths in `unit`."""

    def __init__(self, unit: float) -> None:
        self.unit = unit
        self._points: dict[tuple[float, float], int] = {}
        self._lines: dict[tuple[int, int], int] = {}

    def point(self, x: float, y: float) -> int:
        key = (float(x), float(y))
        if key not in self._points:
            self._points[key] = gmsh.model.geo.addPoint(key[0] / self.unit, key[1] / self.unit, 0.0)
        return self._points[key]

    def row(self, points: Points) -> list[int]:
        """Lines along an open row of nodes, one element each."""
        tags = [self.point(x, y) for x, y in points]
        return [self._line(a, b) for a, b in pairwise(tags)]

    def loop(self, points: Points) -> int:
        """Closed loop through all nodes."""
        return int(gmsh.model.geo.addCurveLoop(self.row(np.vstack([points, points[:1]]))))

    def _line(self, a: int, b: int) -> int:
        if (b, a) in self._lines:
            return -self._lines[b, a]
        if (a, b) not in self._lines:
            tag = gmsh.model.geo.addLine(a, b)
            gmsh.model.geo.mesh.setTransfiniteCurve(tag, 2)
            self._lines[a, b] = tag
        return self._lines[a, b]


def _border(
    section: CrossSection, skeletons: tuple[RegionSkeleton, ...], size_field: SizeField, radius: float
) -> Points:
    """The far circle; in the axisymmetric view its outer half, closed along the axis and round the discs on it."""
    left, bottom, right, top = section.extent
    if section.view is View.SECTION:
        turns = 2 * math.pi * np.arange(_FAR_SIDES) / _FAR_SIDES
        return _arc((left + right) / 2, (bottom + top) / 2, radius, turns)
    arc = _arc(0.0, (bottom + top) / 2, radius, math.pi * np.linspace(-0.5, 0.5, _FAR_SIDES // 2 + 1))
    arc[[0, -1], 0] = 0.0
    discs = sorted(map(_downwards, _on_axis(skeletons)), key=lambda path: -path[0, 1])
    path, place = [arc], arc[-1]
    for disc in discs:
        path += [edge_row(place, disc[0], size_field)[1:-1], disc]
        place = disc[-1]
    return np.vstack([*path, edge_row(place, arc[0], size_field)[1:-1]])


def _arc(x: float, y: float, radius: float, turns: NDArray[np.float64]) -> Points:
    return np.column_stack([x + radius * np.cos(turns), y + radius * np.sin(turns)])


def _on_axis(skeletons: tuple[RegionSkeleton, ...]) -> list[Points]:
    return [skeleton.outer for skeleton in skeletons if skeleton.outer[:, 0].min() == 0]


def _downwards(outer: Points) -> Points:
    """The nodes round a disc from its upper end on the axis to its lower end, by way of its rim."""
    heights = np.where(outer[:, 0] == 0, outer[:, 1], np.nan)
    clockwise = np.roll(outer[::-1], -(len(outer) - 1 - int(np.nanargmax(heights))), axis=0)
    return clockwise[: int(np.flatnonzero((clockwise == outer[int(np.nanargmin(heights))]).all(axis=1))[0]) + 1]


def _draw(
    drawing: _Drawing,
    section: CrossSection,
    skeletons: tuple[RegionSkeleton, ...],
    border: Points,
    size_field: SizeField,
) -> None:
    for skeleton in skeletons:
        surfaces = [_draw_patch(drawing, patch) for patch in skeleton.patches]
        surfaces += [gmsh.model.geo.addPlaneSurface([drawing.loop(core)]) for core in skeleton.cores]
        gmsh.model.geo.addPhysicalGroup(2, surfaces, name=skeleton.name)
    for name, faces in part_outside(section, skeletons, border, size_field).items():
        surfaces = [gmsh.model.geo.addPlaneSurface([drawing.loop(ring) for ring in face]) for face in faces]
        gmsh.model.geo.addPhysicalGroup(2, surfaces, name=name)


def _draw_patch(drawing: _Drawing, patch: Patch) -> int:
    end = len(patch.near) - 1
    start_rung, end_rung = patch.rung(0), patch.rung(end)
    lines = [
        *drawing.row(patch.near),
        *drawing.row(end_rung),
        *drawing.row(patch.far[::-1]),
        *drawing.row(start_rung[::-1]),
    ]
    surface = gmsh.model.geo.addPlaneSurface([gmsh.model.geo.addCurveLoop(lines)])
    corners = [drawing.point(x, y) for x, y in (patch.near[0], patch.near[-1], patch.far[-1], patch.far[0])]
    gmsh.model.geo.mesh.setTransfiniteSurface(surface, "Alternate", corners)
    return int(surface)


def _set_sizes(drawing: _Drawing, size_field: SizeField) -> None:
    """Hand the size field to the generator: distance from the features of each size, and the smallest of all."""
    tags = np.array([drawing.point(x, y) for x, y in size_field.features])
    gmsh.model.geo.synchronize()
    fields = gmsh.model.mesh.field
    grown = []
    for size in np.unique(size_field.sizes):
        distance = fields.add("Distance")
        fields.setNumbers(distance, "PointsList", tags[size_field.sizes == size].tolist())
        growth = fields.add("MathEval")
        fields.setString(growth, "F", f"{size / drawing.unit:.9f} + {size_field.growth:.6f} * F{distance}")
        grown.append(growth)
    smallest = fields.add("Min")
    fields.setNumbers(smallest, "FieldsList", grown)
    fields.setAsBackgroundMesh(smallest)


def _generate(unit: float) -> MeshTri:
    gmsh.model.mesh.generate(2)
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    index = np.zeros(int(tags.max()) + 1, dtype=np.int64)
    index[tags] = np.arange(len(tags))
    triangles, subdomains, count = [], {}, 0
    for dimension, group in gmsh.model.getPhysicalGroups(2):
        nodes = _triangles_of(dimension, group)
        subdomains[gmsh.model.getPhysicalName(dimension, group)] = np.arange(count, count + len(nodes))
        triangles.append(index[nodes])
        count += len(nodes)
    connectivity = np.vstack(triangles)
    used = np.unique(connectivity)
    renumber = np.zeros(len(tags), dtype=np.int64)
    renumber[used] = np.arange(len(used))
    points = unit * coordinates.reshape(-1, 3)[used, :2].T
    mesh = Triangles(np.ascontiguousarray(points), np.ascontiguousarray(renumber[connectivity].T))
    return mesh.with_subdomains(subdomains)


def _with_borders(mesh: MeshTri, view: View) -> MeshTri:
    """Name the border far away; what lies on the axis of an axisymmetric view is not part of it."""
    border = mesh.boundary_facets()
    if view is View.AXISYMMETRIC:
        border = border[mesh.p[0, mesh.facets[:, border]].any(axis=0)]
    return mesh.with_boundaries({FAR: border})


def _triangles_of(dimension: int, group: int) -> NDArray[np.int64]:
    """Node tags of a physical group's triangles, (n, 3)."""
    nodes = [
        gmsh.model.mesh.getElementsByType(_TRIANGLE, entity)[1]
        for entity in gmsh.model.getEntitiesForPhysicalGroup(dimension, group)
    ]
    return np.concatenate(nodes).astype(np.int64).reshape(-1, 3)


def write_field_file(
    path: Path,
    *,
    points: Points,
    triangles: NDArray[np.int64],
    point_data: dict[str, NDArray[np.float64]],
    cell_data: dict[str, NDArray[np.int64]],
) -> None:
    """Write values on triangles as a VTU file (XML unstructured grid).

    Parameters
    ----------
    path : Path
        The file to write, with the suffix ``.vtu``.
    points : (n, 2) array
        Positions [m].
    triangles : (m, 3) array
        Corners, indices into `points`.
    point_data, cell_data : dict of array
        Values per point (n,) and per triangle (m,), by name.
    """
    solid = np.column_stack([points, np.zeros(len(points))])
    cells = [("triangle", triangles)]
    wrapped = {name: [values] for name, values in cell_data.items()}
    meshio.Mesh(solid, cells, point_data=dict(point_data), cell_data=wrapped).write(path, file_format="vtu")


def _verify(section: CrossSection, mesh: MeshTri) -> None:
    """Check that every region is there, is not empty and has the area it was described with."""
    areas = _areas(mesh)
    for region in section.regions:
        elements = mesh.subdomains.get(region.name, np.array([], dtype=int))
        if len(elements) == 0:
            raise MeshError(f"region {region.name!r} has no triangles in the mesh")
        _require_area(region.name, float(areas[elements].sum()), region.outline.area)


def _areas(mesh: MeshTri) -> NDArray[np.float64]:
    """Of all triangles, (e,) [m²]."""
    middles = np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5]])  # their mean is exact for curved triangles too
    return np.asarray(np.abs(mesh.mapping().detDF(middles)).mean(axis=1) / 2)


def _require_area(name: str, meshed: float, described: float) -> None:
    if not math.isclose(meshed, described, rel_tol=_AREA_TOLERANCE):
        raise MeshError(f"region {name!r} was meshed with {meshed:.9g} m², but its outline encloses {described:.9g} m²")
