"""A found loop solved as it is drawn: the window widened until the inductance stays, split by place, errors stated."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from geometries.drawn.ends import LoopEnds
from geometries.drawn.window import LoopWindow, loop_window, usual_margin
from geometries.fabrication.board import Board
from geometries.layout.part_bodies import BODY, with_bodies_raised
from solver.loop.copper import end_caps
from solver.loop.layout_loop import own_spread, passed_currents
from solver.loop.terms import HEIGHT_SPREAD
from solver.plan import PlanEnergy, PlanMeshSettings, PlanSolution, plan_energy, solve_plan

_WIDER, _MOST_WINDOWS = 2.0, 3
_MOST_TRIANGLES = 25_000
"""If the rough mesh of the last window has more, its solution is the result, with the error that it has."""
SETTINGS = PlanMeshSettings().coarser()
"""Half as fine as the plan view's default; a few tenths of a percent, which is less than the files leave open."""


Tell = Callable[[str], None]
"""Called with the name of every step that is finished."""

LOOP_STEPS = 3
"""Steps in which a loop is solved: its windows, the loop itself, and without vias."""


def untold(name: str) -> None:
    """Tell nobody of a step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopTerm:
    """Contribution of one piece of copper, of the vias of one net, or of one part: inductance [H], resistance [ohm]."""

    name: str
    inductance: float
    resistance: float


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
        Currents, inductance and resistance of copper, vias and parts' bodies.
    energy : PlanEnergy
        The same by place, on the coarser mesh.
    window_error : float
        Change of the inductance with the last widening of the window [H].
    parts_error : float
        Change of the inductance with the height of the parts' metal, and the uncertainty of what is given of them [H].
    without_vias : float
        What is added where no via ties the plane to ground [H]; zero if there is no via, or if the pads are not joined
        without.
    """

    ends: LoopEnds
    window: LoopWindow
    solution: PlanSolution
    energy: PlanEnergy
    window_error: float
    parts_error: float
    without_vias: float

    @property
    def inductance(self) -> float:
        """Of the loop through copper, vias and parts [H]."""
        return self.field_inductance + sum(self.of_ends.values())

    @property
    def field_inductance(self) -> float:
        """Of copper, vias and the parts' flat strips, which the plan view yields [H]."""
        return float(self.shares @ self.solution.inductance @ self.shares)

    @property
    def of_ends(self) -> Mapping[str, float]:
        """What each part adds beside its strip: its upright ends, and its own inductance where that is given [H]."""
        through = passed_currents(self.solution)
        own = beside_strips(self.solution, self.ends)
        return {name: value * float(through[name] @ self.shares) ** 2 for name, value in own.items()}

    @property
    def shares(self) -> NDArray[np.float64]:
        """Current of each capacitor per ampere, by inductance alone, in the order of the solution's loops."""
        return current_shares(self.solution, self.ends)

    @property
    def resistance(self) -> float:
        """Of copper, vias and bodies at the solution's frequency [ohm]."""
        return float(self.shares @ self.solution.resistance @ self.shares)

    @property
    def untied(self) -> float:
        """Inductance with the plane not tied to ground by any via [H]."""
        return self.inductance + self.without_vias

    @property
    def resistance_error(self) -> float:
        """Of the mesh, and of the edges of the copper [ohm]."""
        return self.resistance * self.solution.resistance_error

    @property
    def moment(self) -> NDArray[np.float64]:
        """Magnitudes of the magnetic moment per ampere along x, y and z, the eddy currents of the window in it [m²]."""
        return np.abs(self.shares @ self.solution.moment)

    @property
    def mesh_error(self) -> float:
        """Of the mesh alone [H]."""
        return self.field_inductance * self.solution.inductance_error

    @property
    def copper_error(self) -> float:
        """Of mesh and window [H]."""
        return math.hypot(self.mesh_error, self.window_error)

    @property
    def error(self) -> float:
        """Root of the squares of those of mesh, window and parts [H]; that of the stack is not in it."""
        return math.hypot(self.copper_error, self.parts_error)

    @property
    def terms(self) -> tuple[LoopTerm, ...]:
        """The loop's parts, the largest first; they add up to its inductance and resistance."""
        stored, lost = self.field_inductance / self.energy.stored, self.resistance / self.energy.lost
        found = [LoopTerm(name=s.name, inductance=s.stored.sum(), resistance=s.lost.sum()) for s in self.energy.sheets]
        for net in dict.fromkeys(barrel.hole.net for barrel in self.window.copper.barrels):
            here = np.array([barrel.hole.net == net for barrel in self.window.copper.barrels])
            energy = self.energy.via_stored[here].sum(), self.energy.via_lost[here].sum()
            found.append(LoopTerm(name=f"vias of {net}", inductance=energy[0], resistance=energy[1]))
        scaled = [
            replace(t, inductance=float(stored * t.inductance), resistance=float(lost * t.resistance)) for t in found
        ]
        beside = {BODY + name: value for name, value in self.of_ends.items()}
        whole = [replace(t, inductance=t.inductance + beside.get(t.name, 0.0)) for t in scaled]
        return tuple(sorted(whole, key=lambda term: -term.inductance))

    @property
    def of_parts(self) -> float:
        """What the parts' bodies contribute [H]."""
        return sum(term.inductance for term in self.terms if term.name.startswith(BODY))


