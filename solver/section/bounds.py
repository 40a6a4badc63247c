"""Two-sided bounds of the loop inductance, at DC and in the perfect-conductor limit.

A conforming potential gives the energy at given flux from above, hence the inductance from below: that is the value
the fields room computes. From the other side, any field H with curl H = J, whose tangential part is continuous and
vanishes on the far circle, has at least the energy of the true field. Such a field is built in two parts: lowest-order
edge elements that carry the given currents exactly, and the gradient of a scalar of the potential's order that lowers
the energy as far as it can. Because the edge part enters only up to a gradient, any one that carries the currents will
do.

In the axisymmetric view the energy of a field H is weighted by 2 pi r, the axis needs no condition, and the currents
need not sum to zero. There the current density of a solution at DC falls with 1/r, while edge elements carry one that
is constant over the reference triangle. What they miss has no sum over a triangle. Its part that varies linearly over
the reference triangle is carried by fields l_k w_k inside it, where w_k = l_i grad l_j - l_j grad l_i belongs to the
edge opposite corner k, and l are the barycentric coordinates: these have no tangential part on the border and the curl
3 l_k - 1. In a curved triangle of a conductor an even density is just so, and nothing is left. In the axisymmetric view
a rest g is left: a field e with curl e = g and without a tangential part on the border has |e| <= (h/pi) |g| on the
reference triangle, whose longest edge is h, as the least such field is the gradient of a Neumann problem on a convex
domain. The energy of the complete field is that of the edge field plus twice the integral of the potential times g,
within 2 d |e| + |e|², where d is the distance between the two approximations in the energy.

Both bounds hold for the meshed outlines, which are the described ones but for circles: these are meshed as arcs of
parabolas that enclose the circle's area (:mod:`solver.section.round_outlines`). Wires and shells whose exact values are
known show that this moves the inductance by less than 1e-8 of itself.

References
----------
W. Prager, J. L. Synge, "Approximations in elasticity based on the concept of function space", Quart. Appl. Math. 5
(1947) 241-269 (from memory): the true field lies between the two approximations. L. E. Payne, H. F. Weinberger, "An
optimal Poincare inequality for convex domains", Arch. Rational Mech. Anal. 5 (1960) 286-292 (from memory): h/pi.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components
from skfem import Basis, ElementTriN1, MeshTri

from geometries.section.section import View
from solver.constants import MU_0
from solver.section.coordinates import flux_weight, point_weight, quadrature_degree
from solver.section.fields import FieldSolution, SectionSystem
from solver.section.forms import against_gradient, stiffness_matrix
from solver.section.linear_solver import solve_on
from solver.section.mesh import FAR
from solver.section.results import InductanceBracket

_LONGEST_EDGE = 2**0.5
"""Of the reference triangle."""


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
        From :func:`solver.section.fields.solve_at_dc`.

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
    dual = least_energy_fields(system, static.region_currents.real, everywhere, np.full(len(everywhere), MU_0))
    return _compare(static, dual, np.eye(len(system.meshed.section.loops)), everywhere)


def bracket_perfect(perfect: FieldSolution) -> BoundedSection:
    """Bracket the loop inductance in the perfect-conductor limit.

    The currents of bonded regions share themselves out so that the energy is least, as they do in the true field.

    Parameters
    ----------
    perfect : FieldSolution
        From :func:`solver.section.fields.solve_perfect_conductor`.

    Returns
    -------
    BoundedSection
        Of the limit.

    Raises
    ------
    SolutionError
        As for :func:`bracket_dc`.
    """
    system = perfect.system
    patterns, independent = _free_currents(system)
    outside = system.meshed.outside
    dual = least_energy_fields(system, patterns, outside, np.full(len(outside), MU_0))
    energy = dual.energy
    constraint = (system.membership.T @ patterns)[independent]
    flux = np.linalg.solve(constraint @ np.linalg.solve(energy, constraint.T), system.pattern[independent])
    shares = np.asarray(np.linalg.solve(energy, constraint.T @ flux), dtype=float)
    return _compare(perfect, dual, shares, outside)


def _free_currents(system: SectionSystem) -> tuple[NDArray[np.float64], slice]:
    """Currents that the regions can carry, (r, p), and which of the groups' currents set them.

    They sum to zero in the section view. A disc on the axis has none to choose: no path round it avoids the axis.
    """
    regions = system.meshed.section.regions
    if system.view is View.SECTION:
        return np.vstack([-np.ones((1, len(regions) - 1)), np.eye(len(regions) - 1)]), slice(1, None)
    off_axis = [region.outline.bounds[0] > 0 for region in regions]
    return np.eye(len(regions))[:, off_axis], slice(None)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DualFields:
    """Fields of given currents with the least energy that the elements allow.

    Parameters
    ----------
    basis : Basis
        Where they are sampled.
    samples : (p, 2, e, q) array
        Field strength of each pattern at the quadrature points [A/m].
    missing : (p, e, q) array
        Current density of each pattern that the field does not carry; without a sum in any triangle [A/m²].
    weight : (e, q) array
        Of the energy: the medium's (mu_0), divided by the weight of the view.
    """

    basis: Basis
    samples: NDArray[np.float64]
    missing: NDArray[np.float64]
    weight: NDArray[np.float64]

    @property
    def energy(self) -> NDArray[np.float64]:
        """Twice the energy of every pair of patterns, (p, p) [H/m] or [H]."""
        dx = self.weight * self.basis.dx
        return np.asarray(np.einsum("iaeq,jaeq,eq->ij", self.samples, self.samples, dx))


def _compare(
    primal: FieldSolution, dual: DualFields, shares: NDArray[np.float64], elements: NDArray[np.int64]
) -> BoundedSection:
    """Set the two approximations against each other; `shares` (p, l) combines the dual patterns into loops."""
    lower = primal.inductance
    potentials = [dual.basis.interpolate(np.array(column.real)) for column in primal.potential.T]
    slopes = np.stack([np.stack([each.grad[1], -each.grad[0]]) for each in potentials])
    fields = np.einsum("paeq,pl->laeq", dual.samples, shares)
    mismatch = ((fields - slopes / dual.weight) ** 2).sum(axis=1) * dual.weight * dual.basis.dx
    missing = np.einsum("peq,pl->leq", dual.missing, shares)
    carried = np.einsum("ieq,jeq,eq->ij", np.stack([np.asarray(each) for each in potentials]), missing, dual.basis.dx)
    difference = shares.T @ dual.energy @ shares + carried + carried.T - lower
    slack = _slack(primal.system, mismatch, missing, dual)
    least, most = bracket_elements(lower, lower + difference, slack)
    return BoundedSection(
        bracket=InductanceBracket(lower=least, upper=most),
        elements=elements,
        contributions=mismatch[0].sum(axis=1),
    )


def _slack(
    system: SectionSystem, mismatch: NDArray[np.float64], missing: NDArray[np.float64], dual: DualFields
) -> NDArray[np.float64]:
    """By how much the energy of the completed fields may be off for current density that is missing, (l, l).

    From the reference triangle to one to which a map with the derivative D leads, |e|² grows by |D|²/det D at most,
    and |g|² has grown by det D. |D|² is convex and det D linear in a conductor: their extremes lie at the corners.
    """
    cells, mapping, size = dual.basis.tind, dual.basis.mapping, system.meshed.section.size
    corners = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    middles = np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5]])
    places = np.asarray(mapping.F(np.hstack([corners, middles]), tind=cells))
    weights = [MU_0 / point_weight(system.view, each, size) for each in places.transpose(2, 1, 0)]
    stretch = np.abs(mapping.detDF(corners, tind=cells))
    steepest = (mapping.DF(corners, tind=cells) ** 2).sum(axis=(0, 1)).max(axis=1) / stretch.min(axis=1)
    reach = _LONGEST_EDGE**2 / np.pi**2 * steepest * stretch.max(axis=1) * np.max(weights, axis=0)
    distance = np.sqrt(mismatch.sum(axis=(1, 2)))
    lacking = np.sqrt(np.einsum("leq,eq,e->l", missing**2, dual.basis.dx, reach))
    return np.asarray(np.outer(distance, lacking) + np.outer(lacking, distance) + np.outer(lacking, lacking))


def bracket_elements(
    lower: NDArray[np.float64], upper: NDArray[np.float64], slack: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Bounds of every element of a symmetric matrix that lies between two others in the sense of energy, (n, n) each.

    The excess X of the true matrix over L is positive semi-definite and so is U - L - X; hence X_ij differs from half
    of (U - L)_ij by at most sqrt((U - L)_ii (U - L)_jj)/2. U may be off by `slack`, (n, n).
    """
    difference = upper - lower
    excess = np.sqrt(np.maximum(difference.diagonal(), 0.0) + slack.diagonal())
    middle, half = lower + difference / 2, (np.outer(excess, excess) + slack) / 2
    return middle - half, middle + half


