"""Changes of a loop that a layouter could make, each solved, and what it gains.

A change is made on the board: a via of ground, a void of the plane or the spokes of a pad filled, copper brought nearer
to the other net, the capacitor moved along its copper or turned, the plane one layer up or nearer. Only what has room
between the copper, pads and holes of all nets on all layers is tried; the solder mask and the assembly are not looked
at, so that a place is a proposal, no more.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.affinity import rotate, translate
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.drawn.copper import DETAIL
from geometries.drawn.ends import Joint, LoopEnds
from geometries.drawn.errors import BoardError
from geometries.drawn.window import LoopWindow, same_window
from geometries.errors import GeometryError
from geometries.fabrication.board import Board, Hole
from geometries.layout.layout import PlanLayout
from geometries.quantities import MM
from geometries.section.outline import Point
from solver.board.as_drawn import SETTINGS, DrawnLoop, Tell, untold
from solver.board.first_order import Change, SmallPart, edge_outwards, gain_of_vias, layer_nearer, part_of_change
from solver.errors import MeshError
from solver.plan import PlanMeshSettings, PlanSolution, solve_plan

VIA_DIAMETER = 0.3 * MM
"""Of a via where the loop has none to copy (common practice)."""
CLEARANCE = 0.15 * MM
"""Between copper of two nets, and around a via's hole (common practice)."""
_BETWEEN = 0.2 * MM
"""Least distance from hole to hole and from pad to pad (common practice)."""
_SEARCHED, _STEP = 2.5 * MM, 0.1 * MM
"""How far from a pad a place for a via is looked for, and how finely [m]."""
MOVES = (1.0 * MM, 0.5 * MM, 0.25 * MM)
"""How far the capacitor is moved; the largest that fits is taken [m]."""
_NUDGE = 20e-6
"""Part of a move from which the first-order gain is taken [m]."""
_TURN = 0.5
"""Part of a turn from which the first-order gain is taken [°]."""
_KEPT = 0.9
"""A moved pad has at least this part of its area on the copper."""
_AROUND = 0.6 * MM
"""Spokes of a pad lie within this distance of it [m] (common practice)."""
_WORTH = 0.05 * MM**2
"""Copper that a change adds has at least this area [m²]."""
_MOST_VOIDS = 3
_FARTHEST = 2.5
"""A plane's height is carried on by its logarithm to so much less (our estimate)."""
NO_SMALL_PART = "it does not touch the copper that was solved"
COMBINED = 3
"""So many of the best changes are tried together."""

_BESIDES = 3
"""The loop as it is, the best few together and the ideal are solved besides."""

IDEAL = "ideal of the same parts: plane whole, ground vias at each"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edit:
    """A change, where it is made [m], how the board becomes another by it, and a small part of it on the same mesh.

    There is no small part of new vias, whose gain is taken from the voltage at their places; `beyond` says why a change
    has no gain to first order.
    """

    name: str
    place: Point
    change: Change
    small: SmallPart | None = None
    beyond: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedEdit:
    """A change that was solved.

    Parameters
    ----------
    loop : (str, str)
        Switches and capacitors of the loop.
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
    first_order : float
        The gain by the derivative at the currents as they are [H]; not a number where there is none.
    no_first_order : str
        Why.
    """

    loop: tuple[str, str]
    name: str
    place: Point
    inductance: float
    gain: float
    error: float
    first_order: float
    no_first_order: str = ""


def try_edits(
    board: Board,
    drawn: DrawnLoop,
    settings: PlanMeshSettings = SETTINGS,
    telling: Callable[[int], AbstractContextManager[Tell]] = lambda steps: nullcontext(untold),
) -> tuple[TriedEdit, ...]:
    """Solve every change that fits, in the window of the solved loop: ideal, best few together, then by gain.

    Parameters
    ----------
    board, drawn
        The board, and its solved loop.
    settings : PlanMeshSettings
        As for the loop; changes are solved on a mesh a quarter as fine.
    telling : callable
        From how many changes there are to a context in which each is told of.
    """
    edits = tuple(possible_edits(board, drawn.ends, drawn.window))
    with telling(len(edits) + _BESIDES) as tell:
        return _tried(trial_of(board, drawn, settings.coarser().coarser()), edits, tell)


