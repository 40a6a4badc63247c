"""Currents without sources on a meshed sheet, as fluxes through the edges of its triangles.

The basis is made of lowest-order Raviart–Thomas fields (one flux per facet, numbered and oriented as scikit-fem does)
that have no divergence: the curl of the hat function of every node inside, of the nodes inside a free terminal, and of
the sum of those around each hole; and one path of triangles from each terminal to the sheet's first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.csgraph import breadth_first_order
from skfem import MeshTri

from geometries.layout.layout import Spread
from solver.plan.joined import along_holes, end_cell, end_flow, find_ways, rounds, turns
from solver.plan.meshing import SheetMesh

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetCurrents:
    """Divergence-free currents of one sheet.

    Parameters
    ----------
    eddies : (facets, n) sparse matrix, facets of both faces one after the other where there are two
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
    return _joined_currents(sheet) if len(sheet.faces) == 2 else _single_currents(sheet, spreads)


def _joined_currents(sheet: SheetMesh) -> SheetCurrents:
    """Both faces as one closed surface; facets of the lower face come first."""
    curl, ends = _curl(sheet.mesh), sheet.terminals
    first = end_cell(sheet, int(ends[0].facets[0]), ends[0].faces[-1]) if ends else int(sheet.faces[0][0])
    ways = find_ways(sheet, first)
    flows = [end_flow(sheet, ways, each, each.faces[-1]) for each in ends]
    paths = [sparse.csc_matrix((flow - flows[0])[:, None]) for flow in flows]
    none = sparse.csr_matrix((2 * sheet.mesh.nfacets, 0))
    return SheetCurrents(
        eddies=sparse.csr_matrix(sparse.hstack([turns(sheet, curl), rounds(sheet, ways)])),
        holes=along_holes(sheet, curl),
        paths=sparse.csr_matrix(sparse.hstack([none, *paths])),
    )


def _single_currents(sheet: SheetMesh, spreads: tuple[Spread, ...]) -> SheetCurrents:
    mesh = sheet.mesh
    curl = _curl(mesh)
    free = np.zeros(mesh.nvertices, dtype=bool)
    free[mesh.interior_nodes()] = True
    for terminal, spread in zip(sheet.terminals, spreads, strict=True):
        if spread is Spread.FREE:
            free[_inner_nodes(mesh, terminal.facets)] = True
    rims = sparse.lil_matrix((mesh.nvertices, len(sheet.holes)))
    for column, nodes in enumerate(sheet.holes):
        rims[nodes, column] = 1.0
    pads = _uniform_pads(sheet, spreads)
    eddies = sparse.hstack([curl[:, free], curl @ pads]).tocsr()
    return SheetCurrents(eddies=eddies, holes=(curl @ rims).tocsr(), paths=_paths(sheet, spreads, curl))


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
    mesh = sheet.mesh
    fluxes = np.zeros((mesh.nfacets, len(sheet.terminals)))
    if not sheet.terminals:
        return sparse.csr_matrix(fluxes)
    middles = [each.facets[len(each.facets) // 2] for each in sheet.terminals]
    before = _spanning_tree(mesh, int(mesh.f2t[0, middles[0]]))
    for column, facet in enumerate(middles[1:], start=1):
        fluxes[facet, column] += 1.0
        fluxes[middles[0], column] -= 1.0
        _walk_back(mesh, before, int(mesh.f2t[0, facet]), fluxes[:, column])
        for index, sign in ((column, 1.0), (0, -1.0)):
            if spreads[index] is Spread.UNIFORM:
                _even_out(mesh, curl, sheet.terminals[index].facets, sign, fluxes[:, column])
    return sparse.csr_matrix(fluxes)


def _spanning_tree(mesh: MeshTri, root: int) -> NDArray[np.int64]:
    """For every triangle the facet through which the shortest way from `root` enters it; -1 at the root."""
    inner = np.flatnonzero(mesh.f2t[1] >= 0)
    one, other = mesh.f2t[:, inner]
    graph = sparse.csr_matrix((np.ones(len(inner)), (one, other)), shape=(mesh.nelements, mesh.nelements))
    before = breadth_first_order(graph, root, directed=False, return_predecessors=True)[1]
    facet_of = {(int(a), int(b)): int(facet) for a, b, facet in zip(one, other, inner, strict=True)}
    entered = np.full(mesh.nelements, -1, dtype=np.int64)
    for triangle in np.flatnonzero(before >= 0):
        pair = (int(before[triangle]), int(triangle))
        entered[triangle] = facet_of[pair] if pair in facet_of else facet_of[pair[::-1]]
    return entered


def _walk_back(mesh: MeshTri, entered: NDArray[np.int64], triangle: int, fluxes: Floats) -> None:
    """Add one ampere that flows from the root to a triangle."""
    while entered[triangle] >= 0:
        facet = entered[triangle]
        owner, neighbour = mesh.f2t[:, facet]
        fluxes[facet] += -1.0 if owner == triangle else 1.0
        triangle = int(neighbour if owner == triangle else owner)


def _even_out(
    mesh: MeshTri, curl: sparse.csr_matrix, facets: NDArray[np.int64], current: float, fluxes: Floats
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
