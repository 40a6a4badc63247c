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
from scipy.sparse.csgraph import breadth_first_order, connected_components
from scipy.sparse.linalg import spsolve_triangular
from skfem import MeshTri

from geometries.section.section import View
from solver.constants import MU_0
from solver.section.coordinates import flux_weight, point_weight, quadrature_degree
from solver.section.elements import TriangleBasis
from solver.section.fields import FieldSolution, SectionSystem, factors_at_dc
from solver.section.forms import gradient_load, stiffness_matrix
from solver.section.linear_solver import Factorisation, factorise_on
from solver.section.mesh import FAR
from solver.section.results import InductanceBracket

_LONGEST_EDGE = 2**0.5
"""Of the reference triangle."""

_OPPOSITE = [1, 2, 0]
"""Where scikit-fem has the edge opposite each corner."""

_AHEAD = np.array([1.0, -1.0, 1.0])
"""Whether it then runs from the lower to the higher vertex, as edges do; corners in ascending order run to the left."""


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
    factors = factors_at_dc(system) if system.view is View.SECTION else None
    medium = np.full(len(everywhere), MU_0)
    dual = least_energy_fields(system, static.region_currents.real, everywhere, medium, factors)
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
    basis : TriangleBasis
        Where they are sampled.
    samples : (p, 2, e, q) array
        Field strength of each pattern at the quadrature points [A/m].
    missing : (p, e, q) array
        Current density of each pattern that the field does not carry; without a sum in any triangle [A/m²].
    weight : (e, q) array
        Of the energy: the medium's (mu_0), divided by the weight of the view.
    """

    basis: TriangleBasis
    samples: NDArray[np.float64]
    missing: NDArray[np.float64]
    weight: NDArray[np.float64]

    @property
    def energy(self) -> NDArray[np.float64]:
        """Twice the energy of every pair of patterns, (p, p) [H/m] or [H]."""
        weighted = self.samples * (self.weight * self.basis.dx)
        return np.asarray(np.tensordot(weighted, self.samples, axes=((1, 2, 3), (1, 2, 3))))


def _compare(
    primal: FieldSolution, dual: DualFields, shares: NDArray[np.float64], elements: NDArray[np.int64]
) -> BoundedSection:
    """Set the two approximations against each other; `shares` (p, l) combines the dual patterns into loops."""
    lower = primal.inductance
    potentials = [dual.basis.interpolate(column.real) for column in primal.potential.T]
    slopes = np.stack([np.stack([each.grad[1], -each.grad[0]]) for each in potentials])
    fields = np.tensordot(shares.T, dual.samples, axes=1)
    mismatch = ((fields - slopes / dual.weight) ** 2).sum(axis=1) * dual.weight * dual.basis.dx
    missing = np.tensordot(shares.T, dual.missing, axes=1)
    carried = np.tensordot(np.stack(potentials) * dual.basis.dx, missing, axes=((1, 2), (1, 2)))
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
    system: SectionSystem,
    currents: NDArray[np.float64],
    elements: NDArray[np.int64],
    medium: NDArray[np.float64],
    factors: Factorisation | None = None,
) -> DualFields:
    """Build fields that carry the given region currents, (r, p), each column summing to zero [A].

    Turned by a right angle they are fluxes without sources outside the conductors: with charges [C] for currents and
    one over the permittivity for `medium`, (e,), they are displacements and their energy bounds a capacitance.
    `factors` are those of the scalars' energy over MU_0², where they are known: at DC it is the field's own matrix.
    """
    mesh = system.meshed.mesh
    squares = quadrature_degree(system.view, mesh, system.basis.elem.maxdeg - 1)  # for products of two gradients
    scalar = TriangleBasis(mesh, system.basis.elem, elements=elements, intorder=squares, dofs=system.basis.dofs)
    edges = _edge_fields(scalar)
    carried = np.einsum("pke,kaq->paeq", _edge_circulation(system, currents)[..., elements], edges)
    weight = ((1 / flux_weight(system.view, scalar)).T * medium).T
    scaled = weight / MU_0**2
    coupling = np.column_stack([gradient_load(scalar, scaled, field) for field in carried])
    lowering = (factors or _factorise_energy(system, scalar, scaled)).solve(coupling)
    gradients = np.einsum("iep,aiq->paeq", lowering[scalar.element_dofs], scalar.shapes[1], optimize=True)
    sizes, missing = _split_linear_part(scalar, _missing_density(system, currents, scalar))
    inside = np.einsum("pke,kq,kaq->paeq", sizes, _barycentric(scalar), edges, optimize=True)
    return DualFields(
        basis=scalar,
        samples=scalar.outward(carried - gradients + inside),
        missing=missing,
        weight=np.broadcast_to(weight.reshape(len(elements), -1), scalar.dx.shape),
    )


def _factorise_energy(system: SectionSystem, scalar: TriangleBasis, weight: NDArray[np.float64]) -> Factorisation:
    """The energy of scalars on their triangles, zero on the far circle."""
    free = np.zeros(scalar.N, dtype=bool)
    free[scalar.element_dofs] = True
    free[system.far] = False
    return factorise_on(
        stiffness_matrix(scalar, weight),
        _without_loose_ends(scalar, np.flatnonzero(free)),
        inner=scalar.interior_dofs,
    )


def _edge_circulation(system: SectionSystem, currents: NDArray[np.float64]) -> NDArray[np.float64]:
    """Along the edge opposite each corner, (p, 3, e): of fields that carry the currents, zero on the far circle.

    Currents are handed on along a tree of triangles: each passes what it and all behind it carry through the edge to
    the one before it, I = (1 - T)^-1 i, where T holds a 1 for each triangle in the row of the one before it.
    """
    mesh = system.meshed.mesh
    own = (_densities(system, currents, system.basis) * system.basis.dx).sum(axis=2).T
    order, before, through = _tree(mesh)
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    later = np.arange(1, len(order))
    handing = sparse.identity(len(order), format="csr") - sparse.csr_matrix(
        (np.ones(len(later)), (place[before], later)), shape=(len(order), len(order))
    )
    passed = spsolve_triangular(handing, np.vstack([own, np.zeros_like(own[:1])])[order], lower=False)
    circulation = np.zeros((mesh.nfacets, currents.shape[1]))
    circulation[through] = _sense(mesh, order[1:], through)[:, None] * passed[1:]
    return np.asarray(circulation.T[:, mesh.t2f[_OPPOSITE]] * _AHEAD[:, None])


def _tree(mesh: MeshTri) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Triangles in the order in which a tree reaches them; of all but the first the one before it and the edge to that.

    The tree grows from what lies beyond a border that is not the far circle, the number after the last triangle, or
    else from the first triangle: all currents together then sum to zero.
    """
    edges = np.setdiff1d(np.arange(mesh.nfacets), mesh.boundaries[FAR])
    first, second = mesh.f2t[:, edges]
    second = np.where(second < 0, mesh.nelements, second)
    beyond = (second == mesh.nelements).any()
    size = mesh.nelements + 1
    links = sparse.csr_matrix((edges + 1, (first, second)), shape=(size, size))
    links = links + links.T
    order, before = breadth_first_order(links, mesh.nelements if beyond else 0)
    before = before[order]
    through = np.asarray(links[order[1:], before[1:]]).ravel() - 1
    return order.astype(np.int64), before[1:].astype(np.int64), through


