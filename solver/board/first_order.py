r"""A small part of a change, made on the layout that was solved: its gain is the change's to first order.

The derivative is that at the currents as they are (:mod:`solver.plan.moves`). Copper that is added is an edge moved
outwards, by the area that is added; a plane's height is carried on by its logarithm. A new via is a port between the
two coppers at its place, in which the loop's current of one ampere induces a voltage; closed, it takes off

.. math:: \Delta L = M^T L_{ports}^{-1} M.
"""

from __future__ import annotations

import math
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
from geometries.layout.layout import CopperSheet, PlanLayout, Port, Via, Wall
from geometries.quantities import UM
from geometries.section.outline import Polygon
from solver.plan import PlanMeshSettings, PlanSolution, coarser_plan_over
from solver.plan.vias import via_inductances

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


def layer_nearer(layer: int, start: float, end: float) -> SmallPart:
    """All copper of a layer a little nearer to the parts', of a move from one distance to another [m]."""

    def small(board: Board, ends: LoopEnds, window: LoopWindow) -> tuple[PlanLayout, float]:
        layers = {piece.name: piece.layer for piece in window.copper.pieces}
        sheets = window.layout.sheets
        there = next(each.height for each in sheets if layers.get(each.name) == ends.layer)
        moved = tuple(
            replace(each, height=each.height + _STEP * start * np.sign(there - each.height))
            if layers.get(each.name) == layer
            else each
            for each in sheets
        )
        return replace(window.layout, sheets=moved), _STEP / math.log(start / end)

    return small


def gain_of_vias(
    before: PlanSolution, after: PlanLayout, shares: NDArray[np.float64], settings: PlanMeshSettings
) -> float:
    """What new vias take off a loop by the voltages at their places, on one mesh [H]; not a number if they tie nothing.

    Parameters
    ----------
    before : PlanSolution
        The loop without them.
    after : PlanLayout
        The copper with them.
    shares : (loops,) array
        Current of each loop.
    settings : PlanMeshSettings
        As for the solutions; the coarser mesh is taken.
    """
    there = {via.centre for via in before.layout.vias}
    new = [number for number, via in enumerate(after.vias) if via.centre not in there]
    old = [number for number, via in enumerate(after.vias) if via.centre in there]
    ports = tuple(_opened(after.vias[number]) for number in new)
    layout = replace(after, vias=tuple(after.vias[number] for number in old), ports=(*after.ports, *ports))
    (solved,) = coarser_plan_over(layout, (before.frequency,), settings)
    names = [port.name for port in ports]
    if set(solved.loops) != {*before.loops, *names}:
        return math.nan
    driven, opened = ([solved.loops.index(name) for name in each] for each in (before.loops, names))
    posts = via_inductances(after)
    beside = posts[np.ix_(new, old)] @ solved.via_currents.real
    mutual = (solved.inductance[opened] + beside)[:, driven] @ shares
    crossing = beside[:, opened]
    own = solved.inductance[np.ix_(opened, opened)] + posts[np.ix_(new, new)] + crossing + crossing.T
    return float(mutual @ np.linalg.solve(own, mutual))


def _opened(via: Via | Wall) -> Port:
    """A port in a via's place, its current down."""
    upper, lower = via.terminals()
    return Port(name=f"in place of {via.name}", entry=lower, leave=upper)
