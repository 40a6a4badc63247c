r"""What a small change of a layout does to its inductances, from the currents of the layout as it is.

The currents make :math:`Z = I^T (Z_{metal} + j\omega L)\,I` stationary, so that its first derivative by a dimension is
that at fixed currents: the mesh is moved with the copper's edges, the flux through every facet stays, and the double
sums are taken again, without a solution.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.linalg import splu
from skfem import Basis, ElementTriP1, MeshTri
from skfem.models.poisson import laplace

from geometries.layout.layout import CopperSheet, PlanLayout
from geometries.section.outline import Point
from solver.errors import MeshError
from solver.formulas import MU_0
from solver.plan.basis import sheet_triangles
from solver.plan.currents import density_matrices
from solver.plan.grid import Grid, convolve, grid_over, spreading, transformed_kernel
from solver.plan.meshing import SheetMesh, Surface, sheet_pads, sheet_rings
from solver.plan.metal import face_impedances, via_impedances
from solver.plan.near import Cloud, near_pairs, near_part
from solver.plan.operator import (
    distinct_levels,
    grid_step,
    image_distances,
    joined_triangles,
    level_distances,
)
from solver.plan.pairs import Pairs
from solver.plan.potentials import Triangles
from solver.plan.rims import loss_share, reach_doubt, rim_loss, rim_shift, widened_rings
from solver.plan.vias import via_inductances

Floats = NDArray[np.float64]
Numbers = NDArray[np.inexact]
Rings = list[list[Point]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeshedCurrents:
    """Currents on a mesh, independent of where its nodes lie.

    Parameters
    ----------
    meshes : tuple of SheetMesh
        Sheets with their triangles.
    fluxes : tuple of (facets, loops) array
        Flux through each facet of each sheet per ampere of each loop [A].
    vias : (posts, loops) array
        Current down each post [A].
    """

    meshes: tuple[SheetMesh, ...]
    fluxes: tuple[Numbers, ...]
    vias: Numbers


def moved_inductances(layout: PlanLayout, moved: PlanLayout, currents: MeshedCurrents, frequency: float) -> Floats:
    """Inductances between the loops of a changed layout with the currents of the one as it is, side walls included.

    Parameters
    ----------
    layout : PlanLayout
        As it was solved.
    moved : PlanLayout
        The same copper, terminals and posts with other coordinates, heights or plane.
    currents : MeshedCurrents
        Its currents.
    frequency : float
        At which they were found [Hz], above 0.

    Returns
    -------
    (loops, loops) array
        [H]; right to first order in the change.

    Raises
    ------
    MeshError
        If the two have not the same corners and terminals in the same order, or a triangle would turn over.
    """
    meshes = [_moved_mesh(layout, moved, mesh, frequency) for mesh in currents.meshes]
    return _summed_again(moved, meshes, currents, frequency)[0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walls:
    """What the side walls of joined faces add at the faces' currents.

    Parameters
    ----------
    inductance : (loops, loops) array
        To the inductances [H], below 0.
    doubt : (loops, loops) array
        By how much that may be off [H].
    resistance : (loops, loops) array
        To the resistances, less what two faces lose in their stead [ohm].
    spread : (loops, loops) array
        By how much that may be off [ohm].
    """

    inductance: Floats
    doubt: Floats
    resistance: Floats
    spread: Floats


def side_walls(
    layout: PlanLayout, currents: MeshedCurrents, frequency: float, inductance: Floats, resistance: Floats
) -> Walls:
    """What side walls add, from what changes when the rims move out.

    Parameters
    ----------
    layout : PlanLayout
        As it was solved.
    currents : MeshedCurrents
        Its currents.
    frequency : float
        At which they were found [Hz].
    inductance, resistance : (loops, loops) array
        Without walls on the same mesh [H], [ohm].

    Notes
    -----
    Range: square edges, copper that is thin against its width and distances (see :mod:`solver.plan.rims`). Coppers of
    one thickness and material move together.
    """
    stored, doubt, lost, spread = np.zeros((4, *inductance.shape))
    for kind in _kinds(layout, frequency):
        meshes = [
            _moved_mesh(layout, layout, each, frequency) if each.sheet in kind else each.mesh
            for each in currents.meshes
        ]
        wider = _summed_again(layout, meshes, currents, frequency)
        change = wider[0] - inductance
        more, unsure = rim_loss(kind[0], frequency)
        stored += change
        doubt += reach_doubt(kind[0], frequency) * np.abs(change)
        lost += (wider[1] - resistance) * loss_share(kind[0], frequency) - more * change
        spread += unsure * np.abs(change)
    return Walls(inductance=stored, doubt=doubt, resistance=lost, spread=spread)


def _kinds(layout: PlanLayout, frequency: float) -> list[list[CopperSheet]]:
    """Sheets whose walls count, those of one thickness and material together."""
    kinds: dict[object, list[CopperSheet]] = {}
    for sheet in layout.sheets:
        if rim_shift(sheet, frequency):
            kinds.setdefault((sheet.thickness, sheet.material), []).append(sheet)
    return list(kinds.values())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetEnergy:
    """Where on a sheet the loop's inductance and resistance sit, both faces together.

    Parameters
    ----------
    name : str
        Of the copper.
    points : (n, 2) array
        Corners of its triangles [m].
    triangles : (m, 3) array
        Indices into `points`.
    stored, lost : (m,) array
        Each triangle's part of the inductance [H] and of the resistance [ohm].
    """

    name: str
    points: Floats
    triangles: NDArray[np.int64]
    stored: Floats
    lost: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanEnergy:
    """Parts of a loop's inductance and resistance by place: they add up to :attr:`PlanSolution.coarse_inductance`.

    Parameters
    ----------
    sheets : tuple of SheetEnergy
        In the layout's order.
    via_stored, via_lost : (vias,) array
        The vias' parts [H], [ohm].
    """

    sheets: tuple[SheetEnergy, ...]
    via_stored: Floats
    via_lost: Floats

    @property
    def stored(self) -> float:
        """Inductance of all together [H]."""
        return float(sum(each.stored.sum() for each in self.sheets) + self.via_stored.sum())

    @property
    def lost(self) -> float:
        """Resistance of all together [ohm]."""
        return float(sum(each.lost.sum() for each in self.sheets) + self.via_lost.sum())


def plan_energy(layout: PlanLayout, currents: MeshedCurrents, frequency: float, shares: Numbers) -> PlanEnergy:
    r"""The integrals of :math:`A\cdot K` and of the losses, triangle by triangle and via by via.

    They split :math:`Z = I^T (Z_{metal} + j\omega L)\,I`, whose parts add up to the last digit. Where the currents are
    in phase, as those of a loop are far above its corner frequency, that is twice the energy at one ampere.

    Parameters
    ----------
    layout : PlanLayout
        As it was solved.
    currents : MeshedCurrents
        Its currents, from :attr:`PlanSolution.coarse`.
    frequency : float
        At which they were found [Hz], above 0.
    shares : (loops,) array
        Current of each loop per ampere of the whole.
    """
    driven = MeshedCurrents(
        meshes=currents.meshes,
        fluxes=tuple(np.asarray(flux @ shares)[:, None] for flux in currents.fluxes),
        vias=np.asarray(currents.vias @ shares)[:, None],
    )
    meshes = [_moved_mesh(layout, layout, mesh, frequency) for mesh in currents.meshes]
    faces, cloud, densities = _laid_out(layout, meshes, driven)
    x, y = (np.concatenate(parts) for parts in zip(*densities, strict=True))
    potentials = _potentials(layout, cloud, (x, y), frequency)
    field = sum(np.real(part * each)[:, 0] for part, each in zip((x, y), potentials, strict=True))
    metal = _metal_products(layout, faces, densities, frequency)
    shown = np.split(np.asarray(field), np.cumsum([len(face.chosen) for face in faces])[:-1])
    angular = math.inf if math.isinf(frequency) else 2 * math.pi * frequency
    current = driven.vias[:, 0]
    own = via_impedances(layout, frequency) * current**2
    stored = np.real(current * (via_inductances(layout) @ current)) + np.imag(own) / angular
    return PlanEnergy(
        sheets=tuple(_sheet_energy(number, mesh, faces, shown, metal, angular) for number, mesh in enumerate(meshes)),
        via_stored=np.asarray(stored),
        via_lost=np.asarray(np.real(own)),
    )


def _sheet_energy(
    number: int,
    mesh: MeshTri,
    faces: Sequence[_Face],
    field: Sequence[Floats],
    metal: Sequence[Numbers],
    angular: float,
) -> SheetEnergy:
    stored, lost = np.zeros(mesh.nelements), np.zeros(mesh.nelements)
    for face, in_field, in_metal in zip(faces, field, metal, strict=True):
        if face.sheet == number:
            stored[face.chosen] += in_field
            stored += np.imag(in_metal) / angular
            lost += np.real(in_metal)
    name = faces[0].currents.meshes[number].sheet.name
    return SheetEnergy(name=name, points=mesh.p.T.copy(), triangles=mesh.t.T.copy(), stored=stored, lost=lost)


def _summed_again(
    moved: PlanLayout, meshes: Sequence[MeshTri], currents: MeshedCurrents, frequency: float
) -> tuple[Floats, Floats]:
    """Inductances [H] and resistances [ohm] between the loops with given currents on moved meshes."""
    faces, cloud, densities = _laid_out(moved, meshes, currents)
    x, y = (np.concatenate(parts) for parts in zip(*densities, strict=True))
    potentials = _potentials(moved, cloud, (x, y), frequency)
    stored: Any = sum(part.T @ each for part, each in zip((x, y), potentials, strict=True))
    stored = stored + currents.vias.T @ via_inductances(moved) @ currents.vias
    if math.isinf(frequency):
        return np.real(stored), np.zeros(stored.shape)
    lost = _lost(moved, faces, densities, frequency)
    lost = lost + currents.vias.T @ (via_impedances(moved, frequency)[:, None] * currents.vias)
    impedance = lost + 2j * math.pi * frequency * stored
    return np.imag(impedance) / (2 * math.pi * frequency), np.real(impedance)


def _laid_out(
    layout: PlanLayout, meshes: Sequence[MeshTri], currents: MeshedCurrents
) -> tuple[list[_Face], Cloud, list[tuple[Numbers, Numbers]]]:
    """All faces on their meshes, their triangles together, and the density on each face."""
    faces = [
        _Face(sheet=sheet, mesh=mesh, number=number, currents=currents)
        for sheet, mesh in enumerate(meshes)
        for number in range(len(currents.meshes[sheet].surfaces))
    ]
    cloud = Cloud(triangles=joined_triangles([face.triangles(layout) for face in faces]))
    return faces, cloud, [face.density() for face in faces]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Face:
    """One face of a sheet, or what is under the lands on it, on its moved mesh."""

    sheet: int
    mesh: MeshTri
    number: int
    currents: MeshedCurrents

    @property
    def surface(self) -> Surface:
        return self.currents.meshes[self.sheet].surfaces[self.number]

    @property
    def chosen(self) -> NDArray[np.int64]:
        return self.surface.triangles

    def triangles(self, layout: PlanLayout) -> Triangles:
        return sheet_triangles(self.mesh, self.chosen, layout.sheets[self.sheet].levels[self.surface.face])

    def impedance(self, other: _Face, layout: PlanLayout, frequency: float) -> complex:
        """Impedance per square between this one and another of the same sheet, where they lie over each other [ohm]."""
        return face_impedances(layout.sheets[self.sheet], frequency)[int(self.surface.face != other.surface.face)]

    def density(self) -> tuple[Numbers, Numbers]:
        """Density along x and along y, (triangles, loops) [A/m]."""
        flux = self.currents.fluxes[self.sheet][self.currents.meshes[self.sheet].rows(self.number)]
        x, y = (np.asarray(matrix[self.chosen] @ flux) for matrix in density_matrices(self.mesh))
        return x, y

    def whole(self, density: Numbers) -> Numbers:
        """A density on all triangles of the sheet, nothing where the face carries nothing."""
        full = np.zeros((self.mesh.nelements, density.shape[1]), dtype=density.dtype)
        full[self.chosen] = density
        return full


def _lost(
    layout: PlanLayout, faces: Sequence[_Face], densities: Sequence[tuple[Numbers, Numbers]], frequency: float
) -> Any:
    """Integrals of K E over all faces [ohm]."""
    total: Any = 0.0
    for one, own in zip(faces, densities, strict=True):
        areas = np.abs(_doubled_areas(one.mesh)) / 2
        for other, there in zip(faces, densities, strict=True):
            if one.sheet == other.sheet:
                impedance = one.impedance(other, layout, frequency)
                for here, part in zip(own, there, strict=True):
                    total = total + impedance * (one.whole(here).T @ (areas[:, None] * other.whole(part)))
    return total


def _metal_products(
    layout: PlanLayout, faces: Sequence[_Face], densities: Sequence[tuple[Numbers, Numbers]], frequency: float
) -> list[Numbers]:
    """Integrals of K E of each face's current over every triangle of its sheet [ohm]; nothing for perfect metal."""
    products: list[Numbers] = []
    for one, own in zip(faces, densities, strict=True):
        total: Any = np.zeros(one.mesh.nelements)
        areas = np.abs(_doubled_areas(one.mesh)) / 2
        for other, there in zip(faces, densities, strict=True):
            if one.sheet == other.sheet and not math.isinf(frequency):
                impedance = one.impedance(other, layout, frequency)
                for here, part in zip(own, there, strict=True):
                    total = total + impedance * areas * (one.whole(here) * other.whole(part))[:, 0]
        products.append(total)
    return products


