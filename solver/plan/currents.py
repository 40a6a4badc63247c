"""Currents without sources on a meshed sheet, as fluxes through the edges of its triangles.

The basis is made of lowest-order Raviart–Thomas fields (one flux per facet, numbered and oriented as scikit-fem does)
that have no divergence: the curl of the hat function of every node inside, of the nodes inside a free terminal, and of
the sum of those around each hole; and one path of triangles from each terminal to the sheet's first. Copper under a
land has currents of its own: the solder around it is one node, which they meet anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components
from skfem import MeshTri

from geometries.layout.layout import Spread
from solver.plan.joined import along_holes, end_flows, find_ways, leaving_signs, rounds, turns
from solver.plan.meshing import SheetMesh

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetCurrents:
    """Divergence-free currents of one sheet.

    Parameters
    ----------
    eddies : (facets, n) sparse matrix, facets of all surfaces one after the other
        Fluxes of the currents that pass no net current through any terminal and around no hole.
    holes : (facets, holes) sparse matrix
        Fluxes of one ampere counter-clockwise around each hole.
    paths : (facets, terminals) sparse matrix
        Fluxes of one ampere that leaves the copper at each terminal and enters at the first.
    """

    eddies: sparse.csr_matrix
    holes: sparse.csr_matrix
    paths: sparse.csr_matrix


def sheet_currents(sheet: SheetMesh, spreads: tuple[Spread, ...]) -> SheetCurrents:
    """Build the basis; `spreads` are those of the sheet's terminals, in their order."""
    curl = _curl(sheet.mesh)
    own = _joined_currents(sheet, curl) if len(sheet.faces) == 2 else _single_currents(sheet, spreads, curl)
    beneath = _under_lands(sheet, curl)
    if not beneath.shape[0]:
        return own
    return SheetCurrents(
        eddies=sparse.csr_matrix(sparse.block_diag([own.eddies, beneath])),
        holes=_with_rows(own.holes, beneath.shape[0]),
        paths=_with_rows(own.paths, beneath.shape[0]),
    )


def _with_rows(fluxes: sparse.csr_matrix, count: int) -> sparse.csr_matrix:
    """Fluxes with none through as many more facets."""
    return sparse.csr_matrix(sparse.vstack([fluxes, sparse.csr_matrix((count, fluxes.shape[1]))]))


def _under_lands(sheet: SheetMesh, curl: sparse.csr_matrix) -> sparse.csr_matrix:
    """Fluxes (facets of the lands' surfaces, n) of the currents in copper under a land.

    The solder leads them from any place of the land's rim to any other, and to the copper around it, so that no node is
    held; of each land one is left out, as all its nodes together are no current.
    """
    columns = []
    for surface in sheet.surfaces[len(sheet.faces) :]:
        corners = sheet.mesh.t[:, surface.triangles]
        nodes, number = np.unique(corners, return_inverse=True)
        first, second, third = number.reshape(corners.shape)
        ends = np.concatenate([first, second]), np.concatenate([second, third])
        pieces = connected_components(sparse.csr_matrix((np.ones(len(ends[0])), ends), shape=(len(nodes),) * 2))[1]
        columns.append(curl[:, np.delete(nodes, np.unique(pieces, return_index=True)[1])])
    return sparse.csr_matrix(sparse.block_diag(columns)) if columns else sparse.csr_matrix((0, 0))


def _joined_currents(sheet: SheetMesh, curl: sparse.csr_matrix) -> SheetCurrents:
    """Both faces as one closed surface; facets of the lower face come first."""
    ways = find_ways(sheet)
    return SheetCurrents(
        eddies=sparse.csr_matrix(sparse.hstack([turns(sheet, curl), rounds(sheet, ways)])),
        holes=along_holes(sheet, curl),
        paths=sparse.csr_matrix(end_flows(sheet, ways)),
    )


def _single_currents(sheet: SheetMesh, spreads: tuple[Spread, ...], curl: sparse.csr_matrix) -> SheetCurrents:
    mesh = sheet.mesh
    free = np.zeros(mesh.nvertices, dtype=bool)
    free[np.unique(mesh.t[:, sheet.faces[0]])] = True
    free[mesh.facets[:, _rim(sheet)]] = False
    for terminal, spread in zip(sheet.terminals, spreads, strict=True):
        if spread is Spread.FREE:
            free[_inner_nodes(mesh, terminal.facets)] = True
    rims = sparse.lil_matrix((mesh.nvertices, len(sheet.holes)))
    for column, nodes in enumerate(sheet.holes):
        rims[nodes, column] = 1.0
    pads = _uniform_pads(sheet, spreads)
    eddies = sparse.hstack([curl[:, free], curl @ pads]).tocsr()
    return SheetCurrents(eddies=eddies, holes=(curl @ rims).tocsr(), paths=_paths(sheet, spreads, curl))


