"""A board as its fabrication files describe it: copper by layer and net, pads, holes, stack, outline.

x and y run as in the files, seen from the top; layers count from 1 at the top. All lengths in metres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.errors import nearest
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.stack import BoardStack
from geometries.quantities import MM, write_place
from geometries.section.outline import Point

LARGEST_VIA = 0.7 * MM
"""A plated hole up to this diameter is taken as a via (common practice); pins of parts are thicker."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoardLayer:
    """The copper of one layer.

    Parameters
    ----------
    number : int
        From 1 at the top.
    name : str
        L1, L2 …
    file : str
        Where it was read.
    nets : mapping
        Copper by net as polygons [m]; under the empty name what belongs to none.
    """

    number: int
    name: str
    file: str
    nets: Mapping[str, BaseGeometry]

    @property
    def area(self) -> float:
        """Area of all copper [m²]; where nets overlap, which is a short, it counts for each."""
        return float(sum(shape.area for shape in self.nets.values()))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pad:
    """A soldering area of a part's pin.

    Parameters
    ----------
    reference, pin, function : str
        Part, pin and what the pin does; the function is empty if the file does not say.
    net : str
        Its net; empty if it is not connected.
    layer : int
        Copper layer.
    place : (x, y)
        Where it was flashed [m].
    shape : shapely geometry
        Its copper [m].
    """

    reference: str
    pin: str
    function: str
    net: str
    layer: int
    place: Point
    shape: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A drilled hole, or a slot from `start` to `end`.

    Parameters
    ----------
    start, end : (x, y)
        Middle of the tool at both ends [m], equal for a round hole.
    diameter : float
        Of the tool [m].
    plated : bool
        Whether it joins copper.
    function : str
        What the file says it is for.
    layers : (first, last)
        Copper layers it is drilled through.
    net : str
        Net of the copper that its wall touches; empty if none.
    touched : tuple of int
        Layers on which it touches copper of that net.
    """

    start: Point
    end: Point
    diameter: float
    plated: bool
    function: str
    layers: tuple[int, int]
    net: str = ""
    touched: tuple[int, ...] = ()

    @property
    def is_via(self) -> bool:
        """Plated, thin, round, and in copper of one net on two layers or more."""
        return self.plated and self.start == self.end and self.diameter <= LARGEST_VIA and len(self.touched) > 1

    @property
    def shape(self) -> BaseGeometry:
        """What is drilled away."""
        middle = ShapelyPoint(self.start) if self.start == self.end else LineString([self.start, self.end])
        return middle.buffer(self.diameter / 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Board:
    """A board as read.

    Parameters
    ----------
    name : str
        Of its folder or archive.
    layers : tuple of BoardLayer
        Copper from the top.
    pads : tuple of Pad
        Of all parts, on all layers.
    holes : tuple of Hole
        Vias, pins and unplated holes.
    stack : BoardStack
        Construction, and what was assumed of it.
    outline : shapely geometry
        The board's area, cutouts taken away [m].
    remarks : tuple of str
        What was doubtful in the files.
    """

    name: str
    layers: tuple[BoardLayer, ...]
    pads: tuple[Pad, ...]
    holes: tuple[Hole, ...]
    stack: BoardStack
    outline: BaseGeometry
    remarks: tuple[str, ...]

    @property
    def vias(self) -> tuple[Hole, ...]:
        """Plated holes that only join layers."""
        return tuple(hole for hole in self.holes if hole.is_via)

    @property
    def net_names(self) -> tuple[str, ...]:
        """Every named net, sorted."""
        names = {name for layer in self.layers for name in layer.nets} | {pad.net for pad in self.pads}
        return tuple(sorted(names - {""}))

    def require_net(self, name: str) -> str:
        """The name if there is such a net; raise FabricationError with the nearest match if not."""
        if name not in self.net_names:
            raise FabricationError(f"board {self.name!r} has no net {name!r}; {nearest(name, list(self.net_names))}")
        return name

    def pads_of(self, reference: str) -> tuple[Pad, ...]:
        """Pads of a part; raise FabricationError with the nearest match if there is no such part."""
        found = tuple(pad for pad in self.pads if reference and pad.reference == reference)
        if not found:
            known = sorted({pad.reference for pad in self.pads} - {""})
            raise FabricationError(f"board {self.name!r} has no part {reference!r}; {nearest(reference, known)}")
        return found

    def copper(self, layer: int, net: str) -> BaseGeometry:
        """Copper of a net on a layer; empty if it has none there."""
        return self.layers[layer - 1].nets.get(net, shapely.GeometryCollection())

    def net_at(self, point: Point, layer: int) -> str:
        """Net of the copper at a point of a layer; raise FabricationError if there is none."""
        spot = ShapelyPoint(point)
        for net, shape in self.layers[layer - 1].nets.items():
            if shape.covers(spot):
                return net
        raise FabricationError(f"there is no copper at {write_place(point)} on layer {layer} of board {self.name!r}")
