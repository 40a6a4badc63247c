"""Tolerances of a board: every one alone, the worst corners, and many random samples.

Solved are the points that a quadratic surface is laid through (:mod:`solver.study.response_surface`), the corners at
which it is lowest and highest for each figure, and the first random samples. The other samples are read off the
surface, whose distance from the points solved beside it is stated. A point at which nothing differs that is computed is
not solved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from importlib.metadata import version

import numpy as np
from numpy.typing import NDArray

from geometries.study.fingerprint import computed_from
from geometries.study.record import description_record
from geometries.study.scenario import Scenario, scan_span
from geometries.study.spread import Distribution
from geometries.study.tolerance import Tolerance, tolerance_scenario
from solver.runs.checkpoint import Journal, Record, described_points
from solver.runs.processes import run_side_by_side
from solver.runs.workforce import Workforce
from solver.study.budgets import Limit, limits_of
from solver.study.figures_of_merit import AnyFigure, chosen_figures
from solver.study.points import SolvedPoint, point_of, point_record, solve_point
from solver.study.response_surface import (
    Offsets,
    Response,
    design_points,
    extreme_corners,
    largest_deviation,
    lay_surface,
)
from solver.study.study import library_versions

SCHEMA = "copperfield-tolerance-points/2"
"""Name and version of the layout of a journal of points."""

CHECKED_SAMPLES = 4
"""Random samples that are solved, to measure the surface by."""

_DIGITS = 6
_NORMAL_SIGMAS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TolerancePoint:
    """A solved point: its variant, its offsets, and its figures."""

    variant: str
    offsets: tuple[float, ...]
    point: SolvedPoint


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FigureSpread:
    """One figure of one variant.

    Parameters
    ----------
    figure : Figure
        Which one.
    nominal, uncertainty : float
        As described, and its own uncertainty [SI].
    alone : (n, 2) array
        With each tolerance at its lower and at its upper end and all else nominal, solved [SI].
    lowest, highest : float
        At the worst corners, solved [SI].
    lowest_at, highest_at : tuple of float
        Offsets of those corners.
    samples : (m,) array
        Of the random samples, from the surface [SI].
    deviation : float
        Largest distance between the surface and what was solved beside it: at all worst corners and at the first
        random samples [SI].
    """

    figure: AnyFigure
    nominal: float
    uncertainty: float
    alone: NDArray[np.float64]
    lowest: float
    highest: float
    lowest_at: tuple[float, ...]
    highest_at: tuple[float, ...]
    samples: NDArray[np.float64]
    deviation: float

    def quantile(self, part: float) -> float:
        """Value below which a part of the samples lies [SI]."""
        return float(np.quantile(self.samples, part))


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetShare:
    """A budget, and the part of the random samples that keeps it [1]."""

    limit: Limit
    share: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VariantSpread:
    """One variant.

    Parameters
    ----------
    name : str
        The variant.
    figures : tuple of FigureSpread
        The same ones for all variants.
    budgets : tuple of BudgetShare
        One per budget of the scenario.
    solved, reused : int
        Points that were solved, and points that needed no solution because nothing that is computed had changed.
    """

    name: str
    figures: tuple[FigureSpread, ...]
    budgets: tuple[BudgetShare, ...]
    solved: int
    reused: int

    def spread(self, key: str) -> FigureSpread:
        """Of one figure, by its key."""
        return next(each for each in self.figures if each.figure.key == key)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToleranceResult:
    r"""A finished tolerance study.

    Parameters
    ----------
    tolerance : Tolerance
        What was asked.
    variants : tuple of VariantSpread
        In the order asked.
    finding : str
        What it shows.
    versions : tuple of (str, str)
        Program and library versions.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from geometries.files.tolerance_reading import parse_tolerance
    >>> from solver import run_tolerance
    >>> result = run_tolerance(parse_tolerance(read_builtin_scenario("garden-lamp").text), workers=1)
    >>> spread = result.variants[0].figures[0]
    >>> f"{spread.nominal * 1e9:.2f} nH, from {spread.lowest * 1e9:.2f} to {spread.highest * 1e9:.2f} nH"
    '5.51 nH, from 5.42 to 5.60 nH'
    """

    tolerance: Tolerance
    variants: tuple[VariantSpread, ...]
    finding: str
    versions: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """One variant with its values moved within their tolerances."""

    variant: str
    offsets: Offsets
    scenario: Scenario


def toleranced_figures(tolerance: Tolerance) -> tuple[AnyFigure, ...]:
    """The figures that are asked for, or the headline figures, and those that have budgets.

    Raises
    ------
    ScenarioError
        If a key is no figure, or the scenario lacks what it is computed from.
    """
    chosen = chosen_figures(tolerance.figures, tolerance.scenario, where="tolerance")
    budgeted = [limit.figure for limit in limits_of(tolerance.scenario)]
    return tuple({figure.key: figure for figure in (*chosen, *budgeted)}.values())


def solve_tolerance(
    tolerance: Tolerance, journal: Journal, *, workers: Workforce | int | None = None
) -> Iterator[TolerancePoint]:
    """Solve the points that the journal does not hold yet, and write each down as it is finished.

    Parameters
    ----------
    tolerance : Tolerance
        What to solve.
    journal : Journal
        Opened with :func:`journal_header` of the same tolerances.
    workers : Workforce or int, optional
        An open executor, or processes; as many as there are processors if not given.

    Yields
    ------
    TolerancePoint
        In the order in which they are finished, already in the journal.

    Raises
    ------
    SolverError
        As soon as one point cannot be solved; those before it are kept.
    ReportError
        If the journal cannot be written.
    """
    for point in _points(tolerance, solved_points(journal), workers):
        journal.append({"variant": point.variant, "offsets": list(point.offsets), **point_record(point.point)})
        yield point


def run_tolerance(tolerance: Tolerance, *, workers: Workforce | int | None = None) -> ToleranceResult:
    r"""Solve all points of a tolerance study and say what they show; nothing is written.

    Parameters
    ----------
    tolerance : Tolerance
        What to solve.
    workers : Workforce or int, optional
        An open executor, or processes; as many as there are processors if not given.

    Returns
    -------
    ToleranceResult

    Raises
    ------
    SolverError
        As soon as one point cannot be solved.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from geometries.files.tolerance_reading import parse_tolerance
    >>> from solver import run_tolerance
    >>> tolerance = parse_tolerance(read_builtin_scenario("garden-lamp").text)
    >>> [figure.figure.key for figure in run_tolerance(tolerance, workers=1).variants[0].figures]
    ['section_dc_inductance', 'feedback_noise']
    """
    return conclude_tolerance(tolerance, _points(tolerance, (), workers))


def _points(
    tolerance: Tolerance, known: Sequence[TolerancePoint], workers: Workforce | int | None
) -> Iterator[TolerancePoint]:
    """The points that are not known yet, as they are finished: first those of the surfaces, then those beside them."""
    keys = tuple(figure.key for figure in toleranced_figures(tolerance))
    task = partial(_solve, keys=keys, span=scan_span(tolerance.scenario.variants))
    solved = list(known)
    for wanted in (_design, _beside):
        for point in run_side_by_side(task, _unsolved(tolerance, wanted, tuple(solved)), workers=workers):
            solved.append(point)
            yield point


def _solve(case: _Case, keys: tuple[str, ...], span: tuple[float, float]) -> TolerancePoint:
    return TolerancePoint(variant=case.variant, offsets=case.offsets, point=solve_point(case.scenario, keys, span))


def most_points(tolerance: Tolerance) -> int:
    """Points solved if none could be reused and no two figures were worst at the same corner."""
    corners = 2 * len(toleranced_figures(tolerance))
    return (len(design_points(len(tolerance.spreads))) + corners + CHECKED_SAMPLES) * len(tolerance.variants)


def journal_header(tolerance: Tolerance) -> Record:
    """All that the points depend on, for :func:`solver.runs.checkpoint.open_journal`."""
    return {
        "schema": SCHEMA,
        "copperfield": version("copperfield"),
        "figures": [figure.key for figure in toleranced_figures(tolerance)],
        "spreads": [str(each) for each in tolerance.spreads],
        "variants": dict(zip(tolerance.variants, map(description_record, tolerance.descriptions), strict=True)),
    }


def solved_points(journal: Journal) -> tuple[TolerancePoint, ...]:
    """The points that are in a journal now.

    Raises
    ------
    ReportError
        If a record does not describe a point.
    """
    return tuple(_point(record, journal) for record in journal.records())


def random_samples(tolerance: Tolerance) -> NDArray[np.float64]:
    """Offsets of the random samples, (samples, n); the same for every variant and every run with the same seed."""
    random = np.random.default_rng(tolerance.seed)
    shape = tolerance.samples, len(tolerance.spreads)
    if tolerance.distribution is Distribution.UNIFORM:
        drawn = random.uniform(-1.0, 1.0, shape)
    else:
        drawn = np.clip(random.normal(0.0, 1 / _NORMAL_SIGMAS, shape), -1.0, 1.0)
    return drawn.round(_DIGITS)


def conclude_tolerance(tolerance: Tolerance, points: Iterable[TolerancePoint]) -> ToleranceResult:
    """The spread of every figure of every variant, from all solved points.

    Parameters
    ----------
    tolerance : Tolerance
        What was asked.
    points : iterable of TolerancePoint
        All that :func:`solve_tolerance` yields, in any order.

    Returns
    -------
    ToleranceResult
    """
    solved = tuple(points)
    variants = tuple(_variant_spread(tolerance, name, solved) for name in tolerance.variants)
    return ToleranceResult(tolerance=tolerance, variants=variants, finding=_find(variants), versions=library_versions())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lookup:
    """Figures of one variant at any points that are solved, or that differ from solved ones in nothing computed."""

    tolerance: Tolerance
    name: str
    points: Mapping[object, SolvedPoint]

    def inputs(self, offsets: Offsets) -> object:
        return computed_from(tolerance_scenario(self.tolerance, self.name, offsets))

    def table(self, points: Iterable[Offsets]) -> dict[Offsets, SolvedPoint]:
        return {point: self.points[self.inputs(point)] for point in points}


def _lookup(tolerance: Tolerance, name: str, solved: Iterable[TolerancePoint]) -> _Lookup:
    empty = _Lookup(tolerance=tolerance, name=name, points={})
    return replace(empty, points={empty.inputs(each.offsets): each.point for each in solved if each.variant == name})


def _design(lookup: _Lookup) -> tuple[Offsets, ...]:
    return design_points(len(lookup.tolerance.spreads))


def _beside(lookup: _Lookup) -> tuple[Offsets, ...]:
    """Points beside those of the surface: the worst corners of every figure, and the first random samples."""
    corners = [corner for response in _responses(lookup).values() for corner in extreme_corners(response)]
    return tuple(dict.fromkeys([*corners, *_checked_samples(lookup.tolerance)]))


def _checked_samples(tolerance: Tolerance) -> list[Offsets]:
    return [tuple(map(float, sample)) for sample in random_samples(tolerance)[:CHECKED_SAMPLES]]


def _responses(lookup: _Lookup) -> dict[str, Response]:
    """The surface of every figure, by its key."""
    count = len(lookup.tolerance.spreads)
    table = lookup.table(design_points(count))
    return {
        figure.key: lay_surface(_values(table, figure.key), count) for figure in toleranced_figures(lookup.tolerance)
    }


def _values(table: Mapping[Offsets, SolvedPoint], key: str) -> dict[Offsets, float]:
    return {offsets: point.readings[key].value for offsets, point in table.items()}


def _unsolved(
    tolerance: Tolerance, wanted: Callable[[_Lookup], tuple[Offsets, ...]], solved: tuple[TolerancePoint, ...]
) -> Iterator[_Case]:
    """The points that are wanted of every variant, those that are computed from the same only once."""
    for name in tolerance.variants:
        lookup = _lookup(tolerance, name, solved)
        known = set(lookup.points)
        for offsets in wanted(lookup):
            if lookup.inputs(offsets) not in known:
                known.add(lookup.inputs(offsets))
                scenario = tolerance_scenario(tolerance, name, offsets)
                yield _Case(variant=name, offsets=offsets, scenario=scenario)


def _variant_spread(tolerance: Tolerance, name: str, solved: tuple[TolerancePoint, ...]) -> VariantSpread:
    lookup = _lookup(tolerance, name, solved)
    points = (*_design(lookup), *_beside(lookup))
    table = lookup.table(points)
    distinct = len({lookup.inputs(point) for point in points})
    responses = _responses(lookup)
    figures = tuple(
        _figure_spread(tolerance, figure, responses[figure.key], table) for figure in toleranced_figures(tolerance)
    )
    return VariantSpread(
        name=name,
        figures=figures,
        budgets=tuple(_budget_share(limit, figures) for limit in limits_of(tolerance.scenario)),
        solved=distinct,
        reused=len(set(points)) - distinct,
    )


def _budget_share(limit: Limit, figures: Sequence[FigureSpread]) -> BudgetShare:
    samples = next(each.samples for each in figures if each.figure.key == limit.figure.key)
    return BudgetShare(limit=limit, share=float(np.mean([limit.keeps(value) for value in samples.tolist()])))


def _figure_spread(
    tolerance: Tolerance, figure: AnyFigure, response: Response, table: Mapping[Offsets, SolvedPoint]
) -> FigureSpread:
    count = len(tolerance.spreads)
    solved = _values(table, figure.key)
    lowest_at, highest_at = extreme_corners(response)
    beside = [point for point in solved if point not in design_points(count)]
    alone = [[solved[_alone(count, index, sign)] for sign in (-1.0, 1.0)] for index in range(count)]
    return FigureSpread(
        figure=figure,
        nominal=response.nominal,
        uncertainty=table[design_points(count)[0]].readings[figure.key].uncertainty,
        alone=np.array(alone),
        lowest=solved[lowest_at],
        highest=solved[highest_at],
        lowest_at=lowest_at,
        highest_at=highest_at,
        samples=response.values(random_samples(tolerance)),
        deviation=largest_deviation(response, solved, beside),
    )


def _alone(count: int, moved: int, sign: float) -> Offsets:
    return tuple(sign if index == moved else 0.0 for index in range(count))


def _find(variants: tuple[VariantSpread, ...]) -> str:
    """How far the first figure may lie off, and whether the best variant stays the best."""
    spreads = {each.name: each.figures[0] for each in variants}
    best, spread = min(spreads.items(), key=lambda item: item[1].nominal)
    scale, unit = spread.figure.scale, spread.figure.unit
    low, high = (100 * (value / spread.nominal - 1) for value in (spread.lowest, spread.highest))
    first = (
        f"“{best}”: {spread.figure.title} {spread.nominal / scale:.3g} {unit}, {low:+.0f} to {high:+.0f} % at the "
        f"worst corners, {spread.lowest / scale:.3g} to {spread.highest / scale:.3g} {unit}."
    ).replace("-", "\N{MINUS SIGN}")
    others = [each for name, each in spreads.items() if name != best]
    told = [first]
    if others:
        ahead = np.mean(np.all([spread.samples <= each.samples for each in others], axis=0))
        told.append(f"It is the lowest in {100 * ahead:.3g} % of the random samples, each alike for all variants.")
    return " ".join([*told, *_budget_sentences(variants)])


def _budget_sentences(variants: tuple[VariantSpread, ...]) -> Iterator[str]:
    """Of every budget, the variants and the part of their samples that keeps it."""
    for index, first in enumerate(variants[0].budgets):
        shares = ", ".join(f"“{each.name}” {100 * each.budgets[index].share:.3g} %" for each in variants)
        yield f"Samples that keep the budget of {first.limit.figure.title}: {shares}."


def _point(record: Record, journal: Journal) -> TolerancePoint:
    with described_points(journal):
        return TolerancePoint(variant=record["variant"], offsets=tuple(record["offsets"]), point=point_of(record))
