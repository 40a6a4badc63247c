"""The vector potential of a solved layout's currents, sheet by sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri

from solver.constants import MU_0
from solver.plan.basis import sheet_triangles
from solver.plan.currents import density_matrices
from solver.plan.potentials import Triangles, potential_at
from solver.plan.solution import PlanSolution

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurrentLayer:
    """Triangles at one height with the density of one ampere in them, (triangles, 2) [A/m]."""

    triangles: Triangles
    density: Complexes

    def mirrored(self, height: float) -> CurrentLayer:
        """Its image in a plane at a height [m]: as far behind it, flowing the other way."""
        behind = replace(self.triangles, heights=2 * height - self.triangles.heights)
        return CurrentLayer(triangles=behind, density=-self.density)


def fine_currents(solution: PlanSolution, shares: Floats | Complexes) -> Iterator[CurrentLayer]:
    """A solution's currents on its finer mesh with one ampere shared by its loops, (loops,) [A/A]."""
    for sheet in solution.sheets:
        mesh = MeshTri(sheet.points.T.copy(), sheet.triangles.T.copy())
        yield CurrentLayer(
            triangles=sheet_triangles(mesh, np.arange(mesh.nelements), sheet.sheet.mid_height),
            density=np.einsum("l,ltc->tc", shares, sheet.density),
        )


def coarse_currents(solution: PlanSolution, shares: Floats | Complexes) -> Iterator[CurrentLayer]:
    """The same on its coarser mesh, every face a layer of its own."""
    for sheet, fluxes in zip(solution.coarse.meshes, solution.coarse.fluxes, strict=True):
        flux = fluxes @ shares
        along, across = density_matrices(sheet.mesh)
        for index, surface in enumerate(sheet.surfaces):
            own, chosen = flux[sheet.rows(index)], surface.triangles
            yield CurrentLayer(
                triangles=sheet_triangles(sheet.mesh, chosen, sheet.sheet.levels[surface.face]),
                density=np.column_stack([along[chosen] @ own, across[chosen] @ own]),
            )


def vector_potential(layers: Iterable[CurrentLayer], points: Floats) -> Complexes:
    """Vector potential of currents at points (n, 3) [m]: along x and y, (n, 2) [Wb/m]."""
    total = np.zeros((len(points), 2), dtype=complex)
    for layer in layers:
        corners, level = layer.triangles.corners, layer.triangles.heights
        for index, (x, y, height) in enumerate(points):
            here = np.full((2, len(corners)), [[x], [y]])
            total[index] += potential_at(here[0], here[1], corners, height - level) @ layer.density
    return np.asarray(MU_0 / (4 * math.pi) * total)
