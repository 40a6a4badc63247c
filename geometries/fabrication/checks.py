"""Whether the files of a board fit together: layers over each other, holes in the board, copper between pads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Board, BoardLayer, Hole, Pad
from geometries.fabrication.drill import DrillFile
from geometries.fabrication.errors import FabricationError
from geometries.quantities import MM

_REACH = 1 * MM
"""Copper and holes may reach this far over the outline, for instance the pins of an edge connector."""
_ALIGNED = 0.9
"""Part of each layer's copper and of each drill file's holes that must lie in the board."""

_MISFITS = 0.1
"""More of the plated holes than this touch two nets on a layer only where the files do not fit."""


def require_aligned(layers: Sequence[BoardLayer], drills: Sequence[DrillFile], outline: BaseGeometry) -> None:
    """Refuse layers or holes that mostly lie outside the board: another origin, unit or format of numbers."""
    room = shapely.Polygon(_largest(outline).exterior).buffer(_REACH)
    shapely.prepare(room)
    for layer in layers:
        shapes = [shape for shape in layer.nets.values()]
        inside = sum(shape.intersection(room).area for shape in shapes) if shapes else 0.0
        if shapes and inside < _ALIGNED * sum(shape.area for shape in shapes):
            raise FabricationError(
                f"{layer.file}: {_share(1 - inside / sum(shape.area for shape in shapes))} of its copper lies outside "
                "the board's outline; export all files with the same origin and unit"
            )
    for file in drills:
        _require_inside(file, room)


def require_fitting(layers: Sequence[BoardLayer], holes: Sequence[Hole], touched: Sequence[Sequence[set[str]]]) -> None:
    """Refuse a layer, or a drill file, that does not lie over the others: its holes pass through copper of other nets.

    Parameters
    ----------
    layers, holes
        Of the board.
    touched : sequence of sequence of set of str
        For every layer the nets that each hole touches there.
    """
    for layer, nets in zip(layers, touched, strict=True):
        through = [hole for hole, names in zip(holes, nets, strict=True) if hole.net and names - {"", hole.net}]
        if len(through) > max(1, _MISFITS * sum(bool(hole.net) for hole in holes)):
            x, y = np.array(through[0].start) / MM
            raise FabricationError(
                f"{layer.file}: {len(through)} plated holes pass through copper of another net, one at ({x:.4g}, "
                f"{y:.4g}) mm; this layer and the drill file do not lie over each other: export all files with the "
                "same origin, of one revision"
            )


def _largest(shape: BaseGeometry) -> shapely.Polygon:
    found: shapely.Polygon = max(shapely.get_parts(shape), key=lambda part: part.area)
    return found


def _require_inside(file: DrillFile, room: BaseGeometry) -> None:
    outside = [hit for hit in file.hits if not room.contains(ShapelyPoint(hit.start))]
    if len(outside) > (1 - _ALIGNED) * len(file.hits):
        x, y = np.array(outside[0].start) / MM
        raise FabricationError(
            f"{file.name}: {len(outside)} of {len(file.hits)} holes lie outside the board, one at ({x:.4g}, {y:.4g}) "
            "mm; export drill and layers with the same origin, and the drill file with decimal points"
        )


def _share(part: float) -> str:
    return f"{100 * part:.0f} %"


def require_routed(board: Board) -> None:
    """Refuse a board on which no two pads of any net are joined by copper of their layer."""
    named = [pad for pad in board.pads if pad.net]
    if named and not any(_joined(board, group) for group in _by_net_and_layer(named)):
        raise FabricationError(
            f"board {board.name!r} is not routed: no two pads of a net are joined by copper on any layer; "
            "route the board and fill its areas before it is exported"
        )


def _by_net_and_layer(pads: Sequence[Pad]) -> Iterator[list[Pad]]:
    groups: defaultdict[tuple[str, int], list[Pad]] = defaultdict(list)
    for pad in pads:
        groups[pad.net, pad.layer].append(pad)
    yield from (group for group in groups.values() if len(group) > 1)


def _joined(board: Board, pads: Sequence[Pad]) -> bool:
    """Whether one piece of copper holds pads of two pins."""
    pieces = shapely.get_parts(board.copper(pads[0].layer, pads[0].net))
    spots = shapely.STRtree([pad.shape.representative_point() for pad in pads])
    pins: defaultdict[int, set[object]] = defaultdict(set)
    for piece, pad in spots.query(pieces, predicate="intersects").T:
        pins[int(piece)].add(_pin(pads[pad]))
    return any(len(found) > 1 for found in pins.values())


def _pin(pad: Pad) -> tuple[object, ...]:
    """What tells one pin from another: its name, or its place if it has none."""
    return (pad.reference, pad.pin) if pad.pin else pad.place
