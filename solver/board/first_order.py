"""A small part of a change, made on the layout that was solved: its gain is the change's to first order.

The derivative is that at the currents as they are (:mod:`solver.plan.moves`). Copper that is added is an edge moved
outwards, by the area that is added; a plane one layer up is the plane moved up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing
from shapely.geometry.base import BaseGeometry

from geometries.drawn.copper import DETAIL
from geometries.drawn.ends import LoopEnds
from geometries.drawn.window import LoopWindow, same_window
from geometries.fabrication.board import Board
from geometries.layout.layout import CopperSheet, PlanLayout
from geometries.quantities import UM
from geometries.section.outline import Polygon

Change = Callable[[Board, LoopEnds], tuple[Board, LoopEnds]]
SmallPart = Callable[[Board, LoopEnds, LoopWindow], tuple[PlanLayout, float]]
"""The layout after a small part of a change, and which part of it that is [1]; zero if it does not touch the layout."""

_OUTWARDS = 2 * UM
"""How far an edge is moved where copper is added [m]."""
_BESIDE = 2 * DETAIL
"""An edge is that of added copper if it lies within this distance of it [m]; outlines are rounded by half as much."""
_STEP = 0.01


def part_of_change(change: Change, part: float) -> SmallPart:
    """The same change on a smaller scale."""
    return lambda board, ends, window: (same_window(*change(board, ends), window).layout, part)


def edge_outwards(layer: int, net: str, added: BaseGeometry) -> SmallPart:
    """The edge of a net's copper on a layer moved outwards where copper is added.

    Parameters
    ----------
    layer, net
        Whose copper.
    added : shapely geometry
        What is added, copper that is there already left out [m].
    """

    def small(board: Board, ends: LoopEnds, window: LoopWindow) -> tuple[PlanLayout, float]:
        names = {piece.name for piece in window.copper.pieces if (piece.layer, piece.net) == (layer, net)}
        near = added.buffer(_BESIDE)
        grown = tuple(_grown(each, near) if each.name in names else each for each in window.layout.sheets)
        more = sum(new.shape.area - old.shape.area for new, old in zip(grown, window.layout.sheets, strict=True))
        return replace(window.layout, sheets=grown), float(more / added.area)

    return small


def _grown(sheet: CopperSheet, near: BaseGeometry) -> CopperSheet:
    return replace(
        sheet,
        outline=_shifted(sheet.outline.vertices, near, 1.0),
        holes=tuple(_shifted(hole.vertices, near, -1.0) for hole in sheet.holes),
    )


def _shifted(ring: tuple[tuple[float, float], ...], near: BaseGeometry, outwards: float) -> Polygon:
    """The ring with its corners near an area moved along the mean of their edges' normals."""
    corners = np.array(ring)
    turn = (1.0 if LinearRing(ring).is_ccw else -1.0) * outwards
    along = np.roll(corners, -1, axis=0) - corners
    normals = turn * np.column_stack([along[:, 1], -along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]
    mean = normals + np.roll(normals, 1, axis=0)
    lengths: NDArray[np.float64] = np.maximum(np.linalg.norm(mean, axis=1), 1e-6)
    moved = shapely.contains_xy(near, corners)
    shifted = corners + np.where(moved, _OUTWARDS / lengths, 0.0)[:, None] * mean
    return Polygon(vertices=tuple((float(x), float(y)) for x, y in shifted))


def layer_nearer(layer: int, distance: float) -> SmallPart:
    """All copper of a layer moved towards the parts' by a hundredth of a distance [m]."""

    def small(board: Board, ends: LoopEnds, window: LoopWindow) -> tuple[PlanLayout, float]:
        layers = {piece.name: piece.layer for piece in window.copper.pieces}
        sheets = window.layout.sheets
        there = next(each.height for each in sheets if layers.get(each.name) == ends.layer)
        moved = tuple(
            replace(each, height=each.height + _STEP * distance * np.sign(there - each.height))
            if layers.get(each.name) == layer
            else each
            for each in sheets
        )
        return replace(window.layout, sheets=moved), _STEP

    return small
