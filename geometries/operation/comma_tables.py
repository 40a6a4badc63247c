"""Tables of comma-separated values that a scenario names: headings, then one entry per heading on every line."""

from __future__ import annotations

import csv
from collections.abc import Collection, Sequence
from pathlib import Path

from geometries.errors import ScenarioError

Row = tuple[str, dict[str, str]]
"""Where a line stands, for messages, and its entries by heading."""


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
    lines = [(number, line) for number, line in enumerate(_read(path, what).splitlines(), start=1) if _counts(line)]
    if len(lines) < 2:
        raise ScenarioError(f"{path}: no {what} in it; write {','.join(headings)} and below it one line for each")
    found = [cell.lower() for cell in _cells(lines[0][1])]
    if not set(headings) <= set(found) <= {*headings, *optional}:
        wanted = f" and, if wanted, {', '.join(optional)}" if optional else ""
        raise ScenarioError(
            f"{path}: line {lines[0][0]}: the headings are {', '.join(found)}; they must be "
            f"{', '.join(headings)}{wanted}"
        )
    rows = []
    for number, line in lines[1:]:
        place, cells = f"{path}: line {number}", _cells(line)
        if len(cells) != len(found):
            raise ScenarioError(f"{place}: {len(cells)} entries under {len(found)} headings; write one under each")
        rows.append((place, dict(zip(found, cells, strict=True))))
    return rows


def read_level(cell: str, place: str) -> float:
    """A level [dBµV/m], written as a bare number.

    Raises
    ------
    ScenarioError
        If it is not a number.
    """
    try:
        return float(cell)
    except ValueError as error:
        raise ScenarioError(f"{place}: level is {cell!r}; write a number in dBµV/m, for example 40") from error


def _read(path: Path, what: str) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise ScenarioError(f"{path}: there is no such file of {what}; check the path") from error
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{path}: not a text file in UTF-8; {what} are a CSV text file") from error
    except OSError as error:
        raise ScenarioError(f"{path}: cannot be read ({error.strerror}); check the path and its permissions") from error


def _counts(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line]))]
