"""Figures of merit as tables: the one way in which values, uncertainties and changes are shown and written."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from geometries.quantities import Quantity
from solver.notation import numbers
from solver.report.plain import finite
from solver.report.tables import Cell, Column, Record, Table
from solver.study.figures_of_merit import AnyFigure, Readings
from solver.variant.figure import Change, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRow:
    """What names a row (a variant, or the values of a point), and its readings."""

    labels: tuple[Cell, ...]
    readings: Readings


def value_words(figure: AnyFigure, reading: Reading) -> str:
    """Value and uncertainty in the figure's unit, with the digits that the uncertainty allows.

    Returns
    -------
    str
        For instance "1.097 ± 0.001"; a dash where there is no value.
    """
    if math.isnan(reading.value):
        return "–"
    if math.isinf(reading.value):
        return "unlimited"
    return numbers.with_uncertainty(reading.value, reading.uncertainty, figure.scale)


def change_columns(figure: AnyFigure) -> tuple[Column, ...]:
    """Headings of a figure's change: its unit, and percent where that says something; or decibels."""
    name = f"Δ{figure.symbol}"
    if figure.change is Change.DECIBELS:
        return (Column(name=name, unit="dB"),)
    inherent = Column(name=name, unit=figure.unit)
    return (inherent, Column(name=name, unit="%")) if _has_percent(figure) else (inherent,)


def change_cells(figure: AnyFigure, reading: Reading, base: Reading) -> tuple[Cell, ...]:
    """A figure against that of the reference, under :func:`change_columns`."""
    value, before = reading.value, base.value
    if not (math.isfinite(value) and math.isfinite(before)):
        return tuple(Cell(text="–") for _ in change_columns(figure))
    if figure.change is Change.DECIBELS:
        ratio = figure.decibels(value, before)
        return (Cell(text=numbers.decibel(ratio), value=ratio),)
    step = (value - before) / figure.scale
    decimals = numbers.decimals_for(value / figure.scale, reading.uncertainty / figure.scale)
    difference = Cell(text=numbers.fixed(step, decimals, signed=True), value=step)
    if not _has_percent(figure):
        return (difference,)
    if before == 0:
        return difference, Cell(text="–")
    return difference, Cell(text=numbers.percent(value / before - 1), value=100 * (value / before - 1))


def _has_percent(figure: AnyFigure) -> bool:
    """A level and a fraction are compared by their difference alone."""
    return figure.quantity not in (Quantity.DECIBEL, Quantity.FRACTION)


def figure_table(
    title: str,
    labels: Sequence[Column],
    rows: Sequence[FigureRow],
    figures: Sequence[AnyFigure],
    reference: FigureRow,
) -> Table:
    """Values of all figures with their uncertainties, and their changes against a reference.

    Parameters
    ----------
    title : str
        Says what the loop values stand for.
    labels : sequence of Column
        Headings of what names a row.
    rows : sequence of FigureRow
        For instance variants, or points of a sweep.
    figures : sequence of Figure
        Two or three columns each.
    reference : FigureRow
        One of the rows.

    Returns
    -------
    Table
    """
    headings = [
        heading
        for figure in figures
        for heading in (Column(name=figure.symbol, unit=figure.unit), *change_columns(figure))
    ]
    lines = [
        (
            *row.labels,
            *(cell for figure in figures for cell in (_value_cell(figure, row), *_change(figure, row, reference))),
        )
        for row in rows
    ]
    return Table(title=title, columns=(*labels, *headings), rows=tuple(lines), marked=reference.labels[0].text)


def brief_table(
    title: str,
    labels: Sequence[Column],
    rows: Sequence[FigureRow],
    figures: Sequence[AnyFigure],
    reference: FigureRow,
) -> Table:
    """The same for a terminal's width: of a ratio the decibels alone, of all else value and last change."""
    headings = [heading for figure in figures for heading in _brief_columns(figure)]
    lines = [
        (*row.labels, *(cell for figure in figures for cell in _brief_cells(figure, row, reference))) for row in rows
    ]
    return Table(title=title, columns=(*labels, *headings), rows=tuple(lines), marked=reference.labels[0].text)


def _brief_columns(figure: AnyFigure) -> tuple[Column, ...]:
    last = change_columns(figure)[-1]
    if figure.change is Change.DECIBELS:
        return (Column(name=figure.symbol, unit="Δ dB"),)
    return Column(name=figure.symbol, unit=figure.unit), Column(name="Δ", unit=last.unit)


def _brief_cells(figure: AnyFigure, row: FigureRow, reference: FigureRow) -> tuple[Cell, ...]:
    last = _change(figure, row, reference)[-1]
    return (last,) if figure.change is Change.DECIBELS else (_value_cell(figure, row), last)


def _value_cell(figure: AnyFigure, row: FigureRow) -> Cell:
    reading = row.readings[figure.key]
    return Cell(text=value_words(figure, reading), value=finite(reading.value / figure.scale))


def _change(figure: AnyFigure, row: FigureRow, reference: FigureRow) -> tuple[Cell, ...]:
    return change_cells(figure, row.readings[figure.key], reference.readings[figure.key])


def figure_records(
    labels: Sequence[Column], rows: Iterable[FigureRow], figures: Sequence[AnyFigure], reference: FigureRow
) -> Iterator[Record]:
    """Lines for a spreadsheet, the headings first: of every figure value, uncertainty and changes in its unit."""
    yield [
        *(f"{label.name} [{label.unit}]" if label.unit else label.name for label in labels),
        *(heading for figure in figures for heading in _record_headings(figure)),
    ]
    for row in rows:
        cells = [cell for figure in figures for cell in _record_cells(figure, row, reference)]
        yield [*(label.text if label.value is None else label.value for label in row.labels), *cells]


def _record_headings(figure: AnyFigure) -> Iterator[str]:
    yield f"{figure.title} [{figure.unit}]"
    yield f"uncertainty of {figure.title} [{figure.unit}]"
    yield from (f"change of {figure.title} [{column.unit}]" for column in change_columns(figure))


def _record_cells(figure: AnyFigure, row: FigureRow, reference: FigureRow) -> Iterator[object]:
    reading = row.readings[figure.key]
    for value in (reading.value, reading.uncertainty):
        yield value / figure.scale if math.isfinite(value) else ""
    for cell in _change(figure, row, reference):
        yield "" if cell.value is None else cell.value


def figure_values(figures: Iterable[AnyFigure], readings: Readings) -> Mapping[str, Mapping[str, Any]]:
    """Every figure by its key for documents: value and uncertainty in SI, None where there is no number, and unit."""
    return {
        figure.key: {
            "value": finite(readings[figure.key].value),
            "uncertainty": finite(readings[figure.key].uncertainty),
            "unit": figure.quantity.unit,
        }
        for figure in figures
    }
