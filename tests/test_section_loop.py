"""A bare section's loop with its ends: what the plan holds, and what it says of itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.errors import GeometryError
from geometries.files.reading import parse_scenario
from geometries.files.stackups import named_stackup
from geometries.layout.section_plan import section_plan
from geometries.section.loops import NextLayerLoop, Plane, SameLayerLoop, ThroughBoardLoop
from geometries.section.section import Tie
from solver.loop.section_loop import SectionLoop, SectionValues, section_loop
from solver.loop.terms import COPPER, LANDS, LAYERS, VIAS
from solver.section.fields import assemble_section, solve_at_frequency
from solver.section.mesh import mesh_section
from solver.study.ranking import difference_uncertainty
from solver.variant.needs import Need
from solver.variant.solve import solve_variant

SAME = SameLayerLoop(width=3e-3, gap=1e-3, land=1e-3, length=8e-3)
NEXT = NextLayerLoop(width=3e-3, length=8e-3)
WIDE = 40e-3


def plane(layer: str = "L2", tie: Tie = Tie.CAPACITOR_END) -> Plane:
    return Plane(layer=layer, tie=tie, width=WIDE)


def solved(stackup: str, loop: SameLayerLoop | NextLayerLoop | ThroughBoardLoop, *planes: Plane) -> SectionLoop:
    plan = section_plan("loop", named_stackup(stackup), loop, planes)
    field = solve_at_frequency(assemble_section(mesh_section(plan.section, highest_frequency=1e8)), 1e8)
    section = float(field.inductance_per_length[0, 0]) * loop.length
    return section_loop(plan, 1e8, SectionValues(own=section, error=0.0, planned=section, more_resistance=0.0))


def ends(loop: SectionLoop, per_length: float) -> float:
    return loop.inductance - per_length * loop.plan.length


@pytest.mark.parametrize(("loop", "planes"), [(SAME, (plane(),)), (NEXT, (plane(tie=Tie.BOTH_ENDS),))])
def test_what_the_ends_of_a_long_loop_add_does_not_depend_on_its_length(loop, planes):
    lengths = (24e-3, 48e-3)
    short, long = (solved("4L-7628", replace(loop, length=length), *planes) for length in lengths)
    field = solve_at_frequency(assemble_section(mesh_section(short.plan.section, highest_frequency=1e8)), 1e8)
    per_length = float(field.inductance_per_length[0, 0])
    assert ends(long, per_length) == pytest.approx(ends(short, per_length), abs=2e-3 * long.inductance)


def test_shorter_lands_make_a_larger_loop():
    short, long = (solved("4L-7628", replace(SAME, land=land), plane()) for land in (0.5e-3, 2e-3))
    assert short.inductance > 1.2 * long.inductance


def test_lands_that_nobody_states_are_uncertain_by_what_half_and_twice_as_much_bring():
    unstated, half, twice = (solved("4L-7628", replace(SAME, land=land), plane()) for land in (None, 0.5e-3, 2e-3))
    stated = solved("4L-7628", SAME, plane())
    spread = unstated.term(LANDS).uncertainty
    assert stated.term(LANDS).uncertainty == 0
    assert unstated.inductance == pytest.approx(stated.inductance, rel=1e-12)
    assert spread == pytest.approx((half.inductance - twice.inductance) / 2, rel=0.15)


def test_a_plane_tied_at_one_end_carries_nothing_and_one_at_both_ends_much():
    one = section_plan("loop", named_stackup("4L-7628"), SAME, [plane()])
    both = section_plan("loop", named_stackup("4L-7628"), SAME, [plane(tie=Tie.BOTH_ENDS)])
    assert (len(one.near.vias), len(both.near.vias)) == (0, 8)


def test_the_moment_of_a_loop_over_its_return_is_its_area():
    loop = solved("4L-7628", NEXT, plane(tie=Tie.BOTH_ENDS))
    stackup = named_stackup("4L-7628")
    height = stackup.heights("L1")[0] - stackup.heights("L2")[1]
    assert np.abs(loop.moment_vector) == pytest.approx([0.0, height * NEXT.length, 0.0], rel=0.05, abs=1e-10)


def test_a_floating_layer_between_go_and_return_parts_them():
    plan = section_plan("loop", named_stackup("4L-7628"), ThroughBoardLoop(width=3e-3, length=8e-3), [plane()])
    assert plan.far is not None
    assert [wall.passing for wall in plan.walls] == [False, True, False]


def test_walls_through_a_thick_board_are_a_term_of_their_own():
    loop = solved("2L-1.6", NEXT)
    assert 0.1 * loop.term(COPPER).amount < loop.term(VIAS).amount < 0.3 * loop.term(COPPER).amount
    assert loop.term(VIAS).source.startswith("one full-width wall")


def test_lands_longer_than_the_loop_are_refused():
    with pytest.raises(GeometryError, match=r"lands 9 mm long do not fit on a loop 8 mm long"):
        section_plan("loop", named_stackup("2L-1.6"), replace(SAME, land=9e-3))


THROUGH = ThroughBoardLoop(width=3e-3, length=8e-3)


def sized(layer: str, tie: Tie, size: float) -> Plane:
    return replace(plane(layer, tie), width=size, length=size)


@pytest.mark.parametrize(
    ("loop", "ties", "sheets"),
    [
        (SAME, {"L2": Tie.CAPACITOR_END}, ["go", "L2"]),
        (SAME, {"L2": Tie.BOTH_ENDS, "L3": Tie.NONE}, ["go", "L2", "L3"]),
        (NEXT, {"L2": Tie.BOTH_ENDS}, ["go, part 1", "go, part 2", "L2"]),
        (NEXT, {"L3": Tie.BOTH_ENDS}, ["go, part 1", "go, part 2", "return", "L3"]),
        (THROUGH, {"L2": Tie.NONE, "L3": Tie.NONE}, ["go, part 1", "go, part 2", "return", "L2", "L3"]),
        (THROUGH, {"L2": Tie.BOTH_ENDS}, ["go, part 1", "go, part 2", "return", "L2"]),
    ],
)
def test_layers_with_a_length_are_copper_under_every_loop(loop, ties, sheets):
    planes = [sized(layer, tie, WIDE) for layer, tie in ties.items()]
    real = section_plan("loop", named_stackup("4L-7628"), loop, planes).real
    assert [sheet.name for sheet in real.real.sheets] == sheets
    assert real.real.plane is None
    assert not real.real.idle_vias


def test_without_a_length_layers_are_endless_and_said_to_be():
    loop = solved("4L-7628", SAME, plane())
    assert loop.real_layers is None
    assert "endless ground layer, since none has a length" in loop.term(COPPER).source


@pytest.mark.parametrize(("loop", "tie"), [(SAME, Tie.CAPACITOR_END), (NEXT, Tie.BOTH_ENDS)])
def test_large_layers_are_as_good_as_endless_ones_and_short_ones_are_not(loop, tie):
    large, short = (solved("4L-7628", loop, sized("L2", tie, size)) for size in (WIDE, 9e-3))
    change = large.term(LAYERS)
    assert abs(change.amount) < 0.01 * large.inductance
    assert change.uncertainty < 0.01 * large.inductance
    assert short.inductance > large.inductance


def test_a_through_board_loop_through_small_layers_has_more_than_through_large_ones():
    planes = [[sized(layer, Tie.NONE, size) for layer in ("L2", "L3")] for size in (24e-3, 10e-3)]
    large, small = (solved("4L-7628", THROUGH, *each) for each in planes)
    assert small.inductance > large.inductance + large.term(LAYERS).uncertainty


BOARD = """
title = "board"
stackup = "4L-7628"
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
analysis = { frequencies = ["100 MHz"], tolerance = "1 %" }

