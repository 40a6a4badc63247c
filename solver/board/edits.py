"""Changes of a loop's copper that a layouter could make, each solved, and what it gains.

Vias of ground beside the parts' ground pads, the capacitor moved towards the switches along its copper, the plane
nearer. Only what the window's copper has room for is tried; what else stands there (masks, other parts) is not looked
at, so that a place is a proposal, no more.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Board
from geometries.layout.layout import CopperSheet, PlanLayout, Via
from geometries.quantities import MM
from geometries.section.outline import Point
from solver.board.as_drawn import SETTINGS, DrawnLoop
from solver.board.ends import Joint, LoopEnds
from solver.board.errors import BoardError
from solver.board.window import DETAIL, PLATING, LoopWindow, loop_window
from solver.plan import PlanMeshSettings, solve_plan

USUAL_RADIUS = 0.15 * MM
"""Of a via where the loop has none to copy (common practice)."""
_RING = 0.1 * MM
"""Copper around a via's hole."""
_BETWEEN = 0.2 * MM
"""Least distance between new copper features: via to via, pad to pad (common practice)."""
_SEARCHED, _STEP = 2.5 * MM, 0.1 * MM
"""How far from a pad a place for a via is looked for, and how finely [m]."""
MOVES = (1.0 * MM, 0.5 * MM, 0.25 * MM)
"""How far the capacitor is moved; the largest that fits is taken [m]."""
_KEPT = 0.9
"""A moved pad has at least this part of its area on the copper."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """A change, where it is made [m], and the layout after it."""

    name: str
    place: Point
    layout: PlanLayout


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedEdit:
    """A change that was solved.

    Parameters
    ----------
    name : str
        What is changed.
    place : (x, y)
        Where [m].
    inductance : float
        After the change [H].
    gain : float
        By which the inductance falls [H].
    error : float
        Of the gain, from the meshes of both [H].
    """

    name: str
    place: Point
    inductance: float
    gain: float
    error: float


def try_edits(board: Board, drawn: DrawnLoop, settings: PlanMeshSettings = SETTINGS) -> tuple[TriedEdit, ...]:
    """Solve every change that fits, in the window of the solved loop; the largest gain first."""
    tried = [_tried(edit, drawn, settings) for edit in possible_edits(board, drawn.ends, drawn.window)]
    return tuple(sorted(tried, key=lambda one: -one.gain))


def _tried(edit: Edit, drawn: DrawnLoop, settings: PlanMeshSettings) -> TriedEdit:
    solution = solve_plan(edit.layout, drawn.solution.frequency, settings)
    value = solution.loop_inductance
    return TriedEdit(
        name=edit.name,
        place=edit.place,
        inductance=value,
        gain=drawn.inductance - value,
        error=max(solution.inductance_error * value, drawn.solution.inductance_error * drawn.inductance),
    )


def possible_edits(board: Board, ends: LoopEnds, window: LoopWindow) -> Iterator[Edit]:
    """Every change that the window's copper has room for."""
    layout = window.layout
    if layout.plane is not None:
        yield from _via_edits(layout, ends)
        height = layout.plane.height / 2
        yield Edit(
            name=f"plane {abs(height) / MM:.3g} mm below instead of {abs(2 * height) / MM:.3g} mm",
            place=_middle(ends.hull),
            layout=replace(layout, plane=replace(layout.plane, height=height)),
        )
    yield from _moved_capacitor(board, ends, window)


def _middle(shape: BaseGeometry) -> Point:
    return float(shape.centroid.x), float(shape.centroid.y)


def _via_edits(layout: PlanLayout, ends: LoopEnds) -> Iterator[Edit]:
    """A via beside the ground pads of the switches, of the capacitor, and of both; one alone needs others."""
    places = {name: _free_place(layout, ends, joint) for name, joint in _ground_joints(ends).items()}
    found = {name: place for name, place in places.items() if place is not None}
    for name, place in found.items():
        if len(layout.vias) > 1:
            yield _with_vias(layout, ends, {f"via beside the ground pad of {name}": place})
    if len(found) > 1:
        yield _with_vias(layout, ends, {f"via beside the ground pad of {name}": place for name, place in found.items()})