def _tried(trial: Trial, edits: Iterable[Edit], tell: Tell) -> tuple[TriedEdit, ...]:
    board, drawn, solved = trial.board, trial.drawn, []
    tell("loop as it is")
    for edit in edits:
        solved.append((edit, trial.solved(edit)))
        tell(edit.name)
    ranked = sorted(((edit, one) for edit, one in solved if one is not None), key=lambda pair: -pair[1].gain)
    best = [(edit, one) for edit, one in ranked if one.gain > one.error][:COMBINED]
    together = trial.solved(_combined([edit for edit, _ in best])) if len(best) > 1 else None
    if together is not None:
        together = replace(together, first_order=sum(one.first_order for _, one in best))
    tell("best together")
    ideal = trial.solved(ideal_of(board, drawn.ends, drawn.window))
    tell("ideal")
    first = (one for one in (ideal, together) if one is not None)
    return (*first, *(one for _, one in ranked))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """A solved loop on a mesh on which changes of it are solved too."""

    board: Board
    drawn: DrawnLoop
    before: PlanSolution
    settings: PlanMeshSettings

    def solved(self, edit: Edit) -> TriedEdit | None:
        """None if the pads are not joined after the change, or the copper cannot be meshed."""
        try:
            window = same_window(*edit.change(self.board, self.drawn.ends), self.drawn.window)
            after = solve_plan(window.layout, self.before.frequency, self.settings)
        except (BoardError, MeshError):
            return None
        value = self.drawn.field_inductance
        gain = value * (1 - after.loop_inductance / self.before.loop_inductance)
        return TriedEdit(
            loop=(self.drawn.ends.name, self.drawn.ends.capacitor),
            name=edit.name,
            place=edit.place,
            inductance=self.drawn.inductance - gain,
            gain=gain,
            error=value * max(after.inductance_error, self.before.inductance_error),
            first_order=self._first_order(edit, window.layout),
            no_first_order=edit.beyond or NO_SMALL_PART,
        )

    def _first_order(self, edit: Edit, after: PlanLayout) -> float:
        if edit.beyond:
            return float("nan")
        try:
            if edit.small is None:
                return gain_of_vias(self.before, after, self.drawn.shares, self.settings)
            near, part = edit.small(self.board, self.drawn.ends, self.drawn.window)
            if not part > 0:
                return float("nan")
            change = self.before.moved(near) - self.before.coarse_inductance
        except (BoardError, GeometryError, MeshError):
            return float("nan")
        shares = self.drawn.shares
        return float(-(shares @ change @ shares) / part)


def trial_of(board: Board, drawn: DrawnLoop, settings: PlanMeshSettings) -> Trial:
    """The loop solved once more as it is, as finely as its changes will be."""
    before = solve_plan(drawn.window.layout, drawn.solution.frequency, settings)
    return Trial(board=board, drawn=drawn, before=before, settings=settings)


def _combined(edits: list[Edit]) -> Edit:
    def change(board: Board, ends: LoopEnds) -> tuple[Board, LoopEnds]:
        for edit in edits:
            board, ends = edit.change(board, ends)
        return board, ends

    beyond = next((edit.beyond for edit in edits if edit.beyond), "the sum of its parts'")
    return Edit(name=" + ".join(edit.name for edit in edits), place=edits[0].place, change=change, beyond=beyond)


def possible_edits(board: Board, ends: LoopEnds, window: LoopWindow) -> Iterator[Edit]:
    """Every change that the board has room for."""
    yield from _via_edits(board, ends, window)
    yield from _filled_voids(board, ends, window)
    yield from _filled_spokes(board, ends)
    yield from _closed_gap(board, ends)
    yield from _moved_capacitors(board, ends)
    yield from _turned_capacitors(board, ends)
    yield from _nearer_plane(board, ends, window)


def _middle(shape: BaseGeometry) -> Point:
    return float(shape.centroid.x), float(shape.centroid.y)


