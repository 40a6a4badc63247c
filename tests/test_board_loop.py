"""A found loop as a layout for the plan view, and solved."""

from pathlib import Path
from types import SimpleNamespace

import pytest
import shapely

from geometries.board.materials import COPPER
from geometries.fabrication.example_board import write_example_board
from geometries.fabrication.reading import read_board
from geometries.layout.layout import CopperSheet, Faces, MirrorPlane, PadTerminal, PlanLayout, Port
from geometries.quantities import MM, UM
from geometries.section.outline import Polygon, Rectangle
from solver.board.as_drawn import choose_capacitor, choose_loop, solve_as_drawn
from solver.board.ends import ends_of_parts, ends_of_points
from solver.board.errors import BoardError
from solver.board.loops import CapacitorLoop, find_loops
from solver.board.parts import parts_of
from solver.board.window import DETAIL, loop_window, smoothed
from solver.plan import PlanMeshSettings, solve_plan

ROUGH = PlanMeshSettings().coarser()


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    folder = Path(tmp_path_factory.mktemp("board"))
    write_example_board(folder)
    return read_board(folder)


@pytest.fixture(scope="module")
def parts(board):
    return parts_of(board)


@pytest.fixture(scope="module")
def loop(board):
    return find_loops(board)[0]


@pytest.fixture(scope="module")
def ends(parts, loop):
    return ends_of_parts(parts, loop.converter, loop.capacitors[0])


@pytest.fixture(scope="module")
def window(board, ends):
    return loop_window(board, ends, 1 * MM)


def test_the_window_holds_supply_and_ground(window):
    assert [sheet.name for sheet in window.layout.sheets] == ["GND", "+24V"]


def test_the_next_ground_layer_is_the_plane_at_its_distance(window):
    assert (window.plane_layer, window.layout.plane.height) == (2, pytest.approx(-0.12 * MM))


def test_the_current_goes_from_the_capacitor_through_the_supply(window):
    ports = {port.name: (port.entry.sheet, port.leave.sheet) for port in window.layout.ports}
    assert ports == {"U1": ("GND", "+24V"), "C1": ("+24V", "GND")}


def test_a_terminal_keeps_off_the_coppers_edge(window):
    (terminal,) = [port.leave for port in window.layout.ports if port.name == "U1"]
    edge = window.layout.sheet("+24V").shape.exterior
    assert edge.distance(terminal.outline.shape) >= 50 * UM


def test_vias_of_ground_stand_on_the_plane(board, ends):
    wide = loop_window(board, ends, 3 * MM)
    assert {(via.upper, via.lower, via.radius) for via in wide.layout.vias} == {("GND", "mirror plane", 0.15 * MM)}


def test_smoothing_opens_spikes_and_keeps_the_rest():
    spiked = shapely.Polygon(
        [(0, 0), (4 * MM, 0), (4 * MM, 2 * MM), (0, 2 * MM), (0, 1.01 * MM), (-2 * MM, MM), (0, 0.99 * MM)]
    )
    assert smoothed(spiked).bounds[0] == pytest.approx(0, abs=5 * DETAIL)
    assert smoothed(spiked).area == pytest.approx(8 * MM**2, rel=0.01)


def test_a_converter_that_is_not_there_is_answered_with_those_that_are(loop):
    with pytest.raises(BoardError, match="no converter 'U7' was found; known here: U1"):
        choose_loop((loop,), "U7")


def test_a_capacitor_that_is_on_other_nets_is_refused(loop):
    with pytest.raises(BoardError, match=r"C4 is not between '\+24V' and 'GND'"):
        choose_capacitor(loop, "C4")


def test_a_capacitor_behind_a_shunt_is_refused(parts, loop):
    behind = CapacitorLoop(capacitor="C2", net="+24V", shunt="R9", path=1.0)
    with pytest.raises(BoardError, match="reaches U1 through R9"):
        ends_of_parts(parts, loop.converter, behind)


