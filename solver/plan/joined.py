r"""Currents without sources on two faces of a piece of copper that are joined along its rim.

The copper is a closed surface: the current passes from face to face round its edges, so that its stream function takes
one value at every node of the rim and no node of it is held. With the outward normal turned over on the lower face the
curl of the same function has the opposite sign there. What stream functions leave out goes around: along each hole, on
one face; through each hole, out on one face and back on the other; down a post that passes through both faces.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.csgraph import breadth_first_order
from skfem import MeshTri

from solver.plan.meshing import MeshedTerminal, SheetMesh

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """Ways from every carrying triangle to a first one, over inner facets and round the outer rim.

    Parameters
    ----------
    sheet : SheetMesh
        The copper.
    before : (faces * triangles,) array
        Cell from which each cell is entered; negative at the first and where nothing leads. Cells are the triangles of
        the lower face, then those of the upper one.
    facet : (faces * triangles,) array
        Facet through which it is entered.
    """

    sheet: SheetMesh
    before: Indices
    facet: Indices

    def flow(self, cell: int) -> Floats:
        """Fluxes of one ampere from the first cell to another, lower face then upper face."""
        fluxes = np.zeros(len(self.sheet.faces) * self.sheet.mesh.nfacets)
        while self.before[cell] >= 0:
            cross(self.sheet.mesh, fluxes, int(self.facet[cell]), int(self.before[cell]), cell)
            cell = int(self.before[cell])
        return fluxes


def cross(mesh: MeshTri, fluxes: Floats, facet: int, start: int, end: int) -> None:
    """Add one ampere from a cell to the next through a facet, or round the rim at it."""
    for cell, sign in ((start, 1.0),) if same_face(mesh, start, end) else ((start, 1.0), (end, -1.0)):
        leave(mesh, fluxes, facet, cell, sign)


def leave(mesh: MeshTri, fluxes: Floats, facet: int, cell: int, current: float) -> None:
    """Add a current out of a cell through one of its facets."""
    face, triangle = divmod(cell, mesh.nelements)
    fluxes[face * mesh.nfacets + facet] += current if mesh.f2t[0, facet] == triangle else -current


def same_face(mesh: MeshTri, one: int, other: int) -> bool:
    """Whether two cells lie on the same face."""
    return bool(one // mesh.nelements == other // mesh.nelements)


def joined_facets(sheet: SheetMesh) -> Indices:
    """Facets of the rim where the current passes from face to face: all but those of terminals."""
    taken = np.concatenate([np.zeros(0, dtype=np.int64), *(each.facets for each in sheet.terminals)])
    return np.asarray(np.setdiff1d(sheet.mesh.boundary_facets(), taken), dtype=np.int64)


def turns(sheet: SheetMesh, curl: sparse.csr_matrix) -> sparse.csr_matrix:
    """Fluxes (2 * facets, n) of the currents around single nodes, of which one is left out: all together are none."""
    mesh, count = sheet.mesh, sheet.mesh.nvertices
    rim = np.unique(mesh.facets[:, joined_facets(sheet)])
    number = np.arange(2 * count)
    number[count + rim] = rim
    active = np.zeros(2 * count, dtype=bool)
    for face, triangles in enumerate(sheet.faces):
        active[face * count + np.unique(mesh.t[:, triangles])] = True
    kept = np.unique(number[active])[1:]
    shared = sparse.csr_matrix((np.ones(2 * count), (np.arange(2 * count), number)), shape=(2 * count, 2 * count))
    return sparse.csr_matrix(sparse.block_diag([-curl, curl]) @ shared[:, kept])


def along_holes(sheet: SheetMesh, curl: sparse.csr_matrix) -> sparse.csr_matrix:
    """Fluxes (2 * facets, holes) of one ampere counter-clockwise around each hole, on the upper face."""
    rims = sparse.lil_matrix((sheet.mesh.nvertices, len(sheet.holes)))
    for column, nodes in enumerate(sheet.holes):
        rims[nodes, column] = 1.0
    none = sparse.csr_matrix((sheet.mesh.nfacets, len(sheet.holes)))
    return sparse.csr_matrix(sparse.vstack([none, curl @ rims]))


def rounds(sheet: SheetMesh, ways: Ways) -> sparse.csr_matrix:
    """Fluxes (2 * facets, n) of one ampere through each hole and down each post through both faces."""
    columns = [*_through_holes(sheet, ways), *_through_posts(sheet, ways)]
    return sparse.csr_matrix(np.column_stack([np.zeros((2 * sheet.mesh.nfacets, 0)), *columns]))


def _through_holes(sheet: SheetMesh, ways: Ways) -> list[Floats]:
    found = []
    for nodes in sheet.holes:
        rim = [facet for facet in joined_facets(sheet) if np.isin(sheet.mesh.facets[:, facet], nodes).all()]
        triangle = int(sheet.mesh.f2t[0, rim[0]])
        upper = triangle + sheet.mesh.nelements
        round_it = ways.flow(triangle) - ways.flow(upper)
        cross(sheet.mesh, round_it, int(rim[0]), triangle, upper)
        found.append(round_it)
    return found


def _through_posts(sheet: SheetMesh, ways: Ways) -> list[Floats]:
    posts = [each for each in sheet.terminals if is_post(sheet, each)]
    return [end_flow(sheet, ways, each, 1) - end_flow(sheet, ways, each, 0) for each in posts]


def is_post(sheet: SheetMesh, terminal: MeshedTerminal) -> bool:
    """Whether a terminal closes on itself and touches both faces."""
    return len(terminal.faces) == 2 and len(np.unique(sheet.mesh.facets[:, terminal.facets])) == len(terminal.facets)


def end_flow(sheet: SheetMesh, ways: Ways, terminal: MeshedTerminal, face: int) -> Floats:
    """Fluxes of one ampere from the first cell that leaves at a terminal from one face."""
    facet = int(terminal.facets[len(terminal.facets) // 2])
    cell = end_cell(sheet, facet, face)
    fluxes = ways.flow(cell)
    leave(sheet.mesh, fluxes, facet, cell, 1.0)
    return fluxes


def end_flows(sheet: SheetMesh, ways: Ways) -> Floats:
    """Fluxes (facets, terminals) of one ampere that leaves the copper at each terminal and enters at the first."""
    flows = [end_flow(sheet, ways, each, each.faces[-1]) for each in sheet.terminals]
    none = np.zeros((len(sheet.faces) * sheet.mesh.nfacets, 0))
    return np.column_stack([none, *(flow - flows[0] for flow in flows)])


def leaving_signs(sheet: SheetMesh, terminal: MeshedTerminal, surface: int) -> Floats:
    """Sense of current out of a surface of a sheet through each facet of a terminal."""
    inside = np.isin(sheet.mesh.f2t[0, terminal.facets], sheet.surfaces[surface].triangles)
    return np.where(inside, 1.0, -1.0)


def end_cell(sheet: SheetMesh, facet: int, face: int) -> int:
    """The carrying cell of a face at a facet of a terminal."""
    sides = [triangle for triangle in sheet.mesh.f2t[:, facet] if triangle >= 0 and triangle in sheet.faces[face]]
    return int(sides[0]) + face * int(sheet.mesh.nelements)


def find_ways(sheet: SheetMesh) -> Ways:
    """Shortest ways from the first terminal; round the rim only at the outer edge, so that each hole keeps its own."""
    mesh, ends = sheet.mesh, sheet.terminals
    first = end_cell(sheet, int(ends[0].facets[0]), ends[0].faces[-1]) if ends else int(sheet.faces[0][0])
    inner = np.flatnonzero(mesh.f2t[1] >= 0)
    steps = [
        _carrying(sheet, face, mesh.f2t[:, inner] + face * mesh.nelements, inner) for face in range(len(sheet.faces))
    ]
    if len(sheet.faces) == 2:
        steps.append(_round_the_outer_rim(sheet))
    cells = np.hstack([pair for pair, _ in steps])
    facets = np.concatenate([numbers for _, numbers in steps])
    size = len(sheet.faces) * mesh.nelements
    graph = sparse.csr_matrix((np.arange(1, len(facets) + 1), (cells[0], cells[1])), shape=(size, size))
    before = breadth_first_order(graph, first, directed=False, return_predecessors=True)[1].astype(np.int64)
    both = (graph + graph.T).tocsr()
    entered = np.flatnonzero(before >= 0)
    facet = np.full(size, -1, dtype=np.int64)
    facet[entered] = facets[np.asarray(both[before[entered], entered]).ravel().astype(int) - 1]
    return Ways(sheet=sheet, before=before, facet=facet)


def _round_the_outer_rim(sheet: SheetMesh) -> tuple[Indices, Indices]:
    """Cells on both faces at each facet of the outer rim, and the facets; one for each triangle."""
    mesh, rim = sheet.mesh, joined_facets(sheet)
    holes = np.concatenate([np.zeros(0, dtype=np.int64), *sheet.holes])
    rim = rim[~np.isin(mesh.facets[:, rim], holes).all(axis=0)]
    owner, first_of = np.unique(mesh.f2t[0, rim], return_index=True)
    return np.stack([owner, owner + mesh.nelements]), rim[first_of]


def _carrying(sheet: SheetMesh, face: int, cells: Indices, facets: Indices) -> tuple[Indices, Indices]:
    """Facets between two carrying triangles of a face."""
    carries = np.zeros(len(sheet.faces) * sheet.mesh.nelements, dtype=bool)
    carries[sheet.faces[face] + face * sheet.mesh.nelements] = True
    kept = carries[cells].all(axis=0)
    return cells[:, kept], facets[kept]
