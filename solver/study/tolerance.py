"""Tolerances of a board: every one alone, the worst corners, and many boards drawn at random.

Solved are the points that a quadratic surface is laid through (:mod:`solver.study.response_surface`), the corners at
which it is lowest and highest for each figure, and the first boards drawn. The other boards are read off the surface,
whose distance from the points solved beside it is stated. A point at which nothing differs that is computed is not
solved.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from functools import partial
from importlib.metadata import version

import numpy as np
from numpy.typing import NDArray

from geometries.study.fingerprint import computed_from
from geometries.study.record import description_record
from geometries.study.scenario import Analysis, Scenario, Variant
from geometries.study.spread import Distribution
from geometries.study.tolerance import Tolerance, tolerance_scenario
from solver.emission.comparison import needs_axisymmetric_view
from solver.runs.checkpoint import Journal, Record, described_points
from solver.runs.processes import run_side_by_side
from solver.study.figures_of_merit import Headline, headlines
from solver.study.response_surface import (
    Offsets,
    Response,
    design_points,
    extreme_corners,
    largest_deviation,
    lay_surface,
)
from solver.study.tolerance_rows import FigureSpread, TolerancePoint, ToleranceResult, VariantSpread
from solver.variant.solve import solve_variant

SCHEMA = "copperfield-tolerance-points/1"
"""Name and version of the layout of a journal of points."""

CHECKED_BOARDS = 4
"""Boards drawn first that are solved, to measure the surface by."""

_Inputs = tuple[object, ...]
_DIGITS = 6
_NORMAL_SIGMAS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceCase:
    """One variant with its values moved within their tolerances."""

    name: str
    offsets: tuple[float, ...]
    variant: Variant
    analysis: Analysis


def tolerance_case(tolerance: Tolerance, name: str, offsets: tuple[float, ...]) -> ToleranceCase:
    """What has to be solved for one point."""
    scenario = tolerance_scenario(tolerance, name, offsets)
    return ToleranceCase(name=name, offsets=offsets, variant=scenario.variants[0], analysis=scenario.analysis)


def solve_case(case: ToleranceCase, scenario: Scenario) -> TolerancePoint:
    """Solve one point and read its headline figures.

    Raises
    ------
    SolverError
        If the section cannot be meshed or the solution is not to be trusted.
    """
    start = time.perf_counter()
    variant = case.variant
    if not needs_axisymmetric_view(variant, scenario.emission):
        variant = replace(variant, axisymmetric_loop=None)
    if variant.pickup is not None:  # where a victim would keep its budget is not among the figures
        drive = replace(variant.pickup.drive, budget=math.inf)
        variant = replace(variant, pickup=replace(variant.pickup, drive=drive))
    result = solve_variant(variant, case.analysis)
    return TolerancePoint(
        variant=case.name,
        offsets=case.offsets,
        values=tuple(each.read(result) for each in headlines(scenario)),
        seconds=time.perf_counter() - start,
    )


def solve_tolerance(tolerance: Tolerance, journal: Journal, *, workers: int | None = None) -> Iterator[TolerancePoint]:
    """Solve the points that the journal does not hold yet, and write each down as it is finished.

    Parameters
    ----------
    tolerance : Tolerance
        What to solve.
    journal : Journal
        Opened with :func:`journal_header` of the same tolerances.
    workers : int, optional
        Processes; as many as there are processors if not given.

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
    for wanted in (_design, _beside):
        cases = _unsolved(tolerance, wanted, solved_points(journal))
        for point in run_side_by_side(partial(solve_case, scenario=tolerance.scenario), cases, workers=workers):
            journal.append(asdict(point))
            yield point


def most_points(tolerance: Tolerance) -> int:
    """Points solved if none could be reused and no two figures were worst at the same corner."""
    per_variant = len(design_points(len(tolerance.spreads))) + 2 * len(headlines(tolerance.scenario)) + CHECKED_BOARDS
    return per_variant * len(tolerance.variants)


def journal_header(tolerance: Tolerance) -> Record:
    """All that the points depend on, for :func:`solver.runs.checkpoint.open_journal`."""
    scenario = tolerance.scenario
    return {
        "schema": SCHEMA,
        "copperfield": version("copperfield"),
        "spreads": [str(each) for each in tolerance.spreads],
        "variants": dict(zip(tolerance.variants, map(description_record, tolerance.descriptions), strict=True)),
        "frequencies": [scenario.analysis.report_frequency, scenario.analysis.frequencies[-1]],
        "emission": repr(scenario.emission),
        "switching": repr(scenario.switching),
    }


def solved_points(journal: Journal) -> tuple[TolerancePoint, ...]:
    """The points that are in a journal now.

    Raises
    ------
    ReportError
        If a record does not describe a point.
    """
    return tuple(_point(record, journal) for record in journal.records())