def test_points_on_pads_give_the_same_copper_as_names(board, window):
    pads = {"U1": ((15, 14.95), (15, 14.0)), "C1": ((12.8, 15.3), (12.8, 13.6))}
    switch, capacitor = (tuple(((x * MM, y * MM),) for x, y in pair) for pair in pads.values())
    named_by_points = loop_window(board, ends_of_points(board, 1, [switch], capacitor), 1 * MM)
    assert named_by_points.layout.sheets == window.layout.sheets
    assert [port.entry for port in named_by_points.layout.ports] == [port.entry for port in window.layout.ports]


def test_a_point_beside_every_pad_is_refused(board):
    nowhere = ((30 * MM, 20 * MM),)
    with pytest.raises(BoardError, match=r"no pad at \(30, 20\) mm on layer L1"):
        ends_of_points(board, 1, [(nowhere, nowhere)], (nowhere, nowhere))


def rectangle(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def polygon(*corners):
    return Polygon(vertices=tuple((x * MM, y * MM) for x, y in corners))


def by_hand():
    """The window's copper from the built-in board's tables, as a person would describe it: corners and pads."""
    left, bottom, top = 11.2, 12.15, 16.75
    supply = polygon((left, 14.6), (15.6, 14.6), (15.6, 15.4), (14.2, 15.4), (14.2, top), (left, top))
    ground = polygon((left, bottom), (13.8, bottom), (13.8, 13.6), (15.6, 13.6), (15.6, 14.4), (left, 14.4))
    common = {"height": 0.0, "thickness": 43 * UM, "faces": Faces.ONE}
    vin = rectangle(14.5, 14.66, 15.5, 15.25)
    gnd = rectangle(14.5, 13.7, 15.5, 14.3)
    return PlanLayout(
        name="by hand",
        sheets=(
            CopperSheet(name="GND", outline=ground, **common),
            CopperSheet(name="+24V", outline=supply, **common),
        ),
        ports=(
            Port(
                name="U1",
                entry=PadTerminal(sheet="GND", outline=gnd),
                leave=PadTerminal(sheet="+24V", outline=vin),
            ),
            Port(
                name="C1",
                entry=PadTerminal(sheet="+24V", outline=rectangle(12.2, 14.85, 13.4, 15.75)),
                leave=PadTerminal(sheet="GND", outline=rectangle(12.2, 13.15, 13.4, 14.05)),
            ),
        ),
        plane=MirrorPlane(height=-0.12 * MM, material=COPPER, thickness=17 * UM),
    )


def test_the_built_in_loop_as_read_is_the_loop_as_described(window):
    read = solve_plan(window.layout, 100e6, ROUGH)
    assert read.loop_inductance == pytest.approx(solve_plan(by_hand(), 100e6, ROUGH).loop_inductance, rel=0.01)


def faked(monkeypatch, *inductances):
    """Let the plan view answer with these values [H], one per solve, each within 1 %."""
    answers = iter(inductances)

    def answer(layout, frequency, settings):
        return SimpleNamespace(loop_inductance=next(answers), inductance_error=0.01)

    monkeypatch.setattr("solver.board.as_drawn.solve_plan", answer)


def test_the_window_is_widened_until_the_inductance_stays_within_its_error(board, ends, monkeypatch):
    faked(monkeypatch, 1.0, 0.9, 0.895, 0.8)
    drawn = solve_as_drawn(board, ends, 100e6)
    assert (drawn.inductance, drawn.window.margin) == (0.895, pytest.approx(1.6**2 * MM))


def test_the_stated_error_is_that_of_mesh_and_window(board, ends, monkeypatch):
    faked(monkeypatch, 1.0, 0.9, 0.895, 0.8)
    assert solve_as_drawn(board, ends, 100e6).error == pytest.approx(0.00895 + 0.005)


def test_the_loop_without_its_vias_is_solved_beside_it(board, ends, monkeypatch):
    faked(monkeypatch, 1.0, 1.0, 1.5)
    assert solve_as_drawn(board, ends, 100e6).untied == 1.5
