"""The currents that driven loops set up: iterations on the operator, guided by a sparse factorisation of near pairs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.linalg import LinearOperator, SuperLU, gmres, splu

from solver.errors import SolutionError
from solver.plan.operator import InductanceOperator

Numbers = NDArray[np.inexact]

_TOLERANCE = 1e-5
"""Relative residual at which iterations stop. The inductance is stationary in the currents: its own error is of the
order of the square."""

_MOST_ITERATIONS, _ROUNDS = 100, 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Impedances:
    """What acts on the currents: metal [ohm] plus j omega times inductances, or, at a limit, one of them alone."""

    metal: sparse.csr_matrix
    inductances: InductanceOperator
    frequency: float

    @property
    def flux_weight(self) -> complex:
        """Factor on the inductances there; real where all is."""
        return 1.0 if math.isinf(self.frequency) else 2j * math.pi * self.frequency

    @property
    def kind(self) -> Any:
        """Type of the currents."""
        real = self.frequency == 0 or (math.isinf(self.frequency) and not self.inductances.lossy)
        return float if real else complex

    def times(self, currents: Numbers) -> Numbers:
        """Voltages [V] of the currents; their flux linkages [Wb] in the limit of perfect conductors."""
        if self.frequency == 0:
            return np.asarray(self.metal @ currents)
        flux = self.flux_weight * self.inductances.times(currents)
        return flux if math.isinf(self.frequency) else self.metal @ currents + flux

    def guide(self) -> sparse.csc_matrix:
        """Sparse matrix that is near enough to precondition with; the metal itself at 0 Hz."""
        if self.frequency == 0:
            return sparse.csc_matrix(self.metal.real)
        near = self.flux_weight * self.inductances.guide
        return sparse.csc_matrix(near if math.isinf(self.frequency) else self.metal + near)


def driven_currents(impedances: Impedances, loops: int) -> Numbers:
    """Currents of the basis per ampere of each of the last `loops` ones, all others being free.

    Raises
    ------
    SolutionError
        If the iterations do not come to an end.
    """
    size = impedances.metal.shape[0]
    found = np.zeros((size, loops), dtype=impedances.kind)
    found[size - loops :] = np.eye(loops)
    if size == loops:
        return found
    factors = _factorised(impedances.guide()[: size - loops, : size - loops])
    for column in found.T:
        column[: size - loops] = _free_currents(impedances, factors, column.copy(), size - loops)
    return found


def _factorised(matrix: sparse.csc_matrix) -> SuperLU:
    try:
        return splu(
            sparse.csc_matrix(matrix),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError as failure:
        raise SolutionError(f"the currents of the layout cannot be solved for: {failure}") from failure


def _free_currents(impedances: Impedances, factors: SuperLU, driven: Numbers, free: int) -> Numbers:
    right = -impedances.times(driven)[:free]
    if impedances.frequency == 0:
        return np.asarray(factors.solve(right))

    def applied(inner: Numbers) -> Numbers:
        whole = np.concatenate([inner.ravel(), np.zeros(len(driven) - free)]).astype(impedances.kind)
        return impedances.times(whole)[:free]

    def guided(inner: Numbers) -> Numbers:
        return np.asarray(factors.solve(inner.ravel().astype(impedances.kind)))

    shape = (free, free)
    operator, guide = (LinearOperator(shape, matvec=each, dtype=impedances.kind) for each in (applied, guided))
    found, unfinished = gmres(
        operator, right, M=guide, rtol=_TOLERANCE, atol=0.0, restart=_MOST_ITERATIONS, maxiter=_ROUNDS
    )
    if unfinished:
        raise SolutionError(
            f"the currents are not found to {_TOLERANCE:g} in {_ROUNDS * _MOST_ITERATIONS} iterations; "
            "look for slivers in the copper"
        )
    return np.asarray(found)