[[variant]]
name = "narrow"
planes.L2 = { tie = "capacitor end", width = "7 mm" }

[[variant]]
name = "wide"
planes.L2 = { tie = "capacitor end", width = "40 mm" }
"""


@pytest.fixture(scope="module")
def pair():
    scenario = parse_scenario(BOARD)
    needs = frozenset({Need.BROADBAND, Need.WHOLE_LOOP})
    return [solve_variant(variant, scenario.analysis, needs) for variant in scenario.variants]


def test_a_narrow_layer_changes_the_section_and_makes_the_ends_less_sure(pair):
    narrow, wide = (result.section_loop.term(LAYERS) for result in pair)
    assert narrow.amount > 20 * abs(wide.amount)
    assert narrow.uncertainty > 5 * wide.uncertainty
    assert pair[0].section_loop.term(COPPER) == pair[1].section_loop.term(COPPER)


def test_lands_of_both_drop_out_of_a_difference(pair):
    assert difference_uncertainty(*pair) < 0.1 * pair[1].loop.inductance_uncertainty


def test_section_times_length_is_the_check(pair):
    check = pair[1].section_check
    assert check.section == pair[1].section_inductance
    assert check.plan == pair[1].loop.inductance
    assert math.isclose(check.off, -0.18, abs_tol=0.02)
