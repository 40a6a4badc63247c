"""A tolerance study as tables and as a document."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from geometries.quantities import Quantity
from geometries.study.spread import Source, Spread
from geometries.study.tolerance import Tolerance
from solver.notation import numbers
from solver.report.documents import headed, warning_documents
from solver.report.figure_tables import figure_values
from solver.report.first_page import MOST_ROWS
from solver.report.plain import plain
from solver.report.tables import Column, Record, Table, columns, named, words_table
from solver.study.basis import described_basis
from solver.study.tolerance import FigureSpread, ToleranceResult, VariantSpread
from solver.study.warnings import always
from solver.variant.figure import Reading

QUANTILES = (0.05, 0.95)
"""Parts of the random samples that lie below the values shown."""

_DOCUMENTED = (0.01, *QUANTILES, 0.5, 0.99)


def loop_basis(tolerance: Tolerance) -> str:
    """What the loop values of the variants looked at stand for."""
    return described_basis(each for each in tolerance.scenario.variants if each.name in tolerance.variants)


def tolerance_document(result: ToleranceResult) -> dict[str, Any]:
    """All inputs and numbers of a tolerance study as plain values; a variant's figures are those of its centre.

    Ready for :func:`json.dumps`.
    """
    tolerance, scenario = result.tolerance, result.tolerance.scenario
    return {
        **headed("tolerance", scenario),
        "finding": result.finding,
        "basis": loop_basis(tolerance),
        "method": "offsets are in units of each tolerance, from -1 to 1; worst corners and single tolerances are "
        "solved, random samples are read off a quadratic surface whose largest deviation from solved points beside it "
        "is given",
        "spreads": [{**plain(spread), "meaning": meaning(spread)} for spread in tolerance.spreads],
        "samples": tolerance.samples,
        "seed": tolerance.seed,
        "distribution": tolerance.distribution.value,
        "scenario_text": scenario.text,
        "variants": [_variant_document(variant) for variant in result.variants],
        "warnings": warning_documents(always()),
        "versions": dict(result.versions),
    }


def meaning(spread: Spread) -> str:
    """What a tolerance moves, in a few words."""
    known = {source.value: source.meaning for source in Source}
    return known.get(spread.source, f"the key {spread.source}")


def _variant_document(variant: VariantSpread) -> dict[str, Any]:
    centre = {each.figure.key: Reading(value=each.nominal, uncertainty=each.uncertainty) for each in variant.figures}
    return {
        "name": variant.name,
        "figures": figure_values((each.figure for each in variant.figures), centre),
        "spreads": {each.figure.key: _spread_document(each) for each in variant.figures},
        "budgets": [
            {"figure": each.limit.figure.key, "limit": each.limit.value, "share_of_samples_that_keeps_it": each.share}
            for each in variant.budgets
        ],
        "points_solved": variant.solved,
        "points_reused": variant.reused,
    }


def _spread_document(spread: FigureSpread) -> dict[str, Any]:
    return {
        "alone": plain(spread.alone),
        "lowest": plain(spread.lowest),
        "lowest_at": list(spread.lowest_at),
        "highest": plain(spread.highest),
        "highest_at": list(spread.highest_at),
        "quantiles": {f"{part:g}": plain(spread.quantile(part)) for part in _DOCUMENTED},
        "largest_deviation_of_surface": plain(spread.deviation),
    }


def tolerance_records(result: ToleranceResult) -> Iterator[Record]:
    """Lines for a spreadsheet, the headings first: one per variant and figure, in the unit it is shown in."""
    low, high = (f"{100 * part:g} % of samples below" for part in QUANTILES)
    yield (
        *("variant", "figure", "unit", "nominal", "uncertainty", "lowest corner", "highest corner", low, high),
        "largest deviation of the surface",
        *(f"{spread} {end}" for spread in result.tolerance.spreads for end in ("lower end", "upper end")),
    )
    for variant in result.variants:
        for each in variant.figures:
            corners = each.lowest, each.highest, *map(each.quantile, QUANTILES)
            values = (each.nominal, each.uncertainty, *corners, each.deviation, *each.alone.ravel())
            scaled = (float(value / each.figure.scale) for value in values)
            yield variant.name, each.figure.title, each.figure.unit, *scaled


def tolerance_table(result: ToleranceResult) -> Table:
    """Nominal value, worst corners and where most samples lie, of every figure of every variant."""
    low, high = (f"{100 * part:g} % of samples" for part in QUANTILES)
    headings = [Column(name=name) for name in ("nominal", "lowest", "Δ", "highest", "Δ", low, high, "surface ±")]
    rows = [
        (variant.name, f"{each.figure.title} [{each.figure.unit}]", *_cells(each))
        for variant in result.variants
        for each in variant.figures
    ]
    title = (
        f"Worst corners solved, {result.tolerance.samples} random samples; loop values: {loop_basis(result.tolerance)}"
    )
    return words_table(title, (named(), Column(name="figure", words=True), *headings), rows)


def worst_cases_table(result: ToleranceResult) -> Table:
    """The first figure of the first variants: nominal value and both worst corners."""
    shown = [(variant.name, variant.figures[0]) for variant in result.variants[:MOST_ROWS]]
    unit = shown[0][1].figure.unit
    headings = columns(("nominal", unit), ("lowest", unit), ("highest", unit))
    rows = [
        (name, *(_shown(each, value) for value in (each.nominal, each.lowest, each.highest))) for name, each in shown
    ]
    return words_table(shown[0][1].figure.title, (named(), *headings), rows)


def _cells(spread: FigureSpread) -> tuple[str, ...]:
    corners = [
        each for value in (spread.lowest, spread.highest) for each in (_shown(spread, value), change(spread, value))
    ]
    quantiles = [_shown(spread, spread.quantile(part)) for part in QUANTILES]
    deviation = numbers.significant(spread.deviation / spread.figure.scale, 1)
    return (_shown(spread, spread.nominal), *corners, *quantiles, deviation)


def change(spread: FigureSpread, value: float) -> str:
    """Distance of a value from the nominal one: of a level or from nothing in its unit, of all else in percent."""
    figure = spread.figure
    if figure.quantity is Quantity.DECIBEL or spread.nominal == 0:
        return f"{numbers.fixed((value - spread.nominal) / figure.scale, 1, signed=True)} {figure.unit}"
    return f"{numbers.percent(value / spread.nominal - 1)} %"


def _shown(spread: FigureSpread, value: float) -> str:
    return numbers.significant(value / spread.figure.scale, 4)


def budget_table(result: ToleranceResult) -> Table | None:
    """Of every budget the part of the samples that keeps it; None without budgets."""
    first = result.variants[0].budgets
    if not first:
        return None
    headings = [Column(name=f"keeps the budget of {each.limit.figure.title}", unit="% of samples") for each in first]
    rows = [(each.name, *(f"{100 * share.share:.3g}" for share in each.budgets)) for each in result.variants]
    return words_table("Budgets", (named(), *headings), rows)
