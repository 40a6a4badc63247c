"""Placements: what fits, what they look like from above, their sections, and how files describe them."""

import math

import pytest

from geometries.board.capacitors import Capacitor, capacitor_body, switch_package
from geometries.board.parts import VIAS, capacitor_case
from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import parse_scenario, read_builtin_scenario
from geometries.files.stackups import named_stackup
from geometries.layout.layout import PadTerminal
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placement_sections import placement_stretches
from geometries.layout.placements import (
    FarSide,
    MirroredPair,
    Orientation,
    PlacedLoop,
    Placement,
    ReturnBelow,
    SameSide,
    Site,
    dimensions,
    with_dimension,
)
from geometries.section.loops import NextLayerLoop, Plane, Tie
from geometries.section.section import Role
from solver.variant.warnings import variant_warnings

BOARD = named_stackup("4L-7628")
FLOATING = Plane(layer="L2", tie=Tie.NONE, width=40e-3)
STITCHED = Plane(layer="L2", tie=Tie.BOTH_ENDS, width=40e-3)


def capacitor(case="0603", esl=0.3e-9, height=None):
    return Capacitor(
        case=capacitor_case(case),
        capacitance=1e-6,
        resistance=5e-3,
        body=capacitor_body(None if height else esl, height),
    )


def common(**changes):
    return {
        "copper_width": 1.6e-3,
        "gap": 0.6e-3,
        "distance": 0.6e-3,
        "capacitors": (capacitor(),),
        "package": switch_package("flip-chip"),
        "via": VIAS[0],
        **changes,
    }


def on_board(placement: Placement, *planes: Plane, board=BOARD) -> PlacedLoop:
    return PlacedLoop(placement=placement, site=Site(stackup=board, planes=planes))


ALL = {
    "same side": lambda: on_board(SameSide(**common()), FLOATING),
    "same side, body": lambda: on_board(SameSide(**common(capacitors=(capacitor(height=0.2e-3),))), FLOATING),
    "same side, stitched": lambda: on_board(SameSide(**common(via_count=3)), STITCHED),
    "rotated": lambda: on_board(SameSide(**common(), orientation=Orientation.ROTATED), FLOATING),
    "rotated, body": lambda: on_board(
        SameSide(**common(capacitors=(capacitor(height=0.2e-3),)), orientation=Orientation.ROTATED), FLOATING
    ),
    "return below": lambda: on_board(ReturnBelow(**common(via_count=2)), STITCHED),
    "far side, planes": lambda: on_board(FarSide(**common(via_count=2)), FLOATING),
    "far side, no plane": lambda: on_board(FarSide(**common(via_count=2)), board=named_stackup("2L-1.6")),
    "far side, body": lambda: on_board(
        FarSide(**common(capacitors=(capacitor(height=0.2e-3),), via_count=2)), board=named_stackup("2L-1.6")
    ),
    "mirrored": lambda: on_board(
        MirroredPair(**common(capacitors=(capacitor(), capacitor())), part_width=3e-3), FLOATING
    ),
    "two": lambda: on_board(SameSide(**common(capacitors=(capacitor(), capacitor("0402")))), FLOATING),
}


@pytest.mark.parametrize("name", ALL)
def test_every_placement_yields_a_layout_whose_currents_close(name):
    # PlanLayout refuses copper that touches, terminals off the copper and currents that nothing closes.
    plan = placement_plan(name, ALL[name]())
    assert all(layout.cut_ports for layout in plan.layouts)


@pytest.mark.parametrize("name", ALL)
def test_every_capacitor_is_a_port_and_a_part(name):
    placed = ALL[name]()
    plan = placement_plan(name, placed)
    wanted = {f"C{number}" for number in range(1, len(placed.placement.capacitors) + 1)}
    assert wanted <= {port.name for port in plan.layouts[-1].cut_ports}
    assert wanted <= {part.name for part in plan.parts}


def test_a_body_lies_its_height_above_the_copper():
    plan = placement_plan("body", ALL["same side, body"]())
    body = plan.near.sheet("body of C1")
    assert body.height == pytest.approx(BOARD.top + 0.2e-3, abs=0)


def test_a_body_on_the_far_side_hangs_below_the_copper():
    board = named_stackup("2L-1.6")
    plan = placement_plan("body", ALL["far side, body"]())
    assert plan.near.sheet("body of C1").height == pytest.approx(board.heights("L2")[0] - 0.2e-3, abs=0)


