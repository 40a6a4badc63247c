"""Solve the points of a sweep in processes side by side; every finished point is on the disk at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version

from geometries.study.record import description_record
from geometries.study.scenario import Scenario, scan_span
from geometries.study.sweep import Sweep, SweepPoint, sweep_points, sweep_scenario
from solver.errors import SolverError
from solver.runs.checkpoint import Journal, Record, described_points
from solver.runs.processes import run_side_by_side
from solver.runs.workforce import Workforce
from solver.study.figures_of_merit import AnyFigure, chosen_figures
from solver.study.points import SolvedPoint, point_of, point_record, solve_point
from solver.study.study import library_versions
from solver.study.trends import find_trend

SCHEMA = "copperfield-sweep-points/2"
"""Name and version of the layout of a journal of points."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRow:
    """A solved point.

    Parameters
    ----------
    index : int
        Number of the point in the sweep's order.
    values : tuple of float
        Value of every axis in its stored unit.
    point : SolvedPoint
        Its figures.
    """

    index: int
    values: tuple[float, ...]
    point: SolvedPoint

    def value(self, key: str) -> float:
        """One figure [SI]."""
        return self.point.readings[key].value

    def uncertainty(self, key: str) -> float:
        """Its uncertainty [SI]."""
        return self.point.readings[key].uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepFailure:
    """A point that could not be solved, and why."""

    index: int
    values: tuple[float, ...]
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepResult:
    r"""A finished sweep.

    Parameters
    ----------
    sweep : Sweep
        What was asked.
    figures : tuple of Figure
        Of every point.
    rows : tuple of SweepRow
        Solved points in the sweep's order.
    failures : tuple of SweepFailure
        The other points.
    finding : str
        What the sweep shows, in one or two sentences.
    versions : tuple of (str, str)
        Program and library versions.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from geometries.files.sweep_reading import parse_sweep
    >>> from solver import run_sweep
    >>> result = run_sweep(parse_sweep(read_builtin_scenario("garden-lamp").text), workers=1)
    >>> len(result.rows), len(result.failures), [figure.key for figure in result.figures]
    (2, 0, ['section_dc_inductance'])
    """

    sweep: Sweep
    figures: tuple[AnyFigure, ...]
    rows: tuple[SweepRow, ...]
    failures: tuple[SweepFailure, ...]
    finding: str
    versions: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """A point together with the scenario that has to be solved for it."""

    point: SweepPoint
    scenario: Scenario


def swept_figures(sweep: Sweep) -> tuple[AnyFigure, ...]:
    """The figures that a sweep asks for.

    Raises
    ------
    ScenarioError
        If a key is no figure, or the scenario lacks what it is computed from.
    """
    return chosen_figures(sweep.figures, sweep_scenario(sweep, next(sweep_points(sweep))), where="sweep")


def solve_sweep(
    sweep: Sweep, journal: Journal, *, workers: Workforce | int | None = None
) -> Iterator[SweepRow | SweepFailure]:
    """Solve the points that the journal does not hold yet, and write each down as it is finished.

    Parameters
    ----------
    sweep : Sweep
        What to solve.
    journal : Journal
        Opened with :func:`journal_header` of the same sweep.
    workers : Workforce or int, optional
        An open executor, or processes; as many as there are processors if not given.

    Yields
    ------
    SweepRow or SweepFailure
        In the order in which they are finished, already in the journal. A point that cannot be solved does not stop
        the others; it is tried again when the sweep is resumed.

    Raises
    ------
    ReportError
        If the journal cannot be written.
    SolverError
        If a process ends without a word.
    """
    for outcome in _outcomes(sweep, {row.index for row in solved_rows(journal)}, workers):
        journal.append(_record(outcome))
        yield outcome


def run_sweep(sweep: Sweep, *, workers: Workforce | int | None = None) -> SweepResult:
    r"""Solve all points of a sweep and say what they show; nothing is written.

    Parameters
    ----------
    sweep : Sweep
        What to solve.
    workers : Workforce or int, optional
        An open executor, or processes; as many as there are processors if not given.

    Returns
    -------
    SweepResult
        Points that could not be solved are among its failures.

    Raises
    ------
    SolverError
        If a process ends without a word.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from geometries.files.sweep_reading import parse_sweep
    >>> from solver import run_sweep
    >>> sweep = parse_sweep(read_builtin_scenario("garden-lamp").text)
    >>> [f"{row.value('section_dc_inductance') * 1e9:.2f} nH" for row in run_sweep(sweep, workers=1).rows]
    ['5.51 nH', '6.29 nH']
    """
    return conclude_sweep(sweep, _outcomes(sweep, frozenset(), workers))


def _outcomes(
    sweep: Sweep, solved: Collection[int], workers: Workforce | int | None
) -> Iterator[SweepRow | SweepFailure]:
    """The points that are not solved yet, as they are finished."""
    keys = tuple(figure.key for figure in swept_figures(sweep))
    attempt = partial(_attempt, keys=keys, span=scan_span(sweep.scenario.variants))
    cases = (
        _Case(point=point, scenario=sweep_scenario(sweep, point))
        for point in sweep_points(sweep)
        if point.index not in solved
    )
    return run_side_by_side(attempt, cases, workers=workers)


def journal_header(sweep: Sweep) -> Record:
    """All that the points of a sweep depend on, for :func:`solver.runs.checkpoint.open_journal`."""
    return {
        "schema": SCHEMA,
        "copperfield": version("copperfield"),
        "figures": [figure.key for figure in swept_figures(sweep)],
        "vary": {axis.key: list(axis.values) for axis in sweep.axes},
        "scenario": description_record(sweep.description),
    }


def solved_rows(journal: Journal) -> tuple[SweepRow, ...]:
    """The solved points that are in a journal now.

    Raises
    ------
    ReportError
        If a record does not describe a point.
    """
    return tuple(_row(record, journal) for record in journal.records() if "failure" not in record)


def conclude_sweep(sweep: Sweep, outcomes: Iterable[SweepRow | SweepFailure]) -> SweepResult:
    """Put the points of a sweep in order and say what they show.

    Parameters
    ----------
    sweep : Sweep
        What was asked.
    outcomes : iterable of SweepRow or SweepFailure
        In any order.

    Returns
    -------
    SweepResult
    """
    ordered = sorted(outcomes, key=lambda each: each.index)
    rows = tuple(each for each in ordered if isinstance(each, SweepRow))
    figures = swept_figures(sweep)
    points = [(row.values, row.point.readings[figures[0].key]) for row in rows]
    return SweepResult(
        sweep=sweep,
        figures=figures,
        rows=rows,
        failures=tuple(each for each in ordered if isinstance(each, SweepFailure)),
        finding=find_trend(sweep, figures[0], points),
        versions=library_versions(),
    )


def _attempt(case: _Case, keys: tuple[str, ...], span: tuple[float, float]) -> SweepRow | SweepFailure:
    """A failure is an outcome too: it is written down and shown, and the other points go on."""
    point = case.point
    try:
        return SweepRow(index=point.index, values=point.values, point=solve_point(case.scenario, keys, span))
    except SolverError as failure:
        return SweepFailure(index=point.index, values=point.values, message=str(failure))


def _record(outcome: SweepRow | SweepFailure) -> Record:
    place = {"index": outcome.index, "values": list(outcome.values)}
    if isinstance(outcome, SweepFailure):
        return {**place, "failure": outcome.message}
    return {**place, **point_record(outcome.point)}


def _row(record: Record, journal: Journal) -> SweepRow:
    with described_points(journal):
        return SweepRow(index=record["index"], values=tuple(record["values"]), point=point_of(record))
