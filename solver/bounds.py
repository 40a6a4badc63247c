"""Two-sided bounds of the loop inductance, at DC and in the perfect-conductor limit.

A conforming potential gives the energy at given flux from above, hence the inductance from below: that is the value
the fields room computes. From the other side, any field H with curl H = J, whose tangential part is continuous and
vanishes on the far circle, has at least the energy of the true field. Such a field is built in two parts: lowest-order
edge elements that carry the given currents exactly, and the gradient of a third-order scalar that lowers the
energy as far as it can. Because the edge part enters only up to a gradient, any one that carries the currents will do.

Both bounds hold for the meshed outlines. A circle is meshed as the regular polygon of equal area with at least 96
sides, which moves the inductance by about 1e-6 of itself.

References
----------
W. Prager, J. L. Synge, "Approximations in elasticity based on the concept of function space", Quart. Appl. Math. 5
(1947) 241-269 (from memory): the true field lies between the two approximations.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components
from skfem import Basis, ElementTriN1, MeshTri

from solver.fields import FieldSolution, SectionSystem
from solver.forms import against_gradient, stiffness
from solver.formulas.constants import MU_0
from solver.linear import solve_on
from solver.mesh import AIR, MeshedSection

_QUADRATURE_ORDER = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InductanceBracket:
    """Lower and upper bound of every element of a loop matrix, (l, l) arrays [H/m]."""

    lower: NDArray[np.float64]
    upper: NDArray[np.float64]

    @property
    def middle(self) -> NDArray[np.float64]:
        """Best single value [H/m]."""
        return (self.lower + self.upper) / 2

    @property
    def relative_gap(self) -> float:
        """Upper minus lower bound of the first loop, relative to the lower."""
        return float(self.upper[0, 0] / self.lower[0, 0] - 1)


def bracket_dc(static: FieldSolution) -> InductanceBracket:
    """Bracket the loop inductance at DC.

    Parameters
    ----------
    static : FieldSolution
        From :func:`solver.fields.solve_at_dc`.

    Returns
    -------
    InductanceBracket

    Raises
    ------
    SolutionError
        If the residual is off.
    """
    system = static.system
    everywhere = np.arange(system.meshed.mesh.nelements)
    upper = _least_energy(system, static.region_currents.real, everywhere)
    return _elementwise(static.inductance_per_length, upper)


def bracket_perfect(perfect: FieldSolution) -> InductanceBracket:
    """Bracket the loop inductance in the perfect-conductor limit.

    The currents of bonded regions share themselves out so that the energy is least, as they do in the true field.

    Parameters
    ----------
    perfect : FieldSolution
        From :func:`solver.fields.solve_perfect_conductor`.

    Returns
    -------
    InductanceBracket

    Raises
    ------
    SolutionError
        If the residual is off.
    """
    system = perfect.system
    regions = len(system.conductance)
    differences = np.vstack([-np.ones((1, regions - 1)), np.eye(regions - 1)])
    energy = _least_energy(system, differences, system.meshed.elements(AIR))
    constraint = (system.membership.T @ differences)[1:]
    shared = np.linalg.inv(constraint @ np.linalg.solve(energy, constraint.T))
    pattern = system.pattern[1:]
    return _elementwise(perfect.inductance_per_length, pattern.T @ shared @ pattern)


def _elementwise(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> InductanceBracket:
    """Bracket each element, given matrices between which the true one lies in the sense of energy.

    The excess X over the lower matrix is positive semi-definite and so is D - X, D being the difference of the two;
    hence X_ij differs from D_ij/2 by at most sqrt(D_ii D_jj)/2.
    """
    difference = upper - lower
    width = np.sqrt(np.maximum(np.outer(difference.diagonal(), difference.diagonal()), 0.0))
    middle = (lower + upper) / 2
    return InductanceBracket(lower=middle - width / 2, upper=middle + width / 2)


def _least_energy(
    system: SectionSystem, currents: NDArray[np.float64], elements: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Twice the least energy per length of fields that carry the given region currents.

    Parameters
    ----------
    system : SectionSystem
        Supplies mesh and scalar basis.
    currents : (r, p) array
        Region currents of p patterns, each summing to zero [A].
    elements : (e,) array
        Triangles whose energy counts.

    Returns
    -------
    (p, p) array
        [H/m]
    """
    meshed = system.meshed
    circulation = _edge_circulation(meshed, currents)
    scalar = Basis(meshed.mesh, system.basis.elem, elements=elements, intorder=_QUADRATURE_ORDER)
    edges = Basis(meshed.mesh, ElementTriN1(), elements=elements, intorder=_QUADRATURE_ORDER)
    fields = [np.asarray(edges.interpolate(column)) for column in circulation.T]
    coupling = np.column_stack([against_gradient.assemble(scalar, given=field) for field in fields])
    free = np.intersect1d(np.unique(scalar.element_dofs), system.free)
    lowering = solve_on(stiffness.assemble(scalar), coupling, _without_loose_ends(scalar, free))
    own = [[float(((a * b).sum(axis=0) * scalar.dx).sum()) for b in fields] for a in fields]
    return np.asarray(MU_0 * (np.array(own) - coupling.T @ lowering))


