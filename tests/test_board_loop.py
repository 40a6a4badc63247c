"""A found loop as a layout for the plan view, and solved."""

import json
import math
from dataclasses import replace

import jsonschema
import pytest
import shapely
from shapely.geometry import Point

from geometries.board.capacitors import conductor
from geometries.drawn.choice import choose_capacitors, choose_loop
from geometries.drawn.copper import DETAIL, smoothed
from geometries.drawn.ends import ends_of_parts, ends_of_points
from geometries.drawn.errors import BoardError
from geometries.drawn.loops import CapacitorLoop, find_loops
from geometries.drawn.parts import Part, parts_of
from geometries.drawn.window import loop_window
from geometries.fabrication.board import Pad
from geometries.fabrication.connectivity import flood, net_differences
from geometries.layout.layout import CopperSheet, EdgeTerminal, Faces, PadTerminal, PlanLayout, Port, Side
from geometries.quantities import MM, UM
from geometries.section.outline import Polygon, Rectangle
from geometries.study.board_cut import section_cut
from solver.board.regions import worst_regions
from solver.board.wanted import SolvedLoops
from solver.plan import PlanMeshSettings, solve_plan
from solver.report.board_document import board_document
from solver.report.board_files import write_board
from solver.report.schema import document_schema

ROUGH = PlanMeshSettings().coarser()


@pytest.fixture(scope="module")
def parts(board):
    return parts_of(board)


@pytest.fixture(scope="module")
def loop(board):
    return find_loops(board)[0]


@pytest.fixture(scope="module")
def window(board, ends):
    return loop_window(board, ends, 1 * MM)


def test_the_window_holds_supply_ground_plane_and_parts(window):
    names = {sheet.name for sheet in window.layout.sheets}
    assert names == {"GND L1", "+24V L1", "GND L2", "body of U1", "body of C1"}


def test_the_next_ground_layer_is_a_sheet_at_its_distance(window):
    plane = window.layout.sheet("GND L2")
    assert (window.plane_layer, plane.height, plane.faces) == (2, pytest.approx(-0.12 * MM), Faces.ONE)


def test_the_current_goes_from_the_capacitor_through_the_supply(window):
    ports = [(port.entry.sheet, port.leave.sheet) for port in window.layout.ports]
    switch = [("body of U1", "+24V L1"), ("GND L1", "body of U1")]
    assert ports == [*switch, ("body of C1", "GND L1"), ("+24V L1", "body of C1")]


def test_a_terminal_keeps_off_the_coppers_edge(window):
    (terminal,) = [port.leave for port in window.layout.ports if port.name == "U1, far end"]
    edge = window.layout.sheet("+24V L1").shape.exterior
    assert edge.distance(terminal.outline.shape) >= 50 * UM


def test_a_terminal_lies_straight_under_the_end_of_its_body(window):
    (port,) = [port for port in window.layout.ports if port.name == "C1"]
    assert math.dist(port.entry.middle, port.leave.middle) < 30 * UM


def test_vias_of_ground_lead_to_the_plane(board, ends):
    wide = loop_window(board, ends, 3 * MM)
    assert {(via.upper, via.lower, via.radius) for via in wide.layout.vias} == {("GND L1", "GND L2", 0.15 * MM)}


def test_a_via_through_which_no_current_can_come_back_is_left_out(board, ends):
    lone = [hole for hole in board.vias if hole.net == "GND"][:1]
    assert loop_window(replace(board, holes=tuple(lone)), ends, 4 * MM).layout.vias == ()


def test_antipads_near_the_loop_stay_and_far_small_ones_are_filled(board, ends):
    near, far = ends.hull.centroid, Point(18.5 * MM, 18.5 * MM)
    holes = shapely.union_all([spot.buffer(0.3 * MM) for spot in (near, far)])
    drilled = replace(board.layers[1], nets={"GND": board.copper(2, "GND").difference(holes)})
    pierced = replace(board, layers=(board.layers[0], drilled, *board.layers[2:]))
    plane = loop_window(pierced, ends, 5 * MM).layout.sheet("GND L2").shape
    assert (plane.contains(near), plane.contains(far)) == (False, True)


def test_pads_on_two_sides_take_all_layers_and_stand_on_both(board, parts, loop):
    ends = ends_of_parts(parts, loop.converter, loop.capacitors[:1])
    moved = {**ends.joints, "C1": tuple(replace(joint, layer=4) for joint in ends.joints["C1"])}
    areas = {joint.net: joint.area for joint in moved["C1"]}
    island = areas["+24V"].buffer(0.3 * MM)
    around = board.copper(4, "GND").difference(island.buffer(0.3 * MM))
    below = replace(board.layers[3], nets={"GND": around, "+24V": island})
    inner = [replace(one, nets={"GND": one.nets["GND"].difference(island)}) for one in board.layers[1:3]]
    via = replace(board.vias[0], net="+24V", touched=(1, 4))
    holes = [replace(via, start=place, end=place) for place in _inside(areas["+24V"])]
    two_sided = replace(board, layers=(board.layers[0], *inner, below), holes=(*board.holes, *holes))
    window = loop_window(two_sided, replace(ends, joints=moved), 4 * MM)
    assert window.copper.layers == (1, 2, 3, 4)
    assert {"+24V L1", "+24V L4", "body of C1"} <= {sheet.name for sheet in window.layout.sheets}
    sides = {port.name: port.entry.side for port in window.layout.ports if port.name == "C1"}
    assert sides == {"C1": Side.LOWER}