def _sense(mesh: MeshTri, cells: NDArray[np.int64], edges: NDArray[np.int64]) -> NDArray[np.float64]:
    """Whether edges, run from the lower to the higher vertex, lead round given triangles to the left, 1 or -1."""
    first, second, third = mesh.p[:, mesh.t[:, cells]].swapaxes(0, 1)
    ahead, up = second - first, third - first
    turn = np.sign(ahead[0] * up[1] - ahead[1] * up[0])
    return np.asarray(np.where(mesh.t2f[2, cells] == edges, -turn, turn))


def _densities(system: SectionSystem, currents: NDArray[np.float64], basis: TriangleBasis) -> NDArray[np.float64]:
    """Density of region currents (r, p) spread as at DC, at the points of a basis, (p, e, q)."""
    owner = np.full(system.meshed.mesh.nelements, len(currents))
    totals = np.empty(len(currents))
    for number, region in enumerate(system.meshed.section.regions):
        owner[system.meshed.elements(region.name)] = number
        totals[number] = system.conductance[number] / region.material.conductivity
    weight = flux_weight(system.view, basis).reshape(basis.nelems, -1)
    spread = np.vstack([currents / totals[:, None], np.zeros_like(currents[:1])])
    return np.asarray(spread[owner if basis.tind is None else owner[basis.tind]].T[..., None] * weight)


def _missing_density(
    system: SectionSystem, currents: NDArray[np.float64], scalar: TriangleBasis
) -> NDArray[np.float64]:
    """What edge elements miss of the densities at DC, at the points of a basis, (p, e, q)."""
    densities = _densities(system, currents, scalar)
    carried = 2 * (densities * scalar.dx).sum(axis=2, keepdims=True) / (scalar.dx / scalar.W)
    return np.asarray(densities - carried)


def _barycentric(scalar: TriangleBasis) -> NDArray[np.float64]:
    """Barycentric coordinates of the quadrature points, (3, q)."""
    return np.stack([1 - scalar.X.sum(axis=0), *scalar.X])


def _edge_fields(scalar: TriangleBasis) -> NDArray[np.float64]:
    """The fields w_k at the quadrature points, by their components in the reference triangle, (3, 2, q).

    Each has the circulation 1 along the edge opposite its corner, run round the triangle to the left.
    """
    coordinates = _barycentric(scalar)
    slopes = np.array([[-1.0, -1.0], [1.0, 0.0], [0.0, 1.0]])[..., None]
    following, last = (np.roll(coordinates, -turn, axis=0)[:, None] for turn in (1, 2))
    return np.asarray(following * np.roll(slopes, -2, axis=0) - last * np.roll(slopes, -1, axis=0))


def _split_linear_part(
    scalar: TriangleBasis, missing: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sizes of the fields l_k w_k, (p, 3, e), that carry the linear part of a density (p, e, q), and what is left."""
    stretch, coordinates = scalar.tangents[2], _barycentric(scalar)
    sizes = 8 * np.einsum("peq,kq->pke", missing * stretch, coordinates * scalar.W, optimize=True)
    return sizes, missing - np.einsum("pke,kq->peq", sizes, 3 * coordinates - 1, optimize=True) / stretch


def _without_loose_ends(scalar: TriangleBasis, free: NDArray[np.int64]) -> NDArray[np.int64]:
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
