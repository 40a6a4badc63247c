"""Where a variant's moment comes from: placements from the plan view, the axisymmetric view only where it holds."""

from dataclasses import replace

import pytest

from geometries.board.capacitors import Capacitor, ElectrodeBody, switch_package
from geometries.board.parts import VIAS, capacitor_case
from geometries.files.stackups import named_stackup
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import PlacedLoop, SameSide, Site
from geometries.quantities import MM
from geometries.section.loops import Plane, SameLayerLoop, Slot, Tie, cross_section
from geometries.study.scenario import Variant
from solver.emission.dipole import DipoleKind
from solver.emission.moment import LoopMoment
from solver.emission.variant_moment import moment_vector, placed_moment, reads_axisymmetric_view
from solver.formulas import strip_shielding
from solver.loop.terms import WholeLoop
from solver.loop.whole_loop import whole_loop
from solver.plan import PlanMeshSettings

LOOP = SameLayerLoop(width=3 * MM, return_width=3 * MM, gap=1 * MM, length=8 * MM, layer="L1")


def variant(plane: Plane) -> Variant:
    section = cross_section("board", named_stackup("4L-7628"), LOOP, [plane])
    return Variant(name="board", note="", section=section, length=8 * MM)


@pytest.fixture
def bare(placed_study) -> WholeLoop:
    """A placement without ground layers: 2 mm² in all, 1.2 of it along the board."""
    return replace(placed_study.results[-1].whole_loop, moment=2e-6, standing_moment=1.2e-6)


def over_a_plane(whole: WholeLoop, width: float) -> WholeLoop:
    plane = Plane(layer="L2", tie=Tie.NONE, width=width)
    placed = PlacedLoop(placement=whole.placed.placement, site=Site(stackup=named_stackup("4L-7628"), planes=(plane,)))
    return replace(whole, placed=placed, plan=placement_plan("over a plane", placed))


def test_without_ground_layers_a_placement_has_the_plan_views_moment(bare: WholeLoop) -> None:
    moment = placed_moment(bare, 0.0)
    assert (moment.lying, moment.upright, moment.total) == pytest.approx((1.6e-6, 1.2e-6, 2e-6), rel=1e-12, abs=0)


def test_a_ground_layer_leaves_what_stands_and_takes_from_what_lies_by_its_width(bare: WholeLoop) -> None:
    whole = over_a_plane(bare, 40 * MM)
    moment = placed_moment(whole, 0.0)
    height = whole.plan.near.sheets[0].height - whole.plan.near.plane.height
    assert moment.upright == 1.2e-6
    assert moment.lying == pytest.approx(1.6e-6 * strip_shielding(height, 20 * MM), rel=1e-12, abs=0)


def test_a_wider_ground_layer_takes_more(bare: WholeLoop) -> None:
    wide, narrow = (placed_moment(over_a_plane(bare, width), 0.0).lying for width in (80 * MM, 20 * MM))
    assert narrow / wide == pytest.approx(4.0, rel=2e-3)


def test_what_a_scenario_adds_stands_beside_the_placements_own(bare: WholeLoop) -> None:
    assert placed_moment(bare, 0.3e-6).total == pytest.approx((1.6e-6**2 + 1.5e-6**2) ** 0.5, rel=1e-12, abs=0)


@pytest.mark.parametrize(
    ("plane", "holds"),
    [
        (Plane(layer="L2", tie=Tie.NONE, width=40 * MM), True),
        (Plane(layer="L2", tie=Tie.NONE, width=40 * MM, edge_distance=1 * MM), False),
        (Plane(layer="L2", tie=Tie.NONE, width=40 * MM, slots=(Slot(position=0.0, width=0.5 * MM),)), False),
        (
            Plane(layer="L2", tie=Tie.NONE, width=40 * MM, slots=(Slot(position=0.0, width=0.5 * MM, bonded=False),)),
            False,
        ),
        (Plane(layer="L2", tie=Tie.BOTH_ENDS, width=40 * MM), False),
    ],
)
def test_the_axisymmetric_view_holds_over_whole_layers_under_the_middle_that_carry_no_return(plane, holds) -> None:
    assert reads_axisymmetric_view(variant(plane)) is holds


def test_a_loop_near_the_planes_edge_does_not_read_the_axisymmetric_view_of_one_in_the_middle() -> None:
    near_edge = Plane(layer="L2", tie=Tie.NONE, width=40 * MM, edge_distance=17 * MM)  # 0.5 mm off the middle
    assert reads_axisymmetric_view(variant(near_edge))
    assert not reads_axisymmetric_view(variant(replace(near_edge, edge_distance=15 * MM)))


def test_the_vector_of_a_moment_has_its_magnitude() -> None:
    moment = LoopMoment(lying=3e-6, upright=2.5e-6, added=1.5e-6, source="by hand")
    vector = moment_vector(moment, 2.0)
    assert (vector.kind, vector.normal, vector.band) == (DipoleKind.MAGNETIC, 3e-6, 2.0)
    assert vector.across == pytest.approx(4e-6, rel=1e-12, abs=0)
    assert vector.magnitude == pytest.approx(moment.total, rel=1e-12, abs=0)


def test_a_capacitors_body_stands_on_the_board_by_its_own_height_and_length() -> None:
    # 0603: electrodes 0.2 mm over the copper's upper face, on which the current under the body runs; ends of the body
    # 1.2 mm apart: 0.2 x 1.2 mm = 0.24 mm². 4 % for a coarse mesh and currents that spread over the terminals.
    case = capacitor_case("0603")
    part = Capacitor(case=case, capacitance=2.2e-6, resistance=4e-3, body=ElectrodeBody(height=0.2 * MM))
    placement = SameSide(
        copper_width=1.6 * MM,
        gap=0.6 * MM,
        distance=0.6 * MM,
        capacitors=(part,),
        package=switch_package("land-grid"),
        via=VIAS[0],
    )
    planes = (Plane(layer="L2", tie=Tie.NONE, width=40 * MM),)
    placed = PlacedLoop(placement=placement, site=Site(stackup=named_stackup("4L-7628"), planes=planes))
    whole = whole_loop("same side", placed, 200e6, PlanMeshSettings().coarser().coarser())
    assert whole.standing_moment == pytest.approx(0.2e-3 * 1.2e-3, rel=0.04, abs=0)
    assert placed_moment(whole, 0.0).lying < 0.1 * whole.standing_moment