def _ground_joints(ends: LoopEnds) -> Mapping[str, Joint]:
    """The joint of each part that is on ground."""
    return {name: joint for name, pair in ends.joints.items() for joint in pair if joint.net == ends.ground_net}


def _with_vias(layout: PlanLayout, ends: LoopEnds, places: Mapping[str, Point]) -> Edit:
    radius = layout.vias[0].radius if layout.vias else USUAL_RADIUS
    new = tuple(
        Via(name=name, centre=place, radius=radius, upper=ends.ground_net, wall=PLATING)
        for name, place in places.items()
    )
    return Edit(
        name=" and a ".join(places),
        place=next(iter(places.values())),
        layout=replace(layout, vias=(*layout.vias, *new)),
    )


def _free_place(layout: PlanLayout, ends: LoopEnds, joint: Joint) -> Point | None:
    """The nearest place to a pad where the ground copper has room for a via; None if there is none."""
    radius = layout.vias[0].radius if layout.vias else USUAL_RADIUS
    free = _room_for_vias(layout.sheet(ends.ground_net), layout, ends, radius)
    x, y = _middle(joint.area)
    offsets = np.arange(-_SEARCHED, _SEARCHED + _STEP / 2, _STEP)
    grid = np.stack(np.meshgrid(x + offsets, y + offsets), axis=-1).reshape(-1, 2)
    spots = grid[shapely.contains_xy(free, grid)]
    if not len(spots):
        return None
    nearest = spots[np.argmin(shapely.distance(shapely.points(spots), joint.area))]
    return float(nearest[0]), float(nearest[1])


def _room_for_vias(sheet: CopperSheet, layout: PlanLayout, ends: LoopEnds, radius: float) -> BaseGeometry:
    taken = [area.buffer(radius + DETAIL) for net, area in ends.areas if net == ends.ground_net]
    taken += [ShapelyPoint(via.centre).buffer(via.radius + radius + _BETWEEN) for via in layout.vias]
    return sheet.shape.buffer(-radius - _RING).difference(shapely.union_all(taken))


def _moved_capacitor(board: Board, ends: LoopEnds, window: LoopWindow) -> Iterator[Edit]:
    """The capacitor moved along the line towards the switches, by the largest move that fits."""
    for distance in MOVES:
        moved = _moved_ends(ends, distance)
        if not _fits(window.layout, moved):
            continue
        try:
            after = loop_window(board, moved, window.margin + distance)
        except BoardError:
            continue
        name = f"{ends.capacitor} moved by {distance / MM:g} mm towards {ends.name}"
        yield Edit(name=name, place=_middle(_capacitor_area(moved)), layout=after.layout)
        return


def _capacitor_area(ends: LoopEnds) -> BaseGeometry:
    return shapely.union_all([joint.area for joint in ends.joints[ends.capacitor]])


def _switch_area(ends: LoopEnds) -> BaseGeometry:
    return shapely.union_all([j.area for name, pair in ends.joints.items() if name != ends.capacitor for j in pair])


def _moved_ends(ends: LoopEnds, distance: float) -> LoopEnds:
    start, aim = np.array(_middle(_capacitor_area(ends))), np.array(_middle(_switch_area(ends)))
    step = (aim - start) / np.linalg.norm(aim - start) * distance
    first, second = (Joint(net=j.net, area=translate(j.area, *step)) for j in ends.joints[ends.capacitor])
    return replace(ends, joints={**ends.joints, ends.capacitor: (first, second)})


def _fits(layout: PlanLayout, moved: LoopEnds) -> bool:
    """Whether the moved pads lie on their own copper, clear of the switches' pads and of vias."""
    area = _capacitor_area(moved)
    on_copper = all(
        joint.area.intersection(layout.sheet(joint.net).shape).area >= _KEPT * joint.area.area
        for joint in moved.joints[moved.capacitor]
    )
    return on_copper and area.distance(_switch_area(moved)) >= _BETWEEN