def _inside(area):
    x, y = area.centroid.x, area.centroid.y
    return (x - 0.3 * MM, y), (x + 0.3 * MM, y)


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
        choose_capacitors(loop, "C4")


def test_a_shunt_carries_the_current_between_two_nets(parts, loop):
    shunt = part("R9", ("+24V", 10.0, 17.0), ("RAW", 8.0, 17.0))
    behind = CapacitorLoop(capacitor="C9", net="RAW", shunt="R9", path=1.0)
    capacitor = part("C9", ("RAW", 7.0, 17.0), ("GND", 7.0, 13.0))
    ends = ends_of_parts({**parts, "R9": shunt, "C9": capacitor}, loop.converter, [behind])
    assert list(ends.joints) == ["U1", "R9", "C9"]
    assert [joint.net for joint in ends.joints["R9"]] == ["+24V", "RAW"]


def part(reference, *pads):
    return Part(
        reference=reference,
        pads=tuple(
            Pad(reference=reference, pin=str(number), function="", net=net, layer=1, place=(x * MM, y * MM),
                shape=shapely.box((x - 0.5) * MM, (y - 0.5) * MM, (x + 0.5) * MM, (y + 0.5) * MM))
            for number, (net, x, y) in enumerate(pads, start=1)
        ),
    )  # fmt: skip


def test_points_on_pads_give_the_same_copper_as_names(board, window):
    pads = {"U1": ((15, 14.95), (15, 14.0)), "C1": ((12.8, 15.3), (12.8, 13.6))}
    switch, capacitor = (tuple(((x * MM, y * MM),) for x, y in pair) for pair in pads.values())
    named_by_points = loop_window(board, ends_of_points(board, 1, [switch], capacitor), 1 * MM)
    assert named_by_points.layout.sheets[:3] == window.layout.sheets[:3]
    assert [body.outline for body in named_by_points.layout.sheets[3:]] == [
        body.outline for body in window.layout.sheets[3:]
    ]


def test_a_point_beside_every_pad_is_refused(board):
    nowhere = ((30 * MM, 20 * MM),)
    with pytest.raises(BoardError, match=r"no pad at \(30, 20\) mm on layer L1"):
        ends_of_points(board, 1, [(nowhere, nowhere)], (nowhere, nowhere))


