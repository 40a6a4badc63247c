"""Where a loop's current passes between its parts and the copper: by the parts' pads, or by points of the board."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Board, Pad
from geometries.quantities import MM
from geometries.section.outline import Point
from solver.board.converters import Converter, power_pads
from solver.board.errors import BoardError
from solver.board.loops import CapacitorLoop
from solver.board.parts import Part


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joint:
    """One end of a part: the net it is soldered to and the area through which its current passes [m]."""

    net: str
    area: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopEnds:
    """The ends of all parts of a loop.

    Parameters
    ----------
    name, capacitor : str
        What is called in tables: the switches and the capacitor.
    layer : int
        Copper layer that the parts are on.
    joints : mapping
        For every part the joint at which the current comes into the copper, and the one at which it leaves: out of the
        capacitor into the supply, down through the switches, back on ground.
    ground_net : str
        Net of the ground.
    """

    name: str
    capacitor: str
    layer: int
    joints: Mapping[str, tuple[Joint, Joint]]
    ground_net: str

    @property
    def areas(self) -> tuple[tuple[str, BaseGeometry], ...]:
        """Net and area of every joint."""
        return tuple((joint.net, joint.area) for pair in self.joints.values() for joint in pair)

    @property
    def hull(self) -> BaseGeometry:
        """Convex hull of all areas [m]."""
        return shapely.union_all([area for _, area in self.areas]).convex_hull


def ends_of_parts(parts: Mapping[str, Part], converter: Converter, capacitor: CapacitorLoop) -> LoopEnds:
    """Ends of a converter's loop with one of its capacitors.

    Raises
    ------
    BoardError
        If the parts are on different layers, or the capacitor is behind a shunt.
    """
    return LoopEnds(
        name=converter.name,
        capacitor=capacitor.capacitor,
        layer=_common_layer(parts, converter, capacitor),
        joints=_joints(parts, converter, capacitor),
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
        If no pad lies under a point.
    """
    joints = {}
    for number, (above, below) in enumerate(switches, start=1):
        joints[f"switch {number}"] = _under(board, layer, below), _under(board, layer, above)
    supply, ground = capacitor
    joints["capacitor"] = _under(board, layer, supply), _under(board, layer, ground)
    return LoopEnds(
        name="named by points", capacitor="capacitor", layer=layer, joints=joints, ground_net=joints["capacitor"][1].net
    )


def _under(board: Board, layer: int, points: Sequence[Point]) -> Joint:
    return _joint(tuple(pad for point in points for pad in _pads_at(board, layer, point)))


def _pads_at(board: Board, layer: int, point: Point) -> tuple[Pad, ...]:
    spot = ShapelyPoint(point)
    found = tuple(pad for pad in board.pads if pad.layer == layer and pad.shape.covers(spot))
    if not found:
        x, y = point[0] / MM, point[1] / MM
        raise BoardError(f"there is no pad at ({x:.4g}, {y:.4g}) mm on layer L{layer}; name a point on one")
    return found


def _common_layer(parts: Mapping[str, Part], converter: Converter, capacitor: CapacitorLoop) -> int:
    names = (*converter.switches, capacitor.capacitor)
    layers = {pad.layer for name in names for pad in parts[name].pads}
    if len(layers) != 1:
        listed = ", ".join(f"{name} on L{parts[name].pads[0].layer}" for name in names)
        raise BoardError(f"the loop of {converter.name} changes sides ({listed}); name a capacitor on its own side")
    if capacitor.shunt:
        raise BoardError(
            f"{capacitor.capacitor} reaches {converter.name} through {capacitor.shunt}; name a capacitor that is on "
            f"{converter.supply_net!r} itself"
        )
    return layers.pop()


def _joints(
    parts: Mapping[str, Part], converter: Converter, capacitor: CapacitorLoop
) -> dict[str, tuple[Joint, Joint]]:
    """Every part's ends, the one at which the current comes into the copper first.

    The current leaves the capacitor into the supply, goes down through the switches, and comes back on ground.
    """
    supply, ground, node = converter.supply_net, converter.ground_net, converter.switch_net
    chain = [(supply, ground)] if len(converter.switches) == 1 else [(supply, node), (node, ground)]
    joints = {}
    for name, (above, below) in zip(converter.switches, chain, strict=True):
        joints[name] = _joint(_pads(parts, converter, name, below)), _joint(_pads(parts, converter, name, above))
    body = parts[capacitor.capacitor]
    joints[body.reference] = _joint(body.on(capacitor.net)), _joint(body.on(ground))
    return joints


def _pads(parts: Mapping[str, Part], converter: Converter, name: str, net: str) -> tuple[Pad, ...]:
    own = {id(pad) for pad in parts[name].on(net)}
    return tuple(pad for pad in power_pads(parts, converter, net) if id(pad) in own) or parts[name].on(net)


def _joint(pads: tuple[Pad, ...]) -> Joint:
    """Pads of one pin are bridged by the part's own metal: their hull is one area."""
    return Joint(net=pads[0].net, area=shapely.union_all([pad.shape for pad in pads]).convex_hull)
