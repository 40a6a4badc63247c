"""Kinds of budgets, and budgets of a scenario judged by them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import Enum

from geometries.errors import GeometryError, ScenarioError, nearest
from geometries.quantities import Quantity, read_quantity
from geometries.study.scenario import Scenario


class Sense(Enum):
    """On which side of its limit a figure has to lie."""

    AT_MOST = "at most"
    AT_LEAST = "at least"


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetKind:
    """A figure that a budget may be set for.

    Parameters
    ----------
    key : str
        Its key in the file.
    figure : str
        Key of the headline figure that it limits.
    quantity : Quantity
        What the limit has to be.
    sense : Sense
        On which side of the limit the figure has to lie.
    needs : str
        Table of the scenario without which the figure is not computed; empty if it always is.
    """

    key: str
    figure: str
    quantity: Quantity
    sense: Sense = Sense.AT_MOST
    needs: str = ""


BUDGET_KINDS = (
    BudgetKind(key="loop_inductance", figure="loop_inductance_H", quantity=Quantity.INDUCTANCE),
    BudgetKind(key="whole_loop_inductance", figure="whole_loop_H", quantity=Quantity.INDUCTANCE, needs="placement"),
    BudgetKind(key="loop_resistance", figure="loop_resistance_ohm", quantity=Quantity.RESISTANCE),
    BudgetKind(key="peak_voltage", figure="peak_voltage_V", quantity=Quantity.VOLTAGE, needs="switching"),
    BudgetKind(key="overshoot", figure="overshoot_1", quantity=Quantity.FRACTION, needs="switching"),
    BudgetKind(key="feedback_noise", figure="feedback_noise_V", quantity=Quantity.VOLTAGE, needs="pickup"),
    BudgetKind(
        key="emission_margin",
        figure="emission_margin_dB",
        quantity=Quantity.DECIBEL,
        sense=Sense.AT_LEAST,
        needs="emission",
    ),
)
"""A further budget is a further line here, and its figure a further one in :mod:`solver.study.figures_of_merit`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedBudget:
    """A limit [SI] of one kind."""

    kind: BudgetKind
    limit: float

    def keeps(self, value: float) -> bool:
        """Whether a figure keeps it; the limit itself does."""
        return value <= self.limit if self.kind.sense is Sense.AT_MOST else value >= self.limit


def judge_budgets(table: Mapping[str, object], computed: Collection[str]) -> tuple[JudgedBudget, ...]:
    """Read the `[budgets]` table of a scenario file.

    Parameters
    ----------
    table : mapping
        Key to limit, text with a unit.
    computed : collection of str
        Tables that the scenario has.

    Returns
    -------
    tuple of JudgedBudget
        In the order of :data:`BUDGET_KINDS`.

    Raises
    ------
    ScenarioError
        If a key is not known, a limit cannot be read, or the scenario lacks the table that its figure needs.

    Examples
    --------
    >>> [(each.kind.figure, each.limit) for each in judge_budgets({"loop_inductance": "1.5 nH"}, ())]
    [('loop_inductance_H', 1.5e-09)]
    """
    known = [kind.key for kind in BUDGET_KINDS]
    for key in table:
        if key not in known:
            raise ScenarioError(f"budgets: unknown key {key!r}; {nearest(key, known)}")
    return tuple(_read(kind, table[kind.key], computed) for kind in BUDGET_KINDS if kind.key in table)


def _read(kind: BudgetKind, value: object, computed: Collection[str]) -> JudgedBudget:
    if kind.needs and kind.needs not in computed:
        raise ScenarioError(
            f"budgets: {kind.key} cannot be checked, because not all variants have what it needs; add the table "
            f"[{kind.needs}], or remove the budget"
        )
    try:
        limit = read_quantity(value, kind.quantity, kind.key)
    except GeometryError as error:
        raise ScenarioError(f"budgets: {error}") from error
    if kind.sense is Sense.AT_MOST and not limit > 0:
        raise ScenarioError(f'budgets: {kind.key} = "{value}" can never be kept; a limit lies above zero')
    return JudgedBudget(kind=kind, limit=limit)


def judged(scenario: Scenario) -> tuple[JudgedBudget, ...]:
    """The budgets of a scenario.

    Raises
    ------
    ScenarioError
        As for :func:`judge_budgets`.
    """
    with_victims = all(variant.pickup is not None for variant in scenario.variants)
    placed = all(variant.placed is not None for variant in scenario.variants)
    found = {
        "switching": scenario.switching is not None,
        "emission": scenario.emission is not None,
        "pickup": with_victims,
        "placement": placed,
    }
    computed = [name for name, there in found.items() if there]
    return judge_budgets({each.key: each.text for each in scenario.budgets}, computed)
