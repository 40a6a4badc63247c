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

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from solver.section.elements import TriangleBasis

_EVEN = 1e-12
"""Relative variation within a triangle that rounding makes."""


def stiffness_matrix(basis: TriangleBasis, weight: NDArray[np.float64]) -> sparse.csr_matrix:
    """Integral of w grad u . grad v over the triangles of `basis`, with weights (e,) or (e, q)."""
    _, slopes = basis.shapes
    products = np.einsum("aiq,bjq,q->abijq", slopes, slopes, basis.W)
    mixed = np.stack([products[0, 0], products[0, 1] + products[1, 0], products[1, 1]])
    return _add_up(basis, _shares(_metric(basis, weight), mixed))


def mass_matrix(basis: TriangleBasis, weight: NDArray[np.float64]) -> sparse.csr_matrix:
    """Integral of w u v over the triangles of `basis`, with weights (e,) or (e, q)."""
    values, _ = basis.shapes
    products = np.einsum("iq,jq,q->ijq", values, values, basis.W)
    return _add_up(basis, _shares(_area(basis, weight)[None], products[None]))


def load_vector(basis: TriangleBasis, weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """Integral of w v over the triangles of `basis`, with weights (e,) or (e, q) -> (n,)."""
    values, _ = basis.shapes
    return _gather(basis, _shares(_area(basis, weight)[None], (values * basis.W)[None]))


def gradient_load(
    basis: TriangleBasis, weight: NDArray[np.float64], slopes: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Integral of w H . grad v over the triangles of `basis`, with weights (e,) or (e, q) -> (n,).

    H is given by its components along the reference triangle's axes, (2, e, q), as :meth:`TriangleBasis.outward` takes
    them.
    """
    xx, xy, yy = _metric(basis, weight)
    across = np.stack([xx * slopes[0] + xy * slopes[1], xy * slopes[0] + yy * slopes[1]])
    return _gather(basis, np.einsum("aiq,aeq->ie", basis.shapes[1] * basis.W, across, optimize=True))


def _metric(basis: TriangleBasis, weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """What weighs products of slopes along the reference triangle's axes: xx, xy and yy, (3, e, q)."""
    first, second, span = basis.tangents
    metric = np.stack([(second**2).sum(axis=0), -(first * second).sum(axis=0), (first**2).sum(axis=0)])
    return np.asarray(metric / np.abs(span) * weight.reshape(len(weight), -1))


def _area(basis: TriangleBasis, weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """Weighted area of each triangle over that of the reference triangle, (e, q); q is 1 where nothing varies."""
    return np.asarray(np.abs(basis.tangents[2]) * weight.reshape(len(weight), -1))


def _shares(own: NDArray[np.float64], integrands: NDArray[np.float64]) -> NDArray[np.float64]:
    """Integrals over each triangle, (..., e), of what is its own, (c, e, q), times integrands (c, ..., q).

    They are summed over c. Where nothing varies within a triangle, its own value takes the sum over all points.
    """
    shares = np.tensordot(integrands.sum(axis=-1), own[..., 0], axes=(0, 0))
    varies = np.ptp(own, axis=-1).max(axis=0) > _EVEN * np.abs(own[..., 0]).max(axis=0)
    if varies.any():
        shares[..., varies] = np.tensordot(integrands, own[:, varies], axes=((0, -1), (0, -1)))
    return np.asarray(shares)


def _gather(basis: TriangleBasis, shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Add the shares of all triangles, (i, e), into one vector."""
    return np.bincount(basis.element_dofs.ravel(), weights=shares.ravel(), minlength=basis.N).astype(float)


def _add_up(basis: TriangleBasis, shares: NDArray[np.float64]) -> sparse.csr_matrix:
    """Add the shares of all triangles, (i, j, e), into one matrix."""
    numbers = basis.element_dofs
    count = len(numbers)
    rows, columns = np.repeat(numbers, count, axis=0), np.tile(numbers, (count, 1))
    return sparse.csr_matrix((shares.ravel(), (rows.ravel(), columns.ravel())), shape=(basis.N, basis.N))
