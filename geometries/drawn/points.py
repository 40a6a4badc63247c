"""A loop named by points on its parts' pads, as they are typed, for boards whose files name no parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from geometries.drawn.ends import LoopEnds, PartPoints, ends_of_points
from geometries.drawn.errors import BoardError
from geometries.errors import GeometryError
from geometries.fabrication.board import Board
from geometries.layout.laid_out import LoopPart
from geometries.quantities import Quantity, read_quantity
from geometries.section.outline import Point

_FORM = 'write the pad on the supply\'s side and the other: "12 mm, 8 mm to 14 mm, 8 mm"; more of a pin after ";"'


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopPoints:
    """Points on the pads of a loop's parts [m].

    Parameters
    ----------
    layer : int
        The copper layer that the parts are on, from 1.
    switches : tuple of (points, points)
        Of each switch from supply to ground: on its pads towards the supply, and towards ground.
    capacitor : (points, points)
        On its pads on the supply and on ground.
    """

    layer: int
    switches: tuple[PartPoints, ...]
    capacitor: PartPoints

    def ends(self, board: Board, known: Mapping[str, LoopPart]) -> LoopEnds:
        """The loop's ends on a board.

        Raises
        ------
        BoardError
            If a point is on no pad, or the parts' pads do not close a loop.
        """
        if not 1 <= self.layer <= len(board.layers):
            raise BoardError(f"board {board.name!r} has no layer L{self.layer}; it has L1 to L{len(board.layers)}")
        ends = ends_of_points(board, self.layer, self.switches, self.capacitor)
        _require_closed(ends)
        return replace(ends, known={name: part for name, part in known.items() if name in ends.joints})


def _require_closed(ends: LoopEnds) -> None:
    """Refuse parts of which one does not begin on the net that the other ends on."""
    *switches, (capacitor, (supply, ground)) = ends.joints.items()
    way = [
        (capacitor, supply.net),
        *((name, net) for name, (below, above) in switches for net in (above.net, below.net)),
    ]
    way.append((capacitor, ground.net))
    for (one, net), (other, next_net) in zip(way[::2], way[1::2], strict=True):
        if net != next_net:
            raise BoardError(
                f"the pads of {one} and {other} that should be joined are on the nets {net!r} and {next_net!r}; "
                "name the capacitor's pad on the supply first, the switches from supply to ground, their pads likewise"
            )


def read_loop_points(switches: Sequence[str], capacitor: str, layer: str) -> LoopPoints:
    """Points as they are typed.

    Raises
    ------
    GeometryError
        If they cannot be read.

    Examples
    --------
    >>> read_loop_points(["1 mm, 2 mm; 1 mm, 3 mm to 4 mm, 2 mm"], "1 mm, 6 mm to 4 mm, 6 mm", "L1").capacitor
    (((0.001, 0.006),), ((0.004, 0.006),))
    """
    if not switches or not capacitor:
        raise GeometryError("--switch-at and --capacitor-at go together: a loop needs its switches and its capacitor")
    number = layer.upper().removeprefix("L")
    if not number.isdigit():
        raise GeometryError(f"--layer is {layer!r}; write it as L1")
    return LoopPoints(
        layer=int(number),
        switches=tuple(_part(text, "--switch-at") for text in switches),
        capacitor=_part(capacitor, "--capacitor-at"),
    )


def _part(text: str, where: str) -> PartPoints:
    sides = text.split(" to ")
    if len(sides) != 2:
        raise GeometryError(f"{where} is {text!r}; {_FORM}")
    first, last = (tuple(_point(spot, text, where) for spot in side.split(";")) for side in sides)
    return first, last


def _point(spot: str, text: str, where: str) -> Point:
    words = spot.split(",")
    if len(words) != 2:
        raise GeometryError(f"{where} is {text!r}; {_FORM}")
    x, y = (read_quantity(word.strip(), Quantity.LENGTH, where) for word in words)
    return x, y
