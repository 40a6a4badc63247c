"""How far a solution at a finite frequency may be off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from solver.section.broadband import ReducedSection
from solver.section.elements import TriangleBasis
from solver.section.fields import FieldSolution, SectionSystem, assemble_section
from solver.section.reduced_space import Pencil, Space


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ErrorEstimate:
    """Discretisation error of a solution.

    Parameters
    ----------
    inductance, resistance : float
        Of the first loop, relative [1].
    impedance : (l, l) array
        Error of every element of the impedance matrix [ohm/m], mutual ones included: its resistance in the real part,
        its reactance in the imaginary part, neither negative.
    """

    inductance: float
    resistance: float
    impedance: NDArray[np.complex128]


def estimate_error(field: FieldSolution) -> ErrorEstimate:
    """Estimate the discretisation error of a solution.

    Parameters
    ----------
    field : FieldSolution
        Solution of third or fourth order at a finite frequency.

    Returns
    -------
    ErrorEstimate
        Change when the solution is brought down by one order on the same mesh.

    Notes
    -----
    An estimate, not a bound. The interpolant of a solution on elements of one order less spans a space in which the
    section is solved once more; its impedance is that of those elements but for little. At a corner where current
    crowds, the error falls with the power -8/3 of the order or faster, so that the change is about twice the error of
    third order and 1.2 times that of fourth, or more; where the field is smooth it is many times that. A check over
    random sections with exact solutions counts how often the estimate holds.
    """
    return _difference(_impedance(one_order_lower(field)), _impedance(field))


def one_order_lower(field: FieldSolution) -> FieldSolution:
    """What elements of one order less make of a solution at a finite frequency, for the change that brings."""
    s = 2j * np.pi * field.frequency
    fields, voltages = field.potential, field.group_voltages / s
    space = _brought_down(field.system, _parts(fields), _parts(voltages), field.frequency)
    return space.solution(field.frequency)


def estimate_errors(reduced: ReducedSection, frequencies: Sequence[float]) -> tuple[ErrorEstimate, ...]:
    """Estimate the discretisation error of a reduced section's impedance at every frequency.

    As :func:`estimate_error` does, in the space of the interpolants of all its vectors.
    """
    space = reduced.space
    coarse = _brought_down(space.pencil.system, space.fields, space.voltages, space.pencil.rate / (2 * np.pi))
    return tuple(_difference(coarse.impedance(each), reduced.model.impedance(each)) for each in frequencies)


def _brought_down(
    system: SectionSystem, fields: NDArray[np.float64], voltages: NDArray[np.float64], frequency: float
) -> Space:
    """The section in elements of one order less, in the space of voltages and of given fields' interpolants."""
    coarse = assemble_section(system.meshed, order=system.basis.elem.maxdeg - 1)
    groups = len(coarse.group_conductance)
    alone = np.vstack([np.zeros((coarse.basis.N, groups)), np.eye(groups)])
    lowered = np.vstack([_interpolation(system.basis, coarse.basis) @ fields, voltages])
    return Space.empty(Pencil.of(coarse, frequency)).extended(alone).extended(lowered)


def _interpolation(fine: TriangleBasis, coarse: TriangleBasis) -> sparse.csr_matrix:
    """From coefficients on elements to those of the interpolant on others of the same triangles."""
    places = coarse.elem.doflocs.T
    values = np.array([fine.elem.lbasis(places, index)[0] for index in range(fine.Nbfun)])
    numbers, first = np.unique(coarse.element_dofs, return_index=True)
    place, cell = np.unravel_index(first, coarse.element_dofs.shape)
    weights = values[:, place].T
    columns = fine.element_dofs[:, cell].T
    rows = np.broadcast_to(numbers[:, None], columns.shape)
    return sparse.csr_matrix((weights.ravel(), (rows.ravel(), columns.ravel())), shape=(coarse.N, fine.N))


def _parts(values: NDArray[np.complex128]) -> NDArray[np.float64]:
    return np.hstack([values.real, values.imag])


def _impedance(field: FieldSolution) -> NDArray[np.complex128]:
    """Loop impedance matrix, (l, l) [ohm/m]."""
    return np.asarray(field.resistance + 2j * np.pi * field.frequency * field.inductance)


def _difference(coarse: NDArray[np.complex128], fine: NDArray[np.complex128]) -> ErrorEstimate:
    change = coarse - fine
    return ErrorEstimate(
        inductance=float(abs(coarse[0, 0].imag / fine[0, 0].imag - 1)),
        resistance=float(abs(coarse[0, 0].real / fine[0, 0].real - 1)),
        impedance=np.abs(change.real) + 1j * np.abs(change.imag),
    )
