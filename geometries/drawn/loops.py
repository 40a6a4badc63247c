"""The loops of a converter: its capacitors, its boot capacitor, its feedback, and the ground under them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.drawn.converters import BOOT, FEEDBACK, Converter, find_converters, power_pads
from geometries.drawn.parts import Part, gap, middle, parts_of
from geometries.fabrication.board import Board, Pad
from geometries.quantities import MM
from geometries.section.outline import Point

SHUNT_PAD = 2 * MM**2
"""A resistor with at least so much pad area on each net carries the converter's current (common practice)."""
_CAPACITOR = "C"


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitorLoop:
    """A capacitor that closes a converter's loop.

    Parameters
    ----------
    capacitor : str
        Its reference.
    net : str
        Its net towards the supply, another one than the converter's if it comes through a shunt.
    shunt : str
        Reference of the resistor in between; empty if there is none.
    path : float
        From its pads to the switches' pins along straight lines, through the board twice if it is on the other
        side [m]; a first guess of the order of the inductances, no more.
    """

    capacitor: str
    net: str
    shunt: str
    path: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BootLoop:
    """The capacitor that feeds the upper gate driver, and how far it is from its pins [m]."""

    capacitor: str
    path: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedbackNet:
    """A feedback pin's net and its divider: resistors towards the output and towards ground."""

    net: str
    upper: tuple[str, ...]
    lower: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundUnder:
    """Part of the loop's hull that ground copper covers on a layer [1]."""

    layer: int
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundLoop:
    """A converter with everything that was found around it.

    Parameters
    ----------
    converter : Converter
        What switches.
    place : (x, y)
        Middle of its switches [m].
    capacitors : tuple of CapacitorLoop
        Those that close its loop, shortest path first.
    boot : BootLoop or None
        Boot capacitor, if there is one.
    feedback : FeedbackNet or None
        Feedback net, if there is one.
    ground : tuple of GroundUnder
        Ground below the switches and their nearest capacitor, by layer.
    ground_vias : int
        Vias of the ground net inside that hull.
    """

    converter: Converter
    place: Point
    capacitors: tuple[CapacitorLoop, ...]
    boot: BootLoop | None
    feedback: FeedbackNet | None
    ground: tuple[GroundUnder, ...]
    ground_vias: int

    @property
    def path(self) -> float:
        """Path of its nearest capacitor [m]; infinite if no capacitor closes it."""
        return self.capacitors[0].path if self.capacitors else float("inf")


def find_loops(board: Board) -> tuple[FoundLoop, ...]:
    """Every converter of a board with its loops, those with the longest path first, those without a capacitor last."""
    parts = parts_of(board)
    found = [_loop(board, parts, converter) for converter in find_converters(parts)]
    return tuple(sorted(found, key=lambda loop: (not loop.capacitors, -loop.path)))


def _loop(board: Board, parts: Mapping[str, Part], converter: Converter) -> FoundLoop:
    capacitors = capacitors_of(board, parts, converter)
    hull = loop_hull(parts, converter, capacitors[:1])
    vias = [hole for hole in board.vias if hole.net == converter.ground_net]
    return FoundLoop(
        converter=converter,
        place=middle(tuple(pad for name in converter.switches for pad in parts[name].pads)),
        capacitors=capacitors,
        boot=_boot(board, parts, converter),
        feedback=_feedback(parts, converter),
        ground=tuple(
            GroundUnder(layer=layer.number, share=_covered(board, hull, layer.number, converter.ground_net))
            for layer in board.layers
        ),
        ground_vias=sum(bool(hull.contains(ShapelyPoint(via.start))) for via in vias),
    )


def _covered(board: Board, hull: BaseGeometry, layer: int, net: str) -> float:
    copper = shapely.clip_by_rect(board.copper(layer, net), *hull.bounds)
    return float(shapely.make_valid(copper).intersection(hull).area / hull.area)


def loop_hull(parts: Mapping[str, Part], converter: Converter, capacitors: tuple[CapacitorLoop, ...]) -> BaseGeometry:
    """Convex hull of the switches' and the capacitors' pads on the loop's nets [m]."""
    pads = [pad for name in converter.switches for pad in parts[name].pads]
    pads += [pad for loop in capacitors for pad in parts[loop.capacitor].pads]
    return shapely.union_all([pad.shape for pad in pads]).convex_hull


