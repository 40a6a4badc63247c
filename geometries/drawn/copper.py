"""A window of a board's copper: its pieces on every layer that the loop needs, and the vias that join them.

Corners and gaps finer than `DETAIL` are rounded; the current does not feel them, the mesh would. Voids far from the
loop against their size are filled for the same reason.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.drawn.ends import Joint, LoopEnds
from geometries.fabrication.board import Board, Hole
from geometries.quantities import UM

DETAIL = 40 * UM
"""Radius of the finest feature of an outline that is kept [m]."""
_STRAIGHT = 5 * UM
"""Vertices closer than this to a straight edge are left out [m]."""
_INSIDE = 60 * UM
"""A pad's terminal keeps this distance from the copper's edge [m]; the solder's rim is as far in."""
_LEAST = 20 * UM
"""Half the least width of a terminal [m]."""
_FAR = 2.0
"""A void that lies farther from the loop than this multiple of its size is filled."""
_MATTERS = 0.05
"""Copper that the loop is not joined to counts if it covers at least this part of the loop's hull."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A connected piece of copper of a net on a layer, named uniquely [m]."""

    name: str
    net: str
    layer: int
    shape: ShapelyPolygon

    def under(self, area: BaseGeometry) -> ShapelyPolygon:
        """The largest part of an area well inside the copper; empty if there is none."""
        inner = area.intersection(self.shape.buffer(-_INSIDE, quad_segs=2))
        inside = inner.buffer(-_LEAST, quad_segs=2).buffer(_LEAST, quad_segs=2).simplify(_STRAIGHT)
        parts = [part for part in shapely.get_parts(inside) if isinstance(part, ShapelyPolygon)]
        return max(parts, key=lambda part: part.area, default=ShapelyPolygon())

    def holds(self, joint: Joint) -> bool:
        """Whether a part can be soldered to it there."""
        return (self.net, self.layer) == (joint.net, joint.layer) and not self.under(joint.area).is_empty


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Barrel:
    """A stretch of a via between two pieces, the one nearer to the switches' side first."""

    hole: Hole
    ends: tuple[Piece, Piece]

    @property
    def foot(self) -> BaseGeometry:
        """What it takes of either piece, with the room around it [m]."""
        return _foot(self.hole)


def _foot(hole: Hole) -> BaseGeometry:
    return hole.shape.buffer(DETAIL)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowCopper:
    """Copper within a window.

    Parameters
    ----------
    room : shapely geometry
        The window [m].
    layers : tuple of int
        Layers that are in it, the switches' side first.
    pieces : tuple of Piece
        Those that carry the loop's current, and others under or over the loop.
    barrels : tuple of Barrel
        Vias between pieces.
    whole : bool
        Whether nothing of the loop's nets on these layers lies outside the window.
    """

    room: BaseGeometry
    layers: tuple[int, ...]
    pieces: tuple[Piece, ...]
    barrels: tuple[Barrel, ...]
    whole: bool

    def piece_at(self, joint: Joint) -> Piece:
        """The piece that a part is soldered to."""
        return next(piece for piece in self.pieces if piece.holds(joint))


def window_copper(board: Board, ends: LoopEnds, room: BaseGeometry, layers: tuple[int, ...]) -> WindowCopper | str:
    """Cut the loop's copper out of a board, or name the net that is not joined in that window on these layers."""
    near, nets = ends.hull, {joint.net for joint in ends.ends}
    pieces = [piece for layer in layers for piece in _pieces(board, layer, room, near, nets)]
    barrels = list(_barrels(board, layers, pieces))
    group = _joined(pieces, barrels)
    for net, joints in _by_net(ends.ends).items():
        found = [{group[piece.name] for piece in pieces if piece.holds(joint)} for joint in joints]
        if not set.intersection(*found):
            return net
    soldered = {piece.name for piece in pieces if any(piece.holds(joint) for joint in ends.ends)}
    live = {group[name] for name in soldered}
    carrying = _without_dead_ends([one for one in barrels if group[one.ends[0].name] in live], soldered)
    used = soldered | {piece.name for one in carrying for piece in one.ends}
    kept = [piece for piece in pieces if piece.name in used or _covers(piece, near)]
    return WindowCopper(
        room=room,
        layers=layers,
        pieces=tuple(_filled(kept, near, [barrel.foot for barrel in carrying])),
        barrels=tuple(carrying),
        whole=all(room.contains(shapely.box(*board.copper(layer, net).bounds)) for layer in layers for net in nets),
    )


