"""Frozen values as plain ones for JSON: one walk for all of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

import numpy as np

from geometries.board.stackup import Stackup
from geometries.layout.placement_copper import PlacementPlan
from geometries.layout.placements import PlacedLoop
from geometries.section.section import CrossSection
from geometries.study.scenario import Scenario, Variant
from solver.circuit.rl_network import BroadbandModel
from solver.section.results import FieldMap, PotentialMap
from solver.variant.figure import Figure

_LEFT_OUT = (
    FieldMap,
    PotentialMap,
    BroadbandModel,
    CrossSection,
    Stackup,
    Scenario,
    Variant,
    PlacedLoop,
    PlacementPlan,
)
"""Meshes, sampled fields and descriptions: they are in files of their own, or in the scenario's text."""


def plain(value: object) -> Any:
    """A value as JSON can hold it.

    Parameters
    ----------
    value : object
        Numbers, texts, arrays, enumerations, mappings, tuples and frozen dataclasses of these.

    Returns
    -------
    object
        Dataclasses as objects by field, without fields that hold a mesh, a sampled field or a description; complex
        numbers as real and imaginary part; None for numbers that JSON does not have.

    Raises
    ------
    TypeError
        For anything else.
    """
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, int | float | complex | np.generic):
        return _number(value)
    if isinstance(value, np.ndarray):
        return _array(value)
    if isinstance(value, Figure):
        return value.key
    if is_dataclass(value):
        return _fields(value)
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, tuple | list | frozenset):
        return [plain(each) for each in value]
    raise TypeError(f"{type(value).__name__} has no plain form; leave it out, or write its numbers into a dataclass")


def finite(value: float) -> float | None:
    """The number, or None where JSON has none for it."""
    return value if math.isfinite(value) else None


def _number(value: Any) -> Any:
    number = value.item() if isinstance(value, np.generic) else value
    if isinstance(number, complex):
        return {"real": finite(number.real), "imag": finite(number.imag)}
    return number if isinstance(number, bool | int) else finite(number)


def _array(values: np.ndarray[Any, Any]) -> Any:
    if np.iscomplexobj(values):
        return {"real": _array(values.real), "imag": _array(values.imag)}
    return values.tolist() if np.isfinite(values).all() else plain(values.tolist())


def _fields(value: Any) -> dict[str, Any]:
    held = {each.name: getattr(value, each.name) for each in fields(value)}
    return {name: plain(each) for name, each in held.items() if not isinstance(each, _LEFT_OUT)}
