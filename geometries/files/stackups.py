"""The table of named board stackups."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import Any

from geometries.board.materials import COPPER, Conductor
from geometries.board.stackup import Stackup
from geometries.errors import GeometryError, nearest
from geometries.tables import read_table


def named_stackup(name: str, copper: Conductor = COPPER) -> Stackup:
    """Return the stackup called `name` from the built-in table.

    Parameters
    ----------
    name : str
        For instance "4L-7628"; see :func:`stackup_names`.
    copper : Conductor
        Metal of its copper layers.

    Returns
    -------
    Stackup

    Raises
    ------
    GeometryError
        If no stackup has that name; the message shows the nearest one.

    Examples
    --------
    >>> named_stackup("4L-7628").copper_names
    ('L1', 'L2', 'L3', 'L4')
    """
    if name not in _table():
        raise GeometryError(f"unknown stackup {name!r}; {nearest(name, list(_table()))}")
    return replace(_table()[name], copper=copper)


def stackup_names() -> tuple[str, ...]:
    """Names of all built-in stackups.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> from geometries import stackup_names
    >>> "4L-7628" in stackup_names()
    True
    """
    return tuple(_table())


@cache
def stackup_tables() -> dict[str, Any]:
    """The built-in table as it is written, to start a stackup of one's own from."""
    return tomllib.loads(resources.files("geometries.files").joinpath("stackups.toml").read_text(encoding="utf-8"))


@cache
def _table() -> dict[str, Stackup]:
    return {name: read_table(Stackup, {**table, "name": name}) for name, table in stackup_tables().items()}
