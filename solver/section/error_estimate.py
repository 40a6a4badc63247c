"""How far a solution at a finite frequency may be off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.section.fields import FieldSolution, assemble_section, solve_at_frequency


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ErrorEstimate:
    """Discretisation error of a solution.

    Parameters
    ----------
    inductance, resistance : float
        Of the first loop, relative [1].
    impedance : (l, l) array
        Magnitude of the error of every element of the impedance matrix [ohm/m], mutual ones included.
    """

    inductance: float
    resistance: float
    impedance: NDArray[np.float64]


def estimate_error(field: FieldSolution) -> ErrorEstimate:
    """Estimate the discretisation error of a solution by one more solution of the order below.

    Parameters
    ----------
    field : FieldSolution
        Third-order solution at a finite frequency.

    Returns
    -------
    ErrorEstimate
        Change from second to third order on the same mesh.

    Raises
    ------
    SolutionError
        If the second-order solution is not to be trusted.

    Notes
    -----
    An estimate, not a bound. At a corner where current crowds, the error falls with the power -8/3 of the order or
    faster, so that the change is about twice the third-order error or more; where the field is smooth it is many
    times that. A check over random sections with exact solutions counts how often the estimate holds.
    """
    coarse = solve_at_frequency(assemble_section(field.system.meshed, order=2), field.frequency)
    return ErrorEstimate(
        inductance=_change(coarse.inductance, field.inductance),
        resistance=_change(coarse.resistance, field.resistance),
        impedance=np.abs(_impedance(coarse) - _impedance(field)),
    )


def _change(coarse: NDArray[np.float64], fine: NDArray[np.float64]) -> float:
    return float(abs(coarse[0, 0] / fine[0, 0] - 1))


def _impedance(field: FieldSolution) -> NDArray[np.complex128]:
    """Loop impedance matrix, (l, l) [ohm/m]."""
    reactance = 2 * np.pi * field.frequency * field.inductance
    return np.asarray(field.resistance + 1j * reactance)
