"""What two real boards' files say themselves: nets against connected copper, holes against pads, converters found.

The boards' own layouters named nets and pins; flooding copper and plated holes knows nothing of the names, and drill
files nothing of the pads. The converters are those of the boards' published circuit diagrams (repositories in
README.md): five integrated converters on six-layers, two half bridges of a four-switch converter on four-layers.
"""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import KDTree

from geometries.drawn.converters import ConverterKind
from geometries.drawn.ends import ends_of_parts, ends_of_points
from geometries.drawn.loops import find_loops
from geometries.drawn.parts import parts_of
from geometries.drawn.window import loop_window
from geometries.fabrication.connectivity import flood, net_differences
from geometries.fabrication.gerber import Kind
from geometries.fabrication.gerber_reading import read_gerber
from geometries.fabrication.pen import INCH
from geometries.fabrication.reading import read_board
from geometries.fabrication.sources import read_sources
from geometries.quantities import MM

HALF_STEP = math.sqrt(2) * 0.5e-4 * INCH + 1e-9
"""Half the last digit of an inch with four decimals, in x and in y; a nanometre for the layer's own rounding [m]."""

ARCHIVES = Path(__file__).parent


@pytest.mark.parametrize(("name", "nets"), [("four-layers", 54), ("six-layers", 632)])
def test_connected_copper_never_joins_two_nets(real_board, name, nets):
    board = real_board(name)
    differences = net_differences(flood(board.layers, board.holes))
    assert (differences.nets, differences.merged) == (nets, ())


def test_every_net_of_the_four_layer_board_hangs_together(real_board):
    board = real_board("four-layers")
    assert net_differences(flood(board.layers, board.holes)).split == ()


def test_of_the_six_layer_board_only_two_lone_pads_named_ground_hang_apart(real_board):
    board = real_board("six-layers")
    islands = [island for island in flood(board.layers, board.holes) if island.net == "GND"]
    lone = {island.component for island in islands} - {max(islands, key=lambda island: island.shape.area).component}
    areas = [island.shape.area / MM**2 for island in islands if island.component in lone]
    assert areas == pytest.approx([np.pi * 1.25**2] * 12, rel=1e-3)


@pytest.mark.parametrize(("name", "layer_file"), [("four-layers", "CuIn1.gbr"), ("six-layers", "Int1 (GND).g1")])
def test_every_plated_round_hole_stands_where_the_layer_flashes_a_pad(real_board, name, layer_file):
    (file,) = [one for one in read_sources(ARCHIVES / f"{name}.zip") if one.name.endswith(layer_file)]
    flashed = [item.place for item in read_gerber(file.name, file.text).objects if item.kind is Kind.FLASH]
    plated = [hole.start for hole in real_board(name).holes if hole.plated and hole.start == hole.end]
    distances, _ = KDTree(flashed).query(plated)
    assert distances.max() <= HALF_STEP


def test_the_five_converters_of_the_six_layer_board_are_found(real_board):
    loops = find_loops(real_board("six-layers"))
    assert {loop.converter.name for loop in loops} == {"U8", "U17", "U20", "U21", "U23"}


@pytest.mark.parametrize(
    ("name", "capacitor"), [("U8", "C73"), ("U20", "C9"), ("U21", "C179"), ("U23", "C187"), ("U17", "C102")]
)
def test_the_nearest_capacitor_is_the_one_that_was_placed_for_it(real_board, name, capacitor):
    (loop,) = [loop for loop in find_loops(real_board("six-layers")) if loop.converter.name == name]
    assert loop.capacitors[0].capacitor == capacitor


def test_the_two_half_bridges_of_the_four_layer_board_are_found(real_board):
    loops = find_loops(real_board("four-layers"))
    found = {(loop.converter.name, loop.converter.kind, loop.capacitors[0].capacitor) for loop in loops}
    assert found == {("Q11/Q12", ConverterKind.HALF_BRIDGE, "C14"), ("Q13/Q14", ConverterKind.HALF_BRIDGE, "C15")}


def test_capacitors_behind_a_shunt_are_found(real_board):
    (loop,) = [loop for loop in find_loops(real_board("four-layers")) if loop.converter.name == "Q11/Q12"]
    assert ("C9", "R11") in {(one.capacitor, one.shunt) for one in loop.capacitors}


def without_names(name, folder):
    """The board's files without any object attribute: no nets, no references, no pins."""
    for source in read_sources(ARCHIVES / f"{name}.zip"):
        kept = (line for line in source.text.splitlines() if not line.startswith("%TO."))
        (folder / source.name).write_text("\n".join(kept))
    return read_board(folder)


def test_without_names_points_on_the_pads_give_the_same_copper(real_board, tmp_path):
    board = real_board("four-layers")
    (loop,) = [one for one in find_loops(board) if one.converter.name == "Q11/Q12"]
    named = ends_of_parts(parts_of(board), loop.converter, loop.capacitors[:1])
    points = {name: (_points(board, name, below), _points(board, name, above)) for name, below, above in _chain(loop)}
    *switches, capacitor = [(above, below) for below, above in points.values()]
    stripped = without_names("four-layers", tmp_path)
    nameless = ends_of_points(stripped, 1, switches, capacitor)
    layouts = [loop_window(one, ends, 1 * MM).layout for one, ends in ((board, named), (stripped, nameless))]
    outlines = [sorted((sheet.shape for sheet in layout.sheets), key=lambda one: one.area) for layout in layouts]
    apart = [one.symmetric_difference(other).area / one.area for one, other in zip(*outlines, strict=True)]
    assert max(apart) < 1e-9
    assert len(layouts[0].vias) == len(layouts[1].vias)


def _chain(loop):
    found = loop.converter
    upper, lower = found.switches
    yield upper, found.switch_net, found.supply_net
    yield lower, found.ground_net, found.switch_net
    yield loop.capacitors[0].capacitor, found.ground_net, found.supply_net


def _points(board, reference, net):
    return [pad.place for pad in board.pads_of(reference) if pad.net == net]
