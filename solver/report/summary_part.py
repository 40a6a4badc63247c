"""The summary: every figure that a choice rests on, prices, and whether the limits are kept."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from solver import figures
from solver.notation import numbers
from solver.report.figure_tables import value_words
from solver.report.part import Part, Sketch, outcome_of, sketch
from solver.report.plain import finite
from solver.report.tables import Cell, Column, Record, Table, columns, named, records, words_table
from solver.study.decision import Step, bands_words
from solver.study.results import StudyResult
from solver.study.summary import Summary, SummaryRow
from solver.study.verdict import BUDGETS, PRICE, PRODUCT, VOLTAGE_LIMIT, objective_words


def summary_table(summary: Summary) -> Table:
    """Figures, change of emission, price and limits of every variant; the variant of the sentence is marked."""
    headings = [Column(name=figure.symbol, unit=figure.unit) for figure in summary.figures]
    emits = any(row.emission_change is not None for row in summary.rows)
    currency = summary.priced[0].price.currency if summary.priced and summary.priced[0].price else ""
    emission = columns(("Δ emission", "dB")) if emits else ()
    price = columns(("price", currency), ("Δ price", currency)) if currency else ()
    limited = _limited(summary)
    rows = [
        (
            Cell(text=row.name),
            *_figure_cells(summary, row),
            *([_number(row.emission_change, 0)] if emits else []),
            *([_number(row.price.amount if row.price else None, 2), _number(row.price_change, 2)] if price else []),
            *([Cell(text=f"{'kept' if row.keeps else 'exceeded'}{'?' if row.doubtful else ''}")] if limited else []),
        )
        for row in summary.rows
    ]
    return Table(
        title="",
        columns=(named(), *headings, *emission, *price, *([Column(name=limited, words=True)] if limited else [])),
        rows=tuple(rows),
        marked=summary.choice,
    )


def _limited(summary: Summary) -> str:
    """What of the limits is judged here; those of emission have figures of their own."""
    budgeted = any(row.exceeded is not None for row in summary.rows)
    return {
        (True, True): "voltage, budgets",
        (True, False): "voltage limit",
        (False, True): "budgets",
        (False, False): "",
    }[summary.voltage_limited, budgeted]


def verdict_table(summary: Summary) -> Table:
    """The choice beside the reference, objective by objective, and what each did to the choice."""
    steps = dict(zip(summary.objectives, summary.decision.steps, strict=False))
    rows = [
        (
            objective_words(key),
            *(_objective_value(summary, name, key) for name in (summary.choice, summary.reference)),
            _objective_change(summary, key),
            _verdict_words(steps.get(key), summary.decision.deciding),
        )
        for key in summary.objectives
    ]
    headings = (named("objective"), named("choice"), named("reference"), named("change"), named("verdict"))
    return words_table(f"“{summary.choice}” against “{summary.reference}”", headings, rows)


def _objective_value(summary: Summary, name: str, key: str) -> str:
    row = summary.row(name)
    if key == BUDGETS:
        if row.exceeded:
            return f"{row.exceeded} exceeded"
        return "none surely exceeded" if row.doubtful else "all kept"
    if key == PRICE:
        return str(row.price)
    reading_key = "peak_voltage" if key == VOLTAGE_LIMIT else key
    figure = next(each for each in summary.figures if each.key == reading_key)
    return f"{value_words(figure, row.readings[reading_key])} {figure.unit}"


def _objective_change(summary: Summary, key: str) -> str:
    """Of the choice against the reference, with what the change is uncertain by, where it is known on its own."""
    row = summary.row(summary.choice)
    if summary.choice == summary.reference:
        return "–"
    if key == PRODUCT and row.product_change is not None and row.product_change_error is not None:
        return f"{numbers.whole_decibels(row.product_change, row.product_change_error, signed=True)} dB"
    if key == PRICE and row.price is not None and row.price_change is not None:
        return f"{numbers.fixed(row.price_change, 2, signed=True)} {row.price.currency}"
    if key == BUDGETS:
        return ""
    reading_key = "peak_voltage" if key == VOLTAGE_LIMIT else key
    figure = next(each for each in summary.figures if each.key == reading_key)
    decimals = numbers.decimals_for(
        row.changes[reading_key] / figure.scale, row.readings[reading_key].uncertainty / figure.scale
    )
    return f"{numbers.fixed(row.changes[reading_key] / figure.scale, decimals, signed=True)} {figure.unit}"


def _verdict_words(step: Step | None, deciding: Step | None) -> str:
    """What one objective did to the choice."""
    if step is None:
        return "not needed"
    if not step.dropped:
        return f"{len(step.kept)} equal"
    by = f", by {bands_words(step.bands)}" if math.isfinite(step.bands) else ""
    return f"decided{by}" if step is deciding else f"leaves {len(step.kept)}, the others out{by}"


def _figure_cells(summary: Summary, row: SummaryRow) -> Iterable[Cell]:
    for figure in summary.figures:
        reading = row.readings[figure.key]
        yield Cell(text=value_words(figure, reading), value=finite(reading.value / figure.scale))


def _number(value: float | None, decimals: int) -> Cell:
    return Cell(text="–") if value is None else Cell(text=numbers.fixed(value, decimals), value=value)


def _files(study: StudyResult) -> Mapping[str, Iterable[Record]]:
    return {"summary.csv": records(summary_table(outcome_of(study, Summary)))}


def _sketches(study: StudyResult) -> Sequence[Sketch]:
    summary = outcome_of(study, Summary)
    if len(summary.priced) < 2:
        return ()
    return (sketch("cost", "Price per board of all variants against their figures.", figures.cost_figure, summary),)


def _details(study: StudyResult) -> object:
    summary = outcome_of(study, Summary)
    return {
        "choice": summary.choice,
        "reference": summary.reference,
        "sentence": summary.sentence,
        "cautions": summary.cautions,
        "objectives": [
            {"objective": key, "kept": step.kept, "dropped": step.dropped, "gap_in_error_bands": finite(step.bands)}
            for key, step in zip(summary.objectives, summary.decision.steps, strict=False)
        ],
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
    sentences=lambda study: (outcome_of(study, Summary).sentence, *outcome_of(study, Summary).cautions),
    tables=lambda study: (verdict_table(outcome_of(study, Summary)), summary_table(outcome_of(study, Summary))),
    files=_files,
    sketches=_sketches,
    details=_details,
    template="summary.html.j2",
)
