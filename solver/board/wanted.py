"""The loops of a board that are asked for: by the names of their parts, by points on pads, or all that were found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from geometries.drawn.choice import choose_loop, chosen_ends
from geometries.drawn.ends import LoopEnds
from geometries.drawn.errors import BoardError
from geometries.drawn.loops import FoundLoop, find_loops
from geometries.drawn.parts import parts_of
from geometries.drawn.points import LoopPoints
from geometries.errors import GeometryError
from geometries.fabrication.board import Board
from geometries.layout.laid_out import LoopPart
from solver.board.as_drawn import DrawnLoop, Tell, solve_as_drawn, untold
from solver.errors import SolverError


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is to be solved.

    Parameters
    ----------
    frequency : float
        At which [Hz].
    converter, capacitor : str
        Names; all converters, and of each the nearest capacitor, if empty.
    points : LoopPoints, optional
        The loop by points on its pads, in place of names.
    known : mapping
        Parts that are described.

    Raises
    ------
    GeometryError
        If both names and points are given.
    """

    frequency: float
    converter: str = ""
    capacitor: str = ""
    points: LoopPoints | None = None
    known: Mapping[str, LoopPart] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.points and (self.converter or self.capacitor):
            raise GeometryError("name the loop by --converter and --capacitor or by points on its pads, not by both")

    @property
    def one(self) -> bool:
        """Whether it is a single loop, whose faults are errors; of all, those that cannot be solved are told."""
        return bool(self.converter or self.points)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolvedLoops:
    """Loops solved as drawn, and why others could not be."""

    drawn: tuple[DrawnLoop, ...]
    refused: tuple[str, ...]

    @property
    def worst(self) -> DrawnLoop | None:
        """The loop with the largest inductance."""
        return max(self.drawn, key=lambda one: one.inductance, default=None)


NOTHING_SOLVED = SolvedLoops(drawn=(), refused=())


def solve_wanted(board: Board, loops: tuple[FoundLoop, ...], wanted: Wanted, *, tell: Tell = untold) -> SolvedLoops:
    """Solve the loop that is named, or all if none is; of all, those that cannot be solved are told with reasons.

    Raises
    ------
    BoardError
        If a loop is named and there is none so, or it cannot be solved as drawn.
    """
    if wanted.one:
        drawn = solve_as_drawn(board, _named_ends(board, loops, wanted), wanted.frequency, tell=tell)
        return SolvedLoops(drawn=(drawn,), refused=())
    parts = parts_of(board)
    solved, refused = [], []
    for loop in loops:
        try:
            ends = chosen_ends(parts, loop, wanted.capacitor, wanted.known)
            solved.append(solve_as_drawn(board, ends, wanted.frequency, tell=tell))
        except (BoardError, SolverError) as reason:
            refused.append(f"{loop.converter.name}: {reason}")
    return SolvedLoops(drawn=tuple(solved), refused=tuple(refused))


def _named_ends(board: Board, loops: tuple[FoundLoop, ...], wanted: Wanted) -> LoopEnds:
    if wanted.points:
        return wanted.points.ends(board, wanted.known)
    return chosen_ends(parts_of(board), choose_loop(loops, wanted.converter), wanted.capacitor, wanted.known)


def same_loops(board: Board, solved: SolvedLoops, wanted: Wanted, *, tell: Tell = untold) -> SolvedLoops:
    """The same loops on another revision of a board; those that it does not have are told."""
    found, refused, loops = [], [], find_loops(board)
    for one in solved.drawn:
        try:
            same = (
                wanted
                if wanted.points
                else replace(wanted, converter=one.ends.name, capacitor=",".join(one.ends.capacitors))
            )
            found.append(solve_as_drawn(board, _named_ends(board, loops, same), wanted.frequency, tell=tell))
        except (BoardError, SolverError) as reason:
            refused.append(f"{one.ends.name} on {board.name}: {reason}")
    return SolvedLoops(drawn=tuple(found), refused=tuple(refused))
