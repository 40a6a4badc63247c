"""From a meshed layout to its matrices: inductance and resistance between all currents of the basis."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from geometries.layout.layout import CopperSheet, Faces, MirrorPlane, PlanLayout, RingPort
from solver.formulas import MU_0, sheet_impedance_both_sides, sheet_impedance_one_side, sheet_resistance
from solver.plan.branches import layout_branches
from solver.plan.currents import SheetCurrents, density_matrices, sheet_currents
from solver.plan.images import image_shift
from solver.plan.meshing import SheetMesh
from solver.plan.potentials import Triangles, far_potentials, near_correction
from solver.plan.vias import via_impedance, via_inductances

Floats = NDArray[np.float64]
Numbers = NDArray[np.inexact]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanBasis:
    """All currents of a layout that have no sources; the last `len(loops)` columns are the driven loops.

    Parameters
    ----------
    meshes : tuple of SheetMesh
        Sheets with their triangles.
    triangles : tuple of Triangles
        The triangles of each sheet.
    density : tuple of (x, y)
        For each sheet two matrices (triangles, n): the density [A/m] of each current of the basis.
    posts : (posts, n) array
        Current down each post [A].
    loops : tuple of str
        Names of the driven loops.
    port_currents : (ports with a cut, loops) array
        Current of each port per ampere of each loop.
    """

    meshes: tuple[SheetMesh, ...]
    triangles: tuple[Triangles, ...]
    density: tuple[tuple[sparse.csr_matrix, sparse.csr_matrix], ...]
    vias: Floats
    loops: tuple[str, ...]
    port_currents: Floats

    @property
    def size(self) -> int:
        """Number of currents."""
        return int(self.vias.shape[1])


def plan_basis(layout: PlanLayout, meshes: tuple[SheetMesh, ...]) -> PlanBasis:
    """Collect the currents of all sheets, and the loops that lead over several of them."""
    spreads, branches = layout.spreads(), layout_branches(layout)
    currents = [sheet_currents(mesh, tuple(spreads[number] for number, _ in mesh.terminals)) for mesh in meshes]
    rings = [port for port in layout.ports if isinstance(port, RingPort)]
    driven = [_ring_columns(meshes, currents, [port]) for port in rings]
    other_holes = _undriven_holes(meshes, currents, rings)
    paths = _path_columns(meshes, currents, branches.terminal_currents)
    inner = len(branches.loops)
    eddies = sparse.csr_matrix(sparse.block_diag([flow.eddies for flow in currents]))
    columns = [eddies, other_holes, paths[:, inner:], *driven, paths[:, :inner]]
    fluxes = sparse.csr_matrix(sparse.hstack(columns))
    vias = np.zeros((len(layout.vias), fluxes.shape[1]))
    before = eddies.shape[1] + other_holes.shape[1]
    vias[:, before : before + paths.shape[1] - inner] = branches.via_currents[:, inner:]
    vias[:, fluxes.shape[1] - inner :] = branches.via_currents[:, :inner]
    ports = np.hstack([np.zeros((len(layout.cut_ports), len(rings))), branches.port_currents[:, :inner]])
    return PlanBasis(
        meshes=meshes,
        triangles=tuple(map(_triangles, meshes)),
        density=tuple(_densities(meshes, fluxes)),
        vias=vias,
        loops=(*(port.name for port in rings), *branches.loops),
        port_currents=ports,
    )


def _triangles(mesh: SheetMesh) -> Triangles:
    corners = np.moveaxis(mesh.mesh.p[:, mesh.mesh.t], 0, -1).swapaxes(0, 1).copy()
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    clockwise = first[:, 0] * second[:, 1] < first[:, 1] * second[:, 0]
    corners[clockwise] = corners[clockwise][:, ::-1]
    return Triangles(corners=corners, heights=np.full(len(corners), mesh.sheet.height))


def _densities(
    meshes: Sequence[SheetMesh], fluxes: sparse.csr_matrix
) -> Iterator[tuple[sparse.csr_matrix, sparse.csr_matrix]]:
    start = 0
    for mesh in meshes:
        own = fluxes[start : start + mesh.mesh.nfacets]
        x, y = density_matrices(mesh.mesh)
        yield (x @ own).tocsr(), (y @ own).tocsr()
        start += mesh.mesh.nfacets


def _ring_columns(
    meshes: Sequence[SheetMesh], currents: Sequence[SheetCurrents], rings: Sequence[RingPort]
) -> sparse.csr_matrix:
    """Currents around the holes that rings are driven around."""
    columns = [
        flow.holes[:, [mesh.sheet.hole_around(ring.inside) for ring in rings if ring.sheet == mesh.sheet.name]]
        for mesh, flow in zip(meshes, currents, strict=True)
    ]
    return sparse.csr_matrix(sparse.block_diag(columns))


def _undriven_holes(
    meshes: Sequence[SheetMesh], currents: Sequence[SheetCurrents], rings: Sequence[RingPort]
) -> sparse.csr_matrix:
    columns = []
    for mesh, flow in zip(meshes, currents, strict=True):
        driven = [mesh.sheet.hole_around(ring.inside) for ring in rings if ring.sheet == mesh.sheet.name]
        columns.append(flow.holes[:, np.setdiff1d(np.arange(flow.holes.shape[1]), driven)])
    return sparse.csr_matrix(sparse.block_diag(columns))


def _path_columns(
    meshes: Sequence[SheetMesh], currents: Sequence[SheetCurrents], terminal_currents: Floats
) -> sparse.csr_matrix:
    rows = [
        sparse.csr_matrix(flow.paths @ terminal_currents[[number for number, _ in mesh.terminals]])
        for mesh, flow in zip(meshes, currents, strict=True)
    ]
    return sparse.csr_matrix(sparse.vstack(rows))


def own_inductances(layout: PlanLayout, basis: PlanBasis) -> Floats:
    r"""Inductances between the currents of the basis [H], without images of the copper in a mirror plane.

    .. math:: L_{mn} = \frac{\mu_0}{4\pi}\iint\frac{K_m\cdot K_n}R\,dS\,dS'

    and the posts' partial inductances; horizontal and vertical currents do not couple.
    """
    half = np.zeros((basis.size, basis.size))
    for pair in _pairs(basis):
        _add_half(half, pair, basis.triangles[pair.column], 0j)
    vias = basis.vias.T @ via_inductances(layout) @ basis.vias
    return np.asarray(MU_0 / (4 * math.pi) * (half + half.T) + vias)


def image_inductances(plane: MirrorPlane, basis: PlanBasis, frequency: float) -> Numbers:
    """The same between the currents of the basis and their images, to be subtracted; complex if the plane is lossy."""
    lossy = plane.material is not None and math.isfinite(frequency)
    half: Numbers = np.zeros((basis.size, basis.size), dtype=complex if lossy else float)
    for pair in _pairs(basis):
        heights = [basis.meshes[index].sheet.height - plane.height for index in (pair.row, pair.column)]
        shift = image_shift(plane, sum(heights) / 2, frequency)
        image = basis.triangles[pair.column].at_height(plane.height - heights[1] - 2 * shift.real)
        _add_half(half, pair, image, 2j * shift.imag)
    return np.asarray(MU_0 / (4 * math.pi) * (half + half.T))


def _pairs(basis: PlanBasis) -> Iterator[_Pair]:
    for row in range(len(basis.meshes)):
        for column in range(row, len(basis.meshes)):
            yield _Pair(basis=basis, row=row, column=column)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pair:
    """A sheet whose currents are in the field of those of another, or of its own."""

    basis: PlanBasis
    row: int
    column: int

    @property
    def share(self) -> float:
        """Part of what the pair adds to the half matrix: it meets itself once, another sheet twice."""
        return 0.5 if self.row == self.column else 1.0

    def components(self) -> Iterator[tuple[sparse.csr_matrix, sparse.csr_matrix]]:
        """Densities along x, then along y, of both."""
        return zip(self.basis.density[self.row], self.basis.density[self.column], strict=True)


def _add_half(half: Numbers, pair: _Pair, sources: Triangles, shift: complex) -> None:
    """Add half of the double integrals of K K'/R over one sheet and another, or its image.

    A sheet with itself or its own image is symmetric: only groups of triangles from each one onwards are summed.
    """
    targets = pair.basis.triangles[pair.row]
    for rows in pair.basis.meshes[pair.row].groups:
        columns = slice(rows.start if pair.row == pair.column else 0, None)
        kernel = far_potentials(targets.part(rows), sources.part(columns), shift)
        kernel[:, : rows.stop - rows.start] *= pair.share
        for here, there in pair.components():
            block = here[rows]
            touched = np.unique(block.indices)
            product = np.asarray(kernel @ there[columns])
            half[touched] += np.asarray(block[:, touched].T @ product)
    near = pair.share * near_correction(targets, sources)
    for here, there in pair.components():
        entries = (here.T @ near @ there).tocoo()
        half[entries.row, entries.col] += entries.data


def square_matrices(basis: PlanBasis) -> tuple[Floats, ...]:
    """For each sheet, the integral of K K' over it for all pairs of currents: how many squares they pass [1]."""
    return tuple(
        sum((part.T @ sparse.diags(triangles.areas) @ part).toarray() for part in components)
        for triangles, components in zip(basis.triangles, basis.density, strict=True)
    )


def metal_impedances(layout: PlanLayout, basis: PlanBasis, squares: tuple[Floats, ...], frequency: float) -> Numbers:
    """Impedances of the metal between the currents of the basis [ohm]; real at 0 Hz, zero at infinite frequency."""
    if math.isinf(frequency):
        return np.zeros((basis.size, basis.size))
    metal = np.array([via_impedance(layout, via, frequency) for via in layout.vias])
    total: Numbers = basis.vias.T @ (metal[:, None] * basis.vias)
    for sheet, count in zip(layout.sheets, squares, strict=True):
        total = total + sheet_impedance(sheet, frequency) * count
    return total


def sheet_impedance(sheet: CopperSheet, frequency: float) -> complex:
    """Impedance per square of a sheet's copper [ohm]; its direct-current resistance at 0 Hz."""
    if frequency == 0:
        return sheet_resistance(sheet.thickness, sheet.material.conductivity)
    formula = sheet_impedance_one_side if sheet.faces is Faces.ONE else sheet_impedance_both_sides
    return formula(frequency, sheet.thickness, sheet.material.conductivity)
