"""A window of a board's copper as a layout for the plan view: sheets, parts as ports, vias, the plane below.

The copper of the loop's nets on the parts' own layer is cut out around the loop, as it is drawn. Corners and gaps
finer than `DETAIL` are rounded; the current does not feel them, the mesh would. Ground on the next layer that covers
the loop is an endless plane; the vias of ground inside the window lead down to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Board, Hole
from geometries.layout.layout import (
    MIRROR,
    CopperSheet,
    Faces,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    Via,
)
from geometries.quantities import MM, UM
from geometries.section.outline import Polygon
from solver.board.ends import Joint, LoopEnds
from solver.board.errors import BoardError

DETAIL = 40 * UM
"""Radius of the finest feature of an outline that is kept [m]."""
_STRAIGHT = 5 * UM
"""Vertices closer than this to a straight edge are left out [m]."""
_INSIDE = 60 * UM
"""A pad's terminal keeps this distance from the copper's edge [m]; the solder's rim is as far in."""
_COVERS = 0.5
"""A layer whose ground covers at least this part of the loop's hull counts as its plane."""
PLATING = 25 * UM
"""Thickness of a via's wall [m] (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopWindow:
    """A loop's copper within a window.

    Parameters
    ----------
    layout : PlanLayout
        For the plan view.
    margin : float
        Of the window around the parts' pads [m].
    plane_layer : int
        Layer that is the endless plane; 0 if there is none.
    whole : bool
        Whether nothing of the loop's copper lies outside the window.
    """

    layout: PlanLayout
    margin: float
    plane_layer: int
    whole: bool


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
        If the pads of a net are not joined by copper of that layer.
    """
    hull, nets = ends.hull, dict.fromkeys(net for net, _ in ends.areas)
    needed = {net: [area for other, area in ends.areas if other == net] for net in nets}
    pieces, room = _joined_pieces(board, ends.layer, hull, needed, margin)
    plane_layer = _plane_layer(board, hull, ends.layer, ends.ground_net)
    whole = all(room.contains(shapely.box(*board.copper(ends.layer, net).bounds)) for net in nets)
    return LoopWindow(
        layout=_layout(board, ends, pieces, plane_layer),
        margin=_margin(hull, room),
        plane_layer=plane_layer,
        whole=whole,
    )


def _joined_pieces(
    board: Board, layer: int, hull: BaseGeometry, needed: Mapping[str, list[BaseGeometry]], margin: float
) -> tuple[dict[str, ShapelyPolygon], BaseGeometry]:
    """Of each net the piece that joins its areas, in the smallest window in which there is one for every net."""
    outer = shapely.box(*board.outline.bounds).buffer(MM)
    while True:
        room = shapely.box(*hull.buffer(margin).bounds)
        found = {net: _piece(board.copper(layer, net), room, areas) for net, areas in needed.items()}
        pieces = {net: piece for net, piece in found.items() if piece is not None}
        if len(pieces) == len(found):
            return pieces, room
        if room.contains(outer):
            apart = next(net for net, piece in found.items() if piece is None)
            raise BoardError(
                f"the pads on {apart!r} are not joined by copper of layer L{layer}, only through other layers; "
                "name another capacitor"
            )
        margin *= _WIDEN


_WIDEN = 1.5


def _piece(copper: BaseGeometry, room: BaseGeometry, areas: list[BaseGeometry]) -> ShapelyPolygon | None:
    clipped = smoothed(shapely.make_valid(shapely.clip_by_rect(copper, *room.bounds)))
    for part in shapely.get_parts(clipped):
        if isinstance(part, ShapelyPolygon) and all(_reaches(part, area) for area in areas):
            return part
    return None


def _reaches(part: ShapelyPolygon, area: BaseGeometry) -> bool:
    return not _terminal_shape(part, area).is_empty


def smoothed(shape: BaseGeometry) -> BaseGeometry:
    """The shape without features finer than `DETAIL`: spikes opened, clefts closed, all corners obtuse."""
    opened = shape.buffer(-DETAIL, quad_segs=2).buffer(2 * DETAIL, quad_segs=2).buffer(-DETAIL, quad_segs=2)
    return opened.simplify(_STRAIGHT)


