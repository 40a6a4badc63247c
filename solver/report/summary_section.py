"""The deciding table: every column that was computed or stated, for page, terminal, spreadsheet and machines."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.quantities import MHZ, NANO
from solver.notation import numbers
from solver.study.summary_rows import Summary, SummaryRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: its title and unit, the value that it is sorted by, and the words it shows."""

    title: str
    unit: str
    value: Callable[[SummaryRow], float | None]
    words: Callable[[SummaryRow], str]


def columns(summary: Summary) -> tuple[Column, ...]:
    """The columns for which any variant has a value."""
    return tuple(
        column for column in _all_columns(summary) if any(column.value(row) is not None for row in summary.rows)
    )


def _all_columns(summary: Summary) -> tuple[Column, ...]:
    currency = summary.priced[0].price.currency if summary.priced and summary.priced[0].price else ""
    return (
        _plain("L", "nH", lambda row: row.inductance / NANO, lambda value: numbers.significant(value, 3)),
        _plain(
            "ΔL", "nH", lambda row: row.inductance_change / NANO, lambda value: numbers.fixed(value, 2, signed=True)
        ),
        _plain("ring", "MHz", lambda row: _over(row.ring_frequency, MHZ), lambda value: numbers.fixed(value, 0)),
        Column(
            title="peak",
            unit="V",
            value=lambda row: row.peak_voltage,
            words=lambda row: (
                "–" if row.peak_voltage is None else numbers.banded(row.peak_voltage, row.peak_error or 0.0, 1.0)
            ),
        ),
        _plain("over", "%", lambda row: _over(row.overshoot, 0.01), lambda value: numbers.fixed(value, 0)),
        _plain(
            "pick-up", "mV", lambda row: _over(row.pickup, numbers.MILLI), lambda value: numbers.significant(value, 2)
        ),
        _plain("emission", "Δ dB", lambda row: row.emission_change, lambda value: numbers.fixed(value, 0, signed=True)),
        _plain("margin", "dB", lambda row: row.emission_margin, lambda value: numbers.fixed(value, 0)),
        _plain(
            "price",
            currency,
            lambda row: None if row.price is None else row.price.amount,
            lambda value: numbers.fixed(value, 2),
        ),
        _plain("step", currency, lambda row: row.price_change, lambda value: numbers.fixed(value, 2, signed=True)),
    )


def _plain(title: str, unit: str, value: Callable[[SummaryRow], float | None], words: Callable[[float], str]) -> Column:
    def shown(row: SummaryRow) -> str:
        found = value(row)
        return "–" if found is None else words(found)

    return Column(title=title, unit=unit, value=value, words=shown)


def _over(value: float | None, unit: float) -> float | None:
    return None if value is None else value / unit


def summary_table(summary: Summary) -> Table:
    """The table for the terminal, without the inductances that stand in the table of the loops."""
    table = Table(title="What decides", title_justify="left", box=SIMPLE_HEAD, pad_edge=False, padding=0)
    table.add_column(Text("variant"), overflow="fold", min_width=12)
    shown = columns(summary)[1:]
    for column in shown:
        table.add_column(Text(f"{column.title}\n[{column.unit}]"), justify="right", no_wrap=True)
    for row in summary.rows:
        name = f"{row.name} *" if row.name == summary.choice else row.name
        table.add_row(Text(name), *(Text(column.words(row)) for column in shown))
    return table


def summary_records(summary: Summary) -> list[list[object]]:
    """Headings and rows for a spreadsheet; empty where there is no value."""
    shown = columns(summary)
    headings: list[object] = ["variant", *(f"{column.title} [{column.unit}]" for column in shown), "keeps every limit"]
    rows: list[list[object]] = [
        [row.name, *(_cell(column.value(row)) for column in shown), row.keeps] for row in summary.rows
    ]
    return [headings, *rows]


def _cell(value: float | None) -> float | str:
    return "" if value is None else value


def summary_document(summary: Summary) -> dict[str, Any]:
    """Everything as plain values; SI units, levels in dB, prices as written."""
    return {
        "sentence": summary.sentence,
        "choice": summary.choice,
        "reference": summary.reference,
        "variants": [_row_document(row) for row in summary.rows],
    }


_UNITS = {
    "inductance": "H",
    "inductance_change": "H",
    "ring_frequency": "Hz",
    "peak_voltage": "V",
    "peak_error": "V",
    "overshoot": "1",
    "voltage_margin": "V",
    "pickup": "V",
    "emission_change": "dB",
    "emission_change_error": "dB",
    "emission_margin": "dB",
    "emission_band": "dB",
}


def _row_document(row: SummaryRow) -> dict[str, Any]:
    values = asdict(row)
    numbers = {f"{key}_{unit}": values[key] for key, unit in _UNITS.items()}
    return {
        "variant": row.name,
        **numbers,
        "price_per_board": values["price"],
        "price_change": row.price_change,
        "keeps_every_limit": row.keeps,
        "within_uncertainty": row.doubtful,
    }
