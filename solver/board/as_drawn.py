"""A found loop solved as it is drawn: the window widened until the inductance stays, vias counted, errors stated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from itertools import islice

from geometries.fabrication.board import Board
from geometries.layout.layout import PlanLayout
from geometries.quantities import MM
from solver.board.ends import LoopEnds, ends_of_parts
from solver.board.errors import BoardError
from solver.board.loops import CapacitorLoop, FoundLoop
from solver.board.parts import Part, parts_of
from solver.board.window import LoopWindow, loop_window
from solver.errors import SolverError
from solver.plan import PlanMeshSettings, PlanSolution, solve_plan

FIRST_MARGIN = 1 * MM
"""Of the first window around the parts' pads [m]."""
_WIDER, _MOST_WINDOWS = 1.6, 5
SETTINGS = PlanMeshSettings().coarser()
"""Half as fine as the plan view's default; a few tenths of a percent, which is less than the files leave open."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnLoop:
    """A loop of a board as it is drawn.

    Parameters
    ----------
    ends : LoopEnds
        Parts and pads between which the copper was solved.
    window : LoopWindow
        The copper that was solved.
    solution : PlanSolution
        Currents, inductance and resistance of that copper; parts count as nothing.
    window_error : float
        Change of the inductance with the last widening of the window [H].
    untied : float
        Inductance with the plane not tied to ground by any via [H]; equal to the inductance if there is no via.
    """

    ends: LoopEnds
    window: LoopWindow
    solution: PlanSolution
    window_error: float
    untied: float

    @property
    def inductance(self) -> float:
        """Of the copper between the parts' pads [H]."""
        return self.solution.loop_inductance

    @property
    def resistance(self) -> float:
        """Of that copper at the solution's frequency [ohm]."""
        return float(self.solution.resistance[0, 0])

    @property
    def error(self) -> float:
        """Of the mesh and of the window together [H]; neither the stack's nor that of an endless plane."""
        return self.inductance * self.solution.inductance_error + self.window_error


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


def solve_wanted(
    board: Board, loops: tuple[FoundLoop, ...], converter: str, capacitor: str, frequency: float
) -> SolvedLoops:
    """Solve the converter that is named, or all if none is; of all, those that cannot be solved are told with reasons.

    Raises
    ------
    BoardError
        If a converter is named and there is none so, or its loop cannot be solved as drawn.
    """
    parts = parts_of(board)
    if converter:
        loop = choose_loop(loops, converter)
        drawn = solve_as_drawn(board, _ends(parts, loop, capacitor), frequency)
        return SolvedLoops(drawn=(drawn,), refused=())
    solved, refused = [], []
    for loop in loops:
        try:
            solved.append(solve_as_drawn(board, _ends(parts, loop, capacitor), frequency))
        except SolverError as reason:
            refused.append(f"{loop.converter.name}: {reason}")
    return SolvedLoops(drawn=tuple(solved), refused=tuple(refused))


def _ends(parts: Mapping[str, Part], loop: FoundLoop, capacitor: str) -> LoopEnds:
    return ends_of_parts(parts, loop.converter, choose_capacitor(loop, capacitor))


def choose_loop(loops: tuple[FoundLoop, ...], name: str) -> FoundLoop:
    """The converter called so, or one of whose switches is; raise BoardError with the nearest match."""
    for loop in loops:
        if name == loop.converter.name or name in loop.converter.switches:
            return loop
    known = [loop.converter.name for loop in loops]
    raise BoardError(f"no converter {name!r} was found; {_nearest(name, known)}")


def choose_capacitor(loop: FoundLoop, name: str) -> CapacitorLoop:
    """The loop's capacitor called so, its nearest if no name is given; raise BoardError if it is not on the nets."""
    found = loop.converter
    for capacitor in loop.capacitors:
        if not name or capacitor.capacitor == name:
            return capacitor
    rails = f"{found.supply_net!r} and {found.ground_net!r}"
    if not name:
        raise BoardError(f"no capacitor between {rails} closes the loop of {found.name}")
    known = [one.capacitor for one in loop.capacitors]
    raise BoardError(f"{name} is not between {rails}, the nets of {found.name}; {_nearest(name, known)}")


def _nearest(name: str, known: list[str]) -> str:
    close = get_close_matches(name, known, n=1)
    return f"did you mean {close[0]!r}?" if close else f"known here: {', '.join(known) or 'none'}"


def solve_as_drawn(board: Board, ends: LoopEnds, frequency: float, settings: PlanMeshSettings = SETTINGS) -> DrawnLoop:
    """Solve a loop between its parts' pads, in a window that is wide enough.

    Parameters
    ----------
    board, ends
        The board, and where the loop's current passes between parts and copper.
    frequency : float
        Frequency [Hz], above 0.
    settings : PlanMeshSettings
        How fine the copper is meshed.

    Raises
    ------
    BoardError
        If the pads are not joined on one layer.
    SolutionError, MeshError
        If the plan view cannot solve the copper.
    """
    solved: list[tuple[LoopWindow, PlanSolution]] = []
    for window in islice(_windows(board, ends), _MOST_WINDOWS):
        solved.append((window, solve_plan(window.layout, frequency, settings)))
        if window.whole or _settled(solved):
            break
    window, solution = solved[-1]
    return DrawnLoop(
        ends=ends,
        window=window,
        solution=solution,
        window_error=0.0 if window.whole else _last_change(solved),
        untied=_untied(window.layout, solution, frequency, settings),
    )


def _windows(board: Board, ends: LoopEnds) -> Iterator[LoopWindow]:
    """Windows one wider than the other."""
    margin = FIRST_MARGIN
    while True:
        window = loop_window(board, ends, margin)
        yield window
        margin = window.margin * _WIDER


def _settled(solved: list[tuple[LoopWindow, PlanSolution]]) -> bool:
    last = solved[-1][1]
    return len(solved) > 1 and _last_change(solved) <= last.loop_inductance * last.inductance_error


def _last_change(solved: list[tuple[LoopWindow, PlanSolution]]) -> float:
    """How far the last widening moved the inductance; all of it if there was none [H]."""
    values = [0.0, *(solution.loop_inductance for _, solution in solved)]
    return abs(values[-1] - values[-2])


def _untied(layout: PlanLayout, solution: PlanSolution, frequency: float, settings: PlanMeshSettings) -> float:
    if not layout.vias:
        return solution.loop_inductance
    return solve_plan(replace(layout, vias=()), frequency, settings).loop_inductance
