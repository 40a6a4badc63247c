"""The electric dipole of a patch over a plane, and its charge as seen from far away.

Sources: the section view's own electrostatics, whose far potential is read on a circle around the board, against
eps_0 S V; a square plate over a ground and a disc alone, whose charges are found here from their integral equations.
"""

import math

import numpy as np
import pytest
from scipy.special import ellipk

from geometries.quantities import MM
from geometries.section.outline import Rectangle
from geometries.section.section import CrossSection, CurrentLoop, Dielectric, Region
from solver.formulas import (
    EPSILON_0,
    disc_capacitance,
    patch_dipole_area,
    patch_level_dipole_area,
    patch_stray_capacitance,
    strip_dipole_width,
)
from solver.section.electrostatics import solve_electric
from solver.section.fields import assemble_section
from solver.section.mesh import mesh_section

SECTION = "The section view's electrostatics, potential far from a board that holds no net charge"


def section_dipole(width: float, height: float, permittivity: float) -> float:
    """Dipole across the board of a strip at 1 V over a plane of 80 mm, per length [C m/m]; lengths in mm."""

    def bar(name, half, bottom, top):
        outline = Rectangle(left=-half * MM, right=half * MM, bottom=bottom * MM, top=top * MM)
        return Region(name=name, outline=outline, role="floating")

    thickness = 0.002
    regions = (
        bar("node", width / 2, 0.0, thickness),
        bar("plane", 40.0, -height - thickness, -height),
    )
    outline = Rectangle(left=-40 * MM, right=40 * MM, bottom=-height * MM, top=0.0)
    slab = Dielectric(name="slab", outline=outline, relative_permittivity=permittivity)
    loops = (CurrentLoop(go_group="node", return_group="plane"),)
    section = CrossSection(name="patch", regions=regions, loops=loops, dielectrics=(slab,))
    solution = solve_electric(assemble_section(mesh_section(section, highest_frequency=0)))
    to_far = solution.far_capacitance.sum(axis=0)
    potential = solution.potential @ (np.array([1.0, 0.0]) - to_far[0] / to_far.sum())
    radius, count = 0.5, 360
    angle = (np.arange(count) + 0.5) * 2 * math.pi / count
    points = radius * np.stack([np.cos(angle), np.sin(angle)])
    values = solution.system.basis.probes(points) @ potential
    return float(2 * EPSILON_0 * radius * (values * np.sin(angle)).sum() * 2 * math.pi / count)


@pytest.mark.parametrize(
    ("width", "height", "permittivity"),
    [(10.0, 0.2, 1.0), (10.0, 0.2, 4.4), (10.0, 0.2, 9.8), (4.0, 0.2, 4.4), (10.0, 1.5, 4.4)],
)
def test_strip_over_a_plane(references, width: float, height: float, permittivity: float) -> None:
    references.compare(
        found=EPSILON_0 * strip_dipole_width(width * MM, height * MM, permittivity),
        reference=section_dipole(width, height, permittivity),
        rtol=0.02,
        source=SECTION,
        item=f"strip of {width:g} mm, {height:g} mm over a plane of 80 mm, permittivity {permittivity:g}",
        unit="C m/m per V",
        reason="plane and dielectric of finite width; copper of 2 µm",
        mark="computed independently",
    )


def potential_of_rectangle(x, y, z, half_x, half_y):
    """Of a rectangle that holds 1 C/m², times 4 pi eps_0, at a point from its middle [m]; the integral of 1/R."""
    total = 0.0
    for sign_x in (-1, 1):
        for sign_y in (-1, 1):
            u, v = x + sign_x * half_x, y + sign_y * half_y
            r = np.sqrt(u**2 + v**2 + z**2)
            part = u * np.log(v + r) + v * np.log(u + r) - (z * np.arctan2(u * v, z * r) if z else 0.0)
            total = total + sign_x * sign_y * part
    return total


