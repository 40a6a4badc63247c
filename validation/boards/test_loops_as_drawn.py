"""Loops of two real boards solved as drawn: against an independent trial, and against the same copper without names.

Trial: the copper of U23 and C187 on layer 1 as drawn, ground on layer 2 as an endless plane tied by ground vias, 100
MHz, by a script that read the six-layer board's files itself and meshed single sheets: 0.118 nH with the vias, 0.373 nH
with the plane not tied. What is computed now has more in it: the parts' bodies, the copper's thickness, the plane as it
is.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from geometries.drawn.choice import choose_capacitors
from geometries.drawn.ends import ends_of_parts
from geometries.drawn.loops import find_loops
from geometries.drawn.parts import parts_of
from geometries.drawn.points import read_loop_points
from geometries.drawn.window import loop_window
from geometries.fabrication.reading import read_board
from geometries.fabrication.sources import read_sources
from geometries.layout.layout import MIRROR, Faces, MirrorPlane, PadTerminal, PlanLayout, Port
from geometries.quantities import MM
from geometries.section.outline import Polygon
from solver.plan import PlanMeshSettings, solve_plan

TRIAL = "trial script on the same files, single sheets over an endless plane"
ROUGH = PlanMeshSettings().coarser().coarser()
FREQUENCY = 100e6


@pytest.fixture(scope="module")
def ends_and_window(real_board):
    board = real_board("six-layers")
    loop = next(one for one in find_loops(board) if one.converter.name == "U23")
    ends = ends_of_parts(parts_of(board), loop.converter, choose_capacitors(loop, "C187"))
    return ends, loop_window(board, ends, 2.6 * MM)


def over_an_endless_plane(ends, window, faces):
    """Layer 1 alone over images, the vias down to them; the parts as they are."""
    plane = window.layout.sheet("GND L2")
    top = tuple(
        replace(one, faces=faces) if "L1" in one.name else one for one in window.layout.sheets if one is not plane
    )
    return PlanLayout(
        name="over an endless plane",
        sheets=top,
        ports=window.layout.ports,
        vias=tuple(replace(via, lower=MIRROR) for via in window.layout.vias),
        plane=MirrorPlane(height=plane.height, material=plane.material, thickness=plane.thickness),
    )


def with_ports_for_parts(ends, window, layout):
    """The same with nothing between the pads, which are equipotentials: what the trial solved."""
    ports = []
    for name, joints in ends.joints.items():
        lands = [
            PadTerminal(sheet=(piece := window.copper.piece_at(one)).name, outline=outline(piece.under(one.area)))
            for one in joints
        ]
        ports.append(Port(name=name, entry=lands[0], leave=lands[1]))
    sheets = tuple(one for one in layout.sheets if not one.name.startswith("body"))
    return replace(layout, sheets=sheets, ports=tuple(ports))


def outline(shape):
    return Polygon(vertices=tuple(shape.exterior.coords[:-1]))


@pytest.mark.parametrize(("tied", "trial", "allowed"), [(True, 0.118, 0.03), (False, 0.373, 0.05)])
def test_copper_alone_over_an_endless_plane_is_that_of_the_trial(ends_and_window, references, tied, trial, allowed):
    ends, window = ends_and_window
    layout = with_ports_for_parts(ends, window, over_an_endless_plane(ends, window, Faces.ONE))
    found = solve_plan(layout if tied else replace(layout, vias=()), FREQUENCY, ROUGH)
    references.compare(
        found=found.loop_inductance * 1e9,
        reference=trial,
        rtol=allowed,
        source=TRIAL,
        item=f"U23 with C187, plane {'tied' if tied else 'not tied'}",
        unit="nH",
        reason="the trial's window was narrower, 1.2 to 2 mm against 2.6 mm, its vias seven of eight",
        mark="computed independently",
    )


def test_the_difference_is_that_of_the_parts_and_the_real_plane_adds_little(ends_and_window):
    _, window = ends_and_window
    endless = solve_plan(over_an_endless_plane(*ends_and_window, Faces.JOINED), FREQUENCY, ROUGH)
    drawn = solve_plan(window.layout, FREQUENCY, ROUGH)
    both = drawn.loop_inductance * drawn.inductance_error + endless.loop_inductance * endless.inductance_error
    assert 0 < drawn.loop_inductance - endless.loop_inductance < 0.05 * endless.loop_inductance + both


@pytest.mark.parametrize(("name", "converter"), [("four-layers", "Q13/Q14"), ("six-layers", "U23")])
def test_without_names_points_give_the_same_inductance(real_board, references, tmp_path, name, converter):
    board = real_board(name)
    loop = next(one for one in find_loops(board) if one.converter.name == converter)
    named = ends_of_parts(parts_of(board), loop.converter, loop.capacitors[:1])
    *switches, capacitor = [_typed(board, part, pair) for part, pair in named.joints.items()]
    stripped = without_names(name, tmp_path)
    points = read_loop_points(switches, _turned(capacitor), f"L{named.layer}").ends(stripped, {})
    values = [
        solve_plan(loop_window(one, ends, 1 * MM).layout, FREQUENCY, ROUGH.coarser()).loop_inductance
        for one, ends in ((board, named), (stripped, points))
    ]
    references.compare(
        found=values[1] * 1e9,
        reference=values[0] * 1e9,
        rtol=1e-3,
        source="the same files with their names",
        item=f"{converter} with {loop.capacitors[0].capacitor}, named by points on the pads",
        unit="nH",
        reason="the same copper, meshed in another order",
        mark="computed independently",
    )


def _typed(board, part, pair):
    """A part's pads as they are typed, towards the supply first: where the current leaves the copper of a switch."""
    into, out = (";".join(_places(board, part, joint)) for joint in pair)
    return f"{out} to {into}"


def _turned(typed):
    return " to ".join(reversed(typed.split(" to ")))


def _places(board, part, joint):
    for pad in board.pads_of(part):
        if pad.layer == joint.layer and pad.net == joint.net and joint.area.covers(pad.shape.representative_point()):
            x, y = pad.place
            yield f"{x / MM:.6f} mm, {y / MM:.6f} mm"


def without_names(name, folder):
    for source in read_sources(Path(__file__).parent / f"{name}.zip"):
        kept = (line for line in source.text.splitlines() if not line.startswith("%TO."))
        (folder / source.name).write_text("\n".join(kept))
    return read_board(folder)
