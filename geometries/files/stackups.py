"""The table of named board constructions."""

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
    """Return the construction called `name` from the built-in table.

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
        If no construction has that name; the message shows the nearest one.

    Examples
    --------
    >>> named_stackup("4L-7628").copper_names
    ('L1', 'L2', 'L3', 'L4')
    """
    if name not in _table():
        raise GeometryError(f"unknown construction {name!r}; {nearest(name, list(_table()))}")
    return replace(_table()[name], copper=copper)


def stackup_names() -> tuple[str, ...]:
    """Names of all built-in constructions."""
    return tuple(_table())


@cache
def stackup_tables() -> dict[str, Any]:
    """The built-in table as it is written, to start a construction of one's own from."""
    return tomllib.loads(resources.files("geometries.files").joinpath("stackups.toml").read_text(encoding="utf-8"))


@cache
def _table() -> dict[str, Stackup]:
    return {name: read_table(Stackup, {**table, "name": name}) for name, table in stackup_tables().items()}
