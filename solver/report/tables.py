"""A table as words with the numbers behind them: the same value for terminal, page and spreadsheet."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.box import SIMPLE_HEAD
from rich.table import Table as RichTable
from rich.text import Text

from solver.notation.safe_text import spreadsheet_cell

Record = Sequence[object]

_EDGES = 2
_NARROWEST = 8
_NAME = 22
"""Names of rows fold at this width, headings of narrow columns at the other [characters]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A heading: name and unit, and whether its cells are words."""

    name: str
    unit: str = ""
    words: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What is read in a cell, and the number that it is sorted by, if it holds one."""

    text: str
    value: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under headings.

    Parameters
    ----------
    title : str
        What the numbers are; may be empty.
    columns : tuple of Column
        One per cell of a row.
    rows : tuple of tuple of Cell
        The first cell names the row.
    marked : str
        Name of the row that is marked, for instance the reference; may be empty.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    marked: str = ""


def words_table(title: str, headings: Sequence[Column], rows: Iterable[Sequence[str]], marked: str = "") -> Table:
    """A table of words alone, whose first column names its rows."""
    cells = tuple(tuple(Cell(text=text) for text in row) for row in rows)
    return Table(title=title, columns=tuple(headings), rows=cells, marked=marked)


def named(name: str = "variant") -> Column:
    """The heading of the column that names the rows."""
    return Column(name=name, words=True)


def columns(*headings: tuple[str, str]) -> tuple[Column, ...]:
    """Headings of numbers, from pairs of name and unit."""
    return tuple(Column(name=name, unit=unit) for name, unit in headings)


def terminal_table(table: Table) -> RichTable:
    """The table for the terminal; names fold, numbers do not."""
    shown = RichTable(
        title=Text(table.title) if table.title else None,
        title_justify="left",
        box=SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
        padding=(0, 1, 0, 0),
    )
    for number, column in enumerate(table.columns):
        shown.add_column(
            Text(_heading(table, number)),
            justify="left" if column.words else "right",
            overflow="fold",
            no_wrap=not column.words,
            min_width=_shown_name(table) if number == 0 else None,
        )
    for row in table.rows:
        shown.add_row(*(Text(cell.text) for cell in row))
    return shown


def _heading(table: Table, number: int) -> str:
    """Name and unit of a column, broken into lines about as wide as its cells."""
    column = table.columns[number]
    widest = max((len(row[number].text) for row in table.rows), default=0)
    name = textwrap.fill(column.name, max(_NARROWEST, widest), break_long_words=False)
    return f"{name}\n[{column.unit}]" if column.unit else name


def fitted(table: Table, width: int) -> tuple[Table, ...]:
    """The table in as many pieces as a terminal's width asks for, each with the first column.

    Parameters
    ----------
    table : Table
        Any.
    width : int
        Characters to a line.

    Returns
    -------
    tuple of Table
        The title stands over the first.
    """
    widths, room = [_width(table, number) for number in range(len(table.columns))], width - _EDGES
    pieces: list[list[int]] = [[]]
    for number in range(1, len(table.columns)):
        if pieces[-1] and _shown_name(table) + 2 + sum(widths[each] for each in pieces[-1]) + widths[number] > room:
            pieces.append([])
        pieces[-1].append(number)
    return tuple(_piece(table, [0, *piece], first=piece is pieces[0]) for piece in pieces)


def _width(table: Table, number: int) -> int:
    """Of a column, with the spaces round it."""
    cells = [len(row[number].text) for row in table.rows]
    return max([*cells, *map(len, _heading(table, number).split("\n"))]) + 2


def _shown_name(table: Table) -> int:
    """Width of the first column, in which longer names fold."""
    return min(_NAME, _width(table, 0) - 2)


def _piece(table: Table, numbers: Sequence[int], *, first: bool) -> Table:
    return Table(
        title=table.title if first else "",
        columns=tuple(table.columns[number] for number in numbers),
        rows=tuple(tuple(row[number] for number in numbers) for row in table.rows),
        marked=table.marked,
    )


def records(table: Table) -> Iterator[Record]:
    """Lines for a spreadsheet, the headings first; numbers as they are, where a cell holds one."""
    yield [f"{column.name} [{column.unit}]" if column.unit else column.name for column in table.columns]
    for row in table.rows:
        yield [cell.text if cell.value is None else cell.value for cell in row]


def table_text(lines: Iterable[Record]) -> str:
    """Lines of a table as CSV; numbers with ten digits."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    for line in lines:
        writer.writerow([f"{cell:.10g}" if isinstance(cell, float) else spreadsheet_cell(cell) for cell in line])
    return buffer.getvalue()
