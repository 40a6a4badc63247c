"""The numbers of a tolerance study as plain values for JSON, as lines of a table, and for the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.study.tolerance import Tolerance
from solver.notation import numbers
from solver.notation.labels import scenario_wording
from solver.study.tolerance_rows import FigureSpread, ToleranceResult, VariantSpread
from solver.study.warnings import study_warnings

SCHEMA = "copperfield-tolerance/1"
"""Name and version of the layout of the document."""

QUANTILES = (0.05, 0.95)
"""Parts of the boards drawn that lie below the values shown."""

Document = dict[str, Any]


def tolerance_document(result: ToleranceResult) -> Document:
    """All inputs and numbers of a tolerance study as plain values, in SI units that the keys name.

    Parameters
    ----------
    result : ToleranceResult
        Finished.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`.
    """
    tolerance, scenario = result.tolerance, result.tolerance.scenario
    return {
        "schema": SCHEMA,
        "finding": result.finding,
        "conventions": "SI units; offsets are in units of each tolerance, from -1 to 1; loop values: "
        f"{scenario_wording(result.tolerance.scenario).basis}; worst corners and single tolerances are solved, boards "
        "drawn are read off a quadratic surface whose largest deviation from solved points beside it is given",
        "inputs": {
            "title": scenario.title,
            "setting": scenario.setting,
            "spreads": [_spread_document(tolerance, index) for index in range(len(tolerance.spreads))],
            "samples": tolerance.samples,
            "seed": tolerance.seed,
            "distribution": tolerance.distribution.value,
            "scenario_text": scenario.text,
        },
        "variants": [_variant_document(variant) for variant in result.variants],
        "warnings": [{"code": each.code, "text": each.text} for each in study_warnings(scenario)],
        "versions": dict(result.versions),
    }


def _spread_document(tolerance: Tolerance, index: int) -> Document:
    spread = tolerance.spreads[index]
    return {
        "source": str(spread.source),
        "meaning": spread.meaning,
        "relative_1": spread.relative,
        f"absolute_{spread.quantity.unit}": spread.absolute,
    }


def _variant_document(variant: VariantSpread) -> Document:
    return {
        "name": variant.name,
        "points_solved": variant.solved,
        "points_reused": variant.reused,
        "figures": {figure.key: _figure_document(figure) for figure in variant.figures},
    }


def _figure_document(figure: FigureSpread) -> Document:
    return {
        "nominal": figure.nominal,
        "each_alone_lower_upper": figure.alone.tolist(),
        "lowest": figure.lowest,
        "lowest_at": list(figure.lowest_at),
        "highest": figure.highest,
        "highest_at": list(figure.highest_at),
        "quantiles": {f"{part:g}": figure.quantile(part) for part in (0.01, *QUANTILES, 0.5, 0.99)},
        "largest_deviation_of_surface": figure.deviation,
    }


def tolerance_records(result: ToleranceResult) -> Iterator[Sequence[object]]:
    """Lines of a table, the headings first: one per variant and figure, in the unit it is shown in."""
    low, high = (f"{100 * part:g} % of boards below" for part in QUANTILES)
    yield (
        "variant",
        "figure",
        "unit",
        "nominal",
        "lowest corner",
        "highest corner",
        low,
        high,
        "largest deviation of the surface",
        *(f"{spread} {end}" for spread in result.tolerance.spreads for end in ("lower end", "upper end")),
    )
    for variant in result.variants:
        for figure in variant.figures:
            values = [figure.nominal, figure.lowest, figure.highest, *map(figure.quantile, QUANTILES), figure.deviation]
            yield (
                variant.name,
                figure.title,
                figure.unit,
                *(float(value / figure.scale) for value in (*values, *figure.alone.ravel())),
            )


def tolerance_cells(figure: FigureSpread) -> tuple[str, ...]:
    """One figure in words: unit, nominal, both worst corners, where most boards lie, and the surface's deviation."""
    low, high = (_shown(figure, figure.quantile(part)) for part in QUANTILES)
    return (
        figure.unit,
        _shown(figure, figure.nominal),
        f"{_shown(figure, figure.lowest)} ({change(figure, figure.lowest)})",
        f"{_shown(figure, figure.highest)} ({change(figure, figure.highest)})",
        f"{low} to {high}",
        numbers.significant(figure.deviation / figure.scale, 1),
    )


def change(figure: FigureSpread, value: float) -> str:
    """Distance of a value from the nominal one: of a level in decibels, of all else in percent."""
    if figure.unit == "dB":
        return f"{numbers.decibel(value - figure.nominal)} dB"
    return f"{numbers.percent(value / figure.nominal - 1)} %"


def _shown(figure: FigureSpread, value: float) -> str:
    return numbers.significant(value / figure.scale, 4)


def tolerance_table(result: ToleranceResult) -> Table:
    """Table for the terminal: the worst cases of every figure of every variant."""
    words = scenario_wording(result.tolerance.scenario)
    table = Table(
        title=f"Worst corners solved, {result.tolerance.samples} boards drawn; {words.basis}",
        title_justify="left",
        box=SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
    table.add_column(Text("figure"), overflow="fold")
    for heading in ("nominal", "lowest", "", "highest", "", "5 % of\nboards", "95 % of\nboards"):
        table.add_column(Text(heading), justify="right", no_wrap=True)
    for variant in result.variants:
        table.add_row(Text(variant.name, style="bold"))
        for figure in variant.figures:
            corners = [each for value in (figure.lowest, figure.highest) for each in _corner(figure, value)]
            drawn = [_shown(figure, figure.quantile(part)) for part in QUANTILES]
            title = f"  {figure.title} [{figure.unit}]"
            table.add_row(*map(Text, (title, _shown(figure, figure.nominal), *corners, *drawn)))
    return table


def _corner(figure: FigureSpread, value: float) -> tuple[str, str]:
    return _shown(figure, value), change(figure, value)
