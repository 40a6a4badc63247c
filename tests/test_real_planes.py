"""Placements over ground layers whose length is stated: as large as they are, or refused."""

import math

import pytest

from geometries import ScenarioError, read_scenario
from geometries.files.reading import builtin_text
from geometries.layout.ground_layers import CUT
from geometries.layout.placement_copper import placement_plan
from geometries.layout.real_planes import real_planes
from geometries.study.scenario import only_variant
from solver.formulas import disc_shielding
from solver.loop.copper import solve_copper
from solver.loop.whole_loop import whole_loop
from solver.plan import PlanMeshSettings, solve_plan

TEXT = builtin_text("greenhouse-vent")
PLANE = '{ tie = "switch end", width = "40 mm" }'
COARSE = PlanMeshSettings().coarser()


def same_side(plane, text=TEXT):
    assert PLANE in text
    return only_variant(read_scenario(text.replace(PLANE, plane, 1)), "same side").variants[0].placed


def solved(size):
    return whole_loop("x", same_side(f'{{ tie = "switch end", width = "{size}", length = "{size}" }}'), 2e8, vary=())


@pytest.fixture(scope="module")
def large():
    return solved("40 mm")


@pytest.fixture(scope="module")
def small():
    return solved("5 mm")


def test_a_large_layer_is_as_good_as_an_endless_one(large):
    term = large.term("ground layers")
    assert abs(term.amount) < 0.003 * large.inductance
    assert abs(term.amount) < term.uncertainty


def test_a_small_layer_leaves_more_of_the_moment_and_of_the_inductance(large, small):
    assert small.term("ground layers").amount > large.term("ground layers").amount
    assert small.real_layers.lying > 5 * large.real_layers.lying


def test_a_large_layer_leaves_about_as_much_of_the_moment_as_a_disc_of_its_area(large):
    """A small loop close over the middle of a disc; the ring is no small loop, and the layer no disc."""
    planes = large.real_layers.planes
    height = planes.real.sheet("copper").mid_height - planes.real.sheet("L2").height
    own = abs(solve_plan(planes.endless[0], 2e8, COARSE).copper_moment[0, 2])
    disc = own * disc_shielding(height, 40e-3 / math.pi**0.5)
    assert large.real_layers.lying == pytest.approx(disc, rel=0.15, abs=large.real_layers.lying_error)


def test_the_loop_is_the_copper_with_its_parts_and_one_cut(large):
    layout = large.real_layers.planes.real
    (port,), copper = layout.cut_ports, layout.sheet("copper").shape
    placement = large.placed.placement
    assert copper.bounds[2] == pytest.approx(placement.starts[0] + placement.capacitors[0].case.width + 0.1e-3)
    assert math.dist(port.entry.middle, port.leave.middle) == pytest.approx(CUT)


def test_without_a_length_nothing_changes():
    assert real_planes("x", same_side(PLANE)) is None


MORE = """
[[variant]]
name = "below"
planes.L2 = { tie = "both ends", width = "40 mm" }
placement = { kind = "return-below", distance = "0.6 mm", via_count = 2 }

[[variant]]
name = "tied"
planes.L2 = { tie = "both ends", width = "40 mm" }
placement = { kind = "same-side", distance = "0.6 mm", via_count = 2 }
"""


def placed(name, length="40 mm", more="", tie=None):
    head, *variants = (TEXT + MORE).split("[[variant]]")
    own = next(each for each in variants if f'name = "{name}"' in each)
    own = own.replace('width = "40 mm" }', f'width = "40 mm", length = "{length}"{more} }}')
    text = head.replace('reference = "same side"', "") + "[[variant]]" + own
    return read_scenario(text if tie is None else text.replace("switch end", tie)).variants[0].placed


@pytest.mark.parametrize(
    ("name", "sheets", "vias"),
    [
        ("same side", ["copper", "L2"], []),
        ("rotated", ["copper", "L2"], []),
        ("tied", ["copper", "L2"], ["L2"] * 2),
        ("below", ["copper, part 1", "copper, part 2", "L2"], ["L2"] * 4),
        ("mirrored pair", ["copper, part 1", "copper, part 2", "L2"], []),
        (
            "far side",
            ["copper, part 1", "copper, part 2", "copper, far side", "L2", "L3"],
            ["copper, far side"] * 2 + ["L2", "L3", "copper, far side"] * 2,
        ),
    ],
)
def test_every_placement_has_its_copper_over_its_layers(name, sheets, vias):
    planes = real_planes(name, placed(name))
    assert [sheet.name for sheet in planes.real.sheets] == sheets
    assert [via.lower for via in planes.real.vias] == vias
    assert not planes.real.idle_vias
    assert all(each.plane is not None for each in planes.endless)


