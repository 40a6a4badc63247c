"""A figure of merit: one quantity that variants are judged by, declared once and shown everywhere alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Generic, TypeVar

from geometries.quantities import Quantity
from geometries.study.scenario import Scenario
from solver.notation.decibels import decibels
from solver.variant.needs import Need, Needs

O = TypeVar("O")  # noqa: E741 - what a figure is read from


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A value and its uncertainty to both sides, zero where none is estimated [SI]."""

    value: float
    uncertainty: float = 0.0


class Sense(Enum):
    """Which way a figure is better, and on which side of a limit it has to lie."""

    LESS = "at most"
    MORE = "at least"
    NEITHER = "stated"


class Change(Enum):
    """How a figure of two variants is compared."""

    DIFFERENCE = "difference, and in percent of the reference"
    DECIBELS = "ratio in decibels"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure(Generic[O]):
    """One figure of merit.

    Parameters
    ----------
    key : str
        Its name in files and documents.
    symbol : str
        Its symbol in tables.
    title : str
        Its name on pages.
    quantity : Quantity
        What it measures: gives its SI unit, and how a limit of it is written.
    unit, scale : str, float
        Unit it is shown in, and that unit in SI units.
    read : callable
        Its reading from what its analysis finds of one variant.
    needs : frozenset of Need
        What has to be solved for it beside the section's field at the report frequency.
    sense : Sense
        Which way it is better.
    change : Change
        How two variants are compared.
    floor : float
        What the solution does not resolve [SI]; smaller values count as it where ratios are formed.
    headline : bool
        Whether tables, sweeps and tolerances hold it unless others are asked for.
    known : callable
        Whether a scenario whose analysis is asked for has it at all.
    """

    key: str
    symbol: str
    title: str
    quantity: Quantity
    unit: str
    scale: float
    read: Callable[[O], Reading]
    needs: Needs = frozenset({Need.BROADBAND})
    sense: Sense = Sense.LESS
    change: Change = Change.DIFFERENCE
    floor: float = 0.0
    headline: bool = False
    known: Callable[[Scenario], bool] = lambda scenario: True

    def decibels(self, value: float, reference: float) -> float:
        """Ratio of two values in decibels; those that the solution does not resolve count as the floor."""
        return decibels(value, reference, self.floor)
