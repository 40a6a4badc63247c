"""One loop of a board by the names of its parts: a converter, and the capacitors that close its loop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from geometries.drawn.ends import LoopEnds, ends_of_parts
from geometries.drawn.errors import BoardError
from geometries.drawn.loops import CapacitorLoop, FoundLoop
from geometries.drawn.parts import Part
from geometries.errors import nearest
from geometries.layout.laid_out import LoopPart


def choose_loop(loops: tuple[FoundLoop, ...], name: str) -> FoundLoop:
    """The converter called so, or one of whose switches is; raise BoardError with the nearest match."""
    for loop in loops:
        if name == loop.converter.name or name in loop.converter.switches:
            return loop
    raise BoardError(f"no converter {name!r} was found; {nearest(name, [loop.converter.name for loop in loops])}")


def choose_capacitors(loop: FoundLoop, names: str) -> tuple[CapacitorLoop, ...]:
    """The loop's capacitors called so, names parted by commas, or its nearest if none is named.

    Raises
    ------
    BoardError
        If one is not on the nets.
    """
    return tuple(_chosen(loop, name.strip()) for name in names.split(","))


def chosen_ends(
    parts: Mapping[str, Part], loop: FoundLoop, capacitors: str, known: Mapping[str, LoopPart] | None = None
) -> LoopEnds:
    """Ends of a converter's loop with the capacitors called so, its parts as far as they are known.

    Raises
    ------
    BoardError
        As :func:`choose_capacitors`.
    """
    ends = ends_of_parts(parts, loop.converter, choose_capacitors(loop, capacitors))
    return replace(ends, known={name: part for name, part in (known or {}).items() if name in ends.joints})


def _chosen(loop: FoundLoop, name: str) -> CapacitorLoop:
    found = loop.converter
    for capacitor in loop.capacitors:
        if not name or capacitor.capacitor == name:
            return capacitor
    rails = f"{found.supply_net!r} and {found.ground_net!r}"
    if not name:
        raise BoardError(f"no capacitor between {rails} closes the loop of {found.name}")
    known = [one.capacitor for one in loop.capacitors]
    raise BoardError(f"{name} is not between {rails}, the nets of {found.name}; {nearest(name, known)}")
