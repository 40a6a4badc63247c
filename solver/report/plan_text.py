"""The loops of a user-defined layout in words, as a table and as a document."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from geometries.quantities import NANO
from solver.notation import numbers
from solver.plan.solution import PlanSolution
from solver.plan.written import PlanReading
from solver.report.documents import SCHEMA
from solver.report.figure_tables import figure_values
from solver.report.plain import plain
from solver.report.tables import Column, Table, columns, named, words_table
from solver.variant.figure import Reading
from solver.variant.loop_figures import LOOP

_ROUNDING = 1e-9
"""What an endless plane leaves of a flat loop's moment is rounding below this part of it."""


def plan_sentence(reading: PlanReading) -> str:
    """The whole inductance of the layout, in one sentence."""
    solution = reading.reported
    value = solution.loop_inductance
    error = value * solution.inductance_error
    joined = "the loop has" if len(solution.loops) == 1 else f"its {len(solution.loops)} loops together have"
    return (
        f"“{solution.layout.name}”: {joined} {numbers.with_uncertainty(value, error, NANO)} nH "
        f"at {numbers.frequency(solution.frequency)}, without the parts that close its ports."
    )


def plan_table(reading: PlanReading) -> Table:
    """Inductance, resistance and moment of every loop, at the frequency and in the limits."""
    headings = columns(("L", "nH"), ("±", "nH"), ("R", "mΩ"), ("moment", "mm²"))
    rows = [
        (name, _where(solution), *_cells(solution, index))
        for solution in reading.solutions
        for index, name in enumerate(solution.loops)
    ]
    return words_table("", (named("loop"), Column(name="at", words=True), *headings), rows)


def plan_document(reading: PlanReading) -> dict[str, Any]:
    """All numbers of a user-defined layout as plain values; the figures of every loop at the frequency asked for."""
    solution = reading.reported
    return {
        "schema": SCHEMA,
        "command": "plan",
        "conventions": "SI units; peak phasors per ampere of each loop; parts that close the ports count as nothing",
        "title": solution.layout.name,
        "finding": plan_sentence(reading),
        "report_frequency": solution.frequency,
        "variants": [{"name": name, "figures": _figures(solution, index)} for index, name in enumerate(solution.loops)],
        "solutions": [_solution_document(each) for each in reading.solutions],
    }


def _figures(solution: PlanSolution, index: int) -> Mapping[str, Any]:
    inductance, resistance = (float(each[index, index]) for each in (solution.inductance, solution.resistance))
    readings = {
        "loop_inductance": Reading(value=inductance, uncertainty=inductance * solution.inductance_error),
        "loop_resistance": Reading(value=resistance, uncertainty=resistance * solution.resistance_error),
        "loop_moment": Reading(value=float(np.linalg.norm(solution.moment[index]))),
    }
    return figure_values((figure for figure in LOOP.figures if figure.key in readings), readings)


def _solution_document(solution: PlanSolution) -> dict[str, Any]:
    return {
        "at": _where(solution),
        "frequency": plain(solution.frequency),
        "loops": list(solution.loops),
        "inductance": plain(solution.inductance),
        "resistance": plain(solution.resistance),
        "relative_inductance_error": solution.inductance_error,
        "relative_resistance_error": solution.resistance_error,
        "moment": plain(np.linalg.norm(solution.moment, axis=1)),
        "unknowns": solution.unknowns,
    }


def _where(solution: PlanSolution) -> str:
    limits = {0.0: "DC", math.inf: "perfect conductors"}
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
        numbers.with_uncertainty(resistance, resistance * solution.resistance_error, numbers.MILLI)
        if resistance
        else "0",
        numbers.significant(moment * 1e6, 3),
    )
