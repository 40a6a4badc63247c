import math

import numpy as np
import pytest

from geometries.errors import GeometryError
from geometries.quantities import MM
from geometries.section.outline import Circle, Polygon, Rectangle, Ring
from geometries.section.section import CrossSection, CurrentLoop, Dielectric, Region
from solver.errors import MeshError
from solver.formulas import EPSILON_0
from solver.section.electrostatics import bracket_capacitance, solve_electric
from solver.section.fields import assemble_section
from solver.section.mesh import mesh_section


def bar(name, left, right, bottom, top, group=""):
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role="floating", group=group)


def slab(permittivity, left, right, bottom, top):
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Dielectric(name="slab", outline=outline, relative_permittivity=permittivity)


TRACES = (
    bar("one", -1.5, -0.5, 0.0, 0.035),
    bar("two", 0.5, 0.7, 0.0, 0.035),
    bar("plane", -10.0, 10.0, -0.235, -0.2),
)
LOOP = (CurrentLoop(go_group="one", return_group="plane"),)
BOARD = (slab(4.4, -12.0, 12.0, -0.2, 0.0), slab(4.4, -12.0, 12.0, -0.235, -0.2))


@pytest.fixture(scope="module")
def traces():
    section = CrossSection(name="s", regions=TRACES, loops=LOOP, dielectrics=BOARD)
    system = assemble_section(mesh_section(section, highest_frequency=0))
    return bracket_capacitance(solve_electric(system))


def test_charges_sum_to_zero(traces):
    assert np.abs(traces.middle.sum(axis=0)).max() < 1e-9 * traces.middle.max()


def test_conductors_attract_charge_of_the_other_sign(traces):
    off = traces.upper[~np.eye(3, dtype=bool)]
    assert off.max() < 0


def test_the_matrix_is_symmetric(traces):
    assert np.abs(traces.middle - traces.middle.T).max() < 1e-12 * traces.middle.max()


def test_bounds_are_close(traces):
    assert traces.upper[0, 0] / traces.lower[0, 0] - 1 < 1e-3


@pytest.mark.parametrize("permittivity", [1.0, 4.4])
def test_bounds_enclose_the_coaxial_line(permittivity):
    regions = (
        Region(name="one", outline=Circle(centre=(0, 0), radius=0.5 * MM), role="floating"),
        Region(name="plane", outline=Ring(centre=(0, 0), inner_radius=2 * MM, outer_radius=2.2 * MM), role="floating"),
    )
    filling = (slab(permittivity, -3, 3, -3, 3),)
    section = CrossSection(name="s", regions=regions, loops=LOOP, dielectrics=filling)
    matrix = bracket_capacitance(solve_electric(assemble_section(mesh_section(section, highest_frequency=0))))
    exact = 2 * math.pi * permittivity * EPSILON_0 / math.log(4)
    assert matrix.lower[0, 0] < exact < matrix.upper[0, 0]


def test_bonded_halves_share_their_charge_as_one_conductor():
    halves = (
        bar("left", -1.5, -1.0, 0.0, 0.035, "one"),
        bar("right", -0.9999, -0.5, 0.0, 0.035, "one"),
        *TRACES[1:],
    )
    whole, cut = (
        bracket_capacitance(
            solve_electric(
                assemble_section(mesh_section(CrossSection(name="s", regions=regions, loops=LOOP), highest_frequency=0))
            )
        )
        for regions in (TRACES, halves)
    )
    assert cut.between("one", "plane") == pytest.approx(whole.between("one", "plane"), rel=2e-3, abs=0)


def test_a_dielectric_everywhere_multiplies_all_by_its_permittivity():
    system = assemble_section(
        mesh_section(CrossSection(name="s", regions=TRACES, loops=LOOP, dielectrics=BOARD), highest_frequency=0)
    )
    ones = np.ones(system.meshed.mesh.nelements)
    air, filled = (solve_electric(system, permittivity * ones).capacitance for permittivity in (1.0, 3.0))
    assert np.allclose(filled, 3 * air, rtol=1e-9, atol=0)


def test_the_reaction_on_one_group_is_the_reaction_on_the_other():
    """Charge on two for a volt on one, and the reverse, each taken from one field alone."""
    system = assemble_section(mesh_section(CrossSection(name="s", regions=TRACES, loops=LOOP), highest_frequency=0))
    solution = solve_electric(system)
    stiffness = EPSILON_0 * system.reluctance * (4e-7 * math.pi)
    charge = [stiffness @ solution.potential[:, group] for group in (0, 1)]
    there = charge[0][system.unknowns("two")].sum()
    back = charge[1][system.unknowns("one")].sum()
    assert there == pytest.approx(back, rel=1e-8, abs=0)


def test_the_first_of_overlapping_dielectrics_counts():
    thin = CrossSection(
        name="s",
        regions=TRACES,
        loops=LOOP,
        dielectrics=(slab(2.0, -12.0, 12.0, -0.2, 0.0), slab(9.0, -12.0, 12.0, -0.2, 0.0)),
    )
    meshed = mesh_section(thin, highest_frequency=0)
    assert set(np.unique(meshed.relative_permittivity)) == {1.0, 2.0}


def test_every_triangle_outside_conductors_is_air_or_dielectric():
    meshed = mesh_section(CrossSection(name="s", regions=TRACES, loops=LOOP, dielectrics=BOARD), highest_frequency=1e8)
    parts = [meshed.elements(name) for name in ("air", "dielectric 0", "dielectric 1")]
    assert np.array_equal(np.sort(np.concatenate(parts)), meshed.outside)


def test_a_dielectric_has_the_area_of_its_outline():
    coat = Dielectric(
        name="coat",
        outline=Polygon(
            vertices=tuple((x * MM, y * MM) for x, y in ((-2, 0), (2, 0), (2, 0.02), (-0.4, 0.06), (-1.6, 0.06)))
        ),
        relative_permittivity=3.5,
    )
    meshed = mesh_section(CrossSection(name="s", regions=TRACES, loops=LOOP, dielectrics=(coat,)), highest_frequency=0)
    corners = meshed.mesh.p[:, meshed.mesh.t[:, meshed.elements("dielectric 0")]]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    copper = 1.0 * 0.035 + 0.2 * 0.035
    expected = (coat.outline.area - copper * MM**2) / MM**2
    assert np.abs(a[0] * b[1] - a[1] * b[0]).sum() / 2 / MM**2 == pytest.approx(expected, rel=1e-6)


def test_a_border_that_meets_a_conductor_between_its_corners_is_refused():
    cutting = (slab(4.4, -12.0, 12.0, -0.2, 0.02),)
    section = CrossSection(name="s", regions=TRACES, loops=LOOP, dielectrics=cutting)
    with pytest.raises(MeshError, match=r"y = 0\.02 mm away from its corners"):
        mesh_section(section, highest_frequency=0)


@pytest.mark.parametrize("permittivity", [0.5, math.nan, math.inf])
def test_a_permittivity_below_one_is_refused(permittivity):
    with pytest.raises(GeometryError, match="must be 1 or above"):
        slab(permittivity, 0, 1, 0, 1)
