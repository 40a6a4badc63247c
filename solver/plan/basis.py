"""From a meshed layout to all currents in it that have no sources."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from skfem import MeshTri

from geometries.layout.layout import PlanLayout, RingPort
from solver.plan.branches import layout_branches
from solver.plan.currents import SheetCurrents, density_matrices, sheet_currents
from solver.plan.meshing import SheetMesh
from solver.plan.potentials import Triangles

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceCurrents:
    """Currents on one face of a sheet, or under the lands on it.

    Parameters
    ----------
    sheet : int
        Number of the sheet.
    face : int
        Number of the face.
    chosen : array
        Its triangles that carry current there.
    triangles : Triangles
        The same, at the face's height.
    density : (x, y)
        Matrices (triangles, n): the density [A/m] of each current of the basis.
    """

    sheet: int
    face: int
    chosen: NDArray[np.int64]
    triangles: Triangles
    density: tuple[sparse.csr_matrix, sparse.csr_matrix]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanBasis:
    """All currents of a layout that have no sources; the last `len(loops)` columns are the driven loops.

    Parameters
    ----------
    meshes : tuple of SheetMesh
        Sheets with their triangles.
    fluxes : tuple of sparse matrix
        For each sheet (facets, n): the flux through each facet of each current of the basis [A], surface after surface.
    faces : tuple of FaceCurrents
        Each surface of each sheet, in that order.
    vias : (posts, n) array
        Current down each post [A].
    loops : tuple of str
        Names of the driven loops.
    port_currents : (ports with a cut, loops) array
        Current of each port per ampere of each loop.
    """

    meshes: tuple[SheetMesh, ...]
    fluxes: tuple[sparse.csr_matrix, ...]
    faces: tuple[FaceCurrents, ...]
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
    currents = [sheet_currents(mesh, tuple(spreads[each.number] for each in mesh.terminals)) for mesh in meshes]
    rings = [port for port in layout.ports if isinstance(port, RingPort)]
    driven = [_ring_columns(meshes, currents, [port]) for port in rings]
    other_holes = _undriven_holes(meshes, currents, rings)
    paths = _path_columns(meshes, currents, branches.terminal_currents)
    inner = len(branches.loops)
    eddies = sparse.csr_matrix(sparse.block_diag([flow.eddies for flow in currents]))
    columns = [eddies, other_holes, paths[:, inner:], *driven, paths[:, :inner]]
    joined = sparse.csr_matrix(sparse.hstack(columns))
    fluxes = tuple(_per_sheet(meshes, joined))
    vias = np.zeros((len(layout.vias), joined.shape[1]))
    before = eddies.shape[1] + other_holes.shape[1]
    vias[:, before : before + paths.shape[1] - inner] = branches.via_currents[:, inner:]
    vias[:, joined.shape[1] - inner :] = branches.via_currents[:, :inner]
    ports = np.hstack([np.zeros((len(layout.cut_ports), len(rings))), branches.port_currents[:, :inner]])
    return PlanBasis(
        meshes=meshes,
        fluxes=fluxes,
        faces=tuple(_faces(meshes, fluxes)),
        vias=vias,
        loops=(*(port.name for port in rings), *branches.loops),
        port_currents=ports,
    )


def sheet_triangles(mesh: MeshTri, chosen: NDArray[np.int64], height: float) -> Triangles:
    """Chosen triangles of a mesh at a height [m], counter-clockwise."""
    corners = np.moveaxis(mesh.p[:, mesh.t[:, chosen]], 0, -1).swapaxes(0, 1).copy()
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    clockwise = first[:, 0] * second[:, 1] < first[:, 1] * second[:, 0]
    corners[clockwise] = corners[clockwise][:, ::-1]
    return Triangles(corners=corners, heights=np.full(len(corners), height))


def _per_sheet(meshes: Sequence[SheetMesh], fluxes: sparse.csr_matrix) -> Iterator[sparse.csr_matrix]:
    start = 0
    for mesh in meshes:
        count = len(mesh.surfaces) * mesh.mesh.nfacets
        yield fluxes[start : start + count]
        start += count


def _faces(meshes: Sequence[SheetMesh], fluxes: Sequence[sparse.csr_matrix]) -> Iterator[FaceCurrents]:
    for number, (sheet, own) in enumerate(zip(meshes, fluxes, strict=True)):
        x, y = density_matrices(sheet.mesh)
        for index, surface in enumerate(sheet.surfaces):
            flux, chosen = own[sheet.rows(index)], surface.triangles
            yield FaceCurrents(
                sheet=number,
                face=surface.face,
                chosen=chosen,
                triangles=sheet_triangles(sheet.mesh, chosen, sheet.sheet.levels[surface.face]),
                density=((x[chosen] @ flux).tocsr(), (y[chosen] @ flux).tocsr()),
            )


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
        sparse.csr_matrix(flow.paths @ terminal_currents[[each.number for each in mesh.terminals]])
        for mesh, flow in zip(meshes, currents, strict=True)
    ]
    return sparse.csr_matrix(sparse.vstack(rows))
