"""Where a variant's moment comes from: plan view with its ends, over ground layers as the section view has them."""

from dataclasses import replace

import numpy as np
import pytest

from geometries.board.capacitors import Capacitor, ElectrodeBody, switch_package
from geometries.board.parts import VIAS, capacitor_case
from geometries.files.stackups import named_stackup
from geometries.layout.placements import PlacedLoop, SameSide, Site
from geometries.layout.section_plan import section_plan
from geometries.operation.emission import Emission
from geometries.operation.published_limits import published_limit
from geometries.quantities import MM
from geometries.section.loops import Plane, SameLayerLoop, Tie, cross_section
from solver.emission.dipole import DipoleKind
from solver.emission.moment import LoopMoment, RadiatedMoment
from solver.emission.variant_moment import moment_vector, variant_moment
from solver.loop.section_loop import SectionLoop
from solver.loop.whole_loop import whole_loop
from solver.plan import PlanMeshSettings
from solver.variant.results import VariantResult

EMISSION = Emission(
    current=4.0,
    frequency=1e6,
    rise_time=2e-9,
    fall_time=2e-9,
    limits=(published_limit("CISPR 32 class B", 3.0),),
)
LOOP = SameLayerLoop(width=3 * MM, return_width=3 * MM, gap=1 * MM, length=8 * MM, layer="L1")


@pytest.fixture
def bare(placed_study) -> VariantResult:
    """A placement without ground layers: 2 mm² in all, 1.2 of it along the board."""
    result = placed_study.results[-1]
    size = len(result.whole_loop.shares)
    return replace(result, whole_loop=replace(result.whole_loop, moments=np.tile([0.0, 1.2e-6, 1.6e-6j], (size, 1))))


def moment_of(result: VariantResult, added: float = 0.0) -> LoopMoment:
    return variant_moment(result, replace(EMISSION, upright_height=added / 1e-3, upright_length=1e-3))


def test_without_ground_layers_a_placement_has_the_plan_views_moment(bare: VariantResult) -> None:
    moment = moment_of(bare)
    assert (moment.lying, moment.upright, moment.total) == pytest.approx((1.6e-6, 1.2e-6, 2e-6), rel=1e-12, abs=0)


def test_ground_layers_leave_what_stands_and_take_from_what_lies_on_the_average_of_its_stretches(
    bare: VariantResult,
) -> None:
    first = bare.segments[0]
    halves = tuple(replace(first, length=first.length / 2, lying_left=left) for left in (0.01, 0.03))
    moment = moment_of(replace(bare, segments=halves))
    assert (moment.lying, moment.upright) == pytest.approx((1.6e-6 * 0.02, 1.2e-6), rel=1e-12, abs=0)


def test_over_a_layer_that_carries_the_return_the_section_says_what_lies(bare: VariantResult) -> None:
    section = cross_section(
        "board", named_stackup("4L-7628"), LOOP, [Plane(layer="L2", tie=Tie.BOTH_ENDS, width=40 * MM)]
    )
    carried = replace(
        bare,
        variant=replace(bare.variant, section=section),
        segments=(replace(bare.segments[0], moment_parts=(0.1e-3, 1e-3), length=5 * MM),),
    )
    assert moment_of(carried).lying == pytest.approx(0.5e-6, rel=1e-12, abs=0)


def test_what_a_scenario_adds_stands_beside_the_placements_own(bare: VariantResult) -> None:
    assert moment_of(bare, 0.3e-6).total == pytest.approx((1.6e-6**2 + 1.5e-6**2) ** 0.5, rel=1e-12, abs=0)


def test_the_vector_of_a_moment_has_its_magnitude() -> None:
    moment = LoopMoment(lying=3e-6, upright=2.5e-6, added=1.5e-6, source="by hand")
    vector = moment_vector(RadiatedMoment(reported=moment), 2.0)
    assert (vector.kind, vector.band) == (DipoleKind.MAGNETIC, 2.0)
    assert vector.vectors(np.array([1e8])) == pytest.approx(np.array([[4e-6, 0.0, 3e-6]]), rel=1e-12, abs=0)
    assert vector.reported.magnitude == pytest.approx(moment.total, rel=1e-12, abs=0)


def test_a_capacitors_body_stands_on_the_board_by_its_own_height_and_length() -> None:
    # 0603: electrodes 0.2 mm over the copper's upper face, ends of the body 1.2 mm apart: 0.2 x 1.2 mm = 0.24 mm². From
    # there to the middles of the pins, 2.2 mm apart, the current runs on the upper face or on the lower one, 35 µm
    # below, where the ground layer draws it: 35 µm x 1 mm less at most, over the plane about a third of that.
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
    coarse = PlanMeshSettings().coarser().coarser()
    whole = whole_loop("same side", placed, 200e6, coarse)
    lower = 35e-6 * 1e-3
    assert 0.2e-3 * 1.2e-3 - lower / 2 < np.linalg.norm(whole.moment_vector[:2]) < 0.2e-3 * 1.2e-3
    # Switches whose current passes 0.05 mm high from pin to pin, 0.6 + 1.6/2 = 1.4 mm, the other way round the loop.
    package = replace(placement.package, height=0.05 * MM)
    raised = replace(placed, placement=replace(placement, package=package))
    lifted = whole_loop("switches over the board", raised, 200e6, coarse, vary=())
    change = np.abs(whole.moment_vector) - np.abs(lifted.moment_vector)
    # A part in 10,000 of the copper's current is out of phase.
    assert change == pytest.approx(np.array([0.05e-3 * 1.4e-3, 0.0, 0.0]), rel=1e-4, abs=1e-16)


def test_a_bare_sections_plan_says_what_lies_and_what_stands(bare: VariantResult) -> None:
    plan = section_plan("loop", named_stackup("2L-1.6"), LOOP)
    planned = SectionLoop(
        plan=plan,
        frequency=1e8,
        terms=(),
        moment_vector=np.array([0.3e-6, 0.4e-6, 2e-6j]),
        resistance=0.0,
        resistance_uncertainty=0.0,
    )
    moment = moment_of(replace(bare, whole_loop=None, section_loop=planned), 0.1e-6)
    assert (moment.lying, moment.upright, moment.added) == pytest.approx((2e-6, 0.5e-6, 0.1e-6), rel=1e-12, abs=0)