def ideal_of(board: Board, ends: LoopEnds, window: LoopWindow) -> Edit:
    """The same parts where they are, over a plane without any void, with ground vias at every part that has room."""
    vias = [edit.change for edit in _via_edits(board, ends, window)][-1:]

    def change(board: Board, ends: LoopEnds) -> tuple[Board, LoopEnds]:
        if window.plane_layer:
            board = with_copper(board, window.plane_layer, ends.ground_net, window.copper.room)
            board = _without_others(board, window.plane_layer, ends.ground_net)
        for each in vias:
            board, ends = each(board, ends)
        return board, ends

    return Edit(name=IDEAL, place=_middle(ends.hull), change=change, beyond="many changes at once")


def _without_others(board: Board, layer: int, net: str) -> Board:
    """The board with no other net on a layer, for a plane that nothing else passes."""
    layers = [replace(one, nets={net: one.nets[net]}) if one.number == layer else one for one in board.layers]
    return replace(board, layers=tuple(layers))


def with_copper(board: Board, layer: int, net: str, added: BaseGeometry) -> Board:
    """A board with more copper of a net on a layer."""
    changed = [
        replace(one, nets={**one.nets, net: board.copper(layer, net).union(added)}) if one.number == layer else one
        for one in board.layers
    ]
    return replace(board, layers=tuple(changed))


def free_of_others(board: Board, layer: int, net: str, room: BaseGeometry) -> BaseGeometry:
    """The part of a room on a layer that keeps its clearance from other nets' copper and from bare holes."""
    taken = [
        shapely.make_valid(shapely.clip_by_rect(copper, *room.buffer(2 * CLEARANCE).bounds)).buffer(CLEARANCE)
        for other, copper in board.layers[layer - 1].nets.items()
        if other != net
    ]
    taken += [hole.shape.buffer(CLEARANCE) for hole in board.holes if hole.net != net and hole.shape.intersects(room)]
    return room.intersection(board.outline).difference(shapely.union_all(taken))


def _filling(board: Board, name: str, layer: int, net: str, added: BaseGeometry) -> Edit:
    return Edit(
        name=name,
        place=_middle(added),
        change=lambda board, ends: (with_copper(board, layer, net, added), ends),
        small=edge_outwards(layer, net, added.difference(board.copper(layer, net))),
    )


def _via_edits(board: Board, ends: LoopEnds, window: LoopWindow) -> Iterator[Edit]:
    """A via beside the ground pad of each part, and beside all of them together; one alone needs others."""
    if not window.plane_layer:
        return
    joints = {name: joint for name, pair in ends.joints.items() for joint in pair if joint.net == ends.ground_net}
    spots = {name: _free_place(board, window, joint) for name, joint in joints.items()}
    found = {name: spot for name, spot in spots.items() if spot is not None}
    for name, spot in found.items():
        yield _with_vias(f"via beside the ground pad of {name}", [spot], window, ends.ground_net)
    if len(found) > 1:
        names = " and of ".join(found)
        yield _with_vias(f"vias beside the ground pads of {names}", list(found.values()), window, ends.ground_net)


def _with_vias(name: str, places: list[Point], window: LoopWindow, net: str) -> Edit:
    def change(board: Board, ends: LoopEnds) -> tuple[Board, LoopEnds]:
        new = [_hole(board, place, window, net) for place in places]
        return replace(board, holes=(*board.holes, *new)), ends

    return Edit(name=name, place=places[0], change=change)


def _hole(board: Board, place: Point, window: LoopWindow, net: str) -> Hole:
    spot = ShapelyPoint(place)
    touched = tuple(layer.number for layer in board.layers if board.copper(layer.number, net).covers(spot))
    return Hole(
        start=place, end=place, diameter=_diameter(window), plated=True, function="ViaDrill",
        layers=(1, len(board.layers)), net=net, touched=touched,
    )  # fmt: skip


def _diameter(window: LoopWindow) -> float:
    barrels = window.copper.barrels
    return barrels[0].hole.diameter if barrels else VIA_DIAMETER


