"""Solve sparse symmetric systems, real or complex, and refuse a solution whose residual is off."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.linalg import SuperLU, splu
from threadpoolctl import ThreadpoolController

from solver.errors import SolutionError

Coefficients = NDArray[Any]
"""Real or complex coefficients, one column per right-hand side."""

_THREADS = ThreadpoolController()
_RESIDUAL_LIMIT = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Factorisation:
    """A matrix taken apart on its free unknowns, to be solved with as often as wanted.

    Unknowns inside triangles are eliminated before the rest is factorised (static condensation): with B the inverse
    of the inner blocks and C their coupling to the outer unknowns, x_i = B (b_i - C^T x_o).

    Parameters
    ----------
    matrix : (n, n) sparse matrix
        Symmetric, real or complex.
    outer, inside : array
        Free unknowns that were factorised, and those eliminated before.
    coupling, inverse : sparse matrix
        C and B.
    factors : SuperLU
        Of the condensed matrix.
    """

    matrix: sparse.csr_matrix
    outer: NDArray[np.int64]
    inside: NDArray[np.int64]
    coupling: sparse.csr_matrix
    inverse: sparse.csr_matrix
    factors: SuperLU

    def solve(self, right: Coefficients) -> Coefficients:
        """Solve for right-hand sides (n,) or (n, k); unknowns that are not free stay zero.

        Raises
        ------
        SolutionError
            If the relative residual is above 1e-8.
        """
        solution = np.zeros(right.shape, dtype=np.result_type(self.matrix.dtype, right.dtype))
        forcing = np.asarray(right, dtype=solution.dtype)
        condensed = forcing[self.outer] - self.coupling @ (self.inverse @ forcing[self.inside])
        with _THREADS.limit(limits=1):
            solution[self.outer] = self.factors.solve(condensed)
        solution[self.inside] = self.inverse @ (forcing[self.inside] - self.coupling.T @ solution[self.outer])
        error = self.matrix @ solution - forcing
        free = np.concatenate([self.outer, self.inside])
        residual, scale = np.linalg.norm(error[free]), np.linalg.norm(forcing[free])
        if not residual <= _RESIDUAL_LIMIT * scale:
            raise SolutionError(f"relative residual is {residual / scale:.1e}, above {_RESIDUAL_LIMIT:.0e}")
        return solution


def factorise_on(
    matrix: sparse.csr_matrix, free: NDArray[np.int64], *, inner: NDArray[np.int64] | None = None
) -> Factorisation:
    """Factorise a symmetric matrix on its free unknowns; the arguments are those of :func:`solve_on`."""
    is_free = np.zeros(matrix.shape[0], dtype=bool)
    is_free[free] = True
    inside = np.zeros(0, dtype=np.int64)
    if inner is not None and inner.size:
        inside = inner[:, is_free[inner].all(axis=0)].T.ravel()
        is_free[inside] = False
    outer = np.flatnonzero(is_free)
    rows = matrix[outer]
    condensed, coupling = rows[:, outer], rows[:, inside]
    inverse = sparse.csr_matrix((0, 0), dtype=matrix.dtype)
    if inner is not None and inside.size:
        inverse = _inverse_of_blocks(matrix[inside][:, inside], len(inner))
        condensed = condensed - coupling @ inverse @ coupling.T
    with _THREADS.limit(limits=1):  # its small dense blocks run several times slower on shared threads
        factors = _factorise(condensed)
    return Factorisation(matrix=matrix, outer=outer, inside=inside, coupling=coupling, inverse=inverse, factors=factors)


def solve_on(
    matrix: sparse.csr_matrix,
    right: Coefficients,
    free: NDArray[np.int64],
    *,
    inner: NDArray[np.int64] | None = None,
) -> Coefficients:
    """Solve on the free unknowns and leave the others zero.

    Parameters
    ----------
    matrix : (n, n) sparse matrix
        Symmetric, real or complex.
    right : (n,) or (n, k) array
        Right-hand sides.
    free : (m,) array
        Indices of the unknowns to solve for.
    inner : (i, e) array, optional
        Unknowns inside each of e triangles, which couple to no inner unknown of another triangle. They are eliminated
        triangle by triangle before the rest is factorised; this saves time and leaves the solution the same.

    Returns
    -------
    array
        Shaped as `right`.

    Raises
    ------
    SolutionError
        If the relative residual is above 1e-8.
    """
    return factorise_on(matrix, free, inner=inner).solve(right)


def one_thread() -> AbstractContextManager[object]:
    """Keep dense products to one thread for a while; the program runs one process per processor instead."""
    limit: AbstractContextManager[object] = _THREADS.limit(limits=1)
    return limit


def _inverse_of_blocks(matrix: sparse.csr_matrix, size: int) -> sparse.csr_matrix:
    """Inverse of a matrix with square blocks along its diagonal and nothing else."""
    blocks = matrix.tobsr(blocksize=(size, size))
    return sparse.bsr_matrix((np.linalg.inv(blocks.data), blocks.indices, blocks.indptr)).tocsr()


def _factorise(matrix: sparse.csr_matrix) -> SuperLU:
    """Sparse LU that keeps to the diagonal, as the symmetric structure allows.

    One column at a time instead of the customary panel of twenty: measured to be faster on these plane meshes.
    """
    return splu(
        matrix.tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        relax=12,
        panel_size=1,
        options={"SymmetricMode": True},
    )
