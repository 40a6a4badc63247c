"""Whether the files of a board fit together: layers over each other, holes in the board, copper between pads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Board, BoardLayer
from geometries.fabrication.drill import DrillFile
from geometries.fabrication.errors import FabricationError
from geometries.quantities import MM

_REACH = 1 * MM
"""Copper and holes may reach this far over the outline, for instance the pins of an edge connector."""
_ALIGNED = 0.9
"""Part of each layer's copper and of each drill file's holes that must lie in the board."""


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


def _largest(shape: BaseGeometry) -> shapely.Polygon:
    found: shapely.Polygon = max(shapely.get_parts(shape), key=lambda part: part.area)
    return found


def _require_inside(file: DrillFile, room: BaseGeometry) -> None:
    spots = shapely.points(np.array([hit.start for hit in file.hits]).reshape(-1, 2))
    outside = [hit for hit, inside in zip(file.hits, room.contains(spots) if len(spots) else (), strict=True) if not inside]
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
    shared: Counter[tuple[str, int, int]] = Counter()
    for layer in board.layers:
        spots = [pad for pad in board.pads if pad.layer == layer.number and pad.net]
        for net in {pad.net for pad in spots}:
            parts = shapely.STRtree(shapely.get_parts(layer.nets[net])) if net in layer.nets else None
            places = shapely.points([pad.shape.representative_point().coords[0] for pad in spots if pad.net == net])
            if parts is not None:
                shared.update((net, layer.number, int(piece)) for _, piece in parts.query(places, "intersects").T)
        if any(count > 1 for count in shared.values()):
            return
    if shared:
        raise FabricationError(
            f"board {board.name!r} is not routed: no two pads of a net are joined by copper on any layer; "
            "route the board and fill its areas before it is exported"
        )
