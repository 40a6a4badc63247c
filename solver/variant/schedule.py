"""Which solutions a study needs, each of them once, and how they are put together again.

In the axisymmetric view a plane carries induced current only, whatever it is tied to: variants that differ in their
ties alone share one axisymmetric view.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import cast

from geometries.section.analysis import Analysis
from geometries.section.section import View
from geometries.study.scenario import Variant
from solver.errors import SolverError
from solver.section.axisymmetric_results import AxisymmetricResult
from solver.variant.needs import Need, Needs
from solver.variant.results import UnsolvedVariant, VariantResult
from solver.variant.solve import solve_axisymmetric_view, solve_variant


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisymmetricTask:
    """A axisymmetric view that some variants share; that of the first stands for all."""

    variants: tuple[Variant, ...]


Task = Variant | AxisymmetricTask
"""A variant without its axisymmetric view, or an axisymmetric view."""

Outcome = VariantResult | tuple[AxisymmetricTask, AxisymmetricResult]
"""What solving a task gives."""


def study_tasks(variants: Sequence[Variant], needs: Needs) -> tuple[Task, ...]:
    """All tasks of a study; an axisymmetric view comes before the first variant that it belongs to.

    A variant that is axisymmetric itself shares its mesh with its axisymmetric view and is one task.

    Parameters
    ----------
    variants : sequence of Variant
        With different names.
    needs : frozenset of Need
        Without the axisymmetric view among them, every variant is one task.

    Returns
    -------
    tuple of Variant or RoundTask
    """
    if Need.AXISYMMETRIC not in needs:
        return tuple(variants)
    sharers: dict[object, list[Variant]] = {}
    for variant in variants:
        if _has_twin(variant):
            sharers.setdefault(_axisymmetric_problem(variant), []).append(variant)
    tasks: list[Task] = []
    for variant in variants:
        if not _has_twin(variant):
            tasks.append(variant)
            continue
        shared = sharers[_axisymmetric_problem(variant)]
        if shared[0] is variant:
            tasks.append(AxisymmetricTask(variants=tuple(shared)))
        tasks.append(replace(variant, axisymmetric_loop=None))
    return tuple(tasks)


def solve_task(task: Task, analysis: Analysis, needs: Needs, span: tuple[float, float]) -> Outcome:
    """Solve one task.

    Raises
    ------
    SolverError
        As for :func:`solver.variant.solve.solve_variant`.
    """
    if isinstance(task, AxisymmetricTask):
        return task, solve_axisymmetric_view(task.variants[0], analysis, span)
    return solve_variant(task, analysis, needs, span)


def attempt_task(
    task: Task, analysis: Analysis, needs: Needs, span: tuple[float, float]
) -> Outcome | tuple[UnsolvedVariant, ...]:
    """Solve one task; a failure is an outcome too, of every variant that needs the task."""
    try:
        return solve_task(task, analysis, needs, span)
    except SolverError as failure:
        concerned = task.variants if isinstance(task, AxisymmetricTask) else (task,)
        return tuple(UnsolvedVariant(name=each.name, reason=str(failure)) for each in concerned)


def attempted(
    variants: Iterable[Variant], outcomes: Iterable[Outcome | tuple[UnsolvedVariant, ...]], needs: Needs
) -> Iterator[VariantResult | UnsolvedVariant]:
    """Every variant's result as :func:`put_together` gives it, and every variant that could not be solved, once."""
    unsolved: dict[str, UnsolvedVariant] = {}
    handed_over: set[str] = set()

    def solved() -> Iterator[Outcome]:
        for outcome in outcomes:
            if isinstance(outcome, tuple) and all(isinstance(each, UnsolvedVariant) for each in outcome):
                unsolved.update((each.name, each) for each in outcome if isinstance(each, UnsolvedVariant))
            else:
                yield cast(Outcome, outcome)

    for result in put_together(variants, solved(), needs):
        yield from (each for name, each in unsolved.items() if name not in handed_over)
        handed_over.update(unsolved)
        if result.variant.name not in unsolved:
            yield result
    yield from (each for name, each in unsolved.items() if name not in handed_over)


def put_together(variants: Iterable[Variant], outcomes: Iterable[Outcome], needs: Needs) -> Iterator[VariantResult]:
    """Every variant's result with its axisymmetric view, as soon as both are there.

    Parameters
    ----------
    variants : iterable of Variant
        As given to :func:`study_tasks`.
    outcomes : iterable of VariantResult or (RoundTask, AxisymmetricResult)
        In any order.
    needs : frozenset of Need
        As given to :func:`study_tasks`.

    Yields
    ------
    VariantResult
    """
    awaited = Need.AXISYMMETRIC in needs
    described = {variant.name: variant for variant in variants}
    views: dict[str, AxisymmetricResult] = {}
    waiting: dict[str, VariantResult] = {}
    for outcome in outcomes:
        if isinstance(outcome, VariantResult):
            waiting[outcome.variant.name] = outcome
        else:
            task, view = outcome
            views |= {variant.name: _as_of(variant, view) for variant in task.variants}
        for name in [name for name in waiting if name in views or not awaited or not _has_twin(described[name])]:
            result = waiting.pop(name)
            yield replace(result, variant=described[name], axisymmetric_view=views.get(name, result.axisymmetric_view))


def _has_twin(variant: Variant) -> bool:
    """Whether the variant is no axisymmetric loop itself but has a round counterpart."""
    return variant.view is View.SECTION and variant.axisymmetric_loop is not None


def _axisymmetric_problem(variant: Variant) -> object:
    """All that an axisymmetric view depends on besides the analysis, which the variants of a study share."""
    if variant.axisymmetric_loop is None:
        raise ValueError(f"variant {variant.name!r} has no round counterpart")
    section = variant.axisymmetric_loop.section
    return section.regions, section.loops, variant.surfaces


def _as_of(variant: Variant, view: AxisymmetricResult) -> AxisymmetricResult:
    return view if variant.axisymmetric_loop is None else replace(view, loop=variant.axisymmetric_loop)