def smoothed(shape: BaseGeometry) -> BaseGeometry:
    """The shape without features finer than `DETAIL`: spikes opened, clefts closed, all corners obtuse."""
    opened = shape.buffer(-DETAIL, quad_segs=2).buffer(2 * DETAIL, quad_segs=2).buffer(-DETAIL, quad_segs=2)
    return shapely.normalize(opened).simplify(_STRAIGHT)  # from the same corner whatever the file's order


def _pieces(board: Board, layer: int, room: BaseGeometry, near: BaseGeometry, nets: set[str]) -> Iterator[Piece]:
    """Copper of a layer in the window, net by net: of the loop's nets all, of others what may cover the loop."""
    for net, copper in board.layers[layer - 1].nets.items():
        clipped = shapely.make_valid(shapely.clip_by_rect(copper, *room.bounds))
        if net not in nets and clipped.area < _MATTERS * near.area:
            continue
        clipped = smoothed(clipped)
        parts = [part for part in shapely.get_parts(clipped) if isinstance(part, ShapelyPolygon) and part.area > 0]
        for number, part in enumerate(sorted(parts, key=lambda part: -part.area), start=1):
            name = f"{net or 'no net'} L{layer}" + (f" ({number})" if number > 1 else "")
            yield Piece(name=name, net=net, layer=layer, shape=part)


def _barrels(board: Board, layers: Sequence[int], pieces: Sequence[Piece]) -> Iterator[Barrel]:
    """Every via between two pieces of its net on layers next to each other among those that it touches.

    A via whose foot would meet another's, or that would pass through copper of a layer in between, is left out.
    """
    by_layer: defaultdict[int, list[Piece]] = defaultdict(list)
    for piece in pieces:
        by_layer[piece.layer].append(piece)
    taken: list[BaseGeometry] = []
    for hole in board.vias:
        foot = _foot(hole)
        met = {layer: [piece for piece in by_layer[layer] if piece.shape.intersects(foot)] for layer in layers}
        stands = [all(piece.net == hole.net and piece.shape.contains(foot) for piece in met[layer]) for layer in layers]
        reached = [piece for layer in layers for piece in met[layer]]
        if len(reached) > 1 and all(stands) and not any(foot.intersects(other) for other in taken):
            taken.append(foot)
            yield from (Barrel(hole=hole, ends=pair) for pair in pairwise(reached))


def _joined(pieces: Sequence[Piece], barrels: Sequence[Barrel]) -> dict[str, str]:
    """For every piece the name of one that stands for all it is joined to."""
    group = {piece.name: piece.name for piece in pieces}

    def root(name: str) -> str:
        while group[name] != name:
            name = group[name]
        return name

    for barrel in barrels:
        one, other = (root(piece.name) for piece in barrel.ends)
        group[one] = other
    return {name: root(name) for name in group}


def _by_net(joints: Iterable[Joint]) -> Mapping[str, list[Joint]]:
    found: defaultdict[str, list[Joint]] = defaultdict(list)
    for joint in joints:
        found[joint.net].append(joint)
    return found


def _without_dead_ends(barrels: list[Barrel], soldered: set[str]) -> list[Barrel]:
    """Vias through which a current can come back: none that alone leads to copper where no part is."""
    while True:
        reached = Counter(piece.name for barrel in barrels for piece in barrel.ends)
        kept = [one for one in barrels if all(reached[end.name] > 1 or end.name in soldered for end in one.ends)]
        if len(kept) == len(barrels):
            return kept
        barrels = kept


def _covers(piece: Piece, near: BaseGeometry) -> bool:
    return bool(piece.shape.intersection(near).area >= _MATTERS * near.area)


def _filled(pieces: Sequence[Piece], near: BaseGeometry, feet: Sequence[BaseGeometry]) -> Iterator[Piece]:
    """The pieces without voids that are small and far from the loop, unless other copper or a via stands in them."""
    for piece in pieces:
        others = [other.shape for other in pieces if other.layer == piece.layer and other is not piece]
        shape = _without_far_voids(piece.shape, near, [*others, *feet])
        yield replace(piece, shape=shape)


def _without_far_voids(shape: ShapelyPolygon, near: BaseGeometry, others: Sequence[BaseGeometry]) -> ShapelyPolygon:
    voids = [ShapelyPolygon(ring) for ring in shape.interiors]
    kept = [
        void.exterior
        for void in voids
        if near.distance(void) < _FAR * void.area**0.5 or any(void.intersects(other) for other in others)
    ]
    return ShapelyPolygon(shape.exterior, kept)
