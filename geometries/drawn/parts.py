"""The parts of a board by what they are and which nets their pins are on.

A part's kind is taken from the letters of its reference (C, D, L, Q, R, U: IEEE 315, clause 22, from memory), what a
pin does from its function in the files.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from geometries.fabrication.board import Board, Pad
from geometries.section.outline import Point

_LETTERS = re.compile(r"[A-Za-z]+")
_NUMBERED = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """A part: its reference and its pads."""

    reference: str
    pads: tuple[Pad, ...]

    @property
    def letters(self) -> str:
        """Letters of its reference, which say its kind."""
        found = _LETTERS.match(self.reference)
        return found[0].upper() if found else ""

    @property
    def nets(self) -> frozenset[str]:
        """Nets that it is on."""
        return frozenset(pad.net for pad in self.pads if pad.net)

    @property
    def pins(self) -> int:
        """Number of its pins."""
        return len({pad.pin for pad in self.pads})

    def on(self, net: str) -> tuple[Pad, ...]:
        """Its pads on a net."""
        return tuple(pad for pad in self.pads if pad.net == net)

    def function_nets(self, pattern: re.Pattern[str]) -> tuple[str, ...]:
        """Nets of the pins whose function matches, most pads first."""
        found: defaultdict[str, float] = defaultdict(float)
        for pad in self.pads:
            if pad.net and pattern.fullmatch(pad.function):
                found[pad.net] += pad.shape.area
        return tuple(sorted(found, key=lambda net: -found[net]))

    def other(self, net: str) -> str:
        """The other net of a part that joins two; empty if it does not."""
        rest = self.nets - {net}
        return next(iter(rest)) if len(rest) == 1 and net in self.nets else ""


def parts_of(board: Board) -> Mapping[str, Part]:
    """Every part by its reference, in the order that people count: C2 before C10."""
    pads: defaultdict[str, list[Pad]] = defaultdict(list)
    for pad in board.pads:
        if pad.reference:
            pads[pad.reference].append(pad)
    return {name: Part(reference=name, pads=tuple(pads[name])) for name in sorted(pads, key=counted)}


def counted(name: str) -> tuple[tuple[str, int], ...]:
    """Key that sorts references as people count.

    Examples
    --------
    >>> sorted(["C10", "C2", "R1"], key=counted)
    ['C2', 'C10', 'R1']
    """
    pieces = _NUMBERED.split(name)
    return tuple((piece, int(number or 0)) for piece, number in zip(pieces[::2], [*pieces[1::2], ""], strict=True))


def middle(pads: tuple[Pad, ...]) -> Point:
    """Centroid of the pads' areas [m]."""
    centre = shapely.union_all([pad.shape for pad in pads]).centroid
    return float(centre.x), float(centre.y)


def gap(one: tuple[Pad, ...], other: tuple[Pad, ...]) -> float:
    """Distance between the middles of two groups of pads [m]."""
    return float(np.hypot(*np.subtract(middle(one), middle(other))))
