"""Budgets of a scenario: limits of its figures that every variant is asked to keep, as they are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from geometries.errors import ScenarioError


class Decision(Enum):
    """Which value of a figure has to keep its limit.

    Examples
    --------
    >>> Decision("worst") is Decision.WORST
    True
    """

    NOMINAL = "nominal"
    WORST = "worst"


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """A limit of a figure, not judged yet: who computes the figure knows its unit and which side is the good one.

    Parameters
    ----------
    key : str
        Key of the figure.
    text : str
        The limit with its unit, as it is written.
    decide : Decision
        Whether the nominal value has to keep it, or the worst within the figure's uncertainty.

    Examples
    --------
    >>> from geometries import Budget
    >>> Budget(key="loop_inductance", text="1.5 nH").text
    '1.5 nH'
    """

    key: str
    text: str
    decide: Decision = Decision.NOMINAL


def read_budgets(table: Mapping[str, object]) -> tuple[Budget, ...]:
    """The limits of a `[budgets]` table, in their order; its key `decide` says how all of them are judged.

    Raises
    ------
    ScenarioError
        If one is not text, or there is no such decision.

    Examples
    --------
    >>> read_budgets({"loop_inductance": "1.5 nH"})
    (Budget(key='loop_inductance', text='1.5 nH', decide=<Decision.NOMINAL: 'nominal'>),)
    """
    decide = _decision(table.get("decide", Decision.NOMINAL.value))
    return tuple(_read(key, value, decide) for key, value in table.items() if key != "decide")


def _decision(value: object) -> Decision:
    known = {each.value: each for each in Decision}
    if not isinstance(value, str) or value not in known:
        raise ScenarioError(f'budgets: decide is {value!r}; write decide = "nominal" or decide = "worst"')
    return known[value]


def _read(key: str, value: object, decide: Decision) -> Budget:
    if not isinstance(value, str):
        raise ScenarioError(
            f"budgets: {key} is {value!r}, a bare value without a unit; write it with its unit, for example "
            f'{key} = "1.5 nH"'
        )
    return Budget(key=key, text=value, decide=decide)
