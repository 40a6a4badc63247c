"""From a meshed layout to its matrices: inductance and resistance between all currents of the basis."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from geometries.plan import CopperSheet, Faces, MirrorPlane, PlanLayout, RingPort
from solver.formulas import MU_0, sheet_impedance_both_sides, sheet_impedance_one_side, sheet_resistance
from solver.plan.branches import layout_branches
from solver.plan.currents import SheetCurrents, density_matrices, sheet_currents
from solver.plan.images import image_shift
from solver.plan.meshing import SheetMesh
from solver.plan.posts import post_impedance, post_inductances
from solver.plan.potentials import Triangles, far_rows, near_correction

Floats = NDArray[np.float64]
Numbers = NDArray[np.inexact]

_BLOCK = 256


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
    posts: Floats
    loops: tuple[str, ...]
    port_currents: Floats

    @property
    def size(self) -> int:
        """Number of currents."""
        return int(self.posts.shape[1])


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
    posts = np.zeros((len(layout.posts), fluxes.shape[1]))
    before = eddies.shape[1] + other_holes.shape[1]
    posts[:, before : before + paths.shape[1] - inner] = branches.post_currents[:, inner:]
    posts[:, fluxes.shape[1] - inner :] = branches.post_currents[:, :inner]
    ports = np.hstack([np.zeros((len(layout.cut_ports), len(rings))), branches.port_currents[:, :inner]])
    return PlanBasis(
        meshes=meshes,
        triangles=tuple(map(_triangles, meshes)),
        density=tuple(_densities(meshes, fluxes)),
        posts=posts,
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


def inductance_matrix(layout: PlanLayout, basis: PlanBasis, frequency: float) -> Numbers:
    r"""Inductances between the currents of the basis [H], complex where the plane is lossy.

    .. math:: L_{mn} = \frac{\mu_0}{4\pi}\iint K_m\cdot K_n\left(\frac1R - \frac1{R_{image}}\right)dS\,dS'

    and the posts' partial inductances; horizontal and vertical currents do not couple.
    """
    total: Numbers = basis.posts.T @ post_inductances(layout) @ basis.posts
    for row in range(len(basis.meshes)):
        for column in range(row, len(basis.meshes)):
            part = _pair_inductance(basis, row, column, basis.triangles[column], 0j)
            if layout.plane is not None:
                part = part - _image_inductance(layout.plane, basis, row, column, frequency)
            total = total + (part if row == column else part + part.T)
    return total


def _image_inductance(plane: MirrorPlane, basis: PlanBasis, row: int, column: int, frequency: float) -> Numbers:
    heights = [basis.meshes[index].sheet.height - plane.height for index in (row, column)]
    shift = image_shift(plane, sum(heights) / 2, frequency)
    source = basis.triangles[column]
    depth = plane.height - heights[1] - 2 * shift.real
    mirrored = Triangles(corners=source.corners, heights=np.full(len(source.heights), depth))
    return _pair_inductance(basis, row, column, mirrored, 2j * shift.imag)


def _pair_inductance(basis: PlanBasis, row: int, column: int, sources: Triangles, shift: complex) -> Numbers:
    """Inductance between the currents of one sheet and those of another, or of an image."""
    targets = basis.triangles[row]
    total: Any = np.zeros((basis.size, basis.size), dtype=float if shift == 0 else complex)
    correction = near_correction(targets, sources)
    for here, there in zip(basis.density[row], basis.density[column], strict=True):
        total += (here.T @ correction @ there).toarray()
    for start in range(0, len(targets.heights), _BLOCK):
        rows = slice(start, start + _BLOCK)
        kernel = far_rows(targets, sources, rows, shift)
        for here, there in zip(basis.density[row], basis.density[column], strict=True):
            block = here[rows]
            touched = np.unique(block.indices)
            total[touched] += block[:, touched].T @ (kernel @ there)
    return np.asarray(MU_0 / (4 * math.pi) * total)


def resistance_matrix(layout: PlanLayout, basis: PlanBasis, frequency: float) -> Numbers:
    """Impedances of the metal between the currents of the basis [ohm]; real at 0 Hz, zero at infinite frequency."""
    if math.isinf(frequency):
        return np.zeros((basis.size, basis.size))
    metal = np.array([post_impedance(layout, post, frequency) for post in layout.posts])
    total: Numbers = basis.posts.T @ (metal[:, None] * basis.posts)
    for mesh, triangles, components in zip(basis.meshes, basis.triangles, basis.density, strict=True):
        weights = sparse.diags(triangles.areas)
        grams = sum((part.T @ weights @ part).toarray() for part in components)
        total = total + sheet_impedance(mesh.sheet, frequency) * grams
    return total


def sheet_impedance(sheet: CopperSheet, frequency: float) -> complex:
    """Impedance per square of a sheet's copper [ohm]; its direct-current resistance at 0 Hz."""
    if frequency == 0:
        return sheet_resistance(sheet.thickness, sheet.material.conductivity)
    formula = sheet_impedance_one_side if sheet.faces is Faces.ONE else sheet_impedance_both_sides
    return formula(frequency, sheet.thickness, sheet.material.conductivity)