def _potentials(
    layout: PlanLayout, cloud: Cloud, density: tuple[Numbers, Numbers], frequency: float
) -> tuple[Numbers, Numbers]:
    """Integral of the vector potential over each triangle along x and along y, images included, (triangles, loops)."""
    levels, level = distinct_levels(cloud.triangles.heights)
    grid = grid_over(cloud, grid_step(cloud))
    sums = _Sums(cloud=cloud, density=density, level=level, grid=grid, pairs=near_pairs(cloud, grid.radius))
    x, y = sums.over(level_distances(levels))
    if layout.plane is not None:
        along, across = sums.over(image_distances(layout.plane, levels, frequency))
        x, y = x - along, y - across
    return MU_0 / (4 * math.pi) * x, MU_0 / (4 * math.pi) * y


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sums:
    """Sums over all triangles with given densities; `level` (triangles,) indexes the heights."""

    cloud: Cloud
    density: tuple[Numbers, Numbers]
    level: NDArray[np.int64]
    grid: Grid
    pairs: Pairs

    def over(self, distances: Numbers) -> tuple[Any, Any]:
        """At every triangle, with vertical distances between every two levels [m]; along x and along y."""
        near, smooth = self._near(distances), self._smooth(distances)
        return near[0] + smooth[0], near[1] + smooth[1]

    def _near(self, distances: Numbers) -> tuple[Any, Any]:
        level, count = self.level, len(self.cloud.areas)
        near = near_part(
            self.cloud, self.pairs, lambda some: distances[level[some.first], level[some.second]], self.grid.radius
        )
        first, second = near.pairs.first, near.pairs.second
        halved = np.where(first == second, near.sharp / 2, near.sharp)
        upper = sparse.csr_matrix((halved, (first, second)), shape=(count, count))
        x, y = (np.asarray(upper @ part + upper.T @ part) for part in self.density)
        return x, y

    def _smooth(self, distances: Numbers) -> tuple[Any, Any]:
        chosen = [np.flatnonzero(self.level == each) for each in range(len(distances))]
        spread = [spreading(self.grid, self.cloud, each) for each in chosen]
        kernels = [[transformed_kernel(self.grid, distance) for distance in row] for row in distances]
        found = []
        for part in self.density:
            loads = [np.asarray(weights.T @ part[each]) + 0j for each, weights in zip(chosen, spread, strict=True)]
            total = np.zeros(part.shape, dtype=complex)
            for each, weights, potential in zip(chosen, spread, convolve(self.grid, kernels, loads), strict=True):
                total[each] = weights @ potential
            found.append(total)
        return found[0], found[1]


