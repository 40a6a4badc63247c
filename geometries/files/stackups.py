"""The table of named board constructions."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any

from geometries.board.materials import COPPER, Conductor
from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.errors import GeometryError, nearest
from geometries.files.schema import LayerTable, StackupTable


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
    >>> named_construction("4L-7628").copper_names
    ('L1', 'L2', 'L3', 'L4')
    """
    if name not in _table():
        raise GeometryError(f"unknown construction {name!r}; {nearest(name, list(_table()))}")
    return build_stackup(name, _table()[name], copper)


def stackup_names() -> tuple[str, ...]:
    """Names of all built-in constructions."""
    return tuple(_table())


def build_stackup(name: str, table: StackupTable, copper: Conductor) -> Stackup:
    """Build the stackup that a table describes."""
    layers = tuple(_layer(layer) for layer in table.layers)
    return Stackup(name=name, layers=layers, copper=copper, note=table.note)


@cache
def stackup_tables() -> dict[str, Any]:
    """The built-in table as it is written, to start a construction of one's own from."""
    return tomllib.loads(resources.files("geometries.files").joinpath("stackups.toml").read_text(encoding="utf-8"))


@cache
def _table() -> dict[str, StackupTable]:
    return {name: StackupTable.model_validate(table) for name, table in stackup_tables().items()}


def _layer(layer: LayerTable) -> CopperLayer | DielectricLayer:
    if layer.copper:
        return CopperLayer(name=layer.copper, thickness=layer.thickness)
    return DielectricLayer(
        name=layer.dielectric,
        thickness=layer.thickness,
        relative_permittivity=layer.relative_permittivity,
    )