def boards(tolerance: Tolerance) -> NDArray[np.float64]:
    """Offsets of the boards drawn, (samples, n); the same for every variant and for every run with the same seed."""
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
    return ToleranceResult(
        tolerance=tolerance,
        variants=variants,
        finding=_find(variants),
        versions=tuple((name, version(name)) for name in ("copperfield", "gmsh", "scikit-fem", "numpy", "scipy")),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lookup:
    """Figures of one variant at any points that are solved, or that differ from solved ones in nothing computed."""

    tolerance: Tolerance
    name: str
    values: Mapping[_Inputs, tuple[float, ...]]

    def inputs(self, offsets: Offsets) -> _Inputs:
        return computed_from(tolerance_scenario(self.tolerance, self.name, offsets))

    def table(self, points: Iterable[Offsets]) -> dict[Offsets, tuple[float, ...]]:
        return {point: self.values[self.inputs(point)] for point in points}


def _lookup(tolerance: Tolerance, name: str, solved: Iterable[TolerancePoint]) -> _Lookup:
    empty = _Lookup(tolerance=tolerance, name=name, values={})
    values = {empty.inputs(point.offsets): point.values for point in solved if point.variant == name}
    return replace(empty, values=values)


def _design(lookup: _Lookup) -> tuple[Offsets, ...]:
    return design_points(len(lookup.tolerance.spreads))


def _beside(lookup: _Lookup) -> tuple[Offsets, ...]:
    """Points beside those of the surface: the worst corners of every figure, and the first boards."""
    corners = [corner for response in _responses(lookup) for corner in extreme_corners(response)]
    return tuple(dict.fromkeys([*corners, *_checked_boards(lookup.tolerance)]))


def _checked_boards(tolerance: Tolerance) -> list[Offsets]:
    return [tuple(map(float, board)) for board in boards(tolerance)[:CHECKED_BOARDS]]


def _responses(lookup: _Lookup) -> list[Response]:
    """The surface of every figure."""
    count = len(lookup.tolerance.spreads)
    table = lookup.table(design_points(count))
    figures = len(next(iter(table.values())))
    return [lay_surface({point: values[index] for point, values in table.items()}, count) for index in range(figures)]


def _unsolved(
    tolerance: Tolerance, wanted: Callable[[_Lookup], tuple[Offsets, ...]], solved: tuple[TolerancePoint, ...]
) -> Iterator[ToleranceCase]:
    """The points that are wanted of every variant, those that are computed from the same only once."""
    for name in tolerance.variants:
        lookup = _lookup(tolerance, name, solved)
        known = set(lookup.values)
        for point in wanted(lookup):
            if lookup.inputs(point) not in known:
                known.add(lookup.inputs(point))
                yield tolerance_case(tolerance, name, point)


def _variant_spread(tolerance: Tolerance, name: str, solved: tuple[TolerancePoint, ...]) -> VariantSpread:
    lookup = _lookup(tolerance, name, solved)
    points = (*_design(lookup), *_beside(lookup))
    table = lookup.table(points)
    distinct = len({lookup.inputs(point) for point in points})
    return VariantSpread(
        name=name,
        figures=tuple(
            _figure_spread(tolerance, figure, response, {point: values[index] for point, values in table.items()})
            for index, (figure, response) in enumerate(
                zip(headlines(tolerance.scenario), _responses(lookup), strict=True)
            )
        ),
        solved=distinct,
        reused=len(set(points)) - distinct,
    )


def _figure_spread(
    tolerance: Tolerance, figure: Headline, response: Response, solved: Mapping[Offsets, float]
) -> FigureSpread:
    count = len(tolerance.spreads)
    lowest_at, highest_at = extreme_corners(response)
    beside = [point for point in solved if point not in design_points(count)]
    alone = [[solved[_alone(count, index, sign)] for sign in (-1.0, 1.0)] for index in range(count)]
    return FigureSpread(
        key=figure.key,
        title=figure.title,
        unit=figure.unit,
        scale=figure.scale,
        nominal=response.nominal,
        alone=np.array(alone),
        lowest=solved[lowest_at],
        highest=solved[highest_at],
        lowest_at=lowest_at,
        highest_at=highest_at,
        samples=response.values(boards(tolerance)),
        deviation=largest_deviation(response, solved, beside),
    )


def _alone(count: int, moved: int, sign: float) -> Offsets:
    return tuple(sign if index == moved else 0.0 for index in range(count))


def _find(variants: tuple[VariantSpread, ...]) -> str:
    """How far the loop inductance may lie off, and whether the smallest loop stays the smallest."""
    inductances = {each.name: each.figures[0] for each in variants}
    best, figure = min(inductances.items(), key=lambda item: item[1].nominal)
    low, high = (100 * (value / figure.nominal - 1) for value in (figure.lowest, figure.highest))
    first = (
        f"“{best}” has {figure.nominal / figure.scale:.3g} {figure.unit}, {low:+.0f} to {high:+.0f} % at the worst "
        f"corners, {figure.lowest / figure.scale:.3g} to {figure.highest / figure.scale:.3g} {figure.unit}."
    ).replace("-", "\N{MINUS SIGN}")
    others = [each for name, each in inductances.items() if name != best]
    if not others:
        return first
    ahead = np.mean(np.all([figure.samples <= each.samples for each in others], axis=0))
    return f"{first} It has the smallest loop on {100 * ahead:.3g} % of the boards drawn, each board alike for all."


def _point(record: Record, journal: Journal) -> TolerancePoint:
    with described_points(journal):
        lists = {"offsets": tuple(record["offsets"]), "values": tuple(record["values"])}
        return TolerancePoint(**{**record, **lists})