def _moved_mesh(layout: PlanLayout, moved: PlanLayout, mesh: SheetMesh, frequency: float) -> MeshTri:
    before, after = mesh.sheet, moved.sheet(mesh.sheet.name)
    start = [*sheet_rings(layout, before), *sheet_pads(layout, before)]
    end = [*widened_rings(moved, after, frequency), *sheet_pads(moved, after)]
    if [len(ring) for ring in start] != [len(ring) for ring in end]:
        raise MeshError(f"copper {before.name!r} has other corners or terminals after the change")
    return _shifted_mesh(mesh, start, end)


def _shifted_mesh(mesh: SheetMesh, start: Rings, end: Rings) -> MeshTri:
    """Edges follow the copper, nodes between them lie as smoothly as the solution of Laplace's equation.

    Raises
    ------
    MeshError
        If a triangle would turn over.
    """
    shifts = np.zeros_like(mesh.mesh.p)
    held = [each.facets for each in mesh.terminals]
    rim = np.unique(mesh.mesh.facets[:, np.concatenate([mesh.mesh.boundary_facets(), *held])])
    shifts[:, rim] = _rim_shifts(mesh.mesh.p[:, rim], start, end)
    stiffness = laplace.assemble(Basis(mesh.mesh, ElementTriP1()))
    inner = np.setdiff1d(np.arange(mesh.mesh.nvertices), rim)
    if len(inner):
        pull = -(stiffness[inner][:, rim] @ shifts[:, rim].T)
        shifts[:, inner] = splu(sparse.csc_matrix(stiffness[inner][:, inner])).solve(pull).T
    shifted = MeshTri(mesh.mesh.p + shifts, mesh.mesh.t)
    if (_doubled_areas(shifted) * _doubled_areas(mesh.mesh)).min() <= 0:
        raise MeshError(f"triangles of copper {mesh.sheet.name!r} would turn over by the change")
    return shifted