def _rim(sheet: SheetMesh) -> NDArray[np.int64]:
    """Facets around a single face: of its copper and of the lands on it."""
    carries = np.zeros(sheet.mesh.nelements + 1, dtype=bool)
    carries[sheet.faces[0]] = True  # the last one stands for what lies beyond the copper
    return np.flatnonzero(carries[sheet.mesh.f2t].sum(axis=0) == 1)


def density_matrices(mesh: MeshTri) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
    """Matrices (triangles, facets) that give the two components of the density [A/m] from facet fluxes [A]."""
    corners = mesh.p[:, mesh.t]
    middle = corners.mean(axis=1)
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = np.abs(first[0] * second[1] - first[1] * second[0]) / 2
    rows = np.tile(np.arange(mesh.nelements), 3)
    columns = mesh.t2f.ravel()
    outward = np.where(mesh.f2t[0, columns] == rows, 1.0, -1.0)
    # Facet i of a triangle joins its corners (0, 1), (1, 2), (0, 2); opposite lie corners 2, 0, 1.
    arms = np.concatenate([middle - corners[:, opposite] for opposite in (2, 0, 1)], axis=1)
    shape = (mesh.nelements, mesh.nfacets)
    x, y = (sparse.csr_matrix((outward * arm / (2 * areas[rows]), (rows, columns)), shape=shape) for arm in arms)
    return x, y


def _curl(mesh: MeshTri) -> sparse.csr_matrix:
    """Flux through each facet, in the facet's direction, of the curl of each node's hat function."""
    start, end = mesh.facets
    along = mesh.p[:, end] - mesh.p[:, start]
    owner = mesh.p[:, mesh.t[:, mesh.f2t[0]]].mean(axis=1)
    aside = along[0] * (owner - mesh.p[:, start])[1] - along[1] * (owner - mesh.p[:, start])[0]
    sign = np.where(aside > 0, 1.0, -1.0)  # the owner lies to the left of the facet: its outward normal to the right
    facets = np.arange(mesh.nfacets)
    return sparse.csr_matrix(
        (np.concatenate([sign, -sign]), (np.tile(facets, 2), np.concatenate([end, start]))),
        shape=(mesh.nfacets, mesh.nvertices),
    )


def _inner_nodes(mesh: MeshTri, facets: NDArray[np.int64]) -> NDArray[np.int64]:
    """Nodes between two facets of a terminal."""
    nodes, count = np.unique(mesh.facets[:, facets], return_counts=True)
    return np.asarray(nodes[count == 2], dtype=np.int64)


def _uniform_pads(sheet: SheetMesh, spreads: tuple[Spread, ...]) -> sparse.csr_matrix:
    """All nodes of the rim of each pad with uniform density: the current that circulates around it."""
    mesh, rims = sheet.mesh, []
    for terminal, spread in zip(sheet.terminals, spreads, strict=True):
        nodes = np.unique(mesh.facets[:, terminal.facets])
        if spread is Spread.UNIFORM and len(nodes) == len(terminal.facets):
            rims.append(
                sparse.csr_matrix(
                    (np.ones(len(nodes)), (nodes, np.zeros(len(nodes), dtype=int))), shape=(mesh.nvertices, 1)
                )
            )
    return sparse.hstack(rims).tocsr() if rims else sparse.csr_matrix((mesh.nvertices, 0))


def _paths(sheet: SheetMesh, spreads: tuple[Spread, ...], curl: sparse.csr_matrix) -> sparse.csr_matrix:
    fluxes = end_flows(sheet, find_ways(sheet))
    for column in range(1, len(sheet.terminals)):
        for index, sign in ((column, 1.0), (0, -1.0)):
            if spreads[index] is Spread.UNIFORM:
                outward = sign * leaving_signs(sheet, sheet.terminals[index], 0)
                _even_out(sheet.mesh, curl, sheet.terminals[index].facets, outward, fluxes[:, column])
    return sparse.csr_matrix(fluxes)


def _even_out(
    mesh: MeshTri, curl: sparse.csr_matrix, facets: NDArray[np.int64], current: Floats, fluxes: Floats
) -> None:
    """Spread the current through a terminal evenly by adding hat curls of its nodes."""
    ends = mesh.p[:, mesh.facets[:, facets]]
    lengths = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=0)
    nodes = _inner_nodes(mesh, facets)
    if len(nodes) == len(facets):
        nodes = nodes[1:]
    wanted = current * lengths / lengths.sum() - fluxes[facets]
    strengths = np.linalg.lstsq(curl[facets][:, nodes].toarray(), wanted, rcond=None)[0]
    fluxes += curl[:, nodes] @ strengths
