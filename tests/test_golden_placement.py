"""Golden cases of placements and their whole loops: numbers worked out by hand, derivation beside them.

The board from top to bottom: 35 um, 200 um, 20 um, 1100 um, 20 um, 150 um, 35 um; heights count from the lower face of
the first copper, upwards. The part is an 0603: 1.6 mm long, 0.8 mm wide; the via is 0.3 mm drilled, its pad 0.6 mm.
Copper 1.6 mm wide on either side of a gap of 0.6 mm: centre lines 2.2 mm apart, each from 0.3 to 1.9 mm off the middle.
"""

import math

import numpy as np
import pytest
from scipy.integrate import dblquad, quad

from geometries.board.capacitors import Capacitor, LumpedEsl, capacitor_body, switch_package
from geometries.board.parts import VIAS, capacitor_case
from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import FarSide, MirroredPair, PlacedLoop, SameSide, Site
from geometries.section.loops import Plane, Tie
from solver.loop.terms import VIAS as VIA_TERM
from solver.loop.whole_loop import whole_loop
from solver.plan import PlanMeshSettings
from solver.report.whole_loop_part import first_change

MM, UM = 1e-3, 1e-6
PER_PI = 4e-7
"""mu_0 / pi [H/m]."""

BOARD = Stackup(
    name="four layers by hand",
    note="invented",
    layers=(
        CopperLayer(name="L1", thickness=35 * UM),
        DielectricLayer(name="upper", thickness=200 * UM, relative_permittivity=4.4),
        CopperLayer(name="L2", thickness=20 * UM),
        DielectricLayer(name="core", thickness=1100 * UM, relative_permittivity=4.4),
        CopperLayer(name="L3", thickness=20 * UM),
        DielectricLayer(name="lower", thickness=150 * UM, relative_permittivity=4.4),
        CopperLayer(name="L4", thickness=35 * UM),
    ),
)
GROUND = tuple(Plane(layer=layer, tie=Tie.NONE, width=40 * MM) for layer in ("L2", "L3"))


def part(height=None):
    return Capacitor(
        case=capacitor_case("0603"),
        capacitance=1e-6,
        resistance=5e-3,
        body=LumpedEsl(inductance=0.3e-9) if height is None else capacitor_body(None, height),
    )


def placed(kind, *, capacitors, planes, **more):
    placement = kind(
        copper_width=1.6 * MM,
        gap=0.6 * MM,
        distance=0.5 * MM,
        package=switch_package("flip-chip"),
        via=VIAS[0],
        capacitors=capacitors,
        **more,
    )
    return PlacedLoop(placement=placement, site=Site(stackup=BOARD, planes=planes))


def edges(outline):
    return pytest.approx([1e3 * edge for edge in outline.bounds], abs=1e-9)


@pytest.fixture(scope="module")
def far():
    return placement_plan("far", placed(FarSide, capacitors=(part(),), planes=GROUND, via_count=2))


@pytest.fixture(scope="module")
def same():
    return placement_plan("same", placed(SameSide, capacitors=(part(0.2 * MM),), planes=GROUND[:1]))


def test_near_copper_ends_at_the_far_edge_of_the_vias_pads(far):
    # 0.5 mm to the pads, 0.6 mm of pad.
    assert edges(far.near.sheets[0].outline) == [0.0, 0.3, 1.1, 1.9]
    assert edges(far.near.sheets[1].outline) == [0.0, -1.9, 1.1, -0.3]


def test_far_copper_reaches_from_behind_the_part_to_the_vias(far):
    # 0.5 mm less 0.2 mm to the part, its 0.8 mm, and 0.1 mm of land beyond it: -0.6 mm.
    assert edges(far.far.sheets[0].outline) == [-0.6, 0.3, 1.1, 1.9]


def test_heights_of_copper_and_planes_are_those_of_the_faces_that_see_each_other(far):
    # Upside down, the far side's signs change: upper face of L4 at -1.49 mm, lower face of L3 at -1.34 mm.
    heights = (far.near.sheets[0].height, far.near.plane.height, far.far.sheets[0].height, far.far.plane.height)
    assert heights == pytest.approx((0.0, -0.20 * MM, 1.49 * MM, 1.34 * MM), abs=1e-12)


def test_vias_have_half_the_drill_as_their_radius(far):
    assert {via.radius for layout in far.layouts for via in layout.vias} == {0.15 * MM}
    assert far.passage.radius == 0.15 * MM


def test_two_vias_divide_the_width_into_quarters(far):
    # 0.3 + 1.6/4 and 0.3 + 3 x 1.6/4; x is 0.5 mm and half a pad.
    upper = [via.centre for via in far.near.vias if via.upper == "input"]
    assert np.allclose(upper, [(0.8 * MM, 0.7 * MM), (0.8 * MM, 1.5 * MM)], rtol=0, atol=1e-12)


