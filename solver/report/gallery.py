"""Run the studies of the gallery and write its page."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from geometries.files.reading import read_builtin_scenario
from solver.report.commands import solve_with_progress
from solver.report.gallery_page import prepare_folder, studies_named, write_gallery
from solver.report.progress import InterruptedRun
from solver.report.terminal import print_lines
from solver.study.study import conclude


def run_gallery(names: Sequence[str], output: Path, *, workers: int | None) -> Path:
    """Solve the studies of these names, or all, say what each finds, and write the page.

    Raises
    ------
    InterruptedRun
        Nothing is written then.
    SolverError, ReportError
        If there is no such study, one cannot be solved, or the page cannot be written.
    """
    wanted = studies_named(names)
    prepare_folder(output)
    solved = []
    for each in wanted:
        scenario = read_builtin_scenario(each.name)
        results, interrupted = solve_with_progress(scenario, workers=workers)
        if interrupted:
            raise InterruptedRun("interrupted; nothing was written")
        solved.append((each, conclude(scenario, results)))
        print_lines([each.find(solved[-1][1]).sentence])
    return write_gallery(solved, output)
