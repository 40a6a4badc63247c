"""Derivatives at fixed currents: against solving the changed layout anew, and against what scaling says."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.board.materials import COPPER
from geometries.layout.layout import CopperSheet, MirrorPlane, PlanLayout, RingPort
from geometries.quantities import MM
from geometries.section.outline import Polygon, Rectangle
from solver.errors import MeshError
from solver.plan import PlanMeshSettings, plan_energy, solve_plan

SETTINGS = PlanMeshSettings().coarser()


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def ring(width=3.0, height=0.2, scale=1.0):
    outer = [scale * side for side in (-2.5, -width / 2, 2.5, width / 2)]
    inner = [scale * side for side in (-1.5, -0.5, 1.5, 0.5)]
    copper = CopperSheet(name="ring", outline=box(*outer), holes=(box(*inner),), height=scale * height * MM)
    port = RingPort(name="loop", sheet="ring", inside=(0.0, 0.0))
    return PlanLayout(name="ring", sheets=(copper,), ports=(port,), plane=MirrorPlane(height=0.0))


@pytest.fixture(scope="module")
def solved():
    return solve_plan(ring(), math.inf, SETTINGS)


def slope(solved, step, **ends):
    """Central difference of the layout's inductance at its own currents by one keyword of `ring` [nH per unit]."""
    (name, value), *_ = ends.items()
    above, below = (solved.moved(ring(**{name: value + sign * step}))[0, 0] for sign in (1, -1))
    return (above - below) / (2 * step)


@pytest.mark.parametrize(("name", "value"), [("height", 0.2), ("width", 3.0)])
def test_the_derivative_at_fixed_currents_is_that_of_solving_anew(solved, name, value):
    above, below = (
        solve_plan(ring(**{name: value * factor}), math.inf, PlanMeshSettings()).inductance[0, 0]
        for factor in (1.05, 0.95)
    )
    expected = (above - below) / (0.1 * value)
    assert slope(solved, 0.02 * value, **{name: value}) == pytest.approx(expected, rel=0.015, abs=0)


def test_scaled_by_a_part_the_inductance_grows_by_that_part(solved):
    as_it_is = solved.moved(ring())[0, 0]
    # The grid is of single precision: 1e-7 of the inductance over a step of 1 %.
    assert slope(solved, 0.01, scale=1.0) == pytest.approx(as_it_is, rel=1e-5, abs=0)


def test_at_the_layout_itself_it_is_the_inductance_of_the_coarser_mesh(solved):
    coarse = solve_plan(ring(), math.inf, SETTINGS.coarser()).moved(ring())[0, 0]
    as_it_is = solved.moved(ring())[0, 0]
    assert solved.inductance[0, 0] < as_it_is < coarse


def test_other_corners_are_no_move(solved):
    corners = [(-2.5, -1.5), (2.5, -1.5), (2.5, 1.0), (2.0, 1.5), (-2.5, 1.5)]
    outline = Polygon(vertices=tuple((x * MM, y * MM) for x, y in corners))
    copper = CopperSheet(name="ring", outline=outline, holes=ring().sheets[0].holes, height=0.2 * MM)
    changed = PlanLayout(name="cut", sheets=(copper,), ports=ring().ports, plane=MirrorPlane(height=0.0))
    with pytest.raises(MeshError, match="copper 'ring' has other corners or terminals after the change"):
        solved.moved(changed)


def test_a_move_that_turns_triangles_over_is_refused(solved):
    with pytest.raises(MeshError, match="triangles of copper 'ring' would turn over"):
        solved.moved(ring(width=1.001))


def metal_ring(frequency, material):
    layout = ring()
    sheet = replace(layout.sheets[0], material=material)
    return replace(layout, sheets=(sheet,), plane=replace(layout.plane, material=material, thickness=35e-6)), frequency


def test_the_parts_of_the_triangles_add_up_to_the_inductance():
    layout, frequency = metal_ring(30e6, COPPER)
    solution = solve_plan(layout, frequency, SETTINGS)
    energy = plan_energy(layout, solution.coarse, frequency, np.ones(1))
    assert energy.stored == pytest.approx(solution.coarse_inductance[0, 0], rel=1e-6, abs=0)


def test_the_far_half_of_a_ring_holds_as_much_as_the_near_one(solved):
    energy = plan_energy(ring(), solved.coarse, math.inf, np.ones(1))
    (sheet,) = energy.sheets
    right = sheet.points[sheet.triangles].mean(axis=1)[:, 0] > 0
    assert sheet.stored[right].sum() / energy.stored == pytest.approx(0.5, abs=0.01)
