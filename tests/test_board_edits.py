"""Changes of a loop's copper: where they are tried, and that they gain what they should."""

from dataclasses import replace
from math import isnan

import pytest
import shapely
import shapely.affinity

from geometries.drawn.window import loop_window
from geometries.quantities import MM
from solver.board.edits import IDEAL, Trial, ideal_of, possible_edits, try_edits, with_copper
from solver.plan import PlanMeshSettings

ROUGH = PlanMeshSettings().coarser().coarser()


@pytest.fixture(scope="module")
def window(board, ends):
    return loop_window(board, ends, 3 * MM)


@pytest.fixture(scope="module")
def edits(board, ends, window):
    return list(possible_edits(board, ends, window))


def named(edits, start):
    return [edit for edit in edits if edit.name.startswith(start)]


def test_vias_are_tried_at_each_ground_pad_and_at_both(edits, board, ends):
    added = [len(edit.change(board, ends)[0].holes) - len(board.holes) for edit in named(edits, "via")]
    assert added == [1, 1, 2]


def test_a_new_via_stands_in_ground_clear_of_every_pad_and_every_other_net(edits, board, ends):
    (edit,) = named(edits, "vias")
    for hole in edit.change(board, ends)[0].holes[-2:]:
        assert board.copper(1, "GND").contains(hole.shape)
        assert all(hole.shape.distance(pad.shape) > 0 for pad in board.pads)
        for layer in board.layers:
            others = [copper for net, copper in layer.nets.items() if net != "GND"]
            assert shapely.union_all(others).distance(hole.shape) >= 0.15 * MM


def test_the_capacitor_moves_as_far_as_it_has_room(edits):
    # 1.1 mm lie between the pads of C1 and U1: moved by 1 mm, too little would be left
    assert [edit.name for edit in named(edits, "C1 moved")] == ["C1 moved by 0.5 mm towards U1"]


def test_the_plane_comes_half_as_near(edits, board, ends):
    (edit,) = named(edits, "half the dielectric")
    stack = edit.change(board, ends)[0].stack
    assert stack.stackup.heights("L1")[0] - stack.stackup.heights("L2")[1] == pytest.approx(0.06 * MM)


def with_layer(board, number, nets):
    """The board with other copper of some nets on a layer."""
    layers = [replace(one, nets={**one.nets, **nets}) if one.number == number else one for one in board.layers]
    return replace(board, layers=tuple(layers))


@pytest.fixture(scope="module")
def broken(board):
    void = shapely.box(13 * MM, 14 * MM, 14 * MM, 15 * MM)
    return with_layer(board, 2, {"GND": board.copper(2, "GND").difference(void)})


@pytest.fixture(scope="module")
def deep(board):
    return replace(board, layers=tuple(replace(one, nets={}) if one.number == 2 else one for one in board.layers))


@pytest.fixture(scope="module")
def cleft(ends):
    pad = next(joint.area for joint in ends.joints["C1"] if joint.net == "GND")
    middle = pad.centroid
    spokes = shapely.union_all([
        shapely.box(middle.x - 2 * MM, middle.y - 0.1 * MM, middle.x + 2 * MM, middle.y + 0.1 * MM),
        shapely.box(middle.x - 0.1 * MM, middle.y - 2 * MM, middle.x + 0.1 * MM, middle.y + 2 * MM),
    ])  # fmt: skip
    return pad.buffer(0.3 * MM).difference(pad).difference(spokes)


@pytest.fixture(scope="module")
def spoked(board, ends, cleft):
    pad = next(joint.area for joint in ends.joints["C1"] if joint.net == "GND")
    poured = with_copper(board, 1, "GND", pad.buffer(1 * MM).difference(board.copper(1, "+24V").buffer(0.2 * MM)))
    return with_layer(board, 1, {"GND": poured.copper(1, "GND").difference(cleft)})


@pytest.fixture(scope="module")
def turnable(board, ends):
    """A smaller C1, and copper of both nets to its left and right as well as above and below it."""
    left, right = shapely.box(11.5e-3, 14.1e-3, 12.4e-3, 14.8e-3), shapely.box(13.3e-3, 14.2e-3, 14.0e-3, 14.9e-3)
    supply = board.copper(1, "+24V").union(left).difference(right.buffer(0.2 * MM))
    ground = board.copper(1, "GND").union(right).difference(left.buffer(0.2 * MM))
    small = tuple(replace(joint, area=shapely.affinity.scale(joint.area, 0.5, 0.55)) for joint in ends.joints["C1"])
    return with_layer(board, 1, {"+24V": supply, "GND": ground}), replace(ends, joints={**ends.joints, "C1": small})


def test_a_void_under_the_loop_is_found_and_filled(broken, board, ends, window):
    (edit,) = named(possible_edits(broken, ends, window), "void")
    assert edit.place == pytest.approx((13.5 * MM, 14.5 * MM))
    filled = edit.change(broken, ends)[0].copper(2, "GND")
    assert filled.area == pytest.approx(board.copper(2, "GND").area, rel=1e-6)


