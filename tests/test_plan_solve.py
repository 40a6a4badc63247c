import math

import numpy as np
import pytest
from skfem import MeshTri

from geometries.board.materials import COPPER
from geometries.layout.layout import (
    MIRROR,
    CopperSheet,
    EdgeTerminal,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    RingPort,
    Spread,
    Via,
)
from geometries.quantities import MM
from geometries.section.outline import Rectangle
from solver.errors import MeshError, SolutionError
from solver.figures import plan_figure
from solver.formulas import sheet_resistance, skin_depth
from solver.plan import PlanMeshSettings, image_shift, solve_plan, solve_plan_over
from solver.section.mesh import require_no_slivers

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


def pieces(*more, vias=(), plane=None, extra_ports=()):
    """Two pads side by side, a switch at the left and capacitors to the right of it."""
    upper = CopperSheet(name="upper", outline=box(0, 0.1, 6, 2.1), height=0.2 * MM)
    lower = CopperSheet(name="lower", outline=box(0, -2, 6, 0), height=0.2 * MM)
    ports = (facing("switch", 0.5, 1.5), *extra_ports)
    return PlanLayout(name="pieces", sheets=(upper, lower, *more), ports=ports, vias=vias, plane=plane)


def facing(name, left, right, *, up=True):
    ends = [
        EdgeTerminal(sheet=sheet, start=(left * MM, y * MM), end=(right * MM, y * MM))
        for sheet, y in (("upper", 0.1), ("lower", 0))
    ]
    entry, leave = ends if up else ends[::-1]
    return Port(name=name, entry=entry, leave=leave)


CAPACITORS = (facing("C1", 2.5, 3.5, up=False), facing("C2", 4.5, 5.5, up=False))


def test_each_capacitor_closes_a_loop_of_its_own():
    found = solve_plan(pieces(extra_ports=CAPACITORS), math.inf, COARSE)
    assert found.loops == ("C1", "C2")
    assert found.port_currents.tolist() == [[1, 1], [1, 0], [0, 1]]


def test_the_farther_capacitor_has_the_larger_loop():
    first, second = np.diag(solve_plan(pieces(extra_ports=CAPACITORS), math.inf, COARSE).inductance)
    assert first < second


def test_inductances_of_several_loops_are_symmetric_and_positive_definite():
    matrix = solve_plan(pieces(extra_ports=CAPACITORS), 1e7, COARSE).inductance
    assert matrix == pytest.approx(matrix.T, rel=1e-9, abs=0)
    assert np.linalg.eigvalsh(matrix).min() > 0


def test_parallel_loops_have_less_inductance_than_either():
    found = solve_plan(pieces(extra_ports=CAPACITORS), math.inf, COARSE)
    assert found.loop_inductance < np.diag(found.inductance).min()


def vias_to(lower):
    return tuple(
        Via(name=f"{sheet} {x}", centre=(x * MM, y * MM), radius=0.15 * MM, upper=sheet, lower=lower)
        for sheet, y in (("upper", 1.1), ("lower", -1))
        for x in (4, 5)
    )


def test_posts_to_the_plane_close_the_current_and_share_it():
    found = solve_plan(pieces(vias=vias_to(MIRROR), plane=MirrorPlane(height=0.0)), math.inf, COARSE)
    assert found.loops == ("switch",)
    assert found.via_currents[:2].sum() == pytest.approx(1, rel=1e-9)
    assert found.via_currents[2:].sum() == pytest.approx(-1, rel=1e-9)


def test_a_stitched_sheet_carries_the_return_like_the_plane_it_stands_for():
    plane = CopperSheet(name="plane", outline=box(-3, -5, 9, 6), height=0.0)
    sheet = solve_plan(pieces(plane, vias=vias_to("plane")), math.inf, COARSE)
    mirror = solve_plan(pieces(vias=vias_to(MIRROR), plane=MirrorPlane(height=0.0)), math.inf, COARSE)
    assert sheet.inductance[0, 0] == pytest.approx(mirror.inductance[0, 0], rel=0.02, abs=0)


def test_a_large_whole_sheet_is_as_good_as_images():
    frame = ring().sheets[0]
    plane = CopperSheet(name="plane", outline=box(-7, -6, 7, 6), height=0.0)
    layout = PlanLayout(name="two sheets", sheets=(frame, plane), ports=ring().ports)
    settings = PlanMeshSettings().coarser()
    sheet = solve_plan(layout, math.inf, settings).inductance[0, 0]
    mirror = solve_plan(ring(plane=MirrorPlane(height=0.0)), math.inf, settings).inductance[0, 0]
    assert sheet == pytest.approx(mirror, rel=1e-2, abs=0)


def test_a_slot_in_the_plane_costs_inductance():
    frame = ring().sheets[0]
    whole, slotted = (
        CopperSheet(name="plane", outline=box(-7, -6, 7, 6), holes=holes, height=0.0)
        for holes in ((), (box(-0.5, -4, 0.5, 4),))
    )
    values = [
        solve_plan(PlanLayout(name="x", sheets=(frame, plane), ports=ring().ports), math.inf, COARSE).inductance[0, 0]
        for plane in (whole, slotted)
    ]
    assert values[1] > 1.1 * values[0]


