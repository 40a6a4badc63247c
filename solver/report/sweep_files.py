"""The folder of a sweep: its journal while it runs; table, document, drawing and page when it is done."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from geometries.study.sweep import SweepPoint, point_label
from solver import figures
from solver.report.first_page import MOST_ROWS, FirstPage, limit_of, points_first_page
from solver.report.html import page_template
from solver.report.part import Drawing, Sketch, drawn, sketch
from solver.report.point_folder import write_results
from solver.report.sweep_report import (
    few_points_table,
    loop_basis,
    sweep_document,
    sweep_page_table,
    sweep_records,
    warning_lines,
)
from solver.report.tables import table_text
from solver.study.sweep import SweepResult

PAGE_FILE = "sweep.html"
"""The page to look at first."""

RESULT_FILES = ("sweep.csv", "sweep.json", PAGE_FILE, "figures/sweep.svg", "figures/sweep.png")
"""What is written beside the journal; the last on request."""


def write_sweep(result: SweepResult, folder: Path, *, png: bool = False) -> tuple[Path, ...]:
    """Write table, document, page and drawing of a sweep beside its journal.

    Parameters
    ----------
    result : SweepResult
        Finished.
    folder : Path
        Prepared by :func:`solver.report.point_folder.prepare_folder`.
    png : bool
        Whether the drawing is written as PNG too.

    Returns
    -------
    tuple of Path
        The files written; each is whole, or is what it was before.

    Raises
    ------
    ReportError
        If a file cannot be written.
    """
    drawings = [drawn(each, png=png) for each in _sketches(result)]
    texts = {"sweep.csv": table_text(sweep_records(result)), PAGE_FILE: _render(result, drawings)}
    write_results(folder, drawings, texts, {"sweep.json": sweep_document(result)})
    return tuple(folder / name for name in RESULT_FILES if (folder / name).exists())


def _sketches(result: SweepResult) -> tuple[Sketch, ...]:
    """The drawing to be made; none if too few points could be solved."""
    if len(result.rows) < 2:
        return ()
    keys = " and ".join(axis.key for axis in result.sweep.axes)
    titles = ", ".join(figure.title for figure in result.figures)
    return (sketch("sweep", f"Over {keys}: {titles}.", figures.sweep_figure, result, loop_basis(result)),)


def _render(result: SweepResult, drawings: Sequence[Drawing]) -> str:
    first = sweep_first_page(result)
    return page_template("sweep.html.j2").render(
        first=first,
        title=first.question,
        issued=first.issued,
        result=result,
        scenario=result.sweep.scenario,
        basis=loop_basis(result),
        drawings=[(each.address, each.description) for each in drawings],
        points=sweep_page_table(result) if result.rows else None,
        warnings=warning_lines(result),
    )


def sweep_first_page(result: SweepResult) -> FirstPage:
    """Finding, and a few points at even distances."""
    scenario, figure = result.sweep.scenario, result.figures[0]
    rows = result.rows[:: max(1, -(-len(result.rows) // MOST_ROWS))]
    bars = [
        (point_label(result.sweep, SweepPoint(index=row.index, values=row.values)), row.point.readings[figure.key])
        for row in rows
    ]
    words = f"Bars of {figure.title} at points of the sweep."
    picture = sketch("first-page", words, figures.short_bars_figure, figure, bars, limit_of(scenario, figure))
    return points_first_page(
        scenario,
        result.finding,
        loop_basis(result),
        few_points_table(result, rows) if rows else None,
        drawn(picture) if bars else None,
    )
