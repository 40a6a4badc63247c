"""Solve the variants of a scenario side by side and set them against the reference."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from functools import partial
from importlib.metadata import version

from geometries.study.scenario import Scenario
from solver.emission.comparison import compare_emission
from solver.emission.results import EmissionComparison
from solver.measurement.comparison import compare_measurement
from solver.measurement.results import MeasurementResult
from solver.notation.decibels import decibels
from solver.runs.processes import run_side_by_side
from solver.section.field_scan import nearest_scan, scan_span
from solver.section.results import LayerBenefit
from solver.study.budgets import answer_budgets
from solver.study.ranking import decide, decide_placements
from solver.study.results import ComparisonRow, StudyResult
from solver.study.summary import join
from solver.study.view_comparison import compare_views, moment_decibels
from solver.study.warnings import study_warnings
from solver.switching.comparison import compare_switching, switching_warnings
from solver.variant.results import VariantResult
from solver.variant.tasks import put_together, solve_task, study_tasks


def solve_variants(scenario: Scenario, *, workers: int | None = None) -> Iterator[VariantResult]:
    """Solve all variants in parallel processes and hand each over as it is done.

    Parameters
    ----------
    scenario : Scenario
        What to solve.
    workers : int, optional
        Processes; as many as there are processors, and no more than there is work for, if not given.

    Yields
    ------
    VariantResult
        In the order in which they are finished.

    Raises
    ------
    SolverError
        As soon as one variant fails.
    """
    tasks = study_tasks(scenario.variants)
    count = min(workers or os.cpu_count() or 1, len(tasks))
    task = partial(solve_task, analysis=scenario.analysis, span=scan_span(scenario.variants))
    yield from put_together(scenario.variants, run_side_by_side(task, tasks, workers=count))


def conclude(scenario: Scenario, results: Iterable[VariantResult]) -> StudyResult:
    """Set the solved variants against the reference and draw the conclusion.

    Parameters
    ----------
    scenario : Scenario
        What was asked.
    results : iterable of VariantResult
        Solved variants in any order; at least one.

    Returns
    -------
    StudyResult
        If the reference was not solved (an interrupted study), the first solved variant stands in for it.
    """
    order = [variant.name for variant in scenario.variants]
    ordered = tuple(sorted(results, key=lambda result: order.index(result.variant.name)))
    reference = next((each for each in ordered if each.variant.name == scenario.reference), ordered[0])
    rows = tuple(_compare(result, reference) for result in ordered)
    name = reference.variant.name
    emission = None if scenario.emission is None else compare_emission(scenario.emission, ordered, name)
    switching = None if scenario.switching is None else compare_switching(scenario.switching, ordered, name)
    budgets = answer_budgets(scenario, ordered)
    return StudyResult(
        scenario=scenario,
        results=ordered,
        rows=rows,
        decision=_decision(scenario, ordered, rows, name),
        warnings=study_warnings(scenario) + (() if switching is None else switching_warnings(switching, ordered)),
        versions=tuple((name, version(name)) for name in ("copperfield", "gmsh", "scikit-fem", "numpy", "scipy")),
        axisymmetric_views=compare_views(ordered, reference.variant.name),
        emission=emission,
        switching=switching,
        budgets=budgets,
        measurement=_measurement(scenario, ordered, emission),
        summary=join(scenario, ordered, name, switching=switching, emission=emission, budgets=budgets),
    )


def _measurement(
    scenario: Scenario, results: tuple[VariantResult, ...], emission: EmissionComparison | None
) -> MeasurementResult | None:
    """What was measured, if its variant was solved."""
    if scenario.measurement is None:
        return None
    built = [result for result in results if result.variant.name == scenario.measurement.variant]
    predicted = (
        [] if emission is None else [each for each in emission.predictions if each.name == scenario.measurement.variant]
    )
    if not built:
        return None
    return compare_measurement(scenario.measurement, built[0], scenario.switching, predicted[0] if predicted else None)


def run_study(scenario: Scenario, *, workers: int | None = None) -> StudyResult:
    """Solve all variants of a scenario and conclude.

    Parameters
    ----------
    scenario : Scenario
        What to solve.
    workers : int, optional
        Processes to use.

    Returns
    -------
    StudyResult

    Raises
    ------
    SolverError
        If a variant cannot be solved.
    """
    return conclude(scenario, solve_variants(scenario, workers=workers))


def _decision(
    scenario: Scenario, results: tuple[VariantResult, ...], rows: tuple[ComparisonRow, ...], reference: str
) -> str:
    """By the whole loops where every variant has one, by section times length otherwise."""
    if all(result.whole_loop is not None for result in results):
        return decide_placements(results, reference, scenario.analysis.report_frequency)
    return decide(scenario, rows, reference, _benefit_of_best(results))


def _benefit_of_best(results: tuple[VariantResult, ...]) -> tuple[LayerBenefit, ...]:
    """What the ground layers of the variant with the smallest loop are worth."""
    return min(results, key=lambda result: result.loop_inductance).benefit


def _compare(result: VariantResult, reference: VariantResult) -> ComparisonRow:
    above, below = nearest_scan(result.lines, "above"), nearest_scan(result.lines, "below")
    reference_above, reference_below = (
        nearest_scan(reference.lines, "above"),
        nearest_scan(reference.lines, "below"),
    )
    return ComparisonRow(
        name=result.variant.name,
        inductance=result.loop_inductance,
        inductance_error=result.inductance_error,
        resistance=result.loop_resistance,
        change=result.loop_inductance - reference.loop_inductance,
        change_fraction=result.loop_inductance / reference.loop_inductance - 1,
        above_db=decibels(above.peak, reference_above.peak),
        below_db=decibels(below.peak, reference_below.peak),
        moment_db=moment_decibels(result.moment, reference.moment, result.variant.view),
    )
