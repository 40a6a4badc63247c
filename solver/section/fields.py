"""Assemble a section and solve it at DC, at a frequency, and in the perfect-conductor limit; either view.

With X = (K + sM)^-1 F, the group currents are I = (diag(G) - s F^T X) g = Y g, so that the loop impedance
is Z = P^T Y^-1 P, where P holds the group currents of each loop: per metre in the section view, of the whole turn in
the axisymmetric view (:mod:`solver.section.coordinates`). K, M and Y are symmetric, hence Z.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from skfem import ElementTriP2, ElementTriP3, ElementTriP4

from geometries.section.section import View
from solver.constants import MU_0
from solver.errors import SolutionError
from solver.section.coordinates import flux_weight, on_regular, quadrature_degree, regular_on_axis
from solver.section.elements import TriangleBasis
from solver.section.forms import load_vector, mass_matrix, stiffness_matrix
from solver.section.linear_solver import Coefficients, Factorisation, factorise_on, solve_on
from solver.section.mesh import FAR, MeshedSection

_ELEMENTS = {2: ElementTriP2, 3: ElementTriP3, 4: ElementTriP4}
_BALANCE_LIMIT = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionSystem:
    """An assembled section; everything that does not depend on frequency.

    Weights w are those of the view: 1, or 1/(2 pi r) in the axisymmetric view.

    Parameters
    ----------
    meshed : MeshedSection
        The mesh and what it stands for.
    basis : TriangleBasis
        Lagrange basis on all triangles.
    reluctance : (n, n) sparse matrix
        K, integral of w grad N . grad N / mu_0.
    eddy : (n, n) sparse matrix
        M, integral of sigma w N N over the conductors.
    drive : (n, r) array
        F, integral of sigma w N over each region.
    conductance : (r,) array
        Integral of sigma w over each region, [S m] or [S].
    membership : (r, g) array
        1 where a region belongs to a group with a voltage of its own.
    pattern : (g, l) array
        Group currents of each loop per ampere.
    regular : (n, n) sparse matrix
        What K, M and F have been multiplied by so that the field is regular on the axis; identity without an axis.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import assemble_section, mesh_section
    >>> pair = read_builtin_scenario("garden-lamp").variants[0].section
    >>> system = assemble_section(mesh_section(pair, highest_frequency=1e6))
    >>> system.view.name, system.conductance.shape, system.pattern.ravel().tolist()
    ('SECTION', (3,), [1.0, -1.0, 0.0])
    """

    meshed: MeshedSection
    basis: TriangleBasis
    reluctance: sparse.csr_matrix
    eddy: sparse.csr_matrix
    drive: NDArray[np.float64]
    conductance: NDArray[np.float64]
    membership: NDArray[np.float64]
    pattern: NDArray[np.float64]
    regular: sparse.csr_matrix

    @property
    def view(self) -> View:
        """Drawn out or turned about an axis."""
        return self.meshed.section.view

    @property
    def group_drive(self) -> NDArray[np.float64]:
        """F summed over the regions of each group, (n, g)."""
        return np.asarray(self.drive @ self.membership)

    @property
    def group_conductance(self) -> NDArray[np.float64]:
        """G of each group, [S m] or [S], (g,)."""
        return np.asarray(self.conductance @ self.membership)

    @property
    def free(self) -> NDArray[np.int64]:
        """Unknowns off the far circle and the axis that do not follow from others."""
        fixed = _marked(self.basis.N, self.basis.get_dofs().flatten())
        return np.flatnonzero(~fixed & (self.regular.diagonal() > 0))

    @property
    def far(self) -> NDArray[np.int64]:
        """Unknowns on the far circle."""
        return np.asarray(self.basis.get_dofs(FAR).flatten())

    @property
    def inner(self) -> NDArray[np.int64]:
        """Unknowns inside each triangle, (i, e); i is 0, 1 and 3 at second, third and fourth order."""
        return np.asarray(self.basis.interior_dofs)

    def unknowns(self, region: str) -> NDArray[np.int64]:
        """Unknowns on and in the region called `region`."""
        return np.flatnonzero(_marked(self.basis.N, self.basis.element_dofs[:, self.meshed.elements(region)]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldSolution:
    """The field of every loop at one frequency, one ampere each.

    Parameters
    ----------
    system : SectionSystem
        What was solved.
    frequency : float
        Frequency [Hz]; 0 at DC, infinite in the perfect-conductor limit.
    potential : (n, l) array
        Coefficients per ampere of the vector potential [Wb/m/A], or of the flux in the axisymmetric view [Wb/A].
    group_voltages : (g, l) array
        Voltage of each group per ampere: per metre [V/m/A], or round one turn [V/A].
    region_currents : (r, l) array
        Current of each region per ampere of each loop [A/A].
    resistance : (l, l) array
        Real part of the loop impedance [ohm/m]; in the axisymmetric view, whose unit of length is one turn, [ohm].
    inductance : (l, l) array
        Loop inductance [H/m]; in the axisymmetric view [H].

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import assemble_section, mesh_section, solve_at_frequency
    >>> pair = read_builtin_scenario("garden-lamp").variants[0].section
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> f"{field.inductance[0, 0] * 1e6:.2f} nH/mm, {field.resistance[0, 0]:.1f} ohm/m at {field.frequency:.0e} Hz"
    '0.35 nH/mm, 0.5 ohm/m at 1e+06 Hz'
    """

    system: SectionSystem
    frequency: float
    potential: NDArray[np.complex128]
    group_voltages: NDArray[np.complex128]
    region_currents: NDArray[np.complex128]
    resistance: NDArray[np.float64]
    inductance: NDArray[np.float64]

    def __post_init__(self) -> None:
        for array in (
            self.potential,
            self.group_voltages,
            self.region_currents,
            self.resistance,
            self.inductance,
        ):
            array.flags.writeable = False

    @property
    def inductance_per_length(self) -> NDArray[np.float64]:
        """Loop inductance per length, (l, l) [H/m].

        Raises
        ------
        ValueError
            In the axisymmetric view, whose values are those of a whole turn.
        """
        return self._per_length(self.inductance)

    @property
    def resistance_per_length(self) -> NDArray[np.float64]:
        """Loop resistance per length, (l, l) [ohm/m]; raises as :attr:`inductance_per_length` does."""
        return self._per_length(self.resistance)

    def _per_length(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        if self.system.view is View.AXISYMMETRIC:
            raise ValueError("an axisymmetric section has values of a whole turn, not per length; take `inductance`")
        return values

    def voltage(self, region: str, *, loop: int = 0) -> complex:
        """Voltage of a region's group per ampere of a loop, [V/m/A] or [V/A]; zero where it is closed on itself."""
        names = [each.name for each in self.system.meshed.section.regions]
        return complex(self.system.membership[names.index(region)] @ self.group_voltages[:, loop])


