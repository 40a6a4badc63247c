"""The feedback trace as it is drawn: its way through the copper, and what it picks up of the loop."""

from dataclasses import replace
from itertools import groupby

import numpy as np
import pytest
import shapely

from geometries.drawn.errors import BoardError
from geometries.drawn.loops import find_loops
from geometries.drawn.trace import trace_path
from geometries.fabrication.errors import FabricationError
from geometries.quantities import MM
from geometries.section.victims import Divider, Drive
from solver.board.feedback import coupled_feedback
from solver.board.node_field import node_capacitance, surface_capacitance
from solver.report.board_text import feedback_lines

DRIVE = Drive(
    current=3.0,
    frequency=500e3,
    rise_time=2e-9,
    fall_time=2e-9,
    voltage=24.0,
    voltage_rise_time=3e-9,
    voltage_fall_time=3e-9,
    reference_voltage=0.8,
    divider=Divider(upper=31.6e3, lower=10e3),
)


@pytest.fixture(scope="module")
def loops(board):
    return find_loops(board)


@pytest.fixture(scope="module")
def coupling(board, loops, drawn):
    return coupled_feedback(board, loops, [drawn]).couplings["U1"]


def pads(board, reference, net):
    return tuple(pad for pad in board.pads_of(reference) if pad.net == net)


def test_the_path_runs_from_the_nearest_pad_to_the_pin_in_the_copper(board):
    path = trace_path(board, pads(board, "R1", "FB") + pads(board, "R2", "FB"), pads(board, "U1", "FB"))
    # from the left edge of R1's pad at 23.6 mm to the right edge of the pin's at 17.5 mm
    assert path.length == pytest.approx(6.1 * MM, abs=0.15 * MM)
    assert shapely.contains_xy(board.copper(1, "FB").buffer(1e-9), path.points).all()


def test_a_path_changes_its_layer_at_a_via(board):
    (enable,) = [pad for pad in board.pads_of("U1") if pad.function == "EN"]
    path = trace_path(board, (enable,), pads(board, "C1", "+24V"))
    places = path.points[np.flatnonzero(np.diff(path.layers))]
    assert [layer for layer, _ in groupby(path.layers)] == [1, 2, 3, 4, 3, 2, 1]
    assert places[[0, 3]] == pytest.approx(np.array([[17.0, 12.1], [13.0, 17.5]]) * MM, abs=0.1 * MM)


def test_copper_that_is_cut_leads_nowhere(board):
    (enable,) = [pad for pad in board.pads_of("U1") if pad.function == "EN"]
    layers = (*board.layers[:3], replace(board.layers[3], nets={}))
    with pytest.raises(BoardError, match="does not join U1 and C1"):
        trace_path(replace(board, layers=layers), (enable,), pads(board, "C1", "+24V"))


def test_a_plane_is_no_trace(board):
    big = shapely.box(0.0, 0.0, 0.2, 0.2)
    layers = (replace(board.layers[0], nets={"FB": big}), *board.layers[1:])
    with pytest.raises(BoardError, match="it is no trace"):
        trace_path(replace(board, layers=layers), pads(board, "R1", "FB"), pads(board, "U1", "FB"))


def test_far_from_the_loop_over_a_plane_little_is_picked_up(coupling, drawn):
    assert 0 < coupling.mutual < 1e-3 * drawn.inductance


def test_without_the_plane_under_it_no_return_is_known(board, loops, drawn):
    bare = tuple(
        replace(one, nets={net: shape for net, shape in one.nets.items() if net != "GND"}) for one in board.layers
    )
    found = coupled_feedback(replace(board, layers=bare), loops, [drawn])
    assert (dict(found.couplings), len(found.refused)) == ({}, 1)
    assert "no ground lies over or under the trace" in found.refused[0]


def test_a_net_that_is_named_wrongly_is_told_with_the_nearest(board, loops, drawn):
    with pytest.raises(FabricationError, match="no net 'FBK'; did you mean 'FB'"):
        coupled_feedback(board, loops, [drawn], "FBK")


def test_a_named_net_is_the_one_that_is_found(board, loops, drawn, coupling):
    assert coupled_feedback(board, loops, [drawn], "FB").couplings["U1"].mutual == coupling.mutual


def test_the_emf_at_the_pin_is_mutual_inductance_times_slope_as_far_as_the_pin_follows(coupling):
    # 31.6 k || 10 k with 5 pF at the pin are 38 ns against an edge of 2 ns: the pin begins to charge, no more
    emf = coupling.mutual * DRIVE.current / DRIVE.rise_time
    peak = coupling.signal(DRIVE).magnetic_peak
    assert 0.02 * emf < peak < emf


def test_twice_the_current_doubles_the_pick_up(coupling):
    twice = coupling.signal(replace(DRIVE, current=6.0)).magnetic_peak
    assert twice == pytest.approx(2 * coupling.signal(DRIVE).magnetic_peak, rel=1e-9)


def test_the_lines_say_what_the_node_couples(board, loops, drawn):
    (line,) = feedback_lines(coupled_feedback(board, loops, [drawn]), DRIVE)
    assert "fF to the switch node, on L1" in line
    assert np.isfinite(float(line.split("the pin sees ")[1].split(" ")[0]))
    assert np.isfinite(float(line.split("at the switch node ")[1].split(" ")[0]))


def test_twice_the_edge_of_the_voltage_doubles_its_part(coupling):
    twice = coupling.signal(replace(DRIVE, voltage=48.0))
    once = coupling.signal(DRIVE)
    assert twice.electric_peak == pytest.approx(2 * once.electric_peak, rel=1e-9)
    assert twice.magnetic_peak == once.magnetic_peak


def test_a_trace_behind_ground_takes_nothing_of_the_node(board):
    moved = tuple(
        replace(one, nets={**{net: shape for net, shape in one.nets.items() if net != "FB"}, **there})
        for one, there in zip(board.layers, ({}, {}, {}, {"FB": board.copper(1, "FB")}), strict=True)
    )
    found = node_capacitance(replace(board, layers=moved), "SW", "FB", "GND")
    assert (found.value, found.remark) == (0.0, "ground lies between the switch node and the trace")


def test_a_trace_that_nothing_shields_is_told(board):
    bare = tuple(
        replace(one, nets={net: shape for net, shape in one.nets.items() if net != "GND"}) for one in board.layers
    )
    found = node_capacitance(replace(board, layers=bare), "SW", "FB", "GND")
    assert (found.value, "no ground shields the trace on L1, which is not counted" in found.remark) == (0.0, True)


def test_copper_at_rest_between_node_and_trace_shields():
    node, trace = shapely.box(0, 0, 2e-3, 2e-3), shapely.box(3e-3, 0, 3.3e-3, 2e-3)
    open_way, shielded = (
        surface_capacitance(node, trace, rest, 0.2e-3, 4.4)
        for rest in (shapely.Polygon(), shapely.box(2.3e-3, -1e-3, 2.7e-3, 3e-3))
    )
    assert 0 < shielded < 0.9 * open_way
