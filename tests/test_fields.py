"""Identities that any solution of the section view obeys."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.quantities import MM
from geometries.section.outline import Circle, Rectangle
from geometries.section.section import CrossSection, CurrentLoop, Region
from solver.section.extraction import dissipated_power, magnetic_energy
from solver.section.fields import assemble_section, solve_at_dc, solve_at_frequency, solve_perfect_conductor
from solver.section.mesh import mesh_section

FREQUENCIES = (1e4, 1e6, 1e8)


def rectangle(name, left, right, bottom, top, role, group=""):
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role=role, group=group)


SECTION = CrossSection(
    name="pair over a plane, with a victim",
    regions=(
        rectangle("go", -3.5, -0.5, 0, 0.035, "go"),
        rectangle("return", 0.5, 3.5, 0, 0.035, "return"),
        rectangle("plane", -8, 8, -0.235, -0.2, "return"),
        rectangle("shield", -6, 6, -1.3, -1.265, "floating"),
        rectangle("trace", 4.5, 4.7, 0, 0.035, "victim"),
    ),
    loops=(CurrentLoop(), CurrentLoop(name="victim", go_group="trace", return_group="return")),
)


@pytest.fixture(scope="module")
def system():
    return assemble_section(mesh_section(SECTION, highest_frequency=FREQUENCIES[-1]))


@pytest.fixture(scope="module", params=FREQUENCIES)
def field(request, system):
    return solve_at_frequency(system, request.param)


def test_the_loop_matrix_is_symmetric(field):
    scale = np.abs(field.inductance_per_length).max()
    assert abs(field.inductance_per_length[0, 1] - field.inductance_per_length[1, 0]) < 1e-6 * scale
    assert field.resistance_per_length[0, 1] == pytest.approx(field.resistance_per_length[1, 0], rel=1e-6, abs=0)


def test_the_energy_is_half_l_i_squared(field):
    for loop in (0, 1):
        assert 2 * magnetic_energy(field, loop=loop) == pytest.approx(
            field.inductance_per_length[loop, loop], rel=1e-6, abs=0
        )


def test_the_power_is_half_r_i_squared(field):
    for loop in (0, 1):
        assert 2 * dissipated_power(field, loop=loop) == pytest.approx(
            field.resistance_per_length[loop, loop], rel=1e-6
        )


def test_currents_sum_to_zero_and_floating_conductors_carry_none(field):
    assert np.abs(field.region_currents.sum(axis=0)).max() < 1e-6
    assert np.abs(field.region_currents[3]).max() < 1e-6


def test_resistance_rises_and_inductance_falls_with_frequency(system):
    fields = [solve_at_dc(system), *(solve_at_frequency(system, f) for f in FREQUENCIES)]
    resistance = [field.resistance_per_length[0, 0] for field in fields]
    inductance = [field.inductance_per_length[0, 0] for field in fields]
    assert resistance == sorted(resistance)
    assert inductance == sorted(inductance, reverse=True)
    assert inductance[-1] > solve_perfect_conductor(system).inductance_per_length[0, 0]


def test_a_low_frequency_gives_the_static_values(system):
    low, static = solve_at_frequency(system, 1.0), solve_at_dc(system)
    assert low.inductance_per_length == pytest.approx(static.inductance_per_length, rel=1e-6, abs=0)
    assert low.resistance_per_length == pytest.approx(static.resistance_per_length, rel=1e-6, abs=0)


def test_the_static_resistance_is_one_over_sigma_area(system):
    areas = [region.outline.area for region in SECTION.regions]
    expected = 1 / (58e6 * areas[0]) + 1 / (58e6 * (areas[1] + areas[2]))
    assert solve_at_dc(system).resistance_per_length[0, 0] == pytest.approx(expected, rel=1e-9, abs=0)


def test_inductance_does_not_change_when_all_lengths_scale():
    def perfect(scale):
        wires = tuple(
            Region(name=role, outline=Circle(centre=(x * scale, 0.0), radius=0.3 * scale), role=role)
            for x, role in ((0.0, "go"), (1.0, "return"))
        )
        system = assemble_section(mesh_section(CrossSection(name="pair", regions=wires), highest_frequency=0))
        return solve_perfect_conductor(system).inductance_per_length[0, 0]

    # a power of two, so that the two meshes are the same to the last digit
    assert perfect(2.0**-20) == pytest.approx(perfect(1.0), rel=1e-9, abs=0)


def test_exchanging_go_and_return_changes_nothing(system):
    turned = replace(SECTION, loops=(CurrentLoop(go_group="return", return_group="go"),))
    field = solve_at_frequency(assemble_section(mesh_section(turned, highest_frequency=1e8)), 1e8)
    same = solve_at_frequency(system, 1e8)
    assert field.inductance_per_length[0, 0] == pytest.approx(same.inductance_per_length[0, 0], rel=1e-9, abs=0)


def test_more_layers_of_mesh_change_the_answer_by_less_than_the_order_does(system):
    coarse = solve_at_frequency(assemble_section(system.meshed, order=2), 1e8)
    fine = solve_at_frequency(system, 1e8)
    assert fine.inductance_per_length[0, 0] == pytest.approx(coarse.inductance_per_length[0, 0], rel=2e-3, abs=0)
    assert fine.inductance_per_length[0, 0] != coarse.inductance_per_length[0, 0]


@pytest.mark.parametrize("frequency", [0.0, -1e6, 2e8, math.nan])
def test_frequencies_the_mesh_was_not_made_for_are_refused(system, frequency):
    with pytest.raises(ValueError, match="must be above 0 and at most 1e\\+08 Hz"):
        solve_at_frequency(system, frequency)