def _edge_circulation(meshed: MeshedSection, currents: NDArray[np.float64]) -> NDArray[np.float64]:
    """Edge values of fields whose circulation round every triangle is its current; zero on the far circle.

    With D the signed incidence of triangles and inner edges, e = D^T (D D^T)^-1 i solves D e = i.
    """
    mesh = meshed.mesh
    per_triangle = np.zeros((mesh.nelements, currents.shape[1]))
    incidence, areas = _incidence(mesh)
    for region, row in zip(meshed.section.regions, currents, strict=True):
        elements = meshed.elements(region.name)
        per_triangle[elements] = np.outer(areas[elements] / areas[elements].sum(), row)
    inner = np.setdiff1d(np.arange(mesh.nfacets), mesh.boundary_facets())
    reduced = incidence[:, inner]
    all_but_one = np.arange(1, mesh.nelements)
    levels = solve_on((reduced @ reduced.T).tocsr(), per_triangle, all_but_one)
    circulation = np.zeros((mesh.nfacets, currents.shape[1]))
    circulation[inner] = reduced.T @ levels
    return circulation


def _incidence(mesh: MeshTri) -> tuple[sparse.csr_matrix, NDArray[np.float64]]:
    """Signed incidence of triangles and edges, edges running to the higher vertex, and the triangles' areas."""
    corners = mesh.p[:, mesh.t]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = first[0] * second[1] - first[1] * second[0]
    turn = np.sign(twice)
    rows = np.tile(np.arange(mesh.nelements), 3)
    signs = np.concatenate([turn, turn, -turn])
    shape = (mesh.nelements, mesh.nfacets)
    return sparse.csr_matrix((signs, (rows, mesh.t2f.ravel())), shape=shape), np.abs(twice) / 2


def _without_loose_ends(scalar: Basis, free: NDArray[np.int64]) -> NDArray[np.int64]:
    """Pin one unknown in every part that does not reach the far circle, where the scalar is free by a constant."""
    first, second, third = scalar.element_dofs[:3]
    ends = np.concatenate([first, second]), np.concatenate([second, third])
    links = sparse.coo_matrix((np.ones(len(ends[0])), ends), shape=(scalar.N, scalar.N))
    _, part = connected_components(links, directed=False)
    vertices = np.unique(scalar.element_dofs[:3])
    anchored = np.unique(part[np.setdiff1d(vertices, free)])
    loose = np.setdiff1d(part[vertices], anchored)
    pinned = [vertices[part[vertices] == label][0] for label in loose]
    return np.setdiff1d(free, pinned)
