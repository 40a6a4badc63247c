"""A user-defined layout: its loops at DC, at a frequency and for perfect conductors."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.layout.plan_task import PlanTask
from solver.plan.solution import PlanSolution
from solver.plan.solve import Tell, solve_plan_over


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanReading:
    """Solutions of one layout.

    Parameters
    ----------
    direct : PlanSolution, optional
        At DC; none over a mirror plane of metal, which is transparent there.
    reported : PlanSolution
        At the frequency asked for.
    perfect : PlanSolution
        For perfect conductors.
    """

    direct: PlanSolution | None
    reported: PlanSolution
    perfect: PlanSolution

    @property
    def solutions(self) -> tuple[PlanSolution, ...]:
        """All of them, by rising frequency."""
        return tuple(each for each in (self.direct, self.reported, self.perfect) if each is not None)


def solve_written(task: PlanTask, tell: Tell = lambda part: None) -> PlanReading:
    """Solve a layout at its frequency and in its limits.

    Parameters
    ----------
    task : PlanTask
        From :func:`geometries.files.layout_reading.read_plan`.
    tell : callable
        Told the part of the work that is done.

    Returns
    -------
    PlanReading

    Raises
    ------
    SolverError
        If the copper cannot be meshed or a solution is not to be trusted.
    """
    plane = task.layout.plane
    has_direct = plane is None or plane.material is None
    frequencies = (*([0.0] if has_direct else []), task.frequency, math.inf)
    *first, reported, perfect = solve_plan_over(task.layout, frequencies, tell=tell)
    return PlanReading(direct=first[0] if first else None, reported=reported, perfect=perfect)