def test_a_plane_two_layers_below_is_brought_up_one(deep, ends):
    window = loop_window(deep, ends, 3 * MM)
    (edit,) = named(possible_edits(deep, ends, window), "ground of L3 on L2")
    assert edit.change(deep, ends)[0].copper(2, "GND").contains(ends.hull)


def test_spokes_around_a_pad_are_found_and_filled(spoked, ends, window, cleft):
    (edit,) = [one for one in named(possible_edits(spoked, ends, window), "spokes") if "C1" in one.name]
    assert edit.change(spoked, ends)[0].copper(1, "GND").intersection(cleft).area > 0.5 * cleft.area


def test_a_capacitor_is_turned_where_both_pads_stay_on_their_nets(turnable, window):
    board, ends = turnable
    (edit,) = named(possible_edits(board, ends, window), "C1 turned")
    supply, ground = (joint.area.centroid for joint in edit.change(board, ends)[1].joints["C1"])
    assert (supply.x < 12.8e-3 < ground.x, supply.y) == (True, pytest.approx(ground.y))


@pytest.fixture
def changed(request, ends, solve_once):
    """A board with one fault, its loop, and the change that mends it."""
    made, change = request.param
    found = request.getfixturevalue(made)
    board, own = found if isinstance(found, tuple) else (found, ends)
    drawn = solve_once(board, own, ROUGH.coarser())
    (edit,) = named(possible_edits(board, own, drawn.window), change)
    return Trial(board=board, drawn=drawn, before=drawn.solution, settings=ROUGH.coarser()).solved(edit)


MENDED = [("broken", "void"), ("spoked", "spokes")]


@pytest.mark.parametrize("changed", MENDED, indirect=True, ids=[name for name, _ in MENDED])
def test_what_is_mended_gains_more_than_its_error_and_by_the_derivative_too(changed):
    assert changed.gain > changed.error
    assert 0 < changed.first_order < 1.5 * changed.gain


@pytest.mark.parametrize("changed", [("deep", "ground of L3 on L2")], indirect=True, ids=["deep"])
def test_a_plane_brought_up_far_gains_and_says_that_no_slope_tells_how_much(changed):
    assert changed.gain > changed.error
    assert (isnan(changed.first_order), changed.no_first_order) == (True, "from 1.4 to 0.15 mm, too far for a slope")


@pytest.mark.parametrize("changed", [("turnable", "C1 turned")], indirect=True, ids=["turned"])
def test_a_turn_is_solved_with_its_derivative(changed):
    assert abs(changed.gain) < changed.inductance
    assert changed.first_order * changed.gain > 0


@pytest.fixture(scope="module")
def tried(board, drawn):
    return try_edits(board, drawn, ROUGH)


def test_the_best_few_together_gain_more_than_any_alone(tried):
    together, *single = tried[1:]
    assert " + " in together.name
    assert together.gain > max(one.gain for one in single)
    assert [one.gain for one in single] == sorted((one.gain for one in single), reverse=True)


def test_the_ideal_of_the_same_parts_is_a_whole_plane_with_vias_at_both(tried, board, ends, window):
    changed, same = ideal_of(board, ends, window).change(board, ends)
    assert (tried[0].name, same) == (IDEAL, ends)
    assert changed.copper(2, "GND").contains(window.copper.room)
    assert len(changed.holes) == len(board.holes) + 2
    both = next(one for one in tried[2:] if one.name.startswith("vias"))
    assert tried[0].gain == pytest.approx(both.gain, abs=both.error)  # its plane has no void under the loop


def test_a_shift_and_new_copper_have_a_first_order_gain(tried):
    moved = next(one for one in tried[2:] if one.name.startswith("C1 moved"))
    assert moved.first_order == pytest.approx(moved.gain, rel=0.3)
    closed = [one for one in tried[2:] if one.name.startswith("gap closed")]
    assert all(one.first_order > 0 and abs(one.first_order - one.gain) < one.error for one in closed)


def test_a_via_gains_about_what_the_voltage_at_its_place_tells(tried):
    # the mesh around a new hole is finer, which is in what is solved and in its error; nothing is told so by both
    vias = [one for one in tried[2:] if one.name.startswith("via")]
    assert vias
    for one in vias:
        told = one.gain if one.gain > one.error else 0.0
        assert 0.4 * told <= one.first_order <= told + one.error


def test_the_best_together_have_the_sum_of_their_first_order_gains(tried):
    parts = [one.first_order for one in tried[2:] if one.name in tried[1].name.split(" + ")]
    assert tried[1].first_order == pytest.approx(sum(parts), rel=1e-12)


def test_the_ideal_says_why_it_has_no_first_order_gain(tried):
    assert (isnan(tried[0].first_order), tried[0].no_first_order) == (True, "many changes at once")
