"""What the commands on many points do: resume or restart a folder, solve what is missing, conclude, write, print."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Generic, TypeVar

from geometries.study.sweep import Sweep
from geometries.study.tolerance import Tolerance
from solver.errors import SolutionError
from solver.notation.numbers import counted
from solver.report import sweep_files, tolerance_files
from solver.report.commands import say
from solver.report.part import ready_to_draw
from solver.report.point_folder import prepare_folder, remove_files
from solver.report.progress import InterruptedRun, finished
from solver.report.sweep_report import sweep_document
from solver.report.terminal import print_document, print_sweep, print_tolerance
from solver.report.tolerance_report import tolerance_document
from solver.runs.checkpoint import Journal, Record, open_journal
from solver.runs.workforce import Workforce
from solver.study import sweep as sweep_study
from solver.study import tolerance as tolerance_study
from solver.study.budgets import limits_of
from solver.study.sweep import SweepFailure, SweepResult, SweepRow
from solver.study.tolerance import ToleranceResult

P = TypeVar("P")
R = TypeVar("R")


@dataclass(frozen=True, slots=True, kw_only=True)
class _PointRun(Generic[P, R]):
    """A computation of many points.

    Parameters
    ----------
    what : str
        For messages, for instance "sweep".
    header : mapping
        Of its journal.
    most : int
        Points at most.
    found : callable
        Points that are in the journal now.
    solve : callable
        Solves those that are missing, into the journal.
    name_of : callable
        What is said of a point.
    conclude : callable
        The result of all points.
    write, show : callable
        Write it into the folder; print it.
    document : callable
        It as plain values.
    page, files : str, tuple of str
        The page to look at first, and all that is written beside the journal.
    """

    what: str
    header: Record
    most: int
    found: Callable[[Journal], Sequence[P]]
    solve: Callable[[Journal], Iterable[P]]
    name_of: Callable[[P], str]
    conclude: Callable[[Sequence[P]], R]
    write: Callable[[R, Path], object]
    show: Callable[[R], None]
    document: Callable[[R], dict[str, Any]]
    page: str
    files: tuple[str, ...]


def _run(run: _PointRun[P, R], output: Path, *, as_json: bool, fresh: bool) -> R:
    """Solve the missing points, conclude, write, print; an interruption keeps what is solved."""
    with open_journal(prepare_folder(output, run.what), run.header, fresh=fresh) as journal:
        if fresh:
            remove_files(output, run.files)
        found = run.found(journal)
        if found:
            sys.stderr.write(f"resumed: {counted(len(found), 'point')} found in {journal.path}\n")
        points, interrupted = finished(
            ready_to_draw(run.solve(journal)), run.name_of, what="points", total=run.most, found=len(found)
        )
        if interrupted:
            kept = f"{counted(len(run.found(journal)), 'point')} kept in {journal.path}"
            raise InterruptedRun(f"interrupted: {kept}; run the same command again to resume")
        result = run.conclude([*found, *points])
        if as_json:
            print_document(run.document(result))
        else:
            run.show(result)
        run.write(result, output)
    say(f"page: {output / run.page}", as_json=as_json)
    return result


def run_sweep_folder(
    sweep: Sweep, output: Path, *, workers: Workforce | int | None, as_json: bool, fresh: bool, png: bool = False
) -> None:
    """Solve a sweep into a folder and print it.

    Raises
    ------
    InterruptedRun
        The points solved until then are kept.
    SolutionError
        After everything is written, if points could not be solved.
    ScenarioError, ReportError
        If the input or the output is at fault.
    """
    limits_of(sweep.scenario)
    run: _PointRun[SweepRow | SweepFailure, SweepResult] = _PointRun(
        what="sweep",
        header=sweep_study.journal_header(sweep),
        most=sweep.size,
        found=sweep_study.solved_rows,
        solve=lambda journal: sweep_study.solve_sweep(sweep, journal, workers=workers),
        name_of=lambda point: f"point {point.index}",
        conclude=lambda points: sweep_study.conclude_sweep(sweep, points),
        write=partial(sweep_files.write_sweep, png=png),
        show=print_sweep,
        document=sweep_document,
        page=sweep_files.PAGE_FILE,
        files=sweep_files.RESULT_FILES,
    )
    result = _run(run, output, as_json=as_json, fresh=fresh)
    if result.failures:
        reasons = "".join(f"point {each.index}: {each.message}\n" for each in result.failures)
        raise SolutionError(f"{reasons}{len(result.failures)} of {sweep.size} points could not be solved")


def run_tolerance_folder(
    tolerance: Tolerance,
    output: Path,
    *,
    workers: Workforce | int | None,
    as_json: bool,
    fresh: bool,
    png: bool = False,
) -> None:
    """Solve a tolerance study into a folder and print it.

    Raises
    ------
    InterruptedRun
        The points solved until then are kept.
    ScenarioError, SolverError, ReportError
        If the input, a solution or the output is at fault.
    """
    run: _PointRun[tolerance_study.TolerancePoint, ToleranceResult] = _PointRun(
        what="tolerance study",
        header=tolerance_study.journal_header(tolerance),
        most=tolerance_study.most_points(tolerance),
        found=tolerance_study.solved_points,
        solve=lambda journal: tolerance_study.solve_tolerance(tolerance, journal, workers=workers),
        name_of=lambda point: f"a point of {point.variant}",
        conclude=lambda points: tolerance_study.conclude_tolerance(tolerance, points),
        write=partial(tolerance_files.write_tolerance, png=png),
        show=print_tolerance,
        document=tolerance_document,
        page=tolerance_files.PAGE_FILE,
        files=tolerance_files.RESULT_FILES,
    )
    _run(run, output, as_json=as_json, fresh=fresh)
