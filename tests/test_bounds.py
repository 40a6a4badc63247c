"""The brackets hold the exact value, for one loop and for several, and close as the mesh is refined."""

import math

import numpy as np
import pytest

from geometries import MM, Circle, CrossSection, CurrentLoop, Polygon, Rectangle, Region, Ring
from solver import MeshSettings, assemble_section, mesh_section, solve_at_dc, solve_perfect_conductor
from solver.formulas import rectangles
from solver.section.bounds import bracket_dc, bracket_perfect

MU_0 = 4e-7 * math.pi
ONE_LOOP = (CurrentLoop(),)


def wire(name, x, y, radius, role, group=""):
    return Region(name=name, outline=Circle(centre=(x * MM, y * MM), radius=radius * MM), role=role, group=group)


def strip(name, left, right, bottom, top, role, group=""):
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role=role, group=group)


def bounds(regions, loops=ONE_LOOP, settings=None):
    section = CrossSection(name="s", regions=tuple(regions), loops=tuple(loops))
    system = assemble_section(mesh_section(section, highest_frequency=0, settings=settings))
    return bracket_dc(solve_at_dc(system)), bracket_perfect(solve_perfect_conductor(system))


def brackets(regions, loops=ONE_LOOP, settings=None):
    return tuple(bounded.bracket for bounded in bounds(regions, loops, settings))


def test_a_wire_pair_lies_inside_both_brackets():
    static, perfect = brackets([wire("a", 0, 0, 0.5, "go"), wire("b", 1.5, 0, 0.5, "return")])
    exact_static = MU_0 / math.pi * (math.log(3.0) + 0.25)
    exact_perfect = MU_0 / math.pi * math.acosh(1.5)
    for bracket, exact in ((static, exact_static), (perfect, exact_perfect)):
        assert bracket.lower[0, 0] <= exact <= bracket.upper[0, 0]
        assert 0 < bracket.relative_gap < 1e-4


def test_a_coaxial_line_with_its_closed_annulus_lies_inside():
    shell = Region(name="s", outline=Ring(centre=(0, 0), inner_radius=1.75 * MM, outer_radius=2 * MM), role="return")
    _, perfect = brackets([wire("a", 0, 0, 0.5, "go"), shell])
    exact = MU_0 / (2 * math.pi) * math.log(3.5)
    assert perfect.lower[0, 0] <= exact <= perfect.upper[0, 0]
    assert perfect.relative_gap < 1e-5


def test_rectangular_bars_at_dc_lie_inside():
    static, _ = brackets([strip("a", -0.5, 0.5, 0.2, 0.235, "go"), strip("p", -5, 5, -0.035, 0, "return")])
    exact = rectangles.bars_dc_inductance(
        rectangles.Rectangle(left=-0.5e-3, bottom=0.2e-3, width=1e-3, height=35e-6),
        rectangles.Rectangle(left=-5e-3, bottom=-35e-6, width=10e-3, height=35e-6),
    )
    assert static.lower[0, 0] * (1 - 1e-9) <= exact <= static.upper[0, 0] * (1 + 1e-9)
    assert static.relative_gap < 1e-4


def test_the_bracket_closes_as_the_mesh_is_refined():
    regions = [strip("a", -0.5, 0.5, 0.2, 0.235, "go"), strip("p", -5, 5, -0.035, 0, "return")]
    gaps = [
        brackets(regions, settings=MeshSettings(growth=growth, corner_fraction=fraction))[1].relative_gap
        for growth, fraction in ((0.8, 0.2), (0.5, 0.08), (0.4, 0.005))
    ]
    assert gaps[0] > 3 * gaps[1] > 9 * gaps[2] > 0


def test_a_floating_slotted_plane_and_a_victim_are_bracketed_as_a_matrix():
    regions = [
        strip("go", -3.5, -0.5, 0, 0.035, "go"),
        strip("return", 0.5, 3.5, 0, 0.035, "return"),
        strip("left", -9, -0.5, -0.235, -0.2, "floating", "plane"),
        strip("right", 0.5, 9, -0.235, -0.2, "floating", "plane"),
        strip("trace", 4.5, 4.7, 0, 0.035, "victim"),
    ]
    loops = [CurrentLoop(), CurrentLoop(name="victim", go_group="trace", return_group="return")]
    _, coarse = brackets(regions, loops, MeshSettings(growth=0.8, corner_fraction=0.2))
    _, fine = brackets(regions, loops)
    assert np.all(coarse.lower <= fine.lower + 1e-18)
    assert np.all(fine.upper <= coarse.upper + 1e-18)
    assert np.all(fine.lower < fine.upper)
    assert fine.lower[0, 1] == pytest.approx(fine.lower[1, 0], rel=1e-6, abs=0)


def test_bonded_wires_share_the_current_so_that_the_energy_is_least():
    pair = [wire("a", 0, 0, 0.2, "go"), wire("b", 1, 0, 0.2, "go"), wire("r", 6, 0, 0.2, "return")]
    _, perfect = brackets(pair)
    assert 0 < perfect.relative_gap < 1e-4


def test_a_polygon_with_a_notch_is_bracketed():
    notch = Polygon(vertices=((0, 0), (2 * MM, 0), (2 * MM, MM), (MM, MM), (MM, 2 * MM), (0, 2 * MM)))
    static, perfect = brackets([Region(name="a", outline=notch, role="go"), wire("r", 5, 0, 0.4, "return")])
    assert 0 < static.relative_gap < 1e-4
    assert 0 < perfect.relative_gap < 1e-3


def test_the_gap_is_the_mismatch_of_the_two_fields_summed_over_the_triangles():
    for bounded in bounds([wire("a", 0, 0, 0.5, "go"), strip("b", 1, 3, 0, 0.2, "return"), wire("c", 0, 2, 0.1, "go")]):
        gap = bounded.bracket.upper[0, 0] - bounded.bracket.lower[0, 0]
        assert bounded.contributions.sum() == pytest.approx(gap, rel=1e-5, abs=0)
        assert len(bounded.elements) == len(bounded.contributions)