def test_without_its_body_a_capacitor_is_a_port_between_lands():
    plan = placement_plan("bare", ALL["same side, body"]().lumped)
    assert [sheet.name for sheet in plan.near.sheets] == ["input", "ground"]
    port = next(port for port in plan.near.cut_ports if port.name == "C1")
    assert all(isinstance(end, PadTerminal) for end in port.terminals())


def test_planes_part_a_far_side_into_two_layouts():
    plan = placement_plan("far", ALL["far side, planes"]())
    assert plan.far is not None
    assert plan.passage is not None
    assert plan.passage.height == pytest.approx(35e-6, rel=0.6)
    assert sum(plan.passage.senses) == 0


def test_without_planes_vias_join_both_sides():
    plan = placement_plan("far", ALL["far side, no plane"]())
    assert plan.far is None
    assert {via.lower for via in plan.near.vias} == {"input far", "ground far"}


def test_the_sections_of_a_far_side_reach_through_the_board():
    placed = ALL["far side, no plane"]()
    board = placed.site.stackup
    vias, far = placement_stretches(placed)
    assert vias.length == pytest.approx(board.heights("L1")[0] - board.heights("L2")[1], abs=0)
    assert far.length == pytest.approx(placed.placement.far_length, abs=0)
    assert sum(region.role is Role.GO for region in vias.section.regions) == 2


def test_the_return_below_lies_on_the_plane():
    loop = ALL["return below"]().loop
    assert isinstance(loop, NextLayerLoop)
    assert loop.return_layer == "L2"


def test_a_mirrored_pair_has_half_the_length_of_one_side():
    assert ALL["mirrored"]().loop.length == pytest.approx(ALL["same side"]().loop.length / 2, abs=0)


def test_dimensions_name_what_can_be_varied():
    names = [each.name for each in dimensions(ALL["same side, body"]())]
    assert names == ["distance", "copper_width", "gap", "electrode_height", "prepreg 7628"]


def test_without_a_plane_no_dielectric_counts_on_the_same_side():
    assert [each.name for each in dimensions(on_board(SameSide(**common())))] == ["distance", "copper_width", "gap"]


@pytest.mark.parametrize("name", ALL)
def test_changing_a_dimension_changes_it_alone(name):
    placed = ALL[name]()
    for each in dimensions(placed):
        changed = {one.name: one.value for one in dimensions(with_dimension(placed, each.name, 1.01 * each.value))}
        for other in dimensions(placed):
            factor = 1.01 if other.name == each.name else 1.0
            assert changed[other.name] == pytest.approx(factor * other.value, abs=0)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: SameSide(**common(gap=1.5e-3)), r"0603 is 1\.6 mm long and does not span the gap of 1\.5 mm"),
        (
            lambda: SameSide(**common(copper_width=0.4e-3)),
            r"0603 is 1\.6 mm long, too large for its place: .* measure 1\.4 mm",
        ),
        (
            lambda: SameSide(**common(copper_width=0.5e-3), orientation=Orientation.ROTATED),
            r"0603 is 0\.8 mm wide, too large for copper 0\.5 mm wide",
        ),
        (
            lambda: SameSide(**common(capacitors=(capacitor(),) * 2), orientation=Orientation.ROTATED),
            "2 rotated capacitors",
        ),
        (lambda: SameSide(**common(capacitors=())), r"no capacitor; add a \[\[capacitor\]\] table"),
        (lambda: SameSide(**common(distance=-1e-3)), "distance of the placement is -1 mm"),
        (lambda: SameSide(**common(via_count=-1)), "via_count is -1"),
        (lambda: FarSide(**common(via_count=0)), "needs at least 1 via"),
        (lambda: FarSide(**common(via_count=3)), r"3 vias with pads of 0\.6 mm do not fit"),
        (lambda: MirroredPair(**common(), part_width=3e-3), "has two capacitors, not 1"),
        (lambda: ReturnBelow(**common(capacitors=(capacitor(),) * 2, via_count=1)), "holds one capacitor, not 2"),
        (lambda: on_board(ReturnBelow(**common(via_count=2)), FLOATING), "needs a ground layer tied at both ends"),
        (lambda: on_board(SameSide(**common(via_count=1)), STITCHED), "has 1 vias to it; give via_count"),
        (lambda: on_board(SameSide(**common(via_count=2)), FLOATING), "no plane tied at both ends for them to reach"),
        (lambda: with_dimension(ALL["same side"](), "depth", 1e-3), "no dimension 'depth'"),
    ],
)
def test_what_does_not_fit_is_refused(make, message):
    with pytest.raises(GeometryError, match=message):
        make()