def current_shares(solution: PlanSolution, ends: LoopEnds) -> NDArray[np.float64]:
    """Current of each capacitor per ampere of all in parallel, by inductance alone; they sum to one."""
    through = passed_currents(solution)
    beside = sum(
        value * np.outer(through[name], through[name]) for name, value in beside_strips(solution, ends).items()
    )
    currents = np.linalg.solve(solution.inductance + beside, np.ones(len(solution.loops)))
    return np.asarray(currents / currents.sum())


def beside_strips(solution: PlanSolution, ends: LoopEnds) -> dict[str, float]:
    """What each part has beside its flat strip, at one ampere through it [H]."""
    return {name: cap + ends.parts[name].inductance for name, cap in end_caps(solution.layout).items()}


def solve_as_drawn(
    board: Board,
    ends: LoopEnds,
    frequency: float,
    settings: PlanMeshSettings = SETTINGS,
    tell: Tell = untold,
) -> DrawnLoop:
    """Solve a loop between its parts' pads, in a window that is wide enough.

    The window is found on a mesh a quarter as fine; of a large one, that solution is the result.

    Parameters
    ----------
    board, ends
        The board, and where the loop's current passes between parts and copper.
    frequency : float
        Frequency [Hz], above 0.
    settings : PlanMeshSettings
        How fine the copper is meshed.
    tell : callable
        Called after each of the `LOOP_STEPS`.

    Raises
    ------
    BoardError
        If the pads are not joined by the board's copper.
    SolutionError, MeshError
        If the plan view cannot solve the copper.
    """
    rough: list[tuple[LoopWindow, PlanSolution]] = []
    quick = settings.coarser().coarser()
    for window in islice(_windows(board, ends), _MOST_WINDOWS):
        rough.append((window, solve_plan(window.layout, frequency, quick)))
        if window.copper.whole or _settled(rough):
            break
    window, before = rough[-1]
    tell(f"windows of {ends.name}")
    solution = before if _triangles(before) > _MOST_TRIANGLES else solve_plan(window.layout, frequency, settings)
    shares = current_shares(solution, ends)
    higher = solution.moved(with_bodies_raised(window.layout, HEIGHT_SPREAD)) - solution.coarse_inductance
    tell(f"loop of {ends.name}")
    without_vias = _untied_change(window, before, frequency, quick)
    tell(f"{ends.name} without vias")
    return DrawnLoop(
        ends=ends,
        window=window,
        solution=solution,
        energy=plan_energy(solution.layout, solution.coarse, frequency, shares),
        window_error=0.0 if window.copper.whole else _last_change(rough),
        parts_error=float(shares @ np.abs(higher) @ shares) + _given(solution, ends, shares),
        without_vias=without_vias,
    )


def _given(solution: PlanSolution, ends: LoopEnds, shares: NDArray[np.float64]) -> float:
    """Uncertainty of the inductances that are given of parts [H]."""
    through = passed_currents(solution)
    return sum(own_spread(part) * float(through[name] @ shares) ** 2 for name, part in ends.parts.items())


def _windows(board: Board, ends: LoopEnds) -> Iterator[LoopWindow]:
    """Windows one wider than the other."""
    margin = usual_margin(ends)
    while True:
        window = loop_window(board, ends, margin)
        yield window
        margin = window.margin * _WIDER


def _triangles(solution: PlanSolution) -> int:
    return sum(len(sheet.triangles) for sheet in solution.sheets)


def _settled(solved: list[tuple[LoopWindow, PlanSolution]]) -> bool:
    last = solved[-1][1]
    return len(solved) > 1 and _last_change(solved) <= last.loop_inductance * last.inductance_error


def _last_change(solved: list[tuple[LoopWindow, PlanSolution]]) -> float:
    """How far the last widening moved the inductance; all of it if there was none [H]."""
    values = [0.0, *(solution.loop_inductance for _, solution in solved)]
    return abs(values[-1] - values[-2])


def _untied_change(window: LoopWindow, tied: PlanSolution, frequency: float, settings: PlanMeshSettings) -> float:
    """What is added where no via ties the plane, from one mesh [H]."""
    if not window.layout.vias or not window.joined_without_vias:
        return 0.0
    untied = solve_plan(replace(window.layout, vias=()), frequency, settings)
    return untied.loop_inductance - tied.loop_inductance
