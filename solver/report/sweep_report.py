"""A sweep as tables and as a document: its figures at every point, against the first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from geometries.quantities import convenient_unit
from solver.report.documents import headed, warning_documents
from solver.report.figure_tables import FigureRow, brief_table, figure_records, figure_table, figure_values
from solver.report.tables import Cell, Column, Record, Table
from solver.study.basis import described_basis
from solver.study.sweep import SweepResult, SweepRow
from solver.study.warnings import always

_SHORT_TABLE = 24
_FEW_FIGURES = 4


def loop_basis(result: SweepResult) -> str:
    """What the loop values of the varied variant stand for."""
    scenario = result.sweep.scenario
    return described_basis(each for each in scenario.variants if each.name == result.sweep.variant)


def axis_columns(result: SweepResult) -> tuple[Column, ...]:
    """Headings of the varied keys, in the unit that suits the largest value of each."""
    return tuple(
        Column(name=axis.key, unit=unit) for axis, (_, unit) in zip(result.sweep.axes, _units(result), strict=True)
    )


def _units(result: SweepResult) -> list[tuple[float, str]]:
    return [convenient_unit(max(map(abs, axis.values)), axis.quantity) for axis in result.sweep.axes]


def _figure_row(result: SweepResult, row: SweepRow) -> FigureRow:
    shown = [value / size for value, (size, _) in zip(row.values, _units(result), strict=True)]
    labels = tuple(Cell(text=f"{value:.4g}".replace("-", "\N{MINUS SIGN}"), value=value) for value in shown)
    return FigureRow(labels=labels, readings=row.point.readings)


def sweep_page_table(result: SweepResult) -> Table:
    """Every point: values with their uncertainties, and changes against the first point."""
    rows = [_figure_row(result, row) for row in result.rows]
    return figure_table("", axis_columns(result), rows, result.figures, rows[0])


def few_points_table(result: SweepResult, rows: Sequence[SweepRow]) -> Table:
    """The first figures at some of the points."""
    shown = [_figure_row(result, row) for row in rows]
    return brief_table("", axis_columns(result), shown, result.figures[:_FEW_FIGURES], shown[0])


def sweep_table(result: SweepResult) -> Table:
    """For the terminal; of a long sweep only points at even distances."""
    rows = [_figure_row(result, row) for row in result.rows]
    shown = rows[:: -(-len(rows) // _SHORT_TABLE)]
    title = f"Loop values: {loop_basis(result)}; Δ against the first point"
    if len(shown) < len(rows):
        title += f"; {len(shown)} of {len(rows)} points"
    return brief_table(title, axis_columns(result), shown, result.figures, rows[0])


def sweep_records(result: SweepResult) -> Iterator[Record]:
    """Lines for a spreadsheet, the headings first."""
    if not result.rows:
        return
    rows = [_figure_row(result, row) for row in result.rows]
    labels = (Column(name="point"), *axis_columns(result))
    numbered = [
        FigureRow(labels=(Cell(text=str(row.index)), *shown.labels), readings=shown.readings)
        for row, shown in zip(result.rows, rows, strict=True)
    ]
    yield from figure_records(labels, numbered, result.figures, rows[0])


def sweep_document(result: SweepResult) -> dict[str, Any]:
    """All inputs and numbers of a sweep as plain values.

    Parameters
    ----------
    result : SweepResult
        Finished.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`.
    """
    sweep, scenario = result.sweep, result.sweep.scenario
    return {
        **headed("sweep", scenario),
        "complete": not result.failures,
        "finding": result.finding,
        "variant": sweep.variant,
        "basis": loop_basis(result),
        "vary": [{"key": axis.key, "unit": axis.quantity.unit, "values": list(axis.values)} for axis in sweep.axes],
        "scenario_text": scenario.text,
        "points": [_point_document(result, row) for row in result.rows],
        "not_solved": [
            {"point": each.index, "values": list(each.values), "reason": each.message} for each in result.failures
        ],
        "warnings": warning_documents(always()),
        "versions": dict(result.versions),
    }


def _point_document(result: SweepResult, row: SweepRow) -> dict[str, Any]:
    return {
        "point": row.index,
        "values": list(row.values),
        "figures": figure_values(result.figures, row.point.readings),
        "warnings": list(row.point.warnings),
        "seconds": row.point.seconds,
    }


def warning_lines(result: SweepResult) -> tuple[str, ...]:
    """The warnings that hold for all points, and how many points each of the others concerns."""
    counts = Counter(code for row in result.rows for code in row.point.warnings)
    return (
        *(f"{each.code}: {each.text}" for each in always()),
        *(f"{code}: at {count} of {len(result.rows)} points" for code, count in counts.items()),
    )
