"""Solve the variants of a scenario side by side and set them against the reference."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from functools import partial
from importlib.metadata import version

from geometries.study.scenario import Scenario, scan_span
from solver.runs.processes import run_side_by_side
from solver.runs.workforce import Workforce
from solver.study.analyses import ANALYSES
from solver.study.figures_of_merit import known_figures, needs_of, read_figures
from solver.study.ranking import decide
from solver.study.results import StudyResult
from solver.study.warnings import study_warnings, unsolved_warnings
from solver.variant.analysis import SolvedStudy, concluded, warnings_of
from solver.variant.needs import EVERYTHING, Needs
from solver.variant.results import UnsolvedVariant, VariantResult
from solver.variant.schedule import attempt_task, attempted, put_together, solve_task, study_tasks

_LIBRARIES = ("copperfield", "gmsh", "scikit-fem", "numpy", "scipy")


def library_versions() -> tuple[tuple[str, str], ...]:
    """Versions of the program and of the libraries that its numbers come from."""
    return tuple((name, version(name)) for name in _LIBRARIES)


def solve_variants(
    scenario: Scenario, *, needs: Needs = EVERYTHING, workers: Workforce | int | None = None
) -> Iterator[VariantResult]:
    """Solve all variants in parallel processes and hand each over as it is done.

    Parameters
    ----------
    scenario : Scenario
        What to solve.
    needs : frozenset of Need
        What is wanted of each.
    workers : Workforce or int, optional
        An open executor, or processes; as many as there are processors and work for, if not given.

    Yields
    ------
    VariantResult
        In the order in which they are finished.

    Raises
    ------
    SolverError
        As soon as one variant fails.
    """
    tasks = study_tasks(scenario.variants, needs)
    task = partial(solve_task, analysis=scenario.analysis, needs=needs, span=scan_span(scenario.variants))
    yield from put_together(scenario.variants, run_side_by_side(task, tasks, workers=workers), needs)


def attempt_variants(
    scenario: Scenario,
    *,
    known: Collection[str] = (),
    needs: Needs = EVERYTHING,
    workers: Workforce | int | None = None,
) -> Iterator[VariantResult | UnsolvedVariant]:
    """The same without those known; a variant that cannot be solved is handed over as such, and the others go on."""
    missing = [variant for variant in scenario.variants if variant.name not in known]
    tasks = study_tasks(missing, needs)
    task = partial(attempt_task, analysis=scenario.analysis, needs=needs, span=scan_span(scenario.variants))
    yield from attempted(missing, run_side_by_side(task, tasks, workers=workers), needs)


def conclude(
    scenario: Scenario, outcomes: Iterable[VariantResult | UnsolvedVariant], *, workers: Workforce | int = 1
) -> StudyResult:
    """Set the solved variants against the reference and draw the conclusion.

    Parameters
    ----------
    scenario : Scenario
        What was asked.
    outcomes : iterable of VariantResult or UnsolvedVariant
        In any order; at least one is solved.
    workers : Workforce or int
        An open executor, or processes, for what takes long of every variant.

    Returns
    -------
    StudyResult
        If the reference was not solved, the first solved variant stands in for it.
    """
    order = [variant.name for variant in scenario.variants]
    known = list(outcomes)
    results = [each for each in known if isinstance(each, VariantResult)]
    ordered = tuple(sorted(results, key=lambda result: order.index(result.variant.name)))
    unsolved = tuple(each for each in known if isinstance(each, UnsolvedVariant))
    names = [result.variant.name for result in ordered]
    reference = scenario.reference if scenario.reference in names else names[0]
    solved = SolvedStudy(scenario=scenario, results=ordered, reference=reference)
    study = concluded(solved, ANALYSES, workers)
    figures = known_figures(scenario)
    return StudyResult(
        scenario=scenario,
        results=ordered,
        reference=reference,
        outcomes=study.outcomes,
        figures=figures,
        readings=tuple(read_figures(scenario, result, figures) for result in ordered),
        decision=decide(study),
        warnings=(*unsolved_warnings(unsolved), *study_warnings(study), *warnings_of(study, ANALYSES)),
        unsolved=unsolved,
        versions=library_versions(),
    )


def run_study(scenario: Scenario, *, workers: Workforce | int | None = None) -> StudyResult:
    r"""Solve all variants of a scenario and conclude.

    Parameters
    ----------
    scenario : Scenario
        What to solve.
    workers : Workforce or int, optional
        An open executor, or processes to use.

    Returns
    -------
    StudyResult

    Raises
    ------
    SolverError
        If a variant cannot be solved.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import run_study
    >>> study = run_study(read_builtin_scenario("garden-lamp"), workers=1)
    >>> f"{study.results[0].loop_inductance * 1e9:.1f} nH"
    '3.0 nH'
    """
    return conclude(scenario, solve_variants(scenario, workers=workers))


def figure_needs(scenario: Scenario) -> Needs:
    """What a study of its figures alone needs, without drawings and what pages show beside them."""
    return needs_of(known_figures(scenario), scenario)
