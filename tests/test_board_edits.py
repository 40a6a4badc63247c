"""Changes of a loop's copper: where they are tried, and that they gain what they should."""

from dataclasses import replace
from math import isnan
from pathlib import Path

import pytest
import shapely

from geometries.drawn.ends import ends_of_parts
from geometries.drawn.loops import find_loops
from geometries.drawn.parts import parts_of
from geometries.drawn.window import loop_window
from geometries.fabrication.example_board import write_example_board
from geometries.fabrication.reading import read_board
from geometries.quantities import MM
from solver.board.as_drawn import solve_as_drawn
from solver.board.edits import IDEAL, ideal_of, possible_edits, try_edits, with_copper
from solver.plan import PlanMeshSettings

ROUGH = PlanMeshSettings().coarser().coarser()


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    folder = Path(tmp_path_factory.mktemp("board"))
    write_example_board(folder)
    return read_board(folder)


@pytest.fixture(scope="module")
def ends(board):
    loop = find_loops(board)[0]
    return ends_of_parts(parts_of(board), loop.converter, loop.capacitors[:1])


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


def test_a_void_under_the_loop_is_found_and_filled(board, ends, window):
    void = shapely.box(13 * MM, 14 * MM, 14 * MM, 15 * MM)
    layers = list(board.layers)
    layers[1] = replace(layers[1], nets={**layers[1].nets, "GND": board.copper(2, "GND").difference(void)})
    broken = replace(board, layers=tuple(layers))
    (edit,) = named(possible_edits(broken, ends, window), "void")
    assert edit.place == pytest.approx((13.5 * MM, 14.5 * MM))
    filled = edit.change(broken, ends)[0].copper(2, "GND")
    assert filled.area == pytest.approx(board.copper(2, "GND").area, rel=1e-6)


def test_a_plane_two_layers_below_is_brought_up_one(board, ends):
    layers = list(board.layers)
    layers[1] = replace(layers[1], nets={})
    deep = replace(board, layers=tuple(layers))
    window = loop_window(deep, ends, 3 * MM)
    (edit,) = named(possible_edits(deep, ends, window), "ground of L3 on L2")
    assert edit.change(deep, ends)[0].copper(2, "GND").contains(ends.hull)


def test_spokes_around_a_pad_are_found_and_filled(board, ends, window):
    pad = next(joint.area for joint in ends.joints["C1"] if joint.net == "GND")
    middle = pad.centroid
    spokes = shapely.union_all([
        shapely.box(middle.x - 2 * MM, middle.y - 0.1 * MM, middle.x + 2 * MM, middle.y + 0.1 * MM),
        shapely.box(middle.x - 0.1 * MM, middle.y - 2 * MM, middle.x + 0.1 * MM, middle.y + 2 * MM),
    ])  # fmt: skip
    cleft = pad.buffer(0.3 * MM).difference(pad).difference(spokes)
    layers = list(board.layers)
    poured = with_copper(board, 1, "GND", pad.buffer(1 * MM).difference(board.copper(1, "+24V").buffer(0.2 * MM)))
    ground = poured.copper(1, "GND").difference(cleft)
    layers[0] = replace(layers[0], nets={**layers[0].nets, "GND": ground})
    spoked = replace(board, layers=tuple(layers))
    (edit,) = [one for one in named(possible_edits(spoked, ends, window), "spokes") if "C1" in one.name]
    assert edit.change(spoked, ends)[0].copper(1, "GND").intersection(cleft).area > 0.5 * cleft.area


@pytest.fixture(scope="module")
def tried(board, ends):
    return try_edits(board, solve_as_drawn(board, ends, 100e6, ROUGH), ROUGH)


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


def test_a_shift_has_a_first_order_gain_and_new_copper_none(tried):
    moved = next(one for one in tried[2:] if one.name.startswith("C1 moved"))
    via = next(one for one in tried[2:] if one.name.startswith("via"))
    assert moved.first_order == pytest.approx(moved.gain, rel=0.3)
    assert isnan(via.first_order)
