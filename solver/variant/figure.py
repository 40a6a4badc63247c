"""A figure of merit: one quantity that variants are judged by, declared once and shown everywhere alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Generic, TypeVar

from geometries.quantities import MHZ, MM, NANO, Quantity
from geometries.study.scenario import Scenario
from solver.notation.decibels import decibels
from solver.variant.needs import Need, Needs

O = TypeVar("O")  # noqa: E741 - what a figure is read from


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A value and its uncertainty to both sides, zero where none is estimated [SI].

    Parameters
    ----------
    value : float
        [SI].
    uncertainty : float
        To both sides [SI]; zero where none is estimated.

    Examples
    --------
    >>> from solver import Reading
    >>> Reading(value=1.1e-9, uncertainty=0.02e-9).uncertainty
    2e-11
    """

    value: float
    uncertainty: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """How values are shown: what they measure, the unit of tables, and that unit in SI units."""

    quantity: Quantity
    unit: str
    scale: float


NANOHENRY = Shown(quantity=Quantity.INDUCTANCE, unit="nH", scale=NANO)
MILLIOHM = Shown(quantity=Quantity.RESISTANCE, unit="mΩ", scale=1e-3)
VOLT = Shown(quantity=Quantity.VOLTAGE, unit="V", scale=1.0)
MILLIVOLT = Shown(quantity=Quantity.VOLTAGE, unit="mV", scale=1e-3)
MEGAHERTZ = Shown(quantity=Quantity.FREQUENCY, unit="MHz", scale=MHZ)
PERCENT = Shown(quantity=Quantity.FRACTION, unit="%", scale=1e-2)
NUMBER = Shown(quantity=Quantity.FRACTION, unit="1", scale=1.0)
DECIBEL = Shown(quantity=Quantity.DECIBEL, unit="dB", scale=1.0)
FIELD_PER_AMPERE = Shown(quantity=Quantity.FIELD_PER_CURRENT, unit="A/m per A", scale=1.0)
MILLIMETRE = Shown(quantity=Quantity.LENGTH, unit="mm", scale=MM)
SQUARE_MILLIMETRE = Shown(quantity=Quantity.AREA, unit="mm²", scale=MM**2)
NANOHENRY_PER_MM = Shown(quantity=Quantity.INDUCTANCE_PER_LENGTH, unit="nH/mm", scale=NANO / MM)
PICOHENRY_PER_MM = Shown(quantity=Quantity.INDUCTANCE_PER_LENGTH, unit="pH/mm", scale=1e-9)
OHM_PER_METRE = Shown(quantity=Quantity.RESISTANCE_PER_LENGTH, unit="Ω/m", scale=1.0)
FEMTOFARAD_PER_MM = Shown(quantity=Quantity.CAPACITANCE_PER_LENGTH, unit="fF/mm", scale=1e-12)


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
    shown : Shown
        What it measures, and the unit it is shown in.
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

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import known_figures
    >>> figure = known_figures(read_builtin_scenario("weather-station"))[0]
    >>> figure.key, figure.title, figure.unit, figure.sense.value
    ('loop_inductance', 'loop inductance', 'nH', 'at most')
    """

    key: str
    symbol: str
    title: str
    shown: Shown
    read: Callable[[O], Reading]
    needs: Needs = frozenset({Need.BROADBAND})
    sense: Sense = Sense.LESS
    change: Change = Change.DIFFERENCE
    floor: float = 0.0
    headline: bool = False
    known: Callable[[Scenario], bool] = lambda scenario: True

    @property
    def quantity(self) -> Quantity:
        """What it measures: gives its SI unit, and how a limit of it is written."""
        return self.shown.quantity

    @property
    def unit(self) -> str:
        """Unit it is shown in."""
        return self.shown.unit

    @property
    def scale(self) -> float:
        """That unit in SI units."""
        return self.shown.scale

    def decibels(self, value: float, reference: float) -> float:
        """Ratio of two values in decibels; those that the solution does not resolve count as the floor."""
        return decibels(value, reference, self.floor)
