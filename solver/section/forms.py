"""The weak forms of both views, one short function each.

In conductor k the current density is J = sigma w (g_k - s A), with s = j omega, g_k the voltage of its group and w the
weight of the view (:mod:`solver.section.coordinates`); everywhere -div(w grad A / mu_0) = J. Tested with N this reads

    (stiffness + s mass) A = load g,

the first weighted by w/mu_0, the others by sigma w. Every triangle's share is a few numbers of its own times integrals
over one and the same reference triangle; where neither the weight nor the map from it varies within triangles, as in
straight ones in the section view, these are computed once.

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
    first, second, stretch = _tangents(basis)
    metric = np.stack([(second**2).sum(axis=0), -(first * second).sum(axis=0), (first**2).sum(axis=0)]) / stretch
    return _add_up(basis, np.einsum("ceq,cijq->ije", *_at(metric, weight, mixed), optimize=True))


def mass_matrix(basis: Basis, weight: NDArray[np.float64]) -> sparse.csr_matrix:
    """Integral of w u v over the triangles of `basis`, with weights (e,) or (e, q)."""
    values, _ = _reference(basis)
    products = np.einsum("iq,jq,q->ijq", values, values, basis.W)
    *_, stretch = _tangents(basis)
    return _add_up(basis, np.einsum("eq,ijq->ije", *_at(stretch, weight, products), optimize=True))


def load_vector(basis: Basis, weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """Integral of w v over the triangles of `basis`, with weights (e,) or (e, q) -> (n,)."""
    values, _ = _reference(basis)
    *_, stretch = _tangents(basis)
    shares = np.einsum("eq,iq->ie", *_at(stretch, weight, values * basis.W), optimize=True)
    return np.bincount(basis.element_dofs.ravel(), weights=shares.ravel(), minlength=basis.N).astype(float)


def _at(
    shape: NDArray[np.float64], weight: NDArray[np.float64], integrands: NDArray[np.float64]
) -> tuple[NDArray[Any], NDArray[Any]]:
    """What each triangle contributes, (..., e, q), and integrands (..., q); q is 1 where nothing varies within one."""
    own = shape * weight.reshape(len(weight), -1)
    return own, (integrands if own.shape[-1] > 1 else integrands.sum(axis=-1, keepdims=True))


@LinearForm
def against_gradient(v: Any, w: Any) -> Any:
    """Integral of a given vector field times grad v."""
    return dot(w.given, grad(v))


def _reference(basis: Basis) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shape functions (i, q) and their slopes (2, i, q) at the quadrature points of the reference triangle."""
    shapes = [basis.elem.lbasis(basis.X, index) for index in range(basis.Nbfun)]
    return np.array([value for value, _ in shapes]), np.array([slope for _, slope in shapes]).transpose(1, 0, 2)


def _tangents(basis: Basis) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Derivatives of position along the reference triangle's two axes, (2, e, q), and what they span, (e, q).

    In straight triangles they are the edges from the first corner, and q is 1.
    """
    places = basis.X if not basis.mesh.affine else basis.X[:, :1]
    first, second = basis.mapping.DF(places, tind=basis.tind).swapaxes(0, 1)
    return first, second, np.abs(first[0] * second[1] - first[1] * second[0])


def _add_up(basis: Basis, shares: NDArray[np.float64]) -> sparse.csr_matrix:
    """Add the shares of all triangles, (i, j, e), into one matrix."""
    numbers = basis.element_dofs
    count = len(numbers)
    rows, columns = np.repeat(numbers, count, axis=0), np.tile(numbers, (count, 1))
    return sparse.csr_matrix((shares.ravel(), (rows.ravel(), columns.ravel())), shape=(basis.N, basis.N))