def test_a_plane_of_metal_adds_resistance_and_inductance():
    perfect, copper = (
        solve_plan(ring(plane=MirrorPlane(height=0.0, material=material, thickness=35e-6)), 1e7, COARSE)
        for material in (None, COPPER)
    )
    assert copper.resistance[0, 0] > perfect.resistance[0, 0]
    assert copper.inductance[0, 0] > perfect.inductance[0, 0]


def test_a_thick_plane_shifts_its_images_by_a_complex_skin_depth():
    plane = MirrorPlane(height=0.0, material=COPPER)
    expected = skin_depth(1e9, COPPER.conductivity) / (1 + 1j)
    assert image_shift(plane, 1 * MM, 1e9) == pytest.approx(expected, rel=5e-3)


def test_direct_current_in_a_mirror_plane_of_metal_is_refused():
    with pytest.raises(SolutionError, match="a mirror plane of metal has no meaning at 0 Hz"):
        solve_plan(ring(plane=MirrorPlane(height=0.0, material=COPPER)), 0.0)


def test_several_frequencies_at_once_are_the_same_as_one_by_one():
    together = solve_plan_over(strip(), (0.0, 1e6, math.inf), COARSE)
    for found in together:
        alone = solve_plan(strip(), found.frequency, COARSE)
        assert found.inductance == pytest.approx(alone.inductance, rel=1e-12, abs=0)


def test_a_pad_inside_the_copper_takes_the_current_all_around():
    copper = CopperSheet(name="strip", outline=box(0, 0, 6, 2), height=0.0)
    pad = PadTerminal(sheet="strip", outline=box(4, 0.6, 5, 1.4))
    values = [
        solve_plan(
            PlanLayout(
                name="pad",
                sheets=(copper,),
                ports=(Port(name="source", entry=edge(0, 0, 0, 2), leave=pad, spread=spread),),
            ),
            0.0,
            COARSE,
        ).resistance[0, 0]
        for spread in Spread
    ]
    assert 2 * sheet_resistance(35e-6, 58e6) < values[0] < values[1]


def test_the_density_is_drawn_level_under_level():
    plane = CopperSheet(name="plane", outline=box(-3, -5, 9, 6), height=0.0)
    figure = plan_figure(solve_plan(pieces(plane, vias=vias_to("plane")), 1e7, COARSE))
    assert [axes.get_title(loc="left") for axes in figure.axes[:2]] == ["copper at 0.2 mm", "copper at 0 mm"]
    assert "switch" in [label.get_text() for label in figure.axes[0].texts]


def test_a_triangle_without_height_is_refused_with_its_place():
    points = np.array([[0.0, 1e-3, 0.5e-3, 0.5e-3], [0.0, 0.0, 1e-12, 1e-3]])
    flat = MeshTri(points, np.array([[0, 0, 1], [1, 2, 2], [2, 3, 3]]))
    with pytest.raises(MeshError, match=r"without height near x = 0\.5 mm"):
        require_no_slivers("top", flat)


def through_a_plane(*extra, hole=()):
    """A strip above and one below, joined at both ends; between them a plane that the vias pass or join."""
    heights = {"upper": 0.4, "plane": 0.2, "lower": 0.0}
    outlines = {"upper": box(0, 0, 6, 2), "plane": box(-2, -2, 8, 4), "lower": box(0, 0, 6, 2)}
    sheets = [
        CopperSheet(name=name, outline=outlines[name], height=z * MM, holes=tuple(hole) if name == "plane" else ())
        for name, z in heights.items()
    ]
    port = Port(
        name="source",
        entry=PadTerminal(sheet="upper", outline=box(0.5, 0.5, 1.5, 1.5)),
        leave=PadTerminal(sheet="lower", outline=box(0.5, 0.5, 1.5, 1.5)),
    )
    return PlanLayout(name="through", sheets=tuple(sheets), ports=(port,), vias=tuple(extra))


def post(name, upper, lower, x=5.0):
    return Via(name=name, centre=(x * MM, 1 * MM), radius=0.15 * MM, upper=upper, lower=lower)


CLEARANCE = (box(4.5, 0.5, 5.5, 1.5),)


def test_sides_of_a_board_are_coupled_through_a_clearance():
    # Go above and return below a whole plane: each side induces its own return in it, which passes the opening's edge.
    parted = solve_plan(through_a_plane(post("v", "upper", "lower"), hole=CLEARANCE), math.inf, COARSE)
    wide = solve_plan(through_a_plane(post("v", "upper", "lower"), hole=(box(-1, -1, 7, 3),)), math.inf, COARSE)
    assert parted.via_currents[0, 0] == pytest.approx(1, abs=1e-9)
    assert 0.8 * wide.loop_inductance < parted.loop_inductance < 1.3 * wide.loop_inductance


def test_a_via_that_joins_three_layers_carries_the_loop_through_all():
    chain = (post("one", "upper", "plane"), post("two", "plane", "lower"))
    solved = solve_plan(through_a_plane(*chain), math.inf, COARSE)
    assert np.abs(solved.via_currents[:, 0]) == pytest.approx([1, 1], abs=1e-9)


def test_a_tie_at_one_end_carries_nothing():
    vias = (post("one", "upper", "lower"), post("tie", "upper", "plane", 3.0))
    assert solve_plan(through_a_plane(*vias, hole=CLEARANCE), math.inf, COARSE).via_currents[1, 0] == 0
