"""Changes of a loop's copper: where they are tried, and that they gain what they should."""

from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from geometries.fabrication.example_board import write_example_board
from geometries.fabrication.reading import read_board
from geometries.quantities import MM
from solver.board.as_drawn import DrawnLoop
from solver.board.edits import possible_edits, try_edits
from solver.board.ends import ends_of_parts
from solver.board.loops import find_loops
from solver.board.parts import parts_of
from solver.board.window import loop_window
from solver.plan import PlanMeshSettings, solve_plan

ROUGH = PlanMeshSettings().coarser().coarser()


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    folder = Path(tmp_path_factory.mktemp("board"))
    write_example_board(folder)
    return read_board(folder)


@pytest.fixture(scope="module")
def ends(board):
    loop = find_loops(board)[0]
    return ends_of_parts(parts_of(board), loop.converter, loop.capacitors[0])


@pytest.fixture(scope="module")
def window(board, ends):
    return loop_window(board, ends, 1 * MM)


@pytest.fixture(scope="module")
def edits(board, ends, window):
    return list(possible_edits(board, ends, window))


def test_with_no_via_to_come_back_through_vias_are_added_at_both_ends(edits, window):
    assert window.layout.vias == ()
    assert [len(edit.layout.vias) for edit in edits if edit.name.startswith("via")] == [2]


def test_with_vias_in_the_window_one_more_is_tried_at_each_end(board, ends):
    wide = loop_window(board, ends, 3 * MM)
    added = [len(edit.layout.vias) - len(wide.layout.vias) for edit in possible_edits(board, ends, wide)]
    assert sorted(added) == [0, 0, 1, 1, 2]


def test_a_new_via_stands_in_ground_clear_of_every_pad(edits, ends):
    (edit,) = [edit for edit in edits if edit.name.startswith("via")]
    for via in edit.layout.vias:
        hole = shapely.Point(via.centre).buffer(via.radius)
        assert edit.layout.sheet("GND").shape.contains(hole.buffer(0.09 * MM))
        assert all(hole.distance(area) > 0 for _, area in ends.areas)


def test_the_capacitor_moves_as_far_as_it_has_room(edits):
    # 1.1 mm lie between the pads of C1 and U1: moved by 1 mm, too little would be left
    assert "C1 moved by 0.5 mm towards U1" in [edit.name for edit in edits]


def test_the_plane_comes_half_as_near(edits):
    (edit,) = [edit for edit in edits if edit.name.startswith("plane")]
    assert edit.layout.plane.height == pytest.approx(-0.06 * MM)


def test_without_a_plane_no_via_is_tried(board, ends, window):
    bare = replace(window, layout=replace(window.layout, plane=None))
    assert [edit.name[:2] for edit in possible_edits(board, ends, bare)] == ["C1"]


def test_every_change_of_the_built_in_loop_gains_more_than_its_error(board, ends, window):
    solution = solve_plan(window.layout, 100e6, ROUGH)
    drawn = DrawnLoop(ends=ends, window=window, solution=solution, window_error=0.0, untied=solution.loop_inductance)
    tried = try_edits(board, drawn, ROUGH)
    assert len(tried) == 3
    assert min(one.gain - one.error for one in tried) > 0
    assert [one.gain for one in tried] == sorted((one.gain for one in tried), reverse=True)