def _free_place(board: Board, window: LoopWindow, joint: Joint) -> Point | None:
    """The nearest place to a pad where every layer has room for a via, and its ground and the plane are there."""
    reach, radius = joint.area.buffer(_SEARCHED), _diameter(window) / 2
    free = reach.difference(
        shapely.union_all([pad.shape for pad in board.pads if pad.shape.intersects(reach)]).buffer(radius)
    )
    for layer in board.layers:
        free = free.intersection(free_of_others(board, layer.number, joint.net, reach).buffer(-radius - CLEARANCE))
    for number in {joint.layer, window.plane_layer}:
        free = free.intersection(board.copper(number, joint.net).buffer(-radius - DETAIL))
    holes = [hole.shape for hole in board.holes if hole.shape.intersects(reach)]
    free = free.difference(shapely.union_all(holes).buffer(radius + _BETWEEN))
    x, y = _middle(joint.area)
    offsets = np.arange(-_SEARCHED, _SEARCHED + _STEP / 2, _STEP)
    grid = np.stack(np.meshgrid(x + offsets, y + offsets), axis=-1).reshape(-1, 2)
    spots = grid[shapely.contains_xy(free, grid)]
    if not len(spots):
        return None
    nearest = spots[np.argmin(shapely.distance(shapely.points(spots), joint.area))]
    return float(nearest[0]), float(nearest[1])


def _filled_voids(board: Board, ends: LoopEnds, window: LoopWindow) -> Iterator[Edit]:
    """The largest voids of the plane under the loop, as far as other nets leave room."""
    if not window.plane_layer:
        return
    layer, net = window.plane_layer, ends.ground_net
    missing = shapely.get_parts(free_of_others(board, layer, net, ends.hull).difference(board.copper(layer, net)))
    for void in sorted(missing, key=lambda part: -part.area)[:_MOST_VOIDS]:
        if void.area > _WORTH:
            yield _filling(
                board, f"void of L{layer} filled, {void.area / MM**2:.2g} mm²", layer, net, void.buffer(DETAIL)
            )


def _filled_spokes(board: Board, ends: LoopEnds) -> Iterator[Edit]:
    """The gaps between the spokes of each pad, where the pad is joined on all sides by spokes."""
    for name, pair in ends.joints.items():
        for joint in pair:
            copper = board.copper(joint.layer, joint.net)
            ring = joint.area.buffer(_AROUND).intersection(copper).convex_hull.union(joint.area)
            gaps = free_of_others(board, joint.layer, joint.net, ring).difference(copper)
            if gaps.area > _WORTH and _enclosed(joint.area, copper):
                yield _filling(
                    board, f"spokes at the pad of {name} on {joint.net} filled", joint.layer, joint.net, gaps
                )


def _enclosed(pad: BaseGeometry, copper: BaseGeometry) -> bool:
    """Whether copper lies around more than half of a pad at the far end of its spokes, but not at the pad itself."""
    near, far = (pad.buffer(distance).boundary for distance in (CLEARANCE, _AROUND))
    return near.intersection(copper).length < near.length / 2 < far.intersection(copper).length


def _closed_gap(board: Board, ends: LoopEnds) -> Iterator[Edit]:
    """Copper of each net brought as near to the others as the clearance lets it, within the loop's hull."""
    for net in dict.fromkeys(joint.net for joint in ends.ends):
        copper = board.copper(ends.layer, net)
        room = ends.hull.intersection(copper.buffer(MM)).difference(copper)
        added = free_of_others(board, ends.layer, net, room)
        pads = [pad.shape.buffer(CLEARANCE) for pad in board.pads if pad.layer == ends.layer and pad.net != net]
        added = added.difference(shapely.union_all([pad for pad in pads if pad.intersects(room)]))
        if added.area > _WORTH:
            yield _filling(
                board,
                f"gap closed with copper of {net}, {added.area / MM**2:.2g} mm²",
                ends.layer,
                net,
                added.buffer(DETAIL / 4),
            )


def _moved_capacitors(board: Board, ends: LoopEnds) -> Iterator[Edit]:
    """Each capacitor moved along the line towards the switches, by the largest move that fits."""
    for name in ends.capacitors:
        fitting = [distance for distance in MOVES if _fits(board, _moved(ends, name, distance), name)]
        if fitting:
            yield Edit(
                name=f"{name} moved by {fitting[0] / MM:g} mm towards {ends.name}",
                place=_middle(_moved(ends, name, fitting[0]).area_of([name])),
                change=_moving(name, fitting[0]),
                small=part_of_change(_moving(name, _NUDGE), _NUDGE / fitting[0]),
            )


