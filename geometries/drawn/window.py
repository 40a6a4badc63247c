"""A window of a board's copper as a layout for the plan view: every layer a sheet with its voids, vias, parts as ports.

The layers run from the parts' own to the first one whose ground covers the loop; only where the pads are not joined on
these, all layers are taken. Copper beyond the window and beyond that plane is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from geometries.board.capacitors import LOWEST_ELECTRODE, Capacitor, ElectrodeBody
from geometries.board.materials import Conductor
from geometries.drawn.copper import DETAIL, Barrel, Piece, WindowCopper, window_copper
from geometries.drawn.ends import LoopEnds
from geometries.drawn.errors import BoardError
from geometries.fabrication.board import Board
from geometries.layout.laid_out import LoopPart
from geometries.layout.layout import CopperSheet, Faces, PadTerminal, PlanLayout, Port, Side, Via
from geometries.layout.part_bodies import FAR_END, SOLDER, body_ends, part_body
from geometries.quantities import MM, UM
from geometries.section.outline import Polygon

_FIRST_MARGIN, _FIRST_PART = 2 * MM, 0.7
"""Of a window around the parts' pads [m], and at least this part of their hull's diagonal."""
_COVERS = 0.5
"""A layer whose ground covers at least this part of the loop's hull counts as its plane."""
PLATING = 25 * UM
"""Thickness of a via's wall [m] (common practice)."""
_FLAT = 0.05 * MM
"""Height of the strip in place of a part whose own inductance is given: that of its solder [m]."""
_WIDEN = 1.5
_APART = 1 * UM
"""Bodies of parts lie so much one over the other, so that none touches another [m]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopWindow:
    """A loop's copper within a window.

    Parameters
    ----------
    layout : PlanLayout
        For the plan view.
    margin : float
        Of the window around the parts' pads [m].
    copper : WindowCopper
        The pieces that the layout's sheets are made of.
    plane_layer : int
        First layer whose ground covers the loop; 0 if there is none.
    joined_without_vias : bool
        Whether the pads of each net stand on one piece.
    """

    layout: PlanLayout
    margin: float
    copper: WindowCopper
    plane_layer: int
    joined_without_vias: bool


def usual_margin(ends: LoopEnds) -> float:
    """Of a window that holds nearly all that the loop's inductance depends on [m]."""
    left, bottom, right, top = ends.hull.bounds
    return max(_FIRST_MARGIN, _FIRST_PART * float(np.hypot(right - left, top - bottom)))


def loop_window(board: Board, ends: LoopEnds, margin: float) -> LoopWindow:
    """Cut a loop's copper out of a board.

    Parameters
    ----------
    board, ends
        The board, and where the loop's current passes between parts and copper.
    margin : float
        Of the window around the pads [m]; it is widened until each net's pads are joined inside it.

    Raises
    ------
    BoardError
        If the pads of a net are not joined by the board's copper.
    """
    plane_layer = _plane_layer(board, ends)
    return _window(board, ends, _joined_copper(board, ends, margin, plane_layer), plane_layer)


def same_window(board: Board, ends: LoopEnds, before: LoopWindow) -> LoopWindow:
    """The same room and layers of a changed board; raise BoardError if the pads are not joined in it."""
    found = window_copper(board, ends, before.copper.room, before.copper.layers)
    if isinstance(found, str):
        raise BoardError(f"the pads on {found!r} are not joined after the change")
    return _window(board, ends, found, before.plane_layer)


def _window(board: Board, ends: LoopEnds, copper: WindowCopper, plane_layer: int) -> LoopWindow:
    return LoopWindow(
        layout=_layout(board, ends, copper),
        margin=float(ends.hull.bounds[0] - copper.room.bounds[0]),
        copper=copper,
        plane_layer=plane_layer,
        joined_without_vias=len({copper.piece_at(one).name for one in ends.ends})
        == len({one.net for one in ends.ends}),
    )


def _joined_copper(board: Board, ends: LoopEnds, margin: float, plane_layer: int) -> WindowCopper:
    """The smallest window in which each net's pads are joined, on few layers if it can be, on all if not."""
    apart = ""
    for layers in _layer_choices(board, ends, plane_layer):
        for room in _rooms(board, ends.hull, margin):
            found = window_copper(board, ends, room, layers)
            if isinstance(found, WindowCopper):
                return found
            apart = found
    raise BoardError(f"the pads on {apart!r} are not joined by the board's copper; name another capacitor")


def _layer_choices(board: Board, ends: LoopEnds, plane_layer: int) -> Iterator[tuple[int, ...]]:
    every = tuple(layer.number for layer in board.layers)
    needed = {joint.layer for joint in ends.ends} | ({plane_layer} if plane_layer else set())
    few = tuple(number for number in every if min(needed) <= number <= max(needed))
    for layers in dict.fromkeys((few, every)):
        yield layers if faces_up(board, ends.layer) else layers[::-1]