def test_the_passage_goes_from_the_top_of_the_first_ground_layer_to_the_bottom_of_the_last(far):
    # 20 + 1100 + 20 um.
    assert far.passage.height == pytest.approx(1.14 * MM, rel=1e-9, abs=0.0)


def test_current_goes_down_in_one_net_and_up_in_the_other(far):
    senses = {y > 0: sense for (_, y), sense in zip(far.passage.positions, far.passage.senses, strict=True)}
    assert senses == {True: 1, False: -1}


def test_a_body_stands_at_its_electrode_height_over_the_copper(same):
    # 35 um of copper above the current's face, 0.2 mm to the electrodes.
    body = next(sheet for sheet in same.near.sheets if sheet.name.startswith("body"))
    assert body.height == pytest.approx(0.235 * MM, rel=1e-9, abs=0.0)
    # Its ends stand in the middle of the terminals: from 0.4 mm (half the clear length) to 0.8 mm.
    assert edges(body.outline) == [0.5, -0.6, 1.3, 0.6]


def test_a_terminal_lies_a_tenth_inside_what_is_soldered(same):
    # Solder from 0.4 to 0.8 mm off the middle, 0.5 to 1.3 mm along: a tenth of 0.4 mm is left out all round.
    (port,) = (port for port in same.near.ports if port.name == "C1")
    assert edges(port.entry.outline) == [0.54, -0.76, 1.26, -0.44]


def test_the_left_side_of_a_pair_mirrors_the_right_one():
    plan = placement_plan("pair", placed(MirroredPair, capacitors=(part(), part()), planes=GROUND, part_width=3 * MM))
    found = {sheet.name: sheet.outline for sheet in plan.near.sheets}
    # 0.5 mm, the part's 0.8 mm and 0.1 mm of land; mirrored about x = -1.5 mm.
    assert edges(found["input right"]) == [0.0, 0.3, 1.4, 1.9]
    assert edges(found["input left"]) == [-4.4, 0.3, -3.0, 1.9]


def upright(height, distance):
    """Neumann's integral of a post over a mirror and its whole length with the image, by quadrature [H]."""
    kernel = lambda other, z: 1e-7 / math.hypot(distance, z - other)  # noqa: E731
    return dblquad(kernel, 0.0, height, -height, height, epsabs=0, epsrel=1e-10)[0]


def tube(height, radius):
    """The mean of that over the chords of a circle."""
    return quad(lambda turn: upright(height, 2 * radius * math.sin(turn / 2)) / math.pi, 0.0, math.pi)[0]


def test_via_term_of_a_far_side_between_ground_layers(monkeypatch):
    """One via per net, 2.2 mm apart: two short posts at the near and far side, and endless lines between the planes.

    Near 200 um and far 150 um high with their images: twice (own less mutual) each, the solver's 48 chords within
    0.05 % of the whole. Between the planes h mu_0/pi
    ln(s/r) with h = 1.14 mm: 1.14 mm x 4e-7 H/m x ln(2.2/0.15) = 1.2246 nH.
    """
    monkeypatch.setattr("solver.loop.whole_loop.dimensions", lambda placed: ())
    one = placed(FarSide, capacitors=(part(),), planes=GROUND, via_count=1)
    loop = whole_loop("far", one, 100e6, PlanMeshSettings().coarser().coarser())
    ends = sum(2 * (tube(h, 0.15 * MM) - upright(h, 2.2 * MM)) for h in (200 * UM, 150 * UM))
    between = 1.14 * MM * PER_PI * math.log(2.2 / 0.15)
    assert between == pytest.approx(1.2246e-9, rel=1e-4, abs=0.0)
    assert loop.term(VIA_TERM).amount == pytest.approx(ends + between, rel=5e-4, abs=0.0)


def test_first_change_says_what_a_tenth_of_a_millimetre_brings(placed_study):
    # 4e-7 H/m x 1e-4 m = 4e-11 H; a tenth of 0.6 mm x 4e-7 H/m = 2.4e-11 H, of the package's 0.125 nH 1.25e-11 H.
    sentence = first_change(placed_study.results[0].whole_loop)
    assert sentence.startswith("distance: 0.1 mm less ")
    assert " 0.040 nH; by ten per cent: distance, less of it takes off 0.024 nH" in sentence


def test_whole_loop_adds_its_terms_and_their_uncertainties_as_squares(placed_study):
    # 1.2 + 0.3 + 0.1 + 0.125 nH; 0.12^2 + 0.03^2 + 0.01^2 + 0.0125^2 = 0.01555625, whose root is 0.124725.
    loop = placed_study.results[0].whole_loop
    assert loop.inductance == pytest.approx(1.725e-9, rel=1e-12, abs=0.0)
    assert loop.uncertainty == pytest.approx(0.124725e-9, rel=1e-5, abs=0.0)
