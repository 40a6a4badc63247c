"""Tables of comma-separated values that a scenario names: headings, then one entry per heading on every line."""

from __future__ import annotations

import csv
from collections.abc import Collection, Sequence
from pathlib import Path

from geometries.errors import ScenarioError, shown
from geometries.quantity_text import plain_number
from geometries.text_files import read_text_file, shown_path

Row = tuple[str, dict[str, str]]
"""Where a line stands, for messages, and its entries by heading."""

_LONGEST_LINE = 1000


def read_comma_table(path: Path, headings: Sequence[str], *, optional: Collection[str] = (), what: str) -> list[Row]:
    """Read a table from a file.

    Parameters
    ----------
    path : Path
        Text in UTF-8. Lines that start with # are remarks.
    headings : sequence of str
        That there must be.
    optional : collection of str
        That there may be.
    what : str
        What one line is, in the plural, for messages: "limits".

    Returns
    -------
    list of (str, dict)
        At least one line.

    Raises
    ------
    ScenarioError
        If the file cannot be read or a line does not fit its headings; the message names file and line.
    """
    text = read_text_file(path, f"file of {what}")
    place = shown_path(path)
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if _counts(line)]
    if len(lines) < 2:
        raise ScenarioError(f"{place}: no {what} in it; write {','.join(headings)} and below it one line for each")
    found = _headings(f"{place}: line {lines[0][0]}", lines[0][1], headings, optional)
    rows = []
    for number, line in lines[1:]:
        cells = _cells(f"{place}: line {number}", line)
        if len(cells) != len(found):
            raise ScenarioError(
                f"{place}: line {number}: {len(cells)} entries under {len(found)} headings; write one under each"
            )
        rows.append((f"{place}: line {number}", dict(zip(found, cells, strict=True))))
    return rows


def _headings(place: str, line: str, headings: Sequence[str], optional: Collection[str]) -> list[str]:
    """The headings in lower case. Foreign ones are not quoted: the file may be another than was meant."""
    found = [cell.lower() for cell in _cells(place, line)]
    wanted = ", ".join(headings) + (f" and, if wanted, {', '.join(optional)}" if optional else "")
    if not set(headings) <= set(found) <= {*headings, *optional}:
        raise ScenarioError(f"{place}: the headings must be {wanted}; write them above the values")
    if len(set(found)) < len(found):
        raise ScenarioError(f"{place}: a heading stands twice; they must be {wanted}, each once")
    return found


def read_level(cell: str, place: str) -> float:
    """A level [dBµV/m], written as a bare number.

    Raises
    ------
    ScenarioError
        If it is not a number.
    """
    level = plain_number(cell)
    if level is None:
        raise ScenarioError(f"{place}: level is {shown(cell)}; write a number in dBµV/m, for example 40")
    return level


def _counts(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _cells(place: str, line: str) -> list[str]:
    if len(line) > _LONGEST_LINE:
        raise ScenarioError(f"{place}: is {len(line)} characters long; at most {_LONGEST_LINE} are read")
    return [cell.strip() for cell in next(csv.reader([line]))]