def _terminal_shape(copper: ShapelyPolygon, area: BaseGeometry) -> BaseGeometry:
    """The largest part of a pad well inside the copper."""
    inner = area.intersection(copper.buffer(-_INSIDE, quad_segs=2))
    inside = inner.buffer(-DETAIL / 2, quad_segs=2).buffer(DETAIL / 2, quad_segs=2).simplify(_STRAIGHT)
    parts = [part for part in shapely.get_parts(inside) if isinstance(part, ShapelyPolygon)]
    return max(parts, key=lambda part: part.area, default=ShapelyPolygon())


def _margin(hull: BaseGeometry, room: BaseGeometry) -> float:
    return float(hull.bounds[0] - room.bounds[0])


def _plane_layer(board: Board, hull: BaseGeometry, layer: int, net: str) -> int:
    """The next layer whose ground covers most of the hull; 0 if none does."""
    others = sorted((abs(one.number - layer), one.number) for one in board.layers if one.number != layer)
    for _, number in others:
        copper = shapely.make_valid(shapely.clip_by_rect(board.copper(number, net), *hull.bounds))
        if copper.intersection(hull).area >= _COVERS * hull.area:
            return number
    return 0


def _layout(board: Board, ends: LoopEnds, pieces: Mapping[str, ShapelyPolygon], plane_layer: int) -> PlanLayout:
    """Heights grow away from the plane, whichever side of the board the parts are on."""
    plane = _plane(board, ends.layer, plane_layer) if plane_layer else None
    ports = tuple(
        Port(name=name, entry=_terminal(pieces, entry), leave=_terminal(pieces, leave))
        for name, (entry, leave) in ends.joints.items()
    )
    taken = [end.outline.shape for port in ports for end in port.terminals() if isinstance(end, PadTerminal)]
    net = ends.ground_net
    vias = tuple(_vias(board, net, pieces[net], ends.layer, taken)) if plane else ()
    return PlanLayout(
        name=f"{board.name}: {ends.name}",
        sheets=tuple(_sheet(board, net, piece, ends.layer, plane) for net, piece in pieces.items()),
        ports=ports,
        vias=vias if len(vias) > 1 else (),  # through a single one no current comes back
        plane=plane,
    )


def _plane(board: Board, layer: int, plane_layer: int) -> MirrorPlane:
    stackup = board.stack.stackup
    return MirrorPlane(
        height=-_dielectric(board, layer, plane_layer),
        material=stackup.copper,
        thickness=board.stack.thickness(plane_layer),
    )


def _dielectric(board: Board, layer: int, plane_layer: int) -> float:
    """Distance between the faces of two layers that look at each other [m]."""
    lower, upper = (board.stack.stackup.heights(f"L{number}") for number in (layer, plane_layer))
    return lower[0] - upper[1] if layer < plane_layer else upper[0] - lower[1]


def _sheet(board: Board, net: str, piece: ShapelyPolygon, layer: int, over_plane: MirrorPlane | None) -> CopperSheet:
    return CopperSheet(
        name=net,
        outline=_polygon(piece.exterior.coords[:-1]),
        height=0.0,
        holes=tuple(_polygon(hole.coords[:-1]) for hole in piece.interiors),
        thickness=board.stack.thickness(layer),
        material=board.stack.stackup.copper,
        faces=Faces.ONE if over_plane else Faces.BOTH,
    )


def _polygon(corners: list[tuple[float, ...]]) -> Polygon:
    return Polygon(vertices=tuple((corner[0], corner[1]) for corner in corners))


def _terminal(pieces: Mapping[str, ShapelyPolygon], joint: Joint) -> PadTerminal:
    shape = _terminal_shape(pieces[joint.net], joint.area)
    return PadTerminal(sheet=joint.net, outline=_polygon(shape.exterior.coords[:-1]))  # type: ignore[attr-defined]


def _vias(board: Board, net: str, copper: ShapelyPolygon, layer: int, taken: list[BaseGeometry]) -> Iterator[Via]:
    """Vias of ground that stand in the copper, clear of the edge and of the terminals."""
    number = 0
    for hole in board.vias:
        if hole.net == net and layer in hole.touched and _stands_free(hole, copper, taken):
            number += 1
            yield Via(
                name=f"via {number}", centre=hole.start, radius=hole.diameter / 2, upper=net, lower=MIRROR, wall=PLATING
            )


def _stands_free(hole: Hole, copper: ShapelyPolygon, taken: list[BaseGeometry]) -> bool:
    foot = hole.shape.buffer(DETAIL)
    return bool(copper.contains(foot)) and not any(foot.intersects(shape) for shape in taken)
