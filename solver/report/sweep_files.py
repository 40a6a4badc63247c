"""The folder of a sweep: its journal while it runs; table, document, drawing and page when it is done."""

from __future__ import annotations

import json
from pathlib import Path

from solver.errors import system_failures_reported
from solver.figures import figure_svg, pickup_sweep_figure, sweep_figure
from solver.notation.labels import scenario_wording
from solver.report.drawings import Drawing
from solver.report.html import data_address, page_template
from solver.report.point_folder import table_text, write_drawings, write_whole
from solver.report.sweep_document import (
    axis_units,
    page_headings,
    sweep_cells,
    sweep_document,
    sweep_records,
    warning_lines,
)
from solver.study.sweep_rows import SweepResult

PAGE_FILE = "sweep.html"
"""The page to look at first."""

_TEMPLATE = "sweep.html.j2"
_FIGURES = ("figures/sweep.png", "figures/sweep.svg", "figures/sweep-pickup.png", "figures/sweep-pickup.svg")
RESULT_FILES = ("sweep.csv", "sweep.json", PAGE_FILE, *_FIGURES)
"""What is written beside the journal."""


def write_sweep(result: SweepResult, folder: Path) -> tuple[Path, ...]:
    """Write table, document, page and drawing of a sweep beside its journal.

    Parameters
    ----------
    result : SweepResult
        Finished.
    folder : Path
        Prepared by :func:`solver.report.point_folder.prepare_folder`.

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
    write_drawings(folder, drawings)
    with system_failures_reported(f"cannot write {folder}"):
        write_whole(folder / "sweep.csv", table_text(sweep_records(result)))
        write_whole(folder / "sweep.json", json.dumps(sweep_document(result), indent=2, ensure_ascii=False) + "\n")
        write_whole(folder / PAGE_FILE, _render(result, drawings))
    return tuple(folder / name for name in RESULT_FILES if (folder / name).exists())


def _draw(result: SweepResult) -> tuple[Drawing, ...]:
    """The drawing; none if too few points could be solved."""
    if len(result.rows) < 2:
        return ()
    figure = sweep_figure(result)
    keys = " and ".join(axis.key for axis in result.sweep.axes)
    description = f"Inductance, resistance and field over {keys}."
    drawings = [Drawing(name="sweep", description=description, figure=figure, svg=figure_svg(figure))]
    if all(row.pickup is not None for row in result.rows):
        heard = pickup_sweep_figure(result)
        sentence = f"Mutual inductance and peak at the pin of the first victim over {keys}."
        drawings.append(Drawing(name="sweep-pickup", description=sentence, figure=heard, svg=figure_svg(heard)))
    return tuple(drawings)


def _render(result: SweepResult, drawings: tuple[Drawing, ...]) -> str:
    return page_template(_TEMPLATE).render(
        result=result,
        scenario=result.sweep.scenario,
        words=scenario_wording(result.sweep.scenario),
        keys=[(axis.key, unit) for axis, (_, unit) in zip(result.sweep.axes, axis_units(result), strict=True)],
        drawings=[(data_address(drawing), drawing.description) for drawing in drawings],
        headings=page_headings(result),
        cells=[sweep_cells(row, result) for row in result.rows],
        warnings=warning_lines(result),
    )
