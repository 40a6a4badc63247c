"""What tells the two views of a section apart; all else is shared.

Section view: the body is drawn out along z and the unknown is A_z. Axisymmetric view: it is turned about the axis x =
0, and the unknown is the flux through the circle of radius r = x, Phi = 2 pi r A_phi. Both obey

    -div(w grad Phi / mu_0) = J,   J = sigma w (V - s Phi),

with w = 1 and V the voltage drop per metre in the first, w = 1/(2 pi r) and V the voltage round one turn in the second.
Impedances come out per metre in the first and for the whole turn in the second. In the axisymmetric view conductors
without a current of their own are closed on themselves: V = 0.

Near the axis Phi grows with r². Elements that know only Phi = 0 there would hold functions that grow with r, whose
energy is infinite; they are taken out, so that the energy of every function that is left is finite and integrated well.
"""

from __future__ import annotations

import math

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from skfem import MeshTri

from geometries.section.section import View
from solver.section.elements import TriangleBasis

_AXIS_FLOOR = 1e-5
"""Fields on the axis are taken at this fraction of the section's size beside it."""

_EXTRA_DEGREE = 4


def quadrature_degree(view: View, mesh: MeshTri, order: int) -> int:
    """Degree of the quadrature for products of two functions of an order; higher where weight or curvature vary."""
    even = view is View.SECTION and mesh.affine
    return 2 * order + (0 if even else _EXTRA_DEGREE)


def flux_weight(view: View, basis: TriangleBasis) -> NDArray[np.float64]:
    """The weight w: ones (e,) in the section view, values at the quadrature points (e, q) [1/m] in the round one."""
    if view is View.SECTION:
        return np.ones(basis.nelems)
    return np.asarray(1 / (2 * math.pi * np.asarray(basis.global_coordinates())[0]))


def point_weight(view: View, points: NDArray[np.float64], size: float) -> NDArray[np.float64]:
    """The weight w at points (n, 2) of a section of a size [m], (n,); on the axis that of a point close by."""
    if view is View.SECTION:
        return np.ones(len(points))
    return np.asarray(1 / (2 * math.pi * np.maximum(points[:, 0], _AXIS_FLOOR * size)))


def off_axis(view: View, points: NDArray[np.float64], size: float) -> NDArray[np.float64]:
    """The same points, in the axisymmetric view moved off the axis by a hundred-thousandth of the section's size."""
    if view is View.SECTION:
        return points
    return np.column_stack([np.maximum(points[:, 0], _AXIS_FLOOR * size), points[:, 1]])


def field_sense(view: View) -> float:
    """Sign s in H = s w/mu_0 (dPhi/dy, -dPhi/dx): z, x, y turn right, and so do phi, z, r."""
    return 1.0 if view is View.SECTION else -1.0


def regular_on_axis(view: View, basis: TriangleBasis) -> sparse.csr_matrix:
    """Matrix T, (n, n), whose range are the functions that grow with the square of the distance from the axis.

    Columns of unknowns that follow from others are zero; without an axis it is the identity.

    On every edge that leaves the axis the slope at its foot must vanish, which gives the unknown next to the foot: with
    b the farther one and c at the far end, b/2 - c/9 at third order, c/4 at second. In a third-order triangle with an
    edge on the axis the slope across that edge is then zero at both ends; the unknown inside makes it zero in between:
    (b + b')/4 - c/9, as for r² times any linear function.

    Raises
    ------
    ValueError
        For elements of another order.
    """
    order = basis.elem.maxdeg
    if view is View.SECTION:
        return sparse.identity(basis.N, format="csr")
    if order not in (2, 3):
        raise ValueError(f"the axisymmetric view is solved with elements of second or third order, not {order}")
    on_axis = basis.mesh.p[0] == 0
    slaves, masters, factors = _feet(basis, on_axis)
    if order == 3:
        inner = _inner(basis, on_axis)
        slaves, masters, factors = (np.hstack([a, b]) for a, b in zip((slaves, masters, factors), inner, strict=True))
    kept = np.ones(basis.N)
    kept[slaves[0]] = 0
    rows = np.broadcast_to(slaves, masters.shape).ravel()
    ties = sparse.csr_matrix((factors.ravel(), (rows, masters.ravel())), shape=(basis.N, basis.N))
    return (sparse.diags(kept) + ties).tocsr()


def on_regular(view: View, regular: sparse.csr_matrix, matrix: sparse.csr_matrix) -> sparse.csr_matrix:
    """A matrix between the functions that :func:`regular_on_axis` leaves, T^T A T, (n, n)."""
    return matrix if view is View.SECTION else regular.T @ matrix @ regular


_Ties = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]
"""Unknowns that follow from others (1, m), those others (3, m), and the factors (3, m)."""


def _feet(basis: TriangleBasis, on_axis: NDArray[np.bool_]) -> _Ties:
    """The unknowns next to the foot of every edge that leaves the axis."""
    mesh = basis.mesh
    edges = np.flatnonzero(on_axis[mesh.facets].sum(axis=0) == 1)
    ends = np.where(on_axis[mesh.facets[0, edges]], mesh.facets[1, edges], mesh.facets[0, edges])
    unknowns, tip = _outwards(basis, basis.facet_dofs[:, edges]), basis.nodal_dofs[0, ends]
    factors = {2: (0.0, 0.0, 0.25), 3: (0.5, 0.0, -1 / 9)}[basis.elem.maxdeg]
    masters = np.vstack([unknowns[-1], tip, tip])
    return unknowns[:1], masters, np.outer(factors, np.ones(len(edges)))


def _inner(basis: TriangleBasis, on_axis: NDArray[np.bool_]) -> _Ties:
    """The unknown inside every third-order triangle with an edge on the axis."""
    mesh = basis.mesh
    cells = np.flatnonzero(on_axis[mesh.t].sum(axis=0) == 2)
    corners = mesh.t[:, cells]
    tip = basis.nodal_dofs[0, corners.T[~on_axis[corners].T]]
    edges = mesh.t2f[:, cells]
    leaving = on_axis[mesh.facets[:, edges]].sum(axis=0) == 1
    first, second = edges.T[leaving.T].reshape(-1, 2).T
    far = [_outwards(basis, basis.facet_dofs[:, edge])[-1] for edge in (first, second)]
    factors = np.outer([0.25, 0.25, -1 / 9], np.ones(len(cells)))
    return basis.interior_dofs[:1, cells], np.vstack([*far, tip]), factors


def _outwards(basis: TriangleBasis, unknowns: NDArray[np.int64]) -> NDArray[np.int64]:
    """Unknowns on edges, (k, m), ordered by their distance from the axis."""
    return np.take_along_axis(unknowns, np.argsort(basis.doflocs[0, unknowns], axis=0), axis=0)