def test_the_input_of_a_far_side_passes_every_layer_and_its_ground_those_that_are_tied_nowhere():
    tied = real_planes("far side", placed("far side")).real
    apart = real_planes("far side", placed("far side", tie="none")).real
    assert [len(tied.sheet(layer).holes) for layer in ("L2", "L3")] == [1, 1]
    assert [len(apart.sheet(layer).holes) for layer in ("L2", "L3")] == [2, 2]


def test_a_layer_lies_as_the_section_has_it():
    """The section's right, at the return copper, is the ground copper's side in the plan."""
    near = real_planes("x", placed("rotated", more=', edge_distance = "1 mm"')).real.sheet("L2").shape
    placement = placed("rotated").placement
    assert near.bounds[1] == pytest.approx(-placement.gap / 2 - placement.copper_width - 1e-3)


def test_an_open_slot_cuts_a_layer_in_two_and_a_bonded_one_is_a_hole_as_long_as_the_loop():
    slot = ', slots = [{ position = "1 mm", width = "1 mm", bonded = BONDED }]'
    cut = real_planes("x", placed("same side", more=slot.replace("BONDED", "false"))).real
    hole = real_planes("x", placed("same side", more=slot.replace("BONDED", "true"))).real
    left, bottom, right, top = hole.sheet("L2").holes[0].bounds
    assert [sheet.name for sheet in cut.sheets] == ["copper", "L2, part 1", "L2, part 2"]
    assert (left, right) == pytest.approx(hole.sheet("copper").shape.bounds[::2])
    assert (bottom, top) == pytest.approx((-1.5e-3, -0.5e-3))


@pytest.mark.parametrize("name", ["tied", "below", "mirrored pair"])
def test_over_large_layers_every_placement_is_as_over_endless_ones(name):
    loop = whole_loop(name, placed(name), 2e8, vary=())
    term = loop.term("ground layers")
    assert abs(term.amount) < 0.01 * loop.inductance
    assert term.uncertainty < 0.01 * loop.inductance


def test_both_sides_of_a_mirrored_pair_leave_no_moment_over_any_layer():
    small = whole_loop("pair", placed("mirrored pair", "10 mm"), 2e8, vary=())
    assert small.real_layers.lying < small.real_layers.lying_error


def test_a_large_layer_takes_off_more_of_the_same_loop_than_a_small_one(large, small):
    assert large.real_layers.alone == pytest.approx(small.real_layers.alone, rel=1e-9)
    assert large.real_layers.inductance < small.real_layers.inductance < 0.7 * small.real_layers.alone


@pytest.mark.parametrize(("name", "closes"), [("tied", True), ("far side", True), ("below", False)])
def test_a_loop_stands_without_its_layers_unless_they_lead_its_current_back(name, closes):
    assert (real_planes(name, placed(name)).alone is not None) == closes


def test_what_stands_of_a_far_side_does_not_depend_on_its_layers():
    """A layer without net current has no moment along the board: vias and copper enclose what they do without one."""
    far = placed("far side", "12 mm")
    real = solve_plan(real_planes("x", far).real, 2e8, COARSE.coarser())
    endless = solve_copper(placement_plan("x", far.lumped), far.lumped, 2e8, COARSE.coarser())
    assert abs(endless.moments[0, 0]) == pytest.approx(abs(real.copper_moment[0, 0]), rel=0.06)


def test_a_slot_under_the_loop_costs_inductance_and_resistance():
    slot = ', slots = [{ position = "0 mm", width = "1 mm", bonded = false }]'
    whole, cut = (whole_loop("x", placed("same side", "12 mm", more), 2e8, vary=()) for more in ("", slot))
    assert cut.inductance > 1.2 * whole.inductance
    assert cut.resistance > whole.resistance


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ('length = "0 mm"', "must be above zero"),
        ('length = "3 mm", slots = [{ position = "0 mm", width = "1 mm" }]', "nothing bonds its sides"),
    ],
)
def test_what_cannot_be_is_refused(keys, message):
    with pytest.raises(ScenarioError, match=message):
        same_side(PLANE.replace(" }", f", {keys} }}"))


def test_a_layer_that_does_not_reach_under_its_vias_is_refused():
    with pytest.raises(ScenarioError, match=r"'L2' is tied by a via at x = .* no copper there"):
        placed("below", "2 mm")


def test_a_length_for_one_layer_alone_is_refused():
    with pytest.raises(ScenarioError, match="'L3' has a length and 'L2' has none"):
        read_scenario(
            TEXT.replace(f"planes.L3 = {PLANE}", "planes.L3 = " + PLANE.replace(" }", ', length = "40 mm" }'))
        )
