"""The folder of a sweep: its journal while it runs; table, document, drawing and page when it is done."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path

from solver.errors import ReportError
from solver.figures import figure_svg, save_figure, sweep_figure
from solver.journal import system_failures_as_report_errors
from solver.report.drawings import Drawing
from solver.report.html import data_address, page_template
from solver.report.sweep_document import axis_units, caution_lines, sweep_cells, sweep_document, sweep_records
from solver.sweep_rows import SweepResult
from solver.wording import scenario_wording

JOURNAL_FILE = "points.jsonl"
"""The file by which a sweep's folder is known."""

PAGE_FILE = "sweep.html"
"""The page to look at first."""

_TEMPLATE = "sweep.html.j2"
_FIGURES = ("figures/sweep.png", "figures/sweep.svg")
_RESULT_FILES = ("sweep.csv", "sweep.json", PAGE_FILE, *_FIGURES)


def prepare_folder(folder: Path) -> Path:
    """Make the folder of a sweep, or check that it is one, before a long computation.

    Parameters
    ----------
    folder : Path
        Made if it does not exist.

    Returns
    -------
    Path
        Where the journal lies, or will lie.

    Raises
    ------
    ReportError
        If it is a file, holds other files but no journal, or may not be written to.
    """
    journal = folder / JOURNAL_FILE
    with system_failures_as_report_errors(folder):
        if folder.exists() and not folder.is_dir():
            raise ReportError(f"cannot write the sweep to {folder}: it is a file; name a folder")
        if folder.is_dir() and not journal.exists() and any(folder.iterdir()):
            raise ReportError(
                f"cannot write the sweep to {folder}: it holds files that are not of an earlier sweep; name another "
                "folder, or move these files away"
            )
        folder.mkdir(parents=True, exist_ok=True)
    return journal


def remove_results(folder: Path) -> None:
    """Remove what an earlier sweep wrote beside its journal, so that it is not taken for results of the new one."""
    with system_failures_as_report_errors(folder):
        for name in _RESULT_FILES:
            (folder / name).unlink(missing_ok=True)


def write_sweep(result: SweepResult, folder: Path) -> tuple[Path, ...]:
    """Write table, document, page and drawing of a sweep beside its journal.

    Parameters
    ----------
    result : SweepResult
        Finished.
    folder : Path
        Prepared by :func:`prepare_folder`.

    Returns
    -------
    tuple of Path
        The files written; each is whole, or is what it was before.

    Raises
    ------
    ReportError
        If a file cannot be written.
    """
    drawings = _draw(result)
    with system_failures_as_report_errors(folder):
        (folder / "figures").mkdir(exist_ok=True)
        for drawing in drawings:
            fresh = folder / "figures" / "sweep.new.png"
            save_figure(drawing.figure, fresh)
            fresh.replace(folder / _FIGURES[0])
            _write(folder / _FIGURES[1], drawing.svg)
        _write(folder / "sweep.csv", _table(result))
        _write(folder / "sweep.json", json.dumps(sweep_document(result), indent=2, ensure_ascii=False) + "\n")
        _write(folder / PAGE_FILE, _render(result, drawings))
    return tuple(folder / name for name in _RESULT_FILES if (folder / name).exists())


def _draw(result: SweepResult) -> tuple[Drawing, ...]:
    """The drawing; none if too few points could be solved."""
    if len(result.rows) < 2:
        return ()
    figure = sweep_figure(result)
    keys = " and ".join(axis.key for axis in result.sweep.axes)
    description = f"Inductance, resistance and field over {keys}."
    return (Drawing(name="sweep", description=description, figure=figure, svg=figure_svg(figure)),)


def _render(result: SweepResult, drawings: tuple[Drawing, ...]) -> str:
    return page_template(_TEMPLATE).render(
        result=result,
        scenario=result.sweep.scenario,
        words=scenario_wording(result.sweep.scenario),
        keys=[(axis.key, unit) for axis, (_, unit) in zip(result.sweep.axes, axis_units(result), strict=True)],
        drawings=[(data_address(drawing), drawing.description) for drawing in drawings],
        cells=[sweep_cells(row, result) for row in result.rows],
        cautions=caution_lines(result),
    )


def _table(result: SweepResult) -> str:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    for record in sweep_records(result):
        writer.writerow([f"{cell:.10g}" if isinstance(cell, float) else cell for cell in record])
    return buffer.getvalue()


def _write(path: Path, content: str) -> None:
    """Write a file whole or not at all."""
    fresh = path.with_name(f".{path.name}.new")
    fresh.write_text(content, encoding="utf-8")
    os.replace(fresh, path)
