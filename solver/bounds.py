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

from geometries.section import AIR
from solver.fields import FieldSolution, SectionSystem
from solver.forms import against_gradient, stiffness_matrix
from solver.formulas.constants import MU_0
from solver.linear import solve_on
from solver.mesh import MeshedSection
from solver.results import InductanceBracket


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoundedSection:
    """A bracket of the loop inductance, and where its gap comes from.

    Parameters
    ----------
    bracket : InductanceBracket
        The bounds.
    elements : (e,) array
        Triangles of the domain.
    contributions : (e,) array
        Part of the first loop's gap that each of them holds [H/m]; they add up to the gap.
    """

    bracket: InductanceBracket
    elements: NDArray[np.int64]
    contributions: NDArray[np.float64]


def bracket_dc(static: FieldSolution) -> BoundedSection:
    """Bracket the loop inductance at DC.

    Parameters
    ----------
    static : FieldSolution
        From :func:`solver.fields.solve_at_dc`.

    Returns
    -------
    BoundedSection

    Raises
    ------
    SolutionError
        If the residual is off.
    """
    system = static.system
    everywhere = np.arange(system.meshed.mesh.nelements)
    dual = _dual_fields(system, static.region_currents.real, everywhere)
    return _compare(static, dual, np.eye(len(system.meshed.section.loops)), everywhere)


def bracket_perfect(perfect: FieldSolution) -> BoundedSection:
    """Bracket the loop inductance in the perfect-conductor limit.

    The currents of bonded regions share themselves out so that the energy is least, as they do in the true field.

    Parameters
    ----------
    perfect : FieldSolution
        From :func:`solver.fields.solve_perfect_conductor`.

    Returns
    -------
    BoundedSection

    Raises
    ------
    SolutionError
        If the residual is off.
    """
    system = perfect.system
    regions = len(system.conductance)
    differences = np.vstack([-np.ones((1, regions - 1)), np.eye(regions - 1)])
    outside = system.meshed.elements(AIR)
    dual = _dual_fields(system, differences, outside)
    energy = dual.energy
    constraint = (system.membership.T @ differences)[1:]
    flux = np.linalg.solve(constraint @ np.linalg.solve(energy, constraint.T), system.pattern[1:])
    shares = np.asarray(np.linalg.solve(energy, constraint.T @ flux), dtype=float)
    return _compare(perfect, dual, shares, outside)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _DualFields:
    """Fields of given currents with the least energy that the elements allow.

    Parameters
    ----------
    basis : Basis
        Where they are sampled.
    samples : (p, 2, e, q) array
        Field strength of each pattern at the quadrature points [A/m].
    """

    basis: Basis
    samples: NDArray[np.float64]

    @property
    def energy(self) -> NDArray[np.float64]:
        """Twice the energy per length of every pair of patterns, (p, p) [H/m]."""
        return np.asarray(MU_0 * np.einsum("iaeq,jaeq,eq->ij", self.samples, self.samples, self.basis.dx))


def _compare(
    primal: FieldSolution, dual: _DualFields, shares: NDArray[np.float64], elements: NDArray[np.int64]
) -> BoundedSection:
    """Set the two approximations against each other; `shares` (p, l) combines the dual patterns into loops.

    Element by element: given L <= true <= U in the sense of energy, the excess X of the true matrix over L is positive
    semi-definite and so is U - L - X; hence X_ij differs from half of (U - L)_ij by at most
    sqrt((U - L)_ii (U - L)_jj)/2.
    """
    lower = primal.inductance_per_length
    difference = shares.T @ dual.energy @ shares - lower
    width = np.sqrt(np.maximum(np.outer(difference.diagonal(), difference.diagonal()), 0.0))
    middle = lower + difference / 2
    potential = dual.basis.interpolate(np.array(primal.potential[:, 0].real))
    primal_field = np.stack([potential.grad[1], -potential.grad[0]]) / MU_0
    dual_field = np.einsum("paeq,p->aeq", dual.samples, shares[:, 0])
    mismatch = ((dual_field - primal_field) ** 2).sum(axis=0)
    return BoundedSection(
        bracket=InductanceBracket(lower=middle - width / 2, upper=middle + width / 2),
        elements=elements,
        contributions=MU_0 * (mismatch * dual.basis.dx).sum(axis=1),
    )


def _dual_fields(system: SectionSystem, currents: NDArray[np.float64], elements: NDArray[np.int64]) -> _DualFields:
    """Build fields that carry the given region currents, (r, p), each column summing to zero [A]."""
    meshed = system.meshed
    squares = 2 * (system.basis.elem.maxdeg - 1)  # degree of the integrands: products of two gradients
    scalar = Basis(meshed.mesh, system.basis.elem, elements=elements, intorder=squares)
    edges = Basis(meshed.mesh, ElementTriN1(), elements=elements, intorder=squares)
    # scikit-fem runs its edges against ours, and so the curl of an edge field is minus its circulation
    carried = [-np.asarray(edges.interpolate(column)) for column in _edge_circulation(meshed, currents).T]
    coupling = np.column_stack([against_gradient.assemble(scalar, given=field) for field in carried])
    free = np.intersect1d(np.unique(scalar.element_dofs), system.free)
    energy = stiffness_matrix(scalar, np.ones(len(elements)))
    lowering = solve_on(energy, coupling, _without_loose_ends(scalar, free), inner=scalar.interior_dofs)
    gradients = [scalar.interpolate(column).grad for column in lowering.T]
    samples = np.array([field - gradient for field, gradient in zip(carried, gradients, strict=True)])
    return _DualFields(basis=scalar, samples=samples)


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