def assemble_section(meshed: MeshedSection, *, order: int = 3) -> SectionSystem:
    """Assemble a section on a mesh.

    Parameters
    ----------
    meshed : MeshedSection
        From :func:`solver.section.mesh.mesh_section`.
    order : int
        Order of the Lagrange elements, 2 to 4; at most 3 in the axisymmetric view.

    Returns
    -------
    SectionSystem

    Raises
    ------
    ValueError
        If the order is not one of them.

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, mesh_section
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> system = assemble_section(mesh_section(pair, highest_frequency=1e6))
    >>> system.conductance.round(2).tolist()  # 58 MS/m times 3 mm times 35 um
    [6.09, 6.09]
    """
    section = meshed.section
    degree = quadrature_degree(section.view, meshed.mesh, order)
    basis = TriangleBasis(meshed.mesh, _ELEMENTS[order](), intorder=degree)
    parts = [(meshed.elements(region.name), region.material.conductivity) for region in section.regions]
    inside = np.concatenate([elements for elements, _ in parts])
    conductors = TriangleBasis(meshed.mesh, basis.elem, elements=inside, intorder=degree, dofs=basis.dofs)
    sigma = np.concatenate([np.full(len(elements), conductivity) for elements, conductivity in parts])
    owner = np.repeat(np.arange(len(parts)), [len(elements) for elements, _ in parts])
    loss = _scaled(flux_weight(section.view, conductors), sigma)
    drive = np.column_stack([load_vector(conductors, _scaled(loss, owner == part)) for part in range(len(parts))])
    regular = regular_on_axis(section.view, basis)
    groups = section.voltage_groups
    membership = np.array([[float(region.group == group) for group in groups] for region in section.regions])
    pattern = np.array(
        [[(group == loop.go_group) - float(group == loop.return_group) for loop in section.loops] for group in groups]
    )
    return SectionSystem(
        meshed=meshed,
        basis=basis,
        reluctance=on_regular(section.view, regular, stiffness_matrix(basis, flux_weight(section.view, basis) / MU_0)),
        eddy=on_regular(section.view, regular, mass_matrix(conductors, loss)),
        drive=regular.T @ drive,
        conductance=drive.sum(axis=0),
        membership=membership,
        pattern=pattern,
        regular=regular,
    )