def capacitors_of(board: Board, parts: Mapping[str, Part], converter: Converter) -> tuple[CapacitorLoop, ...]:
    """Capacitors between supply and ground, also those behind a shunt, shortest path first."""
    rails = {converter.supply_net: "", **_behind_shunts(parts, converter)}
    found = [
        CapacitorLoop(
            capacitor=part.reference, net=net, shunt=shunt, path=_path(board, parts, converter, part, net, shunt)
        )
        for part in parts.values()
        for net, shunt in rails.items()
        if part.letters == _CAPACITOR and part.nets == {net, converter.ground_net}
    ]
    return tuple(sorted(found, key=lambda loop: loop.path))


def _behind_shunts(parts: Mapping[str, Part], converter: Converter) -> dict[str, str]:
    """Nets behind a shunt on the supply, with the shunt's reference."""
    shunts = [part for part in parts.values() if part.letters == "R" and converter.supply_net in part.nets]
    wide = [part for part in shunts if part.other(converter.supply_net) and _carries(part)]
    return {part.other(converter.supply_net): part.reference for part in wide}


def _carries(part: Part) -> bool:
    return all(sum(pad.shape.area for pad in part.on(net)) >= SHUNT_PAD for net in part.nets)


def _path(board: Board, parts: Mapping[str, Part], converter: Converter, part: Part, net: str, shunt: str) -> float:
    supply, ground = (power_pads(parts, converter, rail) for rail in (converter.supply_net, converter.ground_net))
    between = (
        _through_shunt(parts[shunt], converter.supply_net, net, supply, part) if shunt else gap(part.on(net), supply)
    )
    return between + gap(part.on(converter.ground_net), ground) + 2 * _depth(board, part.pads, supply)


def _through_shunt(shunt: Part, supply_net: str, net: str, pins: tuple[Pad, ...], part: Part) -> float:
    near, far = shunt.on(supply_net), shunt.on(net)
    return gap(pins, near) + gap(near, far) + gap(far, part.on(net))


def _depth(board: Board, one: tuple[Pad, ...], other: tuple[Pad, ...]) -> float:
    """Height between the layers of two parts; zero if they share one [m]."""
    layers = {pad.layer for pad in one}, {pad.layer for pad in other}
    if layers[0] & layers[1]:
        return 0.0
    return abs(board.stack.height(min(layers[0])) - board.stack.height(min(layers[1])))


def _boot(board: Board, parts: Mapping[str, Part], converter: Converter) -> BootLoop | None:
    controller = parts.get(converter.controller)
    if controller is None:
        return None
    found = [
        BootLoop(
            capacitor=part.reference,
            path=gap(part.on(net), controller.on(net))
            + gap(part.on(converter.switch_net), controller.on(converter.switch_net)),
        )
        for net in controller.function_nets(BOOT)
        for part in parts.values()
        if part.letters == _CAPACITOR and part.nets == {net, converter.switch_net}
    ]
    return min(found, key=lambda loop: loop.path, default=None)


def _feedback(parts: Mapping[str, Part], converter: Converter) -> FeedbackNet | None:
    controller = parts.get(converter.controller)
    nets = controller.function_nets(FEEDBACK) if controller else ()
    dividers = [divider_on(parts, converter, net) for net in nets]
    return next((one for one in dividers if one.upper), None)


def divider_on(parts: Mapping[str, Part], converter: Converter, net: str) -> FeedbackNet:
    """The resistors on a net, those to the converter's ground below."""
    resistors = list(_resistors_on(parts, net))
    lower = tuple(part.reference for part in resistors if part.other(net) == converter.ground_net)
    return FeedbackNet(
        net=net, lower=lower, upper=tuple(part.reference for part in resistors if part.reference not in lower)
    )


def _resistors_on(parts: Mapping[str, Part], net: str) -> Iterator[Part]:
    yield from (part for part in parts.values() if re.fullmatch(r"RN?", part.letters) and part.other(net))
