"""A table as words with the numbers behind them: the same value for terminal, page and spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.box import SIMPLE_HEAD
from rich.table import Table as RichTable
from rich.text import Text

Record = Sequence[object]


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
        heading = Text(f"{column.name}\n[{column.unit}]" if column.unit else column.name)
        shown.add_column(
            heading,
            justify="left" if column.words else "right",
            overflow="fold",
            no_wrap=not column.words,
            min_width=12 if number == 0 and column.words else None,
        )
    for row in table.rows:
        shown.add_row(*(Text(cell.text) for cell in row))
    return shown


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
        writer.writerow([f"{cell:.10g}" if isinstance(cell, float) else cell for cell in line])
    return buffer.getvalue()