def _scaled(weight: NDArray[np.float64], factor: NDArray[Any]) -> NDArray[np.float64]:
    """A weight times one factor per triangle."""
    return np.asarray((weight.T * factor).T)


def solve_at_frequency(system: SectionSystem, frequency: float) -> FieldSolution:
    """Solve for the eddy-current field of every loop at one frequency.

    Parameters
    ----------
    system : SectionSystem
        The assembled section.
    frequency : float
        Frequency [Hz], > 0 and not above the one that the mesh was made for.

    Returns
    -------
    FieldSolution

    Raises
    ------
    ValueError
        If the frequency is not positive, or above the mesh's highest frequency.
    SolutionError
        If the residual or a current balance is off.

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, mesh_section, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> system = assemble_section(mesh_section(pair, highest_frequency=1e6))
    >>> f"{solve_at_frequency(system, 1e6).inductance[0, 0] * 1e6:.2f} nH/mm"
    '0.61 nH/mm'
    """
    highest = system.meshed.highest_frequency
    if not 0 < frequency <= highest * (1 + 1e-12):
        raise ValueError(
            f"frequency is {frequency:g} Hz; it must be above 0 and at most {highest:g} Hz, for which the section "
            "was meshed (solve_at_dc and solve_perfect_conductor give the two limits)"
        )
    s = 2j * math.pi * frequency
    forced = system.group_drive.astype(complex)
    response = solve_on(system.reluctance + s * system.eddy, forced, system.free, inner=system.inner)
    admittance = np.diag(system.group_conductance) - s * forced.T @ response
    voltages: Coefficients = np.linalg.solve((admittance + admittance.T) / 2, system.pattern.astype(complex))
    return field_solution(system, frequency, response @ voltages, voltages)


def field_solution(
    system: SectionSystem, frequency: float, fields: Coefficients, voltages: Coefficients
) -> FieldSolution:
    """The solution that given coefficients (n, l), before they are made regular, and group voltages (g, l) stand for.

    Raises
    ------
    SolutionError
        If a current balance is off.
    """
    s = 2j * math.pi * frequency
    potential = system.regular @ fields
    currents = system.conductance[:, None] * (system.membership @ voltages) - s * system.drive.T @ potential
    _require_balance(system, currents)
    impedance = system.pattern.T @ voltages
    return FieldSolution(
        system=system,
        frequency=frequency,
        potential=potential,
        group_voltages=voltages,
        region_currents=currents,
        resistance=np.array(impedance.real),
        inductance=np.array(impedance.imag / s.imag),
    )


def solve_at_dc(system: SectionSystem) -> FieldSolution:
    """Solve for the static field; the current spreads evenly over each group's conductance.

    Parameters
    ----------
    system : SectionSystem
        The assembled section.

    Returns
    -------
    FieldSolution
        Frequency 0.

    Raises
    ------
    SolutionError
        If the residual is off.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import assemble_section, mesh_section, solve_at_dc
    >>> pair = read_builtin_scenario("garden-lamp").variants[0].section
    >>> field = solve_at_dc(assemble_section(mesh_section(pair, highest_frequency=0.0)))
    >>> f"{field.resistance[0, 0]:.3f} ohm/m"  # 2/(58 MS/m x 3 mm x 35 um)
    '0.328 ohm/m'
    """
    voltages = system.pattern / system.group_conductance[:, None]
    source = system.group_drive @ voltages
    potential = factors_at_dc(system).solve(source)
    return FieldSolution(
        system=system,
        frequency=0.0,
        potential=(system.regular @ potential).astype(complex),
        group_voltages=voltages.astype(complex),
        region_currents=(system.conductance[:, None] * (system.membership @ voltages)).astype(complex),
        resistance=system.pattern.T @ voltages,
        inductance=source.T @ potential,
    )


