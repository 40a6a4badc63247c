"""Sections in millimetres, their capacitances and loop inductances."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pytest
from numpy.typing import NDArray

from geometries.quantities import MM
from geometries.section.outline import Circle, Rectangle, Ring
from geometries.section.section import CrossSection, CurrentLoop, Dielectric, Region
from solver.section.electrostatics import bracket_capacitance, solve_electric
from solver.section.fields import (
    SectionSystem,
    assemble_section,
    solve_at_dc,
    solve_at_frequency,
    solve_perfect_conductor,
)
from solver.section.mesh import mesh_section
from solver.section.results import CapacitanceMatrix


@lru_cache(maxsize=2)
def _system(section: CrossSection, highest_frequency: float) -> SectionSystem:
    return assemble_section(mesh_section(section, highest_frequency=highest_frequency))


@lru_cache(maxsize=4)
def _capacitance(section: CrossSection, relative_permittivity: float) -> CapacitanceMatrix:
    system = _system(section, 0.0)
    everywhere = np.full(system.meshed.mesh.nelements, relative_permittivity)
    filled = None if relative_permittivity == 0 else everywhere
    return bracket_capacitance(solve_electric(system, filled))


class Fixture:
    """Draws conductors and dielectrics in millimetres and reads off what the checks compare."""

    def bar(self, group: str, left: float, right: float, bottom: float, top: float, *, name: str = "") -> Region:
        """Copper rectangle of a group, which names it unless a name is given."""
        outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
        return Region(name=name or group, outline=outline, role="floating", group=group)

    def wire(self, group: str, x: float, y: float, radius: float, *, name: str = "") -> Region:
        """Round copper wire of a group."""
        outline = Circle(centre=(x * MM, y * MM), radius=radius * MM)
        return Region(name=name or group, outline=outline, role="floating", group=group)

    def shell(self, group: str, inner_radius: float, outer_radius: float) -> Region:
        """Copper tube round the origin."""
        outline = Ring(centre=(0.0, 0.0), inner_radius=inner_radius * MM, outer_radius=outer_radius * MM)
        return Region(name=group, outline=outline, role="floating", group=group)

    def slab(self, relative_permittivity: float, left: float, right: float, bottom: float, top: float) -> Dielectric:
        """Rectangle of a dielectric."""
        outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
        return Dielectric(name="slab", outline=outline, relative_permittivity=relative_permittivity)

    def section(
        self, *regions: Region, loops: tuple[tuple[str, str], ...], slabs: tuple[Dielectric, ...] = ()
    ) -> CrossSection:
        """Cross-section with loops given by their go and return groups."""
        carried = tuple(CurrentLoop(name=f"{go} {back}", go_group=go, return_group=back) for go, back in loops)
        return CrossSection(name="section under check", regions=regions, loops=carried, dielectrics=slabs)

    def capacitance(self, section: CrossSection, *, relative_permittivity: float = 0.0) -> CapacitanceMatrix:
        """Maxwell's matrix; all dielectrics are replaced by one that fills everything, if its permittivity is given."""
        return _capacitance(section, relative_permittivity)

    def inductance(
        self, section: CrossSection, frequency: float, *, highest_frequency: float = 0.0
    ) -> NDArray[np.float64]:
        """Loop inductances [H/m]; frequency 0 for DC, infinite for perfect conductors."""
        system = _system(section, highest_frequency)
        if frequency == 0:
            return solve_at_dc(system).inductance_per_length
        if math.isinf(frequency):
            return solve_perfect_conductor(system).inductance_per_length
        return solve_at_frequency(system, frequency).inductance_per_length


@pytest.fixture(scope="session")
def fixture() -> Fixture:
    """Drawing, solving and reading off, with the last few solutions kept."""
    return Fixture()
