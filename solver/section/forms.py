"""The weak forms of both views, one short function each.

In conductor k the current density is J = sigma w (g_k - s A), with s = j omega, g_k the voltage of its group and w the
weight of the view (:mod:`solver.section.coordinates`); everywhere -div(w grad A / mu_0) = J. Tested with N this reads

    (stiffness + s mass) A = load g,

the first weighted by w/mu_0, the others by sigma w. All triangles have straight sides, so that every triangle's share
is a few numbers of its own times integrals over one and the same reference triangle; where a weight is constant in
each triangle these are computed once.

Every weight is an array (e,), one value per triangle, or (e, q), one per quadrature point.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from skfem import Basis, LinearForm
from skfem.helpers import dot, grad


def stiffness_matrix(basis: Basis, weight: NDArray[np.float64]) -> sparse.csr_matrix:
    """Integral of w grad u . grad v over the triangles of `basis`, with weights (e,) or (e, q)."""
    _, slopes = _reference(basis)
    products = np.einsum("aiq,bjq,q->abijq", slopes, slopes, basis.W)
    mixed = np.stack([products[0, 0], products[0, 1] + products[1, 0], products[1, 1]])
    first, second, twice_area = _edges(basis)
    metric = np.stack([(second**2).sum(axis=0), -(first * second).sum(axis=0), (first**2).sum(axis=0)]) / twice_area
    return _add_up(basis, np.einsum("ce,eq,cijq->ije", metric, *_at(weight, mixed), optimize=True))


def mass_matrix(basis: Basis, weight: NDArray[np.float64]) -> sparse.csr_matrix:
    """Integral of w u v over the triangles of `basis`, with weights (e,) or (e, q)."""
    values, _ = _reference(basis)
    products = np.einsum("iq,jq,q->ijq", values, values, basis.W)
    *_, twice_area = _edges(basis)
    return _add_up(basis, np.einsum("e,eq,ijq->ije", twice_area, *_at(weight, products), optimize=True))


def load_vector(basis: Basis, weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """Integral of w v over the triangles of `basis`, with weights (e,) or (e, q) -> (n,)."""
    values, _ = _reference(basis)
    *_, twice_area = _edges(basis)
    shares = np.einsum("e,eq,iq->ie", twice_area, *_at(weight, values * basis.W), optimize=True)
    return np.bincount(basis.element_dofs.ravel(), weights=shares.ravel(), minlength=basis.N).astype(float)


def _at(weight: NDArray[np.float64], integrands: NDArray[np.float64]) -> tuple[NDArray[Any], NDArray[Any]]:
    """Weights (e, q) and integrands (..., q); q is 1 where the weight is constant in each triangle."""
    if weight.ndim == 2:
        return weight, integrands
    return weight[:, None], integrands.sum(axis=-1, keepdims=True)


@LinearForm
def first_moment(v: Any, w: Any) -> Any:
    """Integral of N over the region, weighted by a given density."""
    return w.density * v


@LinearForm
def against_gradient(v: Any, w: Any) -> Any:
    """Integral of a given vector field times grad v."""
    return dot(w.given, grad(v))


def _reference(basis: Basis) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shape functions (i, q) and their slopes (2, i, q) at the quadrature points of the reference triangle."""
    shapes = [basis.elem.lbasis(basis.X, index) for index in range(basis.Nbfun)]
    return np.array([value for value, _ in shapes]), np.array([slope for _, slope in shapes]).transpose(1, 0, 2)


def _edges(basis: Basis) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Edges from each triangle's first corner, (2, e), and twice its area, (e,)."""
    cells = basis.mesh.t if basis.tind is None else basis.mesh.t[:, basis.tind]
    corners = basis.mesh.p[:, cells]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return first, second, np.abs(first[0] * second[1] - first[1] * second[0])


def _add_up(basis: Basis, shares: NDArray[np.float64]) -> sparse.csr_matrix:
    """Add the shares of all triangles, (i, j, e), into one matrix."""
    numbers = basis.element_dofs
    count = len(numbers)
    rows, columns = np.repeat(numbers, count, axis=0), np.tile(numbers, (count, 1))
    return sparse.csr_matrix((shares.ravel(), (rows.ravel(), columns.ravel())), shape=(basis.N, basis.N))
