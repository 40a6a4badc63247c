import math

import numpy as np
import pytest

from geometries.quantities import MM
from geometries.section.outline import Circle, Rectangle
from geometries.section.section import CrossSection, Region
from solver.section.boundary_layers import MeshSettings
from solver.section.extraction import (
    current_density,
    current_share,
    field_from_currents,
    field_magnitude,
    field_strength,
    line_moment,
    plane_net_inductance,
    sample_field_map,
    sheet_current,
    vector_potential,
)
from solver.section.fields import assemble_section, solve_at_dc, solve_at_frequency, solve_perfect_conductor
from solver.section.mesh import mesh_section

DISTANCE = 4 * MM
WIRES = CrossSection(
    name="wire pair",
    regions=(
        Region(name="out", outline=Circle(centre=(0, 0), radius=0.25 * MM), role="go"),
        Region(name="back", outline=Circle(centre=(DISTANCE, 0), radius=0.25 * MM), role="return"),
    ),
)
OVER_PLANE = CrossSection(
    name="strip over a plane",
    regions=(
        Region(name="strip", outline=Rectangle(left=-1 * MM, right=1 * MM, bottom=0, top=0.035 * MM), role="go"),
        Region(
            name="plane",
            outline=Rectangle(left=-9 * MM, right=9 * MM, bottom=-0.235 * MM, top=-0.2 * MM),
            role="return",
        ),
    ),
)


@pytest.fixture(scope="module")
def static():
    return solve_at_dc(assemble_section(mesh_section(WIRES, highest_frequency=0)))


@pytest.fixture(scope="module")
def plane_field():
    return solve_at_frequency(assemble_section(mesh_section(OVER_PLANE, highest_frequency=1e8)), 1e8)


def two_line_currents(points):
    """H of +1 A at the origin and -1 A at DISTANCE, by Ampere's law."""
    total = np.zeros_like(points)
    for x, current in ((0.0, 1.0), (DISTANCE, -1.0)):
        offset = points - [x, 0.0]
        turned = np.column_stack([-offset[:, 1], offset[:, 0]])
        total += current * turned / (2 * math.pi * np.sum(offset**2, axis=1))[:, None]
    return total


def test_the_static_field_outside_round_wires_is_that_of_line_currents(static):
    points = np.array([[2 * MM, 1 * MM], [-3 * MM, 0.5 * MM], [5 * MM, -2 * MM], [2 * MM, 0]])
    expected = two_line_currents(points)
    found = field_strength(static, points)
    assert np.abs(found - expected).max() < 0.01 * np.abs(expected).max()


def test_the_field_magnitude_is_the_length_of_the_vector(static):
    points = np.array([[2 * MM, 1 * MM]])
    assert field_magnitude(static, points)[0] == pytest.approx(np.linalg.norm(field_strength(static, points)))


def test_the_flux_between_two_points_is_the_difference_of_potential(static):
    x = np.linspace(0.5 * MM, 3.5 * MM, 4001)
    points = np.column_stack([x, np.zeros_like(x)])
    by = 4e-7 * math.pi * field_strength(static, points)[:, 1].real
    flux = np.trapezoid(by, x)
    ends = vector_potential(static, points[[0, -1]]).real
    assert flux == pytest.approx(ends[0] - ends[1], rel=1e-3, abs=0)


def test_a_pair_has_the_moment_current_times_distance(static):
    moment = line_moment(static)
    assert moment[0] == pytest.approx(0, abs=1e-12)
    assert moment[1] == pytest.approx(DISTANCE, rel=1e-6, abs=0)


def test_the_static_density_is_current_over_area(static):
    density = current_density(static, "out", np.array([[0.1 * MM, 0.05 * MM]]))
    assert density[0].real == pytest.approx(1 / (math.pi * (0.25 * MM) ** 2), rel=1e-9, abs=0)


def test_a_perfect_conductor_has_no_density():
    field = solve_perfect_conductor(assemble_section(mesh_section(WIRES, highest_frequency=0)))
    with pytest.raises(ValueError, match="surface current"):
        current_density(field, "out", np.array([[0.0, 0.0]]))
    with pytest.raises(ValueError, match="use a finite frequency"):
        line_moment(field)


def test_shares_are_signed_and_sum_to_zero(plane_field):
    assert current_share(plane_field, "strip") == pytest.approx(1, rel=1e-9, abs=0)
    assert current_share(plane_field, "plane") == pytest.approx(-1, rel=1e-9, abs=0)


def test_sheet_current_adds_up_to_the_return(plane_field):
    x = np.sinh(np.linspace(-math.asinh(89.9), math.asinh(89.9), 401)) * 0.1 * MM
    total = np.trapezoid(sheet_current(plane_field, "plane", x).real, x)
    assert total == pytest.approx(-1, rel=0.01, abs=0)


def test_plane_inductance_is_the_flux_that_passes_the_plane(plane_field):
    inductance = plane_net_inductance(plane_field, "plane")
    expected = 4e-7 * math.pi * 0.2 * MM / (math.pi * 18 * MM)
    assert inductance == pytest.approx(expected, rel=0.15, abs=0)


def test_the_map_carries_the_whole_current(plane_field):
    found = sample_field_map(plane_field, (-10 * MM, -2 * MM, 10 * MM, 2 * MM))
    corners = found.points[found.triangles]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    current = (area * found.density[found.triangles].mean(axis=1))[found.regions == 0].sum()
    assert current == pytest.approx(1, rel=2e-2, abs=0)
    assert np.all(found.density[found.triangles[found.regions == -1]] == 0)


def test_the_map_shows_what_the_field_is(plane_field):
    found = sample_field_map(plane_field, (-1 * MM, 0.1 * MM, 1 * MM, 0.6 * MM))
    some = found.points[::37]
    assert found.potential[::37] == pytest.approx(vector_potential(plane_field, some), rel=1e-9, abs=0)


@pytest.mark.parametrize("distance", [0.05, 0.3, 3.0])
def test_the_field_summed_over_currents_is_the_slope_of_the_potential(distance):
    settings = MeshSettings(growth=0.15)
    section = CrossSection(
        name="s",
        regions=tuple(
            Region(name=role, outline=Rectangle(left=x * MM, right=(x + 3) * MM, bottom=0, top=0.035 * MM), role=role)
            for role, x in (("go", -3.5), ("return", 0.5))
        ),
    )
    field = solve_at_frequency(assemble_section(mesh_section(section, highest_frequency=1e6, settings=settings)), 1e6)
    x = np.linspace(-5, 5, 40) * MM
    points = np.column_stack([x, np.full_like(x, (0.035 + distance) * MM)])
    exact = field_strength(field, points)  # by elements
    missed = np.linalg.norm(field_from_currents(field, points) - exact, axis=1)
    assert (missed < 5e-3 * np.linalg.norm(exact, axis=1)).all()