LONG = 'loop = { kind = "same-layer", width = "1 mm", gap = "1 mm", length = "9 mm" }\n'

FILE = """
title = "t"
stackup = "4L-7628"
switch = { package = "flip-chip", copper_width = "1.6 mm", gap = "0.6 mm" }
placement = { kind = "same-side", distance = "0.6 mm" }
planes.L2 = { tie = "none", width = "40 mm" }
[[capacitor]]
case = "0603"
capacitance = "1 uF"
esr = "5 mohm"
esl = "0.3 nH"
"""


def changed(*pairs):
    text = FILE
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


def test_a_file_describes_a_placement():
    (variant,) = parse_scenario(FILE).variants
    assert isinstance(variant.placed.placement, SameSide)
    assert variant.length == pytest.approx(1e-3, abs=0)


def test_a_count_stands_for_equal_capacitors():
    (variant,) = parse_scenario(changed(('case = "0603"', 'case = "0603"\ncount = 2'))).variants
    assert len(variant.placed.placement.capacitors) == 2


def test_an_own_value_of_the_package_keeps_its_uncertainty():
    text = changed(('package = "flip-chip"', 'package_inductance = "0.4 nH", package_uncertainty = "0.1 nH"'))
    package = parse_scenario(text).variants[0].placed.placement.package
    assert (package.inductance, package.uncertainty) == pytest.approx((0.4e-9, 0.1e-9), abs=0)


def test_the_built_in_scenario_compares_four_placements_and_says_that_it_is_invented():
    scenario = read_builtin_scenario("greenhouse-vent")
    assert [type(variant.placed.placement) for variant in scenario.variants] == [
        SameSide,
        SameSide,
        FarSide,
        MirroredPair,
    ]
    assert "invented" in scenario.setting.lower()


@pytest.mark.parametrize(
    ("pairs", "message"),
    [
        ([('esl = "0.3 nH"', 'esl = "0.3 nH"\nelectrode_height = "0.2 mm"')], "body is described twice"),
        ([('esl = "0.3 nH"', "")], "give its esl"),
        ([('kind = "same-side"', 'kind = "above"')], "a placement's kind is one of 'same-side', 'return-below'"),
        ([('package = "flip-chip", ', "")], "a switch needs either a typical package"),
        ([('"flip-chip"', '"flip-chips"')], "no typical package 'flip-chips'"),
        ([('"flip-chip"', '"flip-chip", package_uncertainty = "1 nH"')], "remove package_uncertainty"),
        ([('case = "0603"', 'case = "0604"')], "no capacitor case '0604'"),
        ([('kind = "same-side"', 'kind = "mirrored"')], 'part_width = "3 mm"'),
        (
            [('distance = "0.6 mm"', 'distance = "0.6 mm", via = "stanard"')],
            "no via 'stanard'; did you mean 'standard'",
        ),
        (
            [('switch = { package = "flip-chip", copper_width = "1.6 mm", gap = "0.6 mm" }\n', "")],
            r"needs a \[switch\]",
        ),
        (
            [
                (
                    "placement =",
                    'loop = { kind = "same-layer", width = "1 mm", gap = "1 mm", length = "9 mm" }\nplacement =',
                )
            ],
            r"one of these: a \[loop\] or a \[placement\]",
        ),
        ([('distance = "0.6 mm"', 'distance = "0.6"')], "no unit"),
    ],
)
def test_a_file_that_does_not_describe_one_is_refused(pairs, message):
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(changed(*pairs))


def test_a_placement_brings_its_own_stretches():
    text = FILE + '[[variant]]\nname = "v"\n[[variant.segment]]\nname = "more"\n' + LONG
    with pytest.raises(ScenarioError, match="remove the"):
        parse_scenario(text)


def test_a_placement_whose_ends_are_solved_is_not_warned_of_them():
    scenario = parse_scenario(FILE)
    codes = [each.code for each in variant_warnings(scenario.variants[0], scenario.analysis)]
    assert "W-SHORT-LOOP" not in codes


def test_posts_of_a_row_are_evenly_spaced():
    plan = placement_plan("row", ALL["same side, stitched"]())
    x = [via.centre[0] for via in plan.near.vias]
    assert math.isclose(x[1] - x[0], x[2] - x[1])
