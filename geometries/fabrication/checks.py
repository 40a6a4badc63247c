"""Whether the files of a board fit together: layers over each other, holes in the board, copper between pads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import KDTree
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Board, BoardLayer, Hole, Pad
from geometries.fabrication.drill import DrillFile, DrillHit
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber import GerberFile, Kind
from geometries.quantities import MM, write_place

_REACH = 1 * MM
"""Copper and holes may reach this far over the outline, for instance the pins of an edge connector."""
_ALIGNED = 0.9
"""Part of each layer's copper and of each drill file's holes that must lie in the board."""

_SAME = 0.05 * MM
"""A pad this near to a hole is its own: files are rounded to 25 µm at the coarsest [m]."""
_MOST_ASKED = 300
"""So many holes of a file tell where its pads lie."""
_FEWEST = 4
"""Fewer holes tell nothing."""
_OVER = 0.1 * MM
"""Copper that reaches farther over the outline is told of [m]."""

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


def require_over_holes(copper: Sequence[tuple[int, GerberFile]], drills: Sequence[DrillFile]) -> None:
    """Refuse a layer whose pads lie beside the plated holes, all by the same distance; or the drill file, if all do.

    A hole has a flash of its layer at its place, a pad or the gap around one. Where most have none, the distance that
    most of them have to some flash is looked for, then that to a flash of the mirrored layer. Layers without flashes
    at holes, such as filled planes, tell nothing.
    """
    for drill in drills:
        found = [
            (file.name, number, _aside(_round_holes(drill, number, len(copper)), _flashes(file)))
            for number, file in copper
        ]
        moved = [each for each in found if each[-1]]
        if moved:
            name, number, where = moved[0]
            every = len(moved) > 1 and all(where == other for _, _, other in found)
            told = f"{drill.name}: the pads of all layers" if every else f"{name}: the pads of L{number}"
            others = ", those of the other layers do not" if len(moved) == 1 < len(found) else ""
            raise FabricationError(
                f"{told} lie {where} the holes of {drill.name}{others}; "
                "export all files of one revision with the same origin"
            )


def _round_holes(drill: DrillFile, number: int, copper_layers: int) -> NDArray[np.float64]:
    """Places of a file's plated round holes that pass a layer, at most `_MOST_ASKED`, (n, 2) [m]."""
    places = [hit.start for hit in drill.hits if hit.plated and hit.start == hit.end and _passes(hit, number)]
    every = -(-len(places) // _MOST_ASKED) or 1
    return np.array(places[::every]).reshape(-1, 2)


def _passes(hit: DrillHit, number: int) -> bool:
    first, last = hit.layers
    return not last or first <= number <= last


def _flashes(file: GerberFile) -> NDArray[np.float64]:
    return np.array([item.place for item in file.objects if item.kind is Kind.FLASH]).reshape(-1, 2)


def _aside(holes: NDArray[np.float64], flashes: NDArray[np.float64]) -> str:
    """Where the pads of a layer lie; empty if at the holes, or if they do not tell."""
    if len(holes) < _FEWEST or len(flashes) < _FEWEST or _met(flashes, holes) > len(holes) / 2:
        return ""
    if _met(flashes, holes + (shift := _usual_distance(flashes, holes))) > len(holes) / 2:
        return f"{write_place(shift)} beside"
    turned = (flashes * sides for sides in ((-1, 1), (1, -1)))
    if any(_met(each, holes + _usual_distance(each, holes)) > len(holes) / 2 for each in turned):
        return "mirrored to"
    return ""


def _usual_distance(flashes: NDArray[np.float64], holes: NDArray[np.float64]) -> NDArray[np.float64]:
    """The distance that occurs most often between a hole and a flash [m]."""
    apart = (flashes[None, :, :] - holes[:, None, :]).reshape(-1, 2)
    cells, counts = np.unique(np.round(apart / _SAME).astype(np.int64), axis=0, return_counts=True)
    near = np.abs(apart - cells[np.argmax(counts)] * _SAME).max(axis=1) <= _SAME
    mean: NDArray[np.float64] = apart[near].mean(axis=0)
    return mean


def _met(flashes: NDArray[np.float64], places: NDArray[np.float64]) -> int:
    """How many places have a flash."""
    return int(np.count_nonzero(KDTree(flashes).query(places)[0] <= _SAME))


def reaching_over(layers: Sequence[BoardLayer], outline: BaseGeometry) -> tuple[str, ...]:
    """A remark on every layer whose copper reaches over the outline, as a layer or an outline that was moved does."""
    inside = outline.buffer(_OVER)
    shapely.prepare(inside)
    over = [(one, shapely.union_all([shape.difference(inside) for shape in one.nets.values()])) for one in layers]
    return tuple(
        f"{one.file}: copper of {one.name} reaches {_farthest(rest, outline) / MM:.2g} mm over the outline; unless it "
        "is a connector at the edge, layer and outline are of another origin or revision"
        for one, rest in over
        if not rest.is_empty
    )


def _farthest(shape: BaseGeometry, other: BaseGeometry) -> float:
    """The largest distance of a corner of a shape from another shape [m]."""
    return float(shapely.distance(shapely.points(shapely.get_coordinates(shape)), other).max())


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
