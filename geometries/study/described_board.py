"""From the table `board` of a scenario to a loop of a board's fabrication files on its layout."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

from geometries.board.materials import Conductor
from geometries.board.stackup import Stackup
from geometries.drawn.choice import choose_loop, chosen_ends
from geometries.drawn.errors import BoardError
from geometries.drawn.loops import find_loops
from geometries.drawn.parts import parts_of
from geometries.drawn.window import faces_up, loop_window, usual_margin
from geometries.errors import GeometryError, nearest
from geometries.fabrication.board import Board
from geometries.fabrication.reading import read_board
from geometries.layout.laid_out import LaidOutLoop
from geometries.study.described_outline import BridgeTable, described_parts
from geometries.tables import CopperThickness, Length, Positive, Table

_BEYOND = 0.005
"""Part of the copper's inductance that a wider window may change (our estimate): twice the usual one changed it by
0.06 % and 0.01 % on two real boards. A narrower one leaves out more, about with the square of its margin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DistanceTable(Table):
    """The dielectric between two neighbouring copper layers."""

    thickness: CopperThickness


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardTable(Table):
    """A loop of a board by its fabrication files, and what no file says.

    `between` holds the dielectric between two neighbouring copper layers, for instance "L1-L2", in place of what the
    files say; `parts` describes parts of the loop by their references.
    """

    files: str
    converter: str = ""
    capacitor: str = ""
    window: Positive[Length] | None = None
    via_drill: Positive[Length] | None = None
    between: Mapping[str, DistanceTable] = field(default_factory=dict)
    parts: Mapping[str, BridgeTable] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoardLoop:
    """A board's loop on its layout, and the construction that it is on; none of parts on the underside."""

    laid_out: LaidOutLoop
    stackups: tuple[Stackup, ...]


def build_board_loop(table: BoardTable, place: Path, stackup: Stackup | None, metal: Conductor) -> BoardLoop:
    """The loop of a board as it is drawn, with its parts.

    Parameters
    ----------
    table : BoardTable
        As described.
    place : Path
        Folder or archive of the files.
    stackup : Stackup, optional
        The construction, if it is known better than the files say.
    metal : Conductor
        Of all copper.

    Raises
    ------
    GeometryError
        If the files are at fault, a part or a layer is unknown, or the copper does not close the loop.
    """
    board = _as_described(read_board(place, stackup), table, metal)
    loops = find_loops(board)
    if not table.converter and len(loops) != 1:
        known = ", ".join(repr(loop.converter.name) for loop in loops) or "none"
        raise BoardError(f"board.converter: name one of the {len(loops)} that were found: {known}")
    loop = choose_loop(loops, table.converter or loops[0].converter.name)
    ends = chosen_ends(parts_of(board), loop, table.capacitor, described_parts(table.parts))
    unknown = [name for name in table.parts if name not in ends.joints]
    if unknown:
        raise BoardError(f"board.parts: {unknown[0]!r} is not in the loop; {nearest(unknown[0], list(ends.joints))}")
    window = loop_window(board, ends, usual_margin(ends) if table.window is None else table.window)
    narrow = max(1.0, usual_margin(ends) / window.margin)
    return BoardLoop(
        laid_out=LaidOutLoop(layout=window.layout, parts=tuple(ends.parts.items()), left_out=_BEYOND * narrow**2),
        stackups=(board.stack.stackup,) if faces_up(board, ends.layer) else (),
    )


def _as_described(board: Board, table: BoardTable, metal: Conductor) -> Board:
    """The board with the copper, the distances and the drill that the scenario states."""
    stackup = replace(board.stack.stackup, copper=metal)
    for pair, dielectric in table.between.items():
        stackup = _with_distance(stackup, pair, dielectric.thickness)
    holes = board.holes
    if table.via_drill is not None:
        holes = tuple(replace(hole, diameter=table.via_drill) if hole.is_via else hole for hole in holes)
    return replace(board, stack=replace(board.stack, stackup=stackup), holes=holes)


def _with_distance(stackup: Stackup, pair: str, thickness: float) -> Stackup:
    """The dielectrics between two neighbouring copper layers scaled to a thickness in all [m]."""
    names = stackup.copper_names
    known = [f"{one}-{other}" for one, other in pairwise(names)]
    if pair not in known:
        raise GeometryError(f"board.between has no {pair!r}; {nearest(pair, known)}")
    upper, lower = pair.split("-")
    drawn = stackup.heights(upper)[0] - stackup.heights(lower)[1]
    return stackup.with_distance_scaled(upper, lower, thickness / drawn)
