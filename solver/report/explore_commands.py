"""What the command on a what-if study does: solve the places that are missing, write the page, say what it holds."""

from __future__ import annotations

from pathlib import Path

from geometries.study.explore import Exploration
from geometries.text_files import shown_path
from solver.errors import ReportError, system_failures_reported
from solver.explore.inputs import followed
from solver.explore.points import CHECKS, SolvedPlace, journal_header, solve_places, solved_places
from solver.explore.surrogate import Surrogate, surrogates
from solver.notation.numbers import counted
from solver.report.commands import say
from solver.report.explore_page import render_exploration
from solver.report.progress import InterruptedRun, finished
from solver.runs.checkpoint import open_journal
from solver.runs.folders import place_file, staging_folder
from solver.runs.workforce import Workforce
from solver.study.budgets import limits_of


def run_exploration(
    asked: Exploration, page: Path, *, workers: Workforce | int | None = None, fresh: bool = False
) -> None:
    """Solve a what-if study and write its page.

    Raises
    ------
    InterruptedRun
        The places solved until then are kept beside the page.
    ScenarioError, SolverError, ReportError
        If the input, a solution or the output is at fault.
    """
    limits_of(asked.scenario)
    if page.suffix != ".html":
        raise ReportError(f"cannot write the page to {shown_path(page)}: name a file that ends in .html")
    if not page.parent.is_dir():
        raise ReportError(f"cannot write the page to {shown_path(page)}: there is no such folder; make it first")
    asked = followed(asked)
    most = len(asked.variants) * (asked.points + CHECKS)
    with open_journal(page.with_suffix(".points.jsonl"), journal_header(asked), fresh=fresh) as journal:
        found = len(list(solved_places(journal)))
        if found:
            say(f"resumed: {counted(found, 'place')} found in {journal.path}", as_json=True)
        solved = solve_places(asked, journal, workers=workers)
        _, interrupted = finished(solved, _name_of, what="places", total=most, found=found)
        if interrupted:
            raise InterruptedRun(
                f"interrupted: solved places are kept in {journal.path}; run the same command again to resume"
            )
        known = surrogates(asked, solved_places(journal))
    with system_failures_reported(f"cannot write {shown_path(page)}"), staging_folder(page.parent) as stage:
        (stage / page.name).write_text(render_exploration(asked, known), encoding="utf-8")
        place_file(stage / page.name, page)
    for each in known:
        say(_measured_words(each), as_json=False)
    say(f"page: {page}", as_json=False)


def _name_of(solved: SolvedPlace) -> str:
    return f"a place of {solved.place.variant}"


def _measured_words(known: Surrogate) -> str:
    """Of which figures the interpolation is coarser than their own uncertainty."""
    coarse = [each for each in known.figures if not each.within]
    words = f"{known.variant}: {counted(known.solved, 'place')} solved, {counted(len(known.figures), 'figure')}"
    if not coarse:
        return f"{words}, interpolated within their own uncertainties at {CHECKS} independent places"
    largest = max((each.error for each in coarse if each.by_ratios), default=0.0)
    return (
        f"{words}, {len(coarse)} of them interpolated less finely than they are solved, to {100 * largest:.2g} % of "
        "their value at most; the page marks these and counts it in their ±"
    )
