"""Solve sparse symmetric systems, real or complex, and refuse a solution whose residual is off."""

from __future__ import annotations

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


def solve_on(matrix: sparse.csr_matrix, right: Coefficients, free: NDArray[np.int64]) -> Coefficients:
    """Solve on the free unknowns and leave the others zero.

    Parameters
    ----------
    matrix : (n, n) sparse matrix
        Symmetric, real or complex.
    right : (n,) or (n, k) array
        Right-hand sides.
    free : (m,) array
        Indices of the unknowns to solve for.

    Returns
    -------
    array
        Shaped as `right`.

    Raises
    ------
    SolutionError
        If the relative residual is above 1e-8.
    """
    reduced = matrix[free][:, free].tocsc()
    solution = np.zeros(right.shape, dtype=np.result_type(matrix.dtype, right.dtype))
    with _THREADS.limit(limits=1):  # its small dense blocks run several times slower on shared threads
        solution[free] = _factorise(reduced).solve(np.asarray(right[free], dtype=solution.dtype))
    residual = np.linalg.norm(reduced @ solution[free] - right[free])
    scale = np.linalg.norm(right[free])
    if not residual <= _RESIDUAL_LIMIT * scale:
        raise SolutionError(f"relative residual is {residual / scale:.1e}, above {_RESIDUAL_LIMIT:.0e}")
    return solution


def _factorise(matrix: sparse.csc_matrix) -> SuperLU:
    """Sparse LU that keeps to the diagonal, as the symmetric structure allows."""
    return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
