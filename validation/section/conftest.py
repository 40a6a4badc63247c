"""Sections in millimetres, solved once per section and frequency."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pytest
from numpy.typing import NDArray

from geometries.materials import COPPER, Conductor
from geometries.outline import Circle, Rectangle, Ring
from geometries.quantities import MM
from geometries.section import CrossSection, Region
from solver.extraction import current_share, field_strength
from solver.fields import (
    FieldSolution,
    SectionSystem,
    assemble_section,
    solve_at_dc,
    solve_at_frequency,
    solve_perfect_conductor,
)
from solver.formulas import MU_0
from solver.mesh import mesh_section
from solver.tessellation import MeshSettings

NANO = 1e-9


@lru_cache(maxsize=2)
def _system(regions: tuple[Region, ...], highest_frequency: float, growth: float) -> SectionSystem:
    settings = MeshSettings() if growth == 0 else MeshSettings(growth=growth)
    section = CrossSection(name="section under check", regions=regions)
    return assemble_section(mesh_section(section, highest_frequency=highest_frequency, settings=settings))


@lru_cache(maxsize=3)
def _field(regions: tuple[Region, ...], frequency: float, highest_frequency: float, growth: float) -> FieldSolution:
    system = _system(regions, highest_frequency, growth)
    if frequency == 0:
        return solve_at_dc(system)
    if math.isinf(frequency):
        return solve_perfect_conductor(system)
    return solve_at_frequency(system, frequency)


class Bench:
    """Draws conductors in millimetres and reads off a solved section what the checks compare."""

    def bar(
        self,
        role: str,
        left: float,
        right: float,
        bottom: float,
        top: float,
        *,
        name: str = "",
        material: Conductor = COPPER,
    ) -> Region:
        """Rectangle; its name is its role unless another is given."""
        outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
        return Region(name=name or role, outline=outline, role=role, material=material)

    def wire(self, role: str, x: float, y: float, radius: float) -> Region:
        """Round copper wire, named after its role."""
        return Region(name=role, outline=Circle(centre=(x * MM, y * MM), radius=radius * MM), role=role)

    def shell(self, inner_radius: float, outer_radius: float) -> Region:
        """Copper tube round the origin that carries the return; without effect on the field inside it."""
        outline = Ring(centre=(0.0, 0.0), inner_radius=inner_radius * MM, outer_radius=outer_radius * MM)
        return Region(name="shell", outline=outline, role="return")

    def solve(
        self, *regions: Region, frequency: float, highest_frequency: float = 0.0, growth: float = 0.0
    ) -> FieldSolution:
        """Field at `frequency` (0 for DC, infinite for perfect conductors) on the mesh of `highest_frequency`.

        `growth` is that of the mesh; 0 leaves the program's own.
        """
        return _field(regions, frequency, highest_frequency, growth)

    def inductance(self, field: FieldSolution) -> float:
        """Loop inductance [nH/m]."""
        return float(field.inductance_per_length[0, 0]) / NANO

    def resistance(self, field: FieldSolution) -> float:
        """Loop resistance [ohm/m]."""
        return float(field.resistance_per_length[0, 0])

    def share(self, field: FieldSolution, region: str) -> float:
        """Part of the loop current in a conductor, with sign [A/A]."""
        return current_share(field, region)

    def flux_density(self, field: FieldSolution, *points: tuple[float, float]) -> NDArray[np.complex128]:
        """B_x and B_y [T per A] at points in millimetres, (n, 2)."""
        return MU_0 * field_strength(field, MM * np.array(points, dtype=float))


@pytest.fixture(scope="session")
def bench() -> Bench:
    """Drawing, solving and reading off, with the last few solutions kept."""
    return Bench()