def least_energy_fields(
    system: SectionSystem, currents: NDArray[np.float64], elements: NDArray[np.int64], medium: NDArray[np.float64]
) -> DualFields:
    """Build fields that carry the given region currents, (r, p), each column summing to zero [A].

    Turned by a right angle they are fluxes without sources outside the conductors: with charges [C] for currents and
    one over the permittivity for `medium`, (e,), they are displacements and their energy bounds a capacitance.
    """
    meshed = system.meshed
    squares = quadrature_degree(system.view, meshed.mesh, system.basis.elem.maxdeg - 1)  # for products of two gradients
    scalar = Basis(meshed.mesh, system.basis.elem, elements=elements, intorder=squares)
    edges = Basis(meshed.mesh, ElementTriN1(), elements=elements, intorder=squares)
    # scikit-fem runs its edges against ours, and so the curl of an edge field is minus its circulation
    carried = [-np.asarray(edges.interpolate(column)) for column in _edge_circulation(system, currents).T]
    weight = ((1 / flux_weight(system.view, scalar)).T * medium).T
    free = np.setdiff1d(np.unique(scalar.element_dofs), system.far)
    energy = stiffness_matrix(scalar, weight)
    weight = weight.reshape(len(elements), -1)
    coupling = np.column_stack([against_gradient.assemble(scalar, given=weight * field) for field in carried])
    lowering = solve_on(energy, coupling, _without_loose_ends(scalar, free), inner=scalar.interior_dofs)
    gradients = [scalar.interpolate(column).grad for column in lowering.T]
    samples = np.array([field - gradient for field, gradient in zip(carried, gradients, strict=True)])
    inside, missing = _carry_linear_part(scalar, _missing_density(system, currents, scalar))
    return DualFields(
        basis=scalar,
        samples=samples + inside,
        missing=missing,
        weight=np.broadcast_to(weight, scalar.dx.shape),
    )


