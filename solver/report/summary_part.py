"""The summary: every figure that a choice rests on, prices, and whether the limits are kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from solver import figures
from solver.notation import numbers
from solver.report.figure_tables import value_words
from solver.report.part import Drawing, Part, drawing, outcome_of
from solver.report.plain import finite
from solver.report.tables import Cell, Column, Record, Table, columns, named, records
from solver.study.results import StudyResult
from solver.study.summary import Summary, SummaryRow


def summary_table(summary: Summary) -> Table:
    """Figures, change of emission, price and limits of every variant; the variant of the sentence is marked."""
    headings = [Column(name=figure.symbol, unit=figure.unit) for figure in summary.figures]
    emits = any(row.emission_change is not None for row in summary.rows)
    currency = summary.priced[0].price.currency if summary.priced and summary.priced[0].price else ""
    emission = columns(("Δ emission", "dB")) if emits else ()
    price = columns(("price", currency), ("Δ price", currency)) if currency else ()
    rows = [
        (
            Cell(text=row.name),
            *_figure_cells(summary, row),
            *([_number(row.emission_change, 0)] if emits else []),
            *([_number(row.price.amount if row.price else None, 2), _number(row.price_change, 2)] if price else []),
            Cell(text=f"{'kept' if row.keeps else 'exceeded'}{'?' if row.doubtful else ''}"),
        )
        for row in summary.rows
    ]
    return Table(
        title="",
        columns=(named(), *headings, *emission, *price, Column(name="limits", words=True)),
        rows=tuple(rows),
        marked=summary.choice,
    )


def _figure_cells(summary: Summary, row: SummaryRow) -> Iterable[Cell]:
    for figure in summary.figures:
        reading = row.readings[figure.key]
        yield Cell(text=value_words(figure, reading), value=finite(reading.value / figure.scale))


def _number(value: float | None, decimals: int) -> Cell:
    return Cell(text="–") if value is None else Cell(text=numbers.fixed(value, decimals), value=value)


def _files(study: StudyResult) -> Mapping[str, Iterable[Record]]:
    return {"summary.csv": records(summary_table(outcome_of(study, Summary)))}


def _drawings(study: StudyResult) -> Sequence[Drawing]:
    summary = outcome_of(study, Summary)
    if len(summary.priced) < 2:
        return ()
    return (drawing("cost", "Price per board of all variants against their figures.", figures.cost_figure(summary)),)


def _details(study: StudyResult) -> object:
    summary = outcome_of(study, Summary)
    return {
        "choice": summary.choice,
        "reference": summary.reference,
        "sentence": summary.sentence,
        "variants": [
            {
                "variant": row.name,
                "emission_change_dB": row.emission_change,
                "emission_change_uncertainty_dB": row.emission_change_error,
                "price": row.price,
                "price_change": row.price_change,
                "keeps_every_limit": row.keeps,
                "within_uncertainty": row.doubtful,
            }
            for row in summary.rows
        ],
    }


SUMMARY_PART = Part(
    key="summary",
    title="Summary",
    shown=lambda study: study.outcome(Summary),
    heading=lambda study: "Summary",
    sentences=lambda study: (outcome_of(study, Summary).sentence,),
    tables=lambda study: (summary_table(outcome_of(study, Summary)),),
    files=_files,
    drawings=_drawings,
    details=_details,
    template="summary.html.j2",
)