@lru_cache(maxsize=1)
def factors_at_dc(system: SectionSystem) -> Factorisation:
    """Factors of K, kept for the bound that follows the field at DC: in the section view it takes the same.

    Parameters
    ----------
    system : SectionSystem
        The assembled section.
    """
    return factorise_on(system.reluctance, system.free, inner=system.inner)


def solve_perfect_conductor(system: SectionSystem) -> FieldSolution:
    """Solve for the field outside perfect conductors: the potential is constant on each group.

    Parameters
    ----------
    system : SectionSystem
        As for :func:`solve_at_dc`.

    Returns
    -------
    FieldSolution
        Frequency infinite, resistance and voltages zero.

    Raises
    ------
    SolutionError
        As for :func:`solve_at_dc`.

    Examples
    --------
    >>> from geometries import COPPER, Circle, CrossSection, CurrentLoop, Region
    >>> from solver import assemble_section, mesh_section, solve_perfect_conductor
    >>> wires = [
    ...     Region(name=role, outline=Circle(centre=(x, 0.0), radius=0.5e-3), role=role, material=COPPER)
    ...     for role, x in (("go", 0.0), ("return", 1.5e-3))
    ... ]
    >>> section = CrossSection(name="wires", regions=tuple(wires), loops=(CurrentLoop(),))
    >>> field = solve_perfect_conductor(assemble_section(mesh_section(section, highest_frequency=0.0)))
    >>> f"{field.inductance[0, 0] * 1e9:.1f} nH/m"  # mu_0/pi arcosh 1.5 = 384.97 nH/m
    '385.0 nH/m'
    """
    lifted = lift_groups(system, system.reluctance)
    reaction = system.reluctance @ lifted
    per_flux = lifted.T @ reaction
    flux = np.linalg.solve((per_flux + per_flux.T) / 2, system.pattern)
    surfaces = [system.unknowns(region.name) for region in system.meshed.section.regions]
    currents = np.array([reaction[surface].sum(axis=0) for surface in surfaces]) @ flux
    return FieldSolution(
        system=system,
        frequency=math.inf,
        potential=(system.regular @ lifted @ flux).astype(complex),
        group_voltages=np.zeros(flux.shape, dtype=complex),
        region_currents=currents.astype(complex),
        resistance=np.zeros((flux.shape[1], flux.shape[1])),
        inductance=system.pattern.T @ flux,
    )


def lift_groups(system: SectionSystem, stiffness: sparse.csr_matrix) -> NDArray[np.float64]:
    """Potentials of least energy that are 1 on one group and 0 on the others and on the far circle, (n, g).

    Parameters
    ----------
    system : SectionSystem
        The assembled section.
    stiffness : (n, n) sparse matrix
        Whose energy is meant.

    Returns
    -------
    (n, g) array

    Raises
    ------
    SolutionError
        If the residual is off.
    """
    surfaces = [system.unknowns(region.name) for region in system.meshed.section.regions]
    levels = np.zeros((system.basis.N, system.membership.shape[1]))
    for surface, row in zip(surfaces, system.membership, strict=True):
        levels[surface] = row
    free = system.free
    outside = free[~_marked(system.basis.N, np.concatenate(surfaces))[free]]
    return np.asarray(levels + solve_on(stiffness, -(stiffness @ levels), outside, inner=system.inner))


def _marked(count: int, numbers: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether each of `count` unknowns is among `numbers`."""
    marks = np.zeros(count, dtype=bool)
    marks[numbers] = True
    return marks


def _require_balance(system: SectionSystem, currents: NDArray[np.complex128]) -> None:
    """Check that every group carries the current it was given."""
    error = np.abs(system.membership.T @ currents - system.pattern).max()
    if not error <= _BALANCE_LIMIT:
        raise SolutionError(f"a group's current misses its set value by {error:.1e} A per ampere")
