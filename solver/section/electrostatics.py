"""The electric view of a section: Maxwell's capacitance matrix per length, from both sides.

Groups of conductors are held at given potentials; between them div(eps grad V) = 0 with the permittivity of air or of
the dielectric. The mesh, its elements and the two approximations are those of the magnetic view.

Charges sum to zero, as currents do: what is at rest far away takes none. With the far circle at zero, the matrix C_far
still lets charge go there; with the circle at whatever potential leaves it without charge it becomes

    C = C_far - C_far 1 1^T C_far / (1^T C_far 1),

whose rows sum to zero. A conforming potential makes it too large in the sense of energy (v^T C v). From the other side,
displacements that carry given charges have at least the energy of the true ones, q^T C^-1 q; they are the fields of
:mod:`solver.section.bounds`, turned by a right angle.

References
----------
J. C. Maxwell, *A Treatise on Electricity and Magnetism*, 3rd ed., Oxford 1892, vol. 1, arts. 86-87 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.constants import EPSILON_0
from solver.section.bounds import bracket_elements, least_energy_fields
from solver.section.fields import SectionSystem, lift_groups
from solver.section.forms import stiffness_matrix
from solver.section.results import CapacitanceMatrix


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElectricSolution:
    """The electric field of every group at one volt, all others at zero.

    Parameters
    ----------
    system : SectionSystem
        The section and its elements.
    relative_permittivity : (e,) array
        Of every triangle [1].
    potential : (n, g) array
        Coefficients of the potential [V/V], zero on the far circle.
    far_capacitance : (g, g) array
        C_far [F/m].
    """

    system: SectionSystem
    relative_permittivity: NDArray[np.float64]
    potential: NDArray[np.float64]
    far_capacitance: NDArray[np.float64]

    @property
    def capacitance(self) -> NDArray[np.float64]:
        """Maxwell's matrix C of charges that sum to zero, (g, g) [F/m]; an upper bound in the sense of energy."""
        to_far = self.far_capacitance.sum(axis=0)
        return np.asarray(self.far_capacitance - np.outer(to_far, to_far) / to_far.sum())


def solve_electric(system: SectionSystem, relative_permittivity: NDArray[np.float64] | None = None) -> ElectricSolution:
    """Solve the electric view of a section.

    Parameters
    ----------
    system : SectionSystem
        From :func:`solver.section.fields.assemble_section`.
    relative_permittivity : (e,) array, optional
        Of every triangle [1]; that of the section's dielectrics if not given. Ones give the section in air.

    Returns
    -------
    ElectricSolution

    Raises
    ------
    SolutionError
        If the residual is off.
    """
    permittivity = system.meshed.relative_permittivity if relative_permittivity is None else relative_permittivity
    stiffness = EPSILON_0 * stiffness_matrix(system.basis, permittivity)
    potential = lift_groups(system, stiffness)
    energy = potential.T @ (stiffness @ potential)
    return ElectricSolution(
        system=system,
        relative_permittivity=permittivity,
        potential=potential,
        far_capacitance=(energy + energy.T) / 2,
    )


def bracket_capacitance(solution: ElectricSolution) -> CapacitanceMatrix:
    """Bracket every element of the capacitance matrix.

    Parameters
    ----------
    solution : ElectricSolution
        From :func:`solve_electric`.

    Returns
    -------
    CapacitanceMatrix

    Raises
    ------
    SolutionError
        If the residual is off.
    """
    lower, upper = _least_capacitance(solution), solution.capacitance
    least, most = bracket_elements(lower, upper, np.zeros_like(upper))
    return CapacitanceMatrix(groups=solution.system.meshed.section.groups, lower=least, upper=most)


def _least_capacitance(solution: ElectricSolution) -> NDArray[np.float64]:
    """Maxwell's matrix from below in the sense of energy, (g, g) [F/m].

    Charge spreads over the regions of a group so that the energy is least, as it does in the true field.
    """
    system = solution.system
    outside = system.meshed.outside
    regions = len(system.meshed.section.regions)
    differences = np.vstack([-np.ones((1, regions - 1)), np.eye(regions - 1)])
    elastivity = 1 / (EPSILON_0 * solution.relative_permittivity[outside])
    energy = least_energy_fields(system, differences, outside, elastivity).energy
    charges = (system.membership.T @ differences)[1:]
    reduced = charges @ np.linalg.solve(energy, charges.T)
    voltages = np.hstack([-np.ones((len(reduced), 1)), np.eye(len(reduced))])
    return np.asarray(voltages.T @ reduced @ voltages)
