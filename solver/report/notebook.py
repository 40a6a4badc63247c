"""Results in a notebook: the first page of a report and its tables, as the page shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import singledispatch
from typing import Any

from solver.report.first_page import FirstPage, study_first_page
from solver.report.html import page_template
from solver.report.loop_part import analysis_table
from solver.report.sweep_files import sweep_first_page
from solver.report.sweep_report import sweep_page_table
from solver.report.tables import Table
from solver.report.tolerance_files import tolerance_first_page
from solver.report.tolerance_report import tolerance_table
from solver.study.figures_of_merit import MEASURED
from solver.study.results import StudyResult
from solver.study.sweep import SweepResult
from solver.study.tolerance import ToleranceResult


@dataclass(frozen=True, slots=True, kw_only=True)
class NotebookView:
    """A result as HTML, which a notebook shows where it is the last value of a cell."""

    html: str

    def _repr_html_(self) -> str:
        return self.html


@singledispatch
def notebook_view(result: Any) -> NotebookView:
    r"""A result as a notebook shows it: decision, picture, and the tables of the page.

    Parameters
    ----------
    result : StudyResult, SweepResult or ToleranceResult
        Finished.

    Returns
    -------
    NotebookView

    Raises
    ------
    TypeError
        If it is something else.

    Examples
    --------
    >>> from geometries import read_scenario
    >>> from solver import notebook_view, run_study
    >>> scenario = read_scenario(
    ...     'title = "thin board"\nstackup = "2L-0.8"\n'
    ...     'loop = { kind = "next-layer", width = "2 mm", return_width = "4 mm", length = "6 mm" }\n'
    ...     'analysis = { frequencies = ["1 MHz"], report_frequency = "1 MHz", tolerance = "1 %" }'
    ... )
    >>> "<h1>thin board</h1>" in notebook_view(run_study(scenario, workers=1)).html
    True
    """
    raise TypeError(
        f"a notebook shows the result of a study, a sweep or a tolerance study, not {type(result).__name__}"
    )


@notebook_view.register
def _(result: StudyResult) -> NotebookView:
    shown = [each for each in MEASURED if any(figure in each.figures for figure in result.headlines)]
    return _view(study_first_page(result), [analysis_table(result, each) for each in shown])


@notebook_view.register
def _(result: SweepResult) -> NotebookView:
    return _view(sweep_first_page(result), [sweep_page_table(result)] if result.rows else [])


@notebook_view.register
def _(result: ToleranceResult) -> NotebookView:
    return _view(tolerance_first_page(result), [tolerance_table(result)])


def _view(first: FirstPage, tables: Sequence[Table]) -> NotebookView:
    return NotebookView(html=page_template("notebook.html.j2").render(first=first, tables=tables))


def load_ipython_extension(shell: Any) -> None:
    """Let results show themselves as the last value of a cell, after ``%load_ext solver.report.notebook``."""
    formatter = shell.display_formatter.formatters["text/html"]
    for kind in (StudyResult, SweepResult, ToleranceResult):
        formatter.for_type(kind, lambda result: notebook_view(result).html)
