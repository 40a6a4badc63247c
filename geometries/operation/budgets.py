"""Budgets of a scenario: limits of its figures that every variant is asked to keep, as they are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geometries.errors import ScenarioError


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """A limit of a figure, not judged yet: who computes the figure knows its unit and which side is the good one.

    Parameters
    ----------
    key : str
        Key of the figure.
    text : str
        The limit with its unit, as it is written.

    Examples
    --------
    >>> from geometries import Budget
    >>> Budget(key="loop_inductance", text="1.5 nH").text
    '1.5 nH'
    """

    key: str
    text: str


def read_budgets(table: Mapping[str, object]) -> tuple[Budget, ...]:
    """The limits of a `[budgets]` table, in their order.

    Raises
    ------
    ScenarioError
        If one is not text.

    Examples
    --------
    >>> read_budgets({"loop_inductance": "1.5 nH"})
    (Budget(key='loop_inductance', text='1.5 nH'),)
    """
    return tuple(_read(key, value) for key, value in table.items())


def _read(key: str, value: object) -> Budget:
    if not isinstance(value, str):
        raise ScenarioError(
            f"budgets: {key} is {value!r}, a bare value without a unit; write it with its unit, for example "
            f'{key} = "1.5 nH"'
        )
    return Budget(key=key, text=value)