def _rim_shifts(nodes: Floats, start: Rings, end: Rings) -> Floats:
    """Shift of each node on a rim, linear along the edge that it lies on."""
    first, second, one, other = (np.array(each).T for each in zip(*_edges(start, end), strict=True))
    along = second - first
    gap = nodes[:, :, None] - first[:, None]
    part = np.clip((gap * along[:, None]).sum(axis=0) / (along**2).sum(axis=0), 0.0, 1.0)
    nearest = np.square(gap - part * along[:, None]).sum(axis=0).argmin(axis=1)
    weight = part[np.arange(nodes.shape[1]), nearest]
    return np.asarray((1 - weight) * one[:, nearest] + weight * other[:, nearest])


def _edges(start: Rings, end: Rings) -> list[tuple[Point, Point, Floats, Floats]]:
    """Ends of every edge, and how far each of them moves."""
    return [
        (old[0], old[1], np.subtract(new[0], old[0]), np.subtract(new[1], old[1]))
        for ring, changed in zip(start, end, strict=True)
        for old, new in zip(pairwise([*ring, ring[0]]), pairwise([*changed, changed[0]]), strict=True)
    ]


def _doubled_areas(mesh: MeshTri) -> Floats:
    a, b, c = (mesh.p[:, corner] for corner in mesh.t)
    return np.asarray((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])