def _rooms(board: Board, hull: BaseGeometry, margin: float) -> Iterator[BaseGeometry]:
    """Windows one wider than the other, up to the whole board."""
    outer = shapely.box(*board.outline.bounds).buffer(MM)
    while True:
        room = shapely.box(*hull.buffer(margin).bounds)
        yield room
        if room.contains(outer):
            return
        margin *= _WIDEN


def faces_up(board: Board, layer: int) -> bool:
    """Whether a layout of parts on that layer has the board's own heights; else they count from its underside."""
    return 2 * layer <= len(board.layers) + 1


def _plane_layer(board: Board, ends: LoopEnds) -> int:
    """The next layer whose ground covers most of the hull; 0 if none does."""
    hull = ends.hull
    others = sorted((abs(one.number - ends.layer), one.number) for one in board.layers if one.number != ends.layer)
    for _, number in others:
        copper = shapely.make_valid(shapely.clip_by_rect(board.copper(number, ends.ground_net), *hull.bounds))
        if copper.intersection(hull).area >= _COVERS * hull.area:
            return number
    return 0


def _layout(board: Board, ends: LoopEnds, copper: WindowCopper) -> PlanLayout:
    """Heights count from the switches' side downwards, whichever side of the board that is."""
    sheets = {piece.name: _sheet(board, ends, piece) for piece in copper.pieces}
    metal = board.stack.stackup.copper
    ports: list[Port] = []
    for number, (name, joints) in enumerate(ends.joints.items()):
        pieces = copper.piece_at(joints[0]), copper.piece_at(joints[1])
        upper = joints[0].layer == ends.layer
        lift = _strip_height(ends.parts[name]) + number * _APART
        stand = sheets[pieces[0].name].levels[-1] + lift if upper else sheets[pieces[0].name].levels[0] - lift
        body = part_body(name, tuple(p.under(j.area) for p, j in zip(pieces, joints, strict=True)), stand)
        sheets[body.name] = body
        ports += _soldered(name, pieces, body, copper, Side.UPPER if upper else Side.LOWER)
    return PlanLayout(
        name=f"{board.name}: {ends.name}",
        sheets=tuple(sheets.values()),
        ports=tuple(ports),
        vias=tuple(_via(barrel, number, metal) for number, barrel in enumerate(copper.barrels, start=1)),
    )


def _strip_height(part: LoopPart) -> float:
    """Of the strip in place of a part over the copper [m]; low where its own inductance is counted beside it."""
    if isinstance(part, Capacitor):
        return part.body.height if isinstance(part.body, ElectrodeBody) else _FLAT
    return _FLAT if part.inductance else part.height or LOWEST_ELECTRODE


def _soldered(
    name: str, pieces: tuple[Piece, Piece], body: CopperSheet, copper: WindowCopper, side: Side
) -> Iterator[Port]:
    """Ports between a body's ends and the copper straight under them.

    The current enters the copper at the first land and leaves it at the second. A terminal is a narrow strip across
    the land, so that the current keeps no way that is left out of the field.
    """
    first, second, third, fourth = body.outline.vertices
    ends = (first, second), (third, fourth)
    lands = [
        PadTerminal(sheet=piece.name, outline=_solder(piece, LineString(end), copper), side=side)
        for piece, end in zip(pieces, ends, strict=True)
    ]
    start, stop = body_ends(body)
    yield Port(name=name + FAR_END, entry=stop, leave=lands[1])
    yield Port(name=name, entry=lands[0], leave=start)


def _solder(piece: Piece, end: LineString, copper: WindowCopper) -> Polygon:
    """The copper under a body's end, clear of the vias there."""
    feet = [barrel.foot for barrel in copper.barrels if piece.name in {end.name for end in barrel.ends}]
    strip = end.buffer(SOLDER / 2, cap_style="flat").difference(shapely.union_all(feet).buffer(DETAIL))
    return _polygon(piece.under(strip).exterior.coords[:-1])


def _sheet(board: Board, ends: LoopEnds, piece: Piece) -> CopperSheet:
    """Copper under parts with both its faces, any other as one sheet on the face towards the switches."""
    lower, upper = board.stack.stackup.heights(f"L{piece.layer}")
    if not faces_up(board, ends.layer):
        lower, upper = -upper, -lower
    soldered = piece.layer in {joint.layer for joint in ends.ends}
    return CopperSheet(
        name=piece.name,
        outline=_polygon(piece.shape.exterior.coords[:-1]),
        height=lower if soldered else upper,
        holes=tuple(_polygon(hole.coords[:-1]) for hole in piece.shape.interiors),
        thickness=board.stack.thickness(piece.layer),
        material=board.stack.stackup.copper,
        faces=Faces.JOINED if soldered else Faces.ONE,
    )


def _polygon(corners: list[tuple[float, ...]]) -> Polygon:
    return Polygon(vertices=tuple((corner[0], corner[1]) for corner in corners))


def _via(barrel: Barrel, number: int, metal: Conductor) -> Via:
    upper, lower = barrel.ends
    return Via(
        name=f"via {number} of {upper.net}",
        centre=barrel.hole.start,
        radius=barrel.hole.diameter / 2,
        upper=upper.name,
        lower=lower.name,
        wall=PLATING,
        material=metal,
    )
