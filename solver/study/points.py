"""One point of a sweep or a tolerance study: a scenario of one variant, solved for the figures asked alone."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from geometries.section.analysis import Analysis
from geometries.study.scenario import Scenario
from solver.study.figures_of_merit import chosen_figures, needs_of, read_figures
from solver.variant.figure import Reading
from solver.variant.solve import solve_variant

Record = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedPoint:
    """Readings of the figures asked, by their keys, codes of warnings, and the time it took [s]."""

    readings: Mapping[str, Reading]
    warnings: tuple[str, ...]
    seconds: float


def solve_point(scenario: Scenario, keys: tuple[str, ...], span: tuple[float, float]) -> SolvedPoint:
    """Solve the one variant of a scenario by the chain that a comparison uses.

    Parameters
    ----------
    scenario : Scenario
        One variant, with the tables that its figures need.
    keys : tuple of str
        Of the figures that are asked.
    span : tuple of float
        From where to where the scan lines run at least [m].

    Returns
    -------
    SolvedPoint
        What a comparison gives for such a variant.

    Raises
    ------
    SolverError
        If it cannot be solved.
    """
    start = time.perf_counter()
    figures = chosen_figures(keys, scenario, where="point")
    here = replace(scenario, analysis=few_frequencies(scenario.analysis))
    result = solve_variant(here.variants[0], here.analysis, needs_of(figures, here), span)
    return SolvedPoint(
        readings=read_figures(here, result, figures),
        warnings=tuple(each.code for each in result.warnings),
        seconds=time.perf_counter() - start,
    )


def few_frequencies(analysis: Analysis) -> Analysis:
    """Lowest, report and highest frequency: the same mesh and the same broadband model with fewer direct solutions."""
    listed = analysis.frequencies
    return replace(analysis, frequencies=tuple(sorted({listed[0], analysis.report_frequency, listed[-1]})))


def point_record(point: SolvedPoint) -> Record:
    """A point as plain values; a number that JSON cannot hold becomes None."""
    return {
        "readings": {
            key: [_finite(reading.value), _finite(reading.uncertainty)] for key, reading in point.readings.items()
        },
        "warnings": list(point.warnings),
        "seconds": point.seconds,
    }


def point_of(record: Record) -> SolvedPoint:
    """The point of a record.

    Raises
    ------
    KeyError, TypeError, ValueError
        If the record does not describe one.
    """
    return SolvedPoint(
        readings={
            key: Reading(value=_number(value), uncertainty=_number(uncertainty))
            for key, (value, uncertainty) in record["readings"].items()
        },
        warnings=tuple(record["warnings"]),
        seconds=float(record["seconds"]),
    )


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _number(value: float | None) -> float:
    return math.nan if value is None else float(value)
