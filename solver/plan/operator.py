r"""Inductances between all currents of a layout as an operator: near pairs as a sparse matrix, the rest on a grid.

.. math:: L_{mn} = \frac{\mu_0}{4\pi}\iint K_m\cdot K_n \left(\frac1R - \frac1{R_i}\right) dS\,dS'

with :math:`R_i` the distance to the image in a plane, and the partial inductances of the posts; horizontal and vertical
currents do not couple.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from geometries.layout.layout import MirrorPlane, PlanLayout
from solver.formulas import MU_0
from solver.plan.basis import PlanBasis
from solver.plan.grid import Grid, convolve, grid_over, spreading, transformed_kernel
from solver.plan.images import image_shift
from solver.plan.near import Cloud, near_pairs, near_part
from solver.plan.pairs import Pairs
from solver.plan.potentials import Triangles
from solver.plan.vias import via_inductances

Floats = NDArray[np.float64]
Numbers = NDArray[np.inexact]

_SCALE = MU_0 / (4 * math.pi)
_POINTS_PER_CELL = 0.5
"""Points of triangles per cell of the grid, on the average over the copper."""

_DIGITS = 12
"""Of heights in metres, so that equal distances are found equal."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coupling:
    """One kind of coupling between all triangles: among themselves, or with their images.

    Parameters
    ----------
    near : (n, n) sparse matrix
        Near part between the currents of the basis [H].
    guide : (n, n) sparse matrix
        The unsoftened kernel between close pairs alone [H], to precondition with.
    kernels : list of list of array
        Transform of the smooth kernel between every two levels.
    """

    near: sparse.csr_matrix
    guide: sparse.csr_matrix
    kernels: list[list[Numbers]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inductances:
    """Geometry of a meshed layout as far as it does not depend on the frequency.

    Parameters
    ----------
    basis : PlanBasis
        Currents.
    cloud : Cloud
        All triangles, sheet after sheet.
    levels : (levels,) array
        Heights [m].
    level : (triangles,) array
        Index into them.
    density : (x, y)
        Matrices (triangles, n) of all sheets.
    pairs : Pairs
        All near ones.
    grid : Grid
        Carries the smooth part.
    spread : tuple of (x, y)
        For each level the matrices (n, nodes) that spread currents over the grid.
    vias : (n, n) sparse matrix
        Inductances of the posts [H].
    own : Coupling
        Of the copper with itself.
    """

    basis: PlanBasis
    cloud: Cloud
    levels: Floats
    level: NDArray[np.int64]
    density: tuple[sparse.csr_matrix, sparse.csr_matrix]
    pairs: Pairs
    grid: Grid
    spread: tuple[tuple[sparse.csr_matrix, sparse.csr_matrix], ...]
    vias: sparse.csr_matrix
    own: Coupling


def plan_inductances(layout: PlanLayout, basis: PlanBasis) -> Inductances:
    """Find near pairs, lay the grid and fold what does not depend on the frequency."""
    cloud = Cloud(triangles=joined_triangles([face.triangles for face in basis.faces]))
    levels, level = distinct_levels(cloud.triangles.heights)
    x, y = (
        sparse.csr_matrix(sparse.vstack(parts)) for parts in zip(*(face.density for face in basis.faces), strict=True)
    )
    grid = grid_over(cloud, grid_step(cloud))
    pairs = near_pairs(cloud, grid.radius)
    posts = sparse.csr_matrix(basis.vias)
    return Inductances(
        basis=basis,
        cloud=cloud,
        levels=levels,
        level=level,
        density=(x, y),
        pairs=pairs,
        grid=grid,
        spread=tuple(_spread(grid, cloud, (x, y), np.flatnonzero(level == each)) for each in range(len(levels))),
        vias=sparse.csr_matrix(posts.T @ sparse.csr_matrix(via_inductances(layout)) @ posts),
        own=_coupling(cloud, pairs, (x, y), grid, level_distances(levels), level),
    )


def distinct_levels(heights: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """Heights without repetition [m], and the index of each triangle's own."""
    levels, level = np.unique(heights.round(_DIGITS), return_inverse=True)
    return levels, level


def level_distances(levels: Floats) -> Floats:
    """Vertical distances between every two levels [m]."""
    return np.asarray(np.abs(levels[:, None] - levels).round(_DIGITS))


def image_coupling(system: Inductances, distances: Numbers) -> Coupling:
    """Coupling with images at given vertical distances between every two levels [m]; to be subtracted."""
    return _coupling(system.cloud, system.pairs, system.density, system.grid, distances, system.level)


def image_distances(plane: MirrorPlane, levels: Floats, frequency: float) -> Numbers:
    """Vertical distances from every level to the image of every other [m]; complex if the plane is lossy."""
    heights = levels - plane.height
    shifts = np.array([[image_shift(plane, (one + other) / 2, frequency) for other in heights] for one in heights])
    lossy = plane.material is not None and math.isfinite(frequency)
    return np.asarray(np.round(heights[:, None] + heights + 2 * (shifts if lossy else shifts.real), _DIGITS))


def grid_step(cloud: Cloud) -> float:
    """Step of the grid that suits the triangles [m]."""
    return math.sqrt(_POINTS_PER_CELL * cloud.areas.sum() / (3 * len(cloud.areas)))


def joined_triangles(parts: Sequence[Triangles]) -> Triangles:
    """All triangles of several sheets."""
    return Triangles(
        corners=np.concatenate([part.corners for part in parts]),
        heights=np.concatenate([part.heights for part in parts]),
    )


def _spread(
    grid: Grid, cloud: Cloud, density: tuple[sparse.csr_matrix, sparse.csr_matrix], chosen: NDArray[np.int64]
) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
    weights = spreading(grid, cloud, chosen)
    x, y = (sparse.csr_matrix(part[chosen].T @ weights).astype(np.float32) for part in density)
    return x, y


def _coupling(
    cloud: Cloud,
    pairs: Pairs,
    density: tuple[sparse.csr_matrix, sparse.csr_matrix],
    grid: Grid,
    distances: Numbers,
    level: NDArray[np.int64],
) -> Coupling:
    """Near part, guide and kernels for given vertical distances between every two levels."""
    near = near_part(cloud, pairs, lambda some: distances[level[some.first], level[some.second]], grid.radius)
    count = len(distances)
    upper = {(i, j): transformed_kernel(grid, distances[i, j]) for i in range(count) for j in range(i, count)}
    return Coupling(
        near=_folded(near.pairs, near.sharp, density),
        guide=_folded(near.pairs.part(near.close), near.plain, density),
        kernels=[[upper[min(i, j), max(i, j)] for j in range(count)] for i in range(count)],
    )


def _folded(pairs: Pairs, values: Numbers, density: tuple[sparse.csr_matrix, sparse.csr_matrix]) -> sparse.csr_matrix:
    """From double integrals between triangles to inductances between currents."""
    count = density[0].shape[0]
    halved = np.where(pairs.first == pairs.second, values / 2, values) * _SCALE
    upper = sparse.csr_matrix((halved, (pairs.first, pairs.second)), shape=(count, count))
    half: Any = sum(part.T @ (upper @ part) for part in density)
    return sparse.csr_matrix(half + half.T)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InductanceOperator:
    """Inductances at one frequency: near part and posts as a matrix [H], the rest by the grid's kernels."""

    system: Inductances
    near: sparse.csr_matrix
    guide: sparse.csr_matrix
    kernels: list[list[Numbers]]

    @property
    def lossy(self) -> bool:
        """Whether the inductances are complex."""
        return np.iscomplexobj(self.near)

    def times(self, currents: Numbers) -> Numbers:
        """Flux linkages of the basis [Wb] with currents (n,) [A]."""
        if self.lossy:
            currents = currents.astype(complex)
        columns = _columns(currents)
        flux = self.near @ currents if self.lossy else _complex_again(self.near @ columns)
        single = columns.astype(np.float32)
        loads = [_load(x.T @ single, y.T @ single) for x, y in self.system.spread]
        for (x, y), potential in zip(self.system.spread, convolve(self.system.grid, self.kernels, loads), strict=True):
            along, across = _unload(potential, columns.shape[1])
            flux = flux + _SCALE * _complex_again((x @ along + y @ across).astype(float))
        return np.asarray(flux)


def inductance_operator(system: Inductances, images: Coupling | None) -> InductanceOperator:
    """Join the copper's coupling with itself, its posts and, in a plane, its images."""
    near, guide, kernels = system.own.near + system.vias, system.own.guide + system.vias, system.own.kernels
    if images is not None:
        near, guide = near - images.near, guide - images.guide
        kernels = [
            [one - other for one, other in zip(*rows, strict=True)]
            for rows in zip(kernels, images.kernels, strict=True)
        ]
    return InductanceOperator(
        system=system, near=sparse.csr_matrix(near), guide=sparse.csr_matrix(guide), kernels=kernels
    )


def _columns(vector: Numbers) -> Floats:
    """Real and imaginary part as two columns, or one real column."""
    return np.ascontiguousarray(vector).view(float).reshape(len(vector), -1)


def _complex_again(columns: Floats) -> Numbers:
    flat = np.ascontiguousarray(columns)
    return np.asarray(flat[:, 0] if flat.shape[1] == 1 else flat.view(complex)[:, 0])


def _load(along: Any, across: Any) -> Any:
    """Loads along x and y as complex columns; of real ones one column holds both."""
    if along.shape[1] == 1:
        return along + 1j * across
    return np.hstack([np.ascontiguousarray(each).view(np.complex64) for each in (along, across)])


def _unload(potential: Any, parts: int) -> tuple[Any, Any]:
    if parts == 1:
        return np.ascontiguousarray(potential.real), np.ascontiguousarray(potential.imag)
    x, y = (np.ascontiguousarray(potential[:, k : k + 1]).view(np.float32) for k in (0, 1))
    return x, y