def rectangle(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def polygon(*corners):
    return Polygon(vertices=tuple((x * MM, y * MM) for x, y in corners))


def by_hand():
    """The window's copper from the built-in board's tables, as a person would describe it: corners, strips, plane."""
    left, bottom, right, top = 11.2, 12.15, 16.5, 16.75
    supply = polygon((left, 14.6), (15.6, 14.6), (15.6, 15.4), (14.2, 15.4), (14.2, top), (left, top))
    ground = polygon((left, bottom), (13.8, bottom), (13.8, 13.6), (15.6, 13.6), (15.6, 14.4), (left, 14.4))
    joined = {"height": 0.0, "thickness": 43 * UM, "faces": Faces.JOINED}
    plane = CopperSheet(
        name="plane", outline=rectangle(left, bottom, right, top), height=-0.12 * MM, thickness=17 * UM, faces=Faces.ONE
    )
    switch = CopperSheet(name="switch", outline=rectangle(14.5, 14.0, 15.5, 14.955), height=0.243 * MM)
    capacitor = CopperSheet(name="capacitor", outline=rectangle(12.2, 13.6, 13.4, 15.3), height=0.244 * MM)
    return PlanLayout(
        name="by hand",
        sheets=(
            CopperSheet(name="GND", outline=ground, **joined),
            CopperSheet(name="+24V", outline=supply, **joined),
            plane,
            switch,
            capacitor,
        ),
        ports=(
            between("switch, far end", top_of("switch", 14.5, 15.5, 14.955), land("+24V", 14.5, 15.5, 14.955)),
            between("switch", land("GND", 14.5, 15.5, 14.0), top_of("switch", 14.5, 15.5, 14.0)),
            between("capacitor, far end", top_of("capacitor", 12.2, 13.4, 13.6), land("GND", 12.2, 13.4, 13.6)),
            between("capacitor", land("+24V", 12.2, 13.4, 15.3), top_of("capacitor", 12.2, 13.4, 15.3)),
        ),
    )


def between(name, entry, leave):
    return Port(name=name, entry=entry, leave=leave)


def land(sheet, left, right, y):
    return PadTerminal(sheet=sheet, outline=rectangle(left, y - 0.05, right, y + 0.05))


def top_of(sheet, left, right, y):
    return EdgeTerminal(sheet=sheet, start=(left * MM, y * MM), end=(right * MM, y * MM))


def test_the_built_in_loop_as_read_is_the_loop_as_described(window):
    read = solve_plan(window.layout, 100e6, ROUGH)
    assert read.loop_inductance == pytest.approx(solve_plan(by_hand(), 100e6, ROUGH).loop_inductance, rel=0.01)


def test_the_terms_add_up_to_the_loop(drawn):
    assert sum(term.inductance for term in drawn.terms) == pytest.approx(drawn.inductance, rel=1e-12)
    assert sum(term.resistance for term in drawn.terms) == pytest.approx(drawn.resistance, rel=1e-12)


def test_every_net_part_and_layer_is_a_term(drawn):
    names = {term.name for term in drawn.terms}
    assert names == {"GND L1", "+24V L1", "GND L2", "body of U1", "body of C1", "vias of GND"}


def test_the_height_of_the_parts_metal_is_part_of_the_error(board, ends, drawn):
    raised = replace(ends, known=dict.fromkeys(ends.joints, conductor(0.22 * MM)))
    higher = solve_plan(loop_window(board, raised, drawn.window.margin).layout, 100e6, ROUGH.coarser())
    assert (higher.loop_inductance - drawn.field_inductance) * 5 == pytest.approx(drawn.parts_error, rel=0.15)


def test_two_capacitors_share_the_current_and_lower_the_loop(board, parts, loop, drawn, solve_once):
    both = solve_once(board, ends_of_parts(parts, loop.converter, loop.capacitors), ROUGH.coarser())
    assert both.solution.loops == ("C1", "C2")
    assert both.shares.sum() == pytest.approx(1)
    assert both.shares[0] > both.shares[1] > 0
    assert both.inductance < drawn.inductance


def test_the_regions_and_vias_add_up_to_the_loop(drawn):
    regions = worst_regions(drawn)
    vias = sum(term.inductance for term in drawn.terms if term.name.startswith("vias"))
    assert sum(region.inductance for region in regions) + vias == pytest.approx(drawn.inductance, rel=1e-6)
    assert [region.share for region in regions] == sorted((region.share for region in regions), reverse=True)


def test_a_region_lies_on_its_copper(drawn):
    worst = next(region for region in worst_regions(drawn) if region.where == "GND L1")
    assert drawn.window.layout.sheet("GND L1").shape.buffer(worst.side / 2).contains(Point(worst.place))


def test_the_note_names_the_worst_places_by_the_pictures_numbers(drawn, tmp_path):
    write_board({}, SolvedLoops(drawn=(drawn,), refused=()), (), tmp_path)
    note = (tmp_path / "layout-note.md").read_text()
    first = worst_regions(drawn)[0]
    assert f"1. {first.sentence}" in note
    assert "![worst places](U1-C1-note.png)" in note
    assert (tmp_path / "U1-C1-note.png").stat().st_size > 10_000


def test_the_cut_holds_the_copper_of_every_layer_in_its_role(board, drawn):
    regions = {region.name: region for region in section_cut(board, drawn.ends, drawn.window).section.regions}
    roles = {name: region.role.value for name, region in regions.items()}
    assert roles["+24V L1"] == "go"
    assert {roles[f"GND L{layer}"] for layer in (1, 2, 3, 4)} == {"return"}
    assert roles["+24V L4"] == "floating"
    gap = regions["+24V L1"].outline.bounds[0] - regions["GND L1"].outline.bounds[2]
    assert gap == pytest.approx(0.2 * MM, abs=2 * UM)


def test_the_cut_adds_its_ground_layers_one_by_one(board, drawn):
    steps = section_cut(board, drawn.ends, drawn.window).steps
    assert [step.layer for step in steps] == ["", "L2", "L3", "L4"]
    assert [region.name for region in steps[0].section.regions if region.name.startswith("GND")] == ["GND L1"]


def test_a_line_beside_the_loop_is_refused(board, drawn):
    with pytest.raises(BoardError, match="does not cut both nets of U1 on L1"):
        section_cut(board, drawn.ends, drawn.window, ((30 * MM, 20 * MM), (30 * MM, 22 * MM)))


@pytest.fixture(scope="module")
def document(board, drawn):
    solved = SolvedLoops(drawn=(drawn,), refused=())
    return board_document(board, find_loops(board), net_differences(flood(board.layers, board.holes)), solved)


def test_the_document_follows_the_schema_of_all_commands(document):
    schema = document_schema()
    jsonschema.Draft202012Validator(schema).validate(json.loads(json.dumps(document)))


def test_the_loop_inductance_of_the_document_is_copper_and_parts(document):
    (found,) = document["variants"]
    whole, split = found["figures"]["loop_inductance"], found["split"]
    assert whole["value"] == pytest.approx(split["copper"]["value"] + split["parts"]["value"], rel=1e-12)
    both = math.hypot(split["copper"]["uncertainty"], split["parts"]["uncertainty"])
    assert whole["uncertainty"] == pytest.approx(both, rel=1e-12)
