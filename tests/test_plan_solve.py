import math

import numpy as np
import pytest

from geometries.outline import Rectangle
from geometries.plan import CopperSheet, EdgeTerminal, MirrorPlane, PlanLayout, Port, RingPort, Spread
from geometries.quantities import MM
from solver.formulas import sheet_resistance
from solver.plan import PlanMeshSettings, solve_plan

COARSE = PlanMeshSettings().coarser().coarser()


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def edge(x0, y0, x1, y1):
    return EdgeTerminal(sheet="strip", start=(x0 * MM, y0 * MM), end=(x1 * MM, y1 * MM))


def strip(spread=Spread.FREE, plane=None):
    copper = CopperSheet(name="strip", outline=box(0, 0, 6, 2), height=0.5 * MM)
    port = Port(name="source", entry=edge(0, 0, 0, 2), leave=edge(6, 0, 6, 2), spread=spread)
    return PlanLayout(name="strip", sheets=(copper,), ports=(port,), plane=plane)


def ring(scale=1.0, plane=None):
    copper = CopperSheet(
        name="ring",
        outline=box(-2.5 * scale, -1.5 * scale, 2.5 * scale, 1.5 * scale),
        holes=(box(-1.5 * scale, -0.5 * scale, 1.5 * scale, 0.5 * scale),),
        height=0.5 * scale * MM,
    )
    port = RingPort(name="loop", sheet="ring", inside=(0.0, 0.0))
    return PlanLayout(name="ring", sheets=(copper,), ports=(port,), plane=plane)


@pytest.mark.parametrize("spread", Spread)
def test_a_strip_has_the_resistance_of_its_squares(spread):
    found = solve_plan(strip(spread), 0.0, COARSE).resistance[0, 0]
    assert found == pytest.approx(3 * sheet_resistance(35e-6, 58e6), rel=1e-9, abs=0)


def test_inductance_scales_with_length():
    small = solve_plan(ring(), math.inf, COARSE).inductance[0, 0]
    assert solve_plan(ring(scale=3.0), math.inf, COARSE).inductance[0, 0] == pytest.approx(3 * small, rel=1e-6, abs=0)


def test_a_plane_lowers_the_inductance():
    free, over = (solve_plan(ring(plane=plane), math.inf, COARSE) for plane in (None, MirrorPlane(height=0.0)))
    assert over.inductance[0, 0] < 0.9 * free.inductance[0, 0]


def test_the_stated_error_of_a_coarse_mesh_holds_the_value_of_a_fine_one():
    usual = PlanMeshSettings()
    coarse, fine = (solve_plan(ring(), math.inf, settings) for settings in (usual.coarser(), usual))
    change = abs(fine.inductance[0, 0] / coarse.inductance[0, 0] - 1)
    assert change < coarse.inductance_error
    assert fine.inductance_error < coarse.inductance_error


def test_a_port_of_free_spread_has_the_lower_inductance():
    free, uniform = (solve_plan(strip(spread), math.inf, COARSE).inductance[0, 0] for spread in Spread)
    assert free < uniform


def test_the_density_carries_the_current_of_the_loop():
    found = solve_plan(strip(), 1e6, COARSE)
    sheet = found.sheets[0]
    a, b, c = (sheet.points[sheet.triangles[:, k]] for k in range(3))
    areas = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    mean = areas @ sheet.density[0] / areas.sum()
    assert mean[0] == pytest.approx(1 / (2 * MM), rel=1e-9)


def test_the_moment_of_a_ring_lies_between_its_inner_and_outer_area():
    moment = solve_plan(ring(), 0.0, COARSE).moment[0, 2].real
    assert 3 * 1e-6 < moment < 15 * 1e-6


def test_a_plane_cancels_the_moment_of_a_ring():
    found = solve_plan(ring(plane=MirrorPlane(height=0.0)), math.inf, COARSE)
    assert found.moment[0, 2] == 0
    assert abs(found.copper_moment[0, 2]) > 1e-6


def test_a_negative_frequency_is_refused():
    with pytest.raises(ValueError, match=r"frequency is -1.0 Hz"):
        solve_plan(strip(), -1.0)