def _moving(name: str, distance: float) -> Change:
    return lambda board, ends: (board, _moved(ends, name, distance))


def _moved(ends: LoopEnds, name: str, distance: float) -> LoopEnds:
    switches = ends.area_of(set(ends.joints) - set(ends.capacitors))
    start, aim = np.array(_middle(ends.area_of([name]))), np.array(_middle(switches))
    step = (aim - start) / np.linalg.norm(aim - start) * distance
    return _with_areas(ends, name, lambda area: translate(area, *step))


def _with_areas(ends: LoopEnds, name: str, change: Callable[[BaseGeometry], BaseGeometry]) -> LoopEnds:
    first, second = (replace(joint, area=change(joint.area)) for joint in ends.joints[name])
    return replace(ends, joints={**ends.joints, name: (first, second)})


def _turned_capacitors(board: Board, ends: LoopEnds) -> Iterator[Edit]:
    """Each capacitor turned about its middle, where both of its pads then lie on their own copper."""
    for name in ends.capacitors:
        for degrees in (90, -90, 180):
            if _fits(board, _turned(ends, name, degrees), name):
                yield Edit(
                    name=f"{name} turned by {degrees}°",
                    place=_middle(ends.area_of([name])),
                    change=_turning(name, degrees),
                    small=part_of_change(_turning(name, _TURN * np.sign(degrees)), _TURN / abs(degrees)),
                )


def _turning(name: str, degrees: float) -> Change:
    return lambda board, ends: (board, _turned(ends, name, degrees))


def _turned(ends: LoopEnds, name: str, degrees: float) -> LoopEnds:
    middle = _middle(ends.area_of([name]))
    return _with_areas(ends, name, lambda area: rotate(area, degrees, origin=middle))


def _fits(board: Board, moved: LoopEnds, name: str) -> bool:
    """Whether the moved pads lie on their own copper, clear of every other part's pads."""
    on_copper = all(
        joint.area.intersection(board.copper(joint.layer, joint.net)).area >= _KEPT * joint.area.area
        for joint in moved.joints[name]
    )
    layer = moved.joints[name][0].layer
    others = [pad.shape for pad in board.pads if pad.layer == layer and pad.reference != name]
    return on_copper and all(moved.area_of([name]).distance(other) >= _BETWEEN for other in others)


def _nearer_plane(board: Board, ends: LoopEnds, window: LoopWindow) -> Iterator[Edit]:
    """The plane one layer up if one lies between, or at half its distance."""
    if not window.plane_layer:
        return
    step = 1 if window.plane_layer < ends.layer else -1
    if window.plane_layer + step != ends.layer:
        above, plane = window.plane_layer + step, board.copper(window.plane_layer, ends.ground_net)
        poured = free_of_others(board, above, ends.ground_net, plane.intersection(window.copper.room))
        far, near = (
            abs(board.stack.height(each) - board.stack.height(ends.layer)) for each in (window.plane_layer, above)
        )
        poured_edit = _filling(
            board, f"ground of L{window.plane_layer} on L{above} too", above, ends.ground_net, poured
        )
        yield replace(
            poured_edit,
            small=layer_nearer(window.plane_layer, far, near),
            beyond="" if far <= _FARTHEST * near else f"from {far / MM:.2g} to {near / MM:.2g} mm, too far for a slope",
        )
        return
    yield Edit(
        name=f"half the dielectric between L{ends.layer} and L{window.plane_layer}",
        place=_middle(ends.hull),
        change=lambda board, ends: (_thinner(board, ends.layer, window.plane_layer, 0.5), ends),
        small=part_of_change(
            lambda board, ends: (_thinner(board, ends.layer, window.plane_layer, 0.99), ends), 0.01 / math.log(2)
        ),
    )


def _thinner(board: Board, one: int, other: int, factor: float) -> Board:
    """The dielectric between two neighbouring layers at a part of its thickness."""
    stackup = board.stack.stackup.with_distance_scaled(f"L{one}", f"L{other}", factor)
    return replace(board, stack=replace(board.stack, stackup=stackup))
