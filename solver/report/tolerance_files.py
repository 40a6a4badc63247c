"""The folder of a tolerance study: its journal while it runs; table, document, drawings and page when it is done."""

from __future__ import annotations

import json
from pathlib import Path

from solver.errors import system_failures_reported
from solver.figures import figure_svg, histogram_figure, tornado_figure
from solver.notation.labels import scenario_wording
from solver.report.drawings import Drawing
from solver.report.file_names import file_names
from solver.report.html import data_address, page_template
from solver.report.point_folder import table_text, write_drawings, write_whole
from solver.report.tolerance_document import tolerance_cells, tolerance_document, tolerance_records
from solver.study.tolerance import CHECKED_BOARDS
from solver.study.tolerance_rows import ToleranceResult
from solver.study.warnings import study_warnings

PAGE_FILE = "tolerance.html"
"""The page to look at first."""

RESULT_FILES = ("tolerance.csv", "tolerance.json", PAGE_FILE)
"""What is written beside the journal and the figures."""

_TEMPLATE = "tolerance.html.j2"


def write_tolerance(result: ToleranceResult, folder: Path) -> tuple[Path, ...]:
    """Write table, document, page and drawings of a tolerance study beside its journal.

    Parameters
    ----------
    result : ToleranceResult
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
        write_whole(folder / "tolerance.csv", table_text(tolerance_records(result)))
        document = json.dumps(tolerance_document(result), indent=2, ensure_ascii=False)
        write_whole(folder / "tolerance.json", document + "\n")
        write_whole(folder / PAGE_FILE, _render(result, drawings))
    return tuple(folder / name for name in RESULT_FILES)


def _draw(result: ToleranceResult) -> tuple[Drawing, ...]:
    histogram = histogram_figure(result)
    drawings = [
        Drawing(
            name="histogram",
            description="How loop inductance and the last figure spread over the boards drawn, for every variant.",
            figure=histogram,
            svg=figure_svg(histogram),
        )
    ]
    slugs = file_names(variant.name for variant in result.variants)
    for variant in result.variants:
        figure = tornado_figure(result, variant)
        drawings.append(
            Drawing(
                name=f"tornado-{slugs[variant.name]}",
                description=f"What each tolerance alone does to every figure of {variant.name}.",
                figure=figure,
                svg=figure_svg(figure),
            )
        )
    return tuple(drawings)


def _render(result: ToleranceResult, drawings: tuple[Drawing, ...]) -> str:
    return page_template(_TEMPLATE).render(
        result=result,
        scenario=result.tolerance.scenario,
        words=scenario_wording(result.tolerance.scenario),
        spreads=[(str(spread), spread.meaning) for spread in result.tolerance.spreads],
        drawings=[(data_address(drawing), drawing.description) for drawing in drawings],
        cells=[[(figure.title, *tolerance_cells(figure)) for figure in variant.figures] for variant in result.variants],
        checked=CHECKED_BOARDS,
        warnings=[f"{each.code}: {each.text}" for each in study_warnings(result.tolerance.scenario)],
    )
