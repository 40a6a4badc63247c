"""The loops of a written-out layout in words, as a table and as JSON."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from solver.notation import numbers
from solver.plan.solution import PlanSolution
from solver.plan.written import PlanReading

SCHEMA = "copperfield-plan/1"
"""Name and version of the layout of the result."""

_ROUNDING = 1e-9
"""What an endless plane leaves of a flat loop's moment is rounding below this part of it."""


def plan_sentence(reading: PlanReading) -> str:
    """What the layout is worth, in one sentence."""
    solution = reading.reported
    value = solution.loop_inductance
    error = value * solution.inductance_error
    joined = "the loop has" if len(solution.loops) == 1 else f"its {len(solution.loops)} loops together have"
    return (
        f"“{solution.layout.name}”: {joined} {numbers.nanohenry(value, error)} ± "
        f"{numbers.nanohenry_error(value, error)} nH "
        f"at {numbers.frequency(solution.frequency)}, without the parts that close its ports."
    )


def plan_table(reading: PlanReading) -> Table:
    """Inductance, resistance and moment of every loop, at the frequency and in the limits."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for heading in ("loop", "at", "L\n[nH]", "±\n[nH]", "R\n[mΩ]", "moment\n[mm²]"):
        table.add_column(Text(heading), justify="left" if heading in ("loop", "at") else "right")
    for solution in reading.solutions:
        for index, name in enumerate(solution.loops):
            table.add_row(Text(name), _where(solution), *_cells(solution, index))
    return table


def plan_document(reading: PlanReading) -> dict[str, Any]:
    """All numbers of a written-out layout as plain values, in SI units that the keys name."""
    return {
        "schema": SCHEMA,
        "title": reading.reported.layout.name,
        "finding": plan_sentence(reading),
        "conventions": "SI units; peak phasors per ampere of each loop; parts that close the ports count as nothing",
        "solutions": [_solution_document(solution) for solution in reading.solutions],
    }


def _solution_document(solution: PlanSolution) -> dict[str, Any]:
    return {
        "at": _where(solution),
        "frequency_Hz": solution.frequency if math.isfinite(solution.frequency) else None,
        "loops": list(solution.loops),
        "inductance_H": solution.inductance.tolist(),
        "resistance_ohm": solution.resistance.tolist(),
        "inductance_mesh_error_fraction_1": solution.inductance_error,
        "moment_m2": np.linalg.norm(solution.moment, axis=1).tolist(),
        "unknowns": solution.unknowns,
    }


def _where(solution: PlanSolution) -> str:
    limits = {0.0: "direct current", math.inf: "perfect conductors"}
    return limits.get(solution.frequency) or numbers.frequency(solution.frequency)


def _cells(solution: PlanSolution, index: int) -> tuple[str, ...]:
    value = float(solution.inductance[index, index])
    error = value * solution.inductance_error
    moment = float(np.linalg.norm(solution.moment[index]))
    if moment < _ROUNDING * float(np.linalg.norm(solution.copper_moment[index])):
        moment = 0.0
    resistance = float(solution.resistance[index, index])
    return (
        numbers.nanohenry(value, error),
        numbers.nanohenry_error(value, error),
        numbers.milliohm(resistance) if math.isfinite(solution.frequency) else "0",
        numbers.significant(moment * 1e6, 3),
    )
