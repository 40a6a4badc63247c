"""Where a loop's current passes between its parts and the copper: by the parts' pads, or by points of the board."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.board.capacitors import LOWEST_ELECTRODE, conductor
from geometries.drawn.converters import Converter, power_pads
from geometries.drawn.errors import BoardError
from geometries.drawn.loops import CapacitorLoop
from geometries.drawn.parts import Part
from geometries.fabrication.board import Board, Pad
from geometries.layout.laid_out import LoopPart
from geometries.quantities import MM, write_place
from geometries.section.outline import Point


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joint:
    """One end of a part: the net and layer it is soldered to, the area through which its current passes [m]."""

    net: str
    layer: int
    area: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopEnds:
    """The ends of all parts of a loop.

    Parameters
    ----------
    name : str
        The switches.
    capacitors : tuple of str
        All that share the current.
    joints : mapping
        For every part the joint at which the current comes into the copper, and the one at which it leaves: out of the
        capacitor into the supply, down through the switches, back on ground. Switches first, capacitors last.
    ground_net : str
        Net of the ground.
    known : mapping
        Parts that are described; all others are flat conductors at the usual height.
    """

    name: str
    capacitors: tuple[str, ...]
    joints: Mapping[str, tuple[Joint, Joint]]
    ground_net: str
    known: Mapping[str, LoopPart] = field(default_factory=dict)

    @property
    def capacitor(self) -> str:
        """What the capacitors are called in tables."""
        return ", ".join(self.capacitors)

    @property
    def parts(self) -> Mapping[str, LoopPart]:
        """Every part, with its own inductance if it has one."""
        return {name: self.known.get(name) or conductor(LOWEST_ELECTRODE) for name in self.joints}

    @property
    def ends(self) -> tuple[Joint, ...]:
        """Every joint."""
        return tuple(joint for pair in self.joints.values() for joint in pair)

    @property
    def layer(self) -> int:
        """The layer that the switches are on, from which heights are counted."""
        return next(iter(self.joints.values()))[0].layer

    @property
    def hull(self) -> BaseGeometry:
        """Convex hull of all areas [m]."""
        return shapely.union_all([joint.area for joint in self.ends]).convex_hull

    def area_of(self, names: Iterable[str]) -> BaseGeometry:
        """Areas of some parts together [m]."""
        return shapely.union_all([joint.area for name in names for joint in self.joints[name]])


def ends_of_parts(parts: Mapping[str, Part], converter: Converter, capacitors: Sequence[CapacitorLoop]) -> LoopEnds:
    """Ends of a converter's loop with one or more of its capacitors, and the shunts through which they reach it."""
    return LoopEnds(
        name=converter.name,
        capacitors=tuple(one.capacitor for one in capacitors),
        joints=_joints(parts, converter, capacitors),
        ground_net=converter.ground_net,
    )


PartPoints = tuple[Sequence[Point], Sequence[Point]]


def ends_of_points(board: Board, layer: int, switches: Sequence[PartPoints], capacitor: PartPoints) -> LoopEnds:
    """Ends of a loop whose parts have no names: the pads under points of the board.

    Parameters
    ----------
    board, layer
        The board, and the copper layer that the parts are on.
    switches : sequence of (points, points)
        Of each switch from supply to ground: points on its pads towards the supply and towards ground [m].
    capacitor : (points, points)
        Points on its pads on the supply and on ground [m].

    Raises
    ------
    BoardError
        If no pad lies under a point; the nearest copper and pad are named.
    """
    joints = {}
    for number, (above, below) in enumerate(switches, start=1):
        joints[f"switch {number}"] = _under(board, layer, below), _under(board, layer, above)
    supply, ground = capacitor
    joints["capacitor"] = _under(board, layer, supply), _under(board, layer, ground)
    return LoopEnds(
        name="named by points",
        capacitors=("capacitor",),
        joints=joints,
        ground_net=joints["capacitor"][1].net,
    )


def _under(board: Board, layer: int, points: Sequence[Point]) -> Joint:
    return _joint(tuple(pad for point in points for pad in _pads_at(board, layer, point)), layer)


def _pads_at(board: Board, layer: int, point: Point) -> tuple[Pad, ...]:
    spot = ShapelyPoint(point)
    here = [pad for pad in board.pads if pad.layer == layer]
    found = tuple(pad for pad in here if pad.shape.covers(spot))
    if found:
        return found
    told = f"there is no pad at {write_place(point)} on layer L{layer}"
    if not here:
        raise BoardError(f"{told}, nor anywhere else on it; is it the layer that the parts are on?")
    near = min(here, key=lambda pad: pad.shape.distance(spot))
    raise BoardError(
        f"{told}, which has {_copper_at(board, layer, spot)} there; the nearest pad is on {near.net or 'no net'} at "
        f"{write_place(near.place)}, {near.shape.distance(spot) / MM:.2g} mm away: name a point on a pad"
    )


def _copper_at(board: Board, layer: int, spot: ShapelyPoint) -> str:
    """What copper of a layer is at a point, or the nearest."""
    nets = board.layers[layer - 1].nets
    near = min(nets, key=lambda net: nets[net].distance(spot), default=None)
    if near is None:
        return "no copper"
    distance = nets[near].distance(spot)
    name = f"copper of {near}" if near else "copper of no net"
    return f"no copper, the nearest is {name}, {distance / MM:.2g} mm away," if distance else name


def _joints(
    parts: Mapping[str, Part], converter: Converter, capacitors: Sequence[CapacitorLoop]
) -> dict[str, tuple[Joint, Joint]]:
    """Every part's ends, the one at which the current comes into the copper first.

    The current leaves the capacitor into the supply, goes down through the switches, and comes back on ground.
    """
    supply, ground, node = converter.supply_net, converter.ground_net, converter.switch_net
    side = _side(parts, converter)
    chain = [(supply, ground)] if len(converter.switches) == 1 else [(supply, node), (node, ground)]
    joints = {}
    for name, (above, below) in zip(converter.switches, chain, strict=True):
        pads = _pads(parts, converter, name, below), _pads(parts, converter, name, above)
        joints[name] = _joint(pads[0], side), _joint(pads[1], side)
    for one in capacitors:
        if one.shunt:
            between = parts[one.shunt]
            joints[one.shunt] = _joint(between.on(supply), side), _joint(between.on(one.net), side)
    for one in capacitors:
        body = parts[one.capacitor]
        joints[one.capacitor] = _joint(body.on(one.net), side), _joint(body.on(ground), side)
    return joints


def _side(parts: Mapping[str, Part], converter: Converter) -> int:
    """The layer that most of the switches' pads are on."""
    counted = Counter(pad.layer for name in converter.switches for pad in parts[name].pads)
    return counted.most_common(1)[0][0]


def _pads(parts: Mapping[str, Part], converter: Converter, name: str, net: str) -> tuple[Pad, ...]:
    own = {id(pad) for pad in parts[name].on(net)}
    return tuple(pad for pad in power_pads(parts, converter, net) if id(pad) in own) or parts[name].on(net)


def _joint(pads: tuple[Pad, ...], side: int) -> Joint:
    """Pads of one pin are bridged by the part's own metal: their hull is one area.

    Of a pin that passes all layers the pad on the switches' side counts.
    """
    layer = side if any(pad.layer == side for pad in pads) else pads[0].layer
    here = [pad.shape for pad in pads if pad.layer == layer]
    return Joint(net=pads[0].net, layer=layer, area=shapely.union_all(here).convex_hull)