def _edge_circulation(system: SectionSystem, currents: NDArray[np.float64]) -> NDArray[np.float64]:
    """Edge values of fields whose circulation round every triangle is its current; zero on the far circle.

    With D the signed incidence of triangles and edges off the far circle, e = D^T (D D^T)^-1 i solves D e = i. Where
    the far circle is the whole border, the equations of all triangles add up to zero, and one of them is left out.
    """
    mesh = system.meshed.mesh
    per_triangle = _densities(system, currents, system.basis)
    per_triangle = np.einsum("peq,eq->ep", per_triangle, system.basis.dx)
    incidence, _ = _incidence(mesh)
    inner = np.setdiff1d(np.arange(mesh.nfacets), mesh.boundaries[FAR])
    reduced = incidence[:, inner]
    border_is_far = len(mesh.boundaries[FAR]) == len(mesh.boundary_facets())
    levels = solve_on((reduced @ reduced.T).tocsr(), per_triangle, np.arange(int(border_is_far), mesh.nelements))
    circulation = np.zeros((mesh.nfacets, currents.shape[1]))
    circulation[inner] = reduced.T @ levels
    return circulation


def _densities(system: SectionSystem, currents: NDArray[np.float64], basis: Basis) -> NDArray[np.float64]:
    """Density of region currents (r, p) spread as at DC, at the points of a basis on all triangles, (p, e, q)."""
    densities = np.zeros((currents.shape[1], *basis.dx.shape))
    weight = np.broadcast_to(flux_weight(system.view, basis).reshape(basis.nelems, -1), basis.dx.shape)
    for region, row in zip(system.meshed.section.regions, currents, strict=True):
        inside = system.meshed.elements(region.name)
        total = (weight[inside] * basis.dx[inside]).sum()
        densities[:, inside] = row[:, None, None] * (weight[inside] / total)
    return densities


def _missing_density(system: SectionSystem, currents: NDArray[np.float64], scalar: Basis) -> NDArray[np.float64]:
    """What edge elements miss of the densities at DC, at the points of a basis, (p, e, q)."""
    everywhere = Basis(scalar.mesh, scalar.elem, quadrature=(scalar.X, scalar.W))
    densities = _densities(system, currents, everywhere)
    carried = 2 * (densities * everywhere.dx).sum(axis=2, keepdims=True) / (everywhere.dx / everywhere.W)
    return np.asarray((densities - carried)[:, scalar.tind])


def _carry_linear_part(scalar: Basis, missing: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Fields inside triangles, (p, 2, e, q), that carry the linear part of a density (p, e, q), and what is left."""
    stretch = scalar.mapping.detDF(scalar.X, tind=scalar.tind)
    inverse = scalar.mapping.invDF(scalar.X, tind=scalar.tind)
    barycentric = np.stack([1 - scalar.X.sum(axis=0), *scalar.X])
    slopes = np.array([[-1.0, -1.0], [1.0, 0.0], [0.0, 1.0]])
    following, last = np.roll(barycentric, -1, axis=0), np.roll(barycentric, -2, axis=0)
    along = following[:, None] * np.roll(slopes, -2, axis=0)[..., None]
    along = along - last[:, None] * np.roll(slopes, -1, axis=0)[..., None]
    sizes = 8 * np.einsum("peq,eq,kq,q->pke", missing, stretch, barycentric, scalar.W)
    turning = np.einsum("iaeq,kq,kiq,pke->paeq", inverse, barycentric, along, sizes, optimize=True)
    rest = missing - np.einsum("pke,kq->peq", sizes, 3 * barycentric - 1) / stretch
    return turning, rest


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
