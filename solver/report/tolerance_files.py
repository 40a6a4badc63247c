"""The folder of a tolerance study: its journal while it runs; table, document, drawings and page when it is done."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from solver import figures
from solver.report.file_names import file_names
from solver.report.first_page import MOST_ROWS, FirstPage, limit_of, points_first_page
from solver.report.html import page_template
from solver.report.part import Drawing, Sketch, drawn, sketch
from solver.report.point_folder import write_results
from solver.report.tables import table_text
from solver.report.tolerance_report import (
    budget_table,
    loop_basis,
    meaning,
    tolerance_document,
    tolerance_records,
    tolerance_table,
    worst_cases_table,
)
from solver.study.tolerance import CHECKED_SAMPLES, ToleranceResult
from solver.study.warnings import always
from solver.variant.figure import Reading

PAGE_FILE = "tolerance.html"
"""The page to look at first."""

RESULT_FILES = ("tolerance.csv", "tolerance.json", PAGE_FILE)
"""What is written beside the journal and the figures."""


def write_tolerance(result: ToleranceResult, folder: Path, *, png: bool = False) -> tuple[Path, ...]:
    """Write table, document, page and drawings of a tolerance study beside its journal.

    All else as for :func:`solver.report.sweep_files.write_sweep`.
    """
    drawings = [drawn(each, png=png) for each in _sketches(result)]
    texts = {"tolerance.csv": table_text(tolerance_records(result)), PAGE_FILE: _render(result, drawings)}
    write_results(folder, drawings, texts, {"tolerance.json": tolerance_document(result)})
    return tuple(folder / name for name in RESULT_FILES)


def _sketches(result: ToleranceResult) -> tuple[Sketch, ...]:
    sentence = "How every figure spreads over the random samples, for every variant."
    slugs = file_names(variant.name for variant in result.variants)
    tornadoes = [
        sketch(
            f"tornado-{slugs[variant.name]}",
            f"What each tolerance alone does to every figure of {variant.name}.",
            figures.tornado_figure,
            result,
            variant,
        )
        for variant in result.variants
    ]
    return (sketch("histogram", sentence, figures.histogram_figure, result), *tornadoes)


def _render(result: ToleranceResult, drawings: Sequence[Drawing]) -> str:
    first = tolerance_first_page(result)
    return page_template("tolerance.html.j2").render(
        first=first,
        title=f"Tolerances: {first.question}",
        issued=first.issued,
        result=result,
        scenario=result.tolerance.scenario,
        basis=loop_basis(result.tolerance),
        spreads=[(str(spread), meaning(spread)) for spread in result.tolerance.spreads],
        drawings=[(each.address, each.description) for each in drawings],
        worst=tolerance_table(result),
        budgets=budget_table(result),
        checked=CHECKED_SAMPLES,
        warnings=[f"{each.code}: {each.text}" for each in always()],
    )


def tolerance_first_page(result: ToleranceResult) -> FirstPage:
    """Finding, and the first variants with how far the first figure spreads."""
    scenario = result.tolerance.scenario
    variants = result.variants[:MOST_ROWS]
    spreads = [variant.figures[0] for variant in variants]
    figure = spreads[0].figure
    bars = [
        (
            variant.name,
            Reading(value=each.nominal, uncertainty=max(each.highest - each.nominal, each.nominal - each.lowest)),
        )
        for variant, each in zip(variants, spreads, strict=True)
    ]
    words, limit = f"Bars of {figure.title} with whiskers to the worst corner.", limit_of(scenario, figure)
    picture = sketch("first-page", words, figures.short_bars_figure, figure, bars, limit, whisker="worst corner")
    return points_first_page(
        scenario,
        result.finding,
        loop_basis(result.tolerance),
        worst_cases_table(result),
        drawn(picture),
    )