def square_plate_capacitance(side: float, height: float, count: int = 22) -> float:
    """Of a square plate in air over a ground, by cells that crowd at its edges, over eps_0 side²/height [1]."""
    edges = -side / 2 * np.cos(np.linspace(0, math.pi, count + 1))
    middle, half = (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2
    x, y = (each.ravel() for each in np.meshgrid(middle, middle))
    half_x, half_y = (each.ravel() for each in np.meshgrid(half, half))
    gap_x, gap_y = x[:, None] - x, y[:, None] - y
    influence = potential_of_rectangle(gap_x, gap_y, 0.0, half_x, half_y)
    influence = influence - potential_of_rectangle(gap_x, gap_y, 2 * height, half_x, half_y)
    density = np.linalg.solve(influence, np.full(len(x), 4 * math.pi))
    return float((density * 4 * half_x * half_y).sum() / (side**2 / height))


@pytest.mark.parametrize("side", [5.0, 10.0, 20.0])
def test_square_patch_in_air(references, side: float) -> None:
    references.compare(
        found=patch_dipole_area(side, side, 1.0, 1.0) / side**2,
        reference=square_plate_capacitance(side, 1.0),
        rtol=0.035,
        source="A square plate over a ground, integral equation solved in the check",
        item=f"square of {side:g} heights in air: S over its area",
        unit="1",
        reason="fringes of short sides are taken as those of long ones; 0.3 % from the cells",
        mark="computed independently",
    )


def rings_of_a_disc(count: int = 400) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Radii, areas and charges of the rings of a disc of radius 1 at 1 V, rings crowding at the edge [m, m², C]."""
    edges = np.sin(np.linspace(0, math.pi / 2, count + 1))
    inner, outer = edges[:-1], edges[1:]
    radius, area = (inner + outer) / 2, math.pi * (outer**2 - inner**2)
    # Potential in the plane of a ring of unit charge, K(m)/(2 pi² eps_0 (r + r')); its own by a strip of its width.
    total = radius[:, None] + radius
    m = 4 * radius[:, None] * radius / total**2
    np.fill_diagonal(m, 0.0)
    influence = ellipk(m) / (2 * math.pi**2 * EPSILON_0 * total)
    own = np.log(16 * radius / (outer - inner)) + 1
    np.fill_diagonal(influence, own / (4 * math.pi**2 * EPSILON_0 * radius))
    return radius, area, np.linalg.solve(influence, np.ones(count))


def test_capacitance_of_a_disc_equals_that_of_its_rings() -> None:
    # Error of the rings: of first order, 400 of them; 0.5 %.
    assert disc_capacitance(1.0) == pytest.approx(rings_of_a_disc()[2].sum(), rel=5e-3, abs=0)


@pytest.mark.parametrize("offset", [0.1, 0.5, 0.8])
def test_stray_capacitance_is_half_of_the_discs_charge_on_the_patch(offset: float) -> None:
    radius, area, charge = rings_of_a_disc()
    density = np.interp(offset, radius, charge / area) / 2
    assert patch_stray_capacitance(1e-4, offset, 1.0) == pytest.approx(1e-4 * density, rel=1e-2, abs=0)


def test_level_dipole_of_a_sheet_of_patches_is_the_polarisability_of_the_disc() -> None:
    # All patches of both sides together, each with its moment's share of a field along the disc: 16 eps_0 a³/3.
    nodes, weights = np.polynomial.legendre.leggauss(2000)
    rho = 0.95 * (nodes + 1) / 2
    charge = np.array([patch_level_dipole_area(1.0, float(each), 1.0) for each in rho])
    inner = 2 * math.pi * (charge * rho**2 * weights).sum() * 0.95 / 2
    # From 0.95 a to the edge: 4/pi x integral of rho³/sqrt(1 - rho²), in closed form.
    root = math.sqrt(1 - 0.95**2)
    rim = 2 * math.pi * 4 / math.pi * (root - root**3 / 3)
    assert inner + rim == pytest.approx(16 / 3, rel=1e-6, abs=0)
