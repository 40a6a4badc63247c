"""Quantities with their unit in the text: "0.2 mm" becomes 0.0002. A units library does the reading."""

from __future__ import annotations

import math
from enum import Enum
from functools import cache
from tokenize import TokenError

import pint

from geometries.errors import GeometryError

MM = 1e-3
UM = 1e-6
MHZ = 1e6
NANO = 1e-9

OUNCE_COPPER = 34.8 * UM
"""Thickness of one ounce of copper per square foot, 1.37 mil (common practice); IPC-4562 lists 34.3 um for foil."""


_SMALLEST_SHOWN = 0.1 * (1 - 1e-9)
"""A value is shown in a unit if it is at least a tenth of it."""


class Quantity(Enum):
    """What a value measures: the unit it is stored in, and a text that would be accepted."""

    LENGTH = ("m", "0.2 mm")
    COPPER_THICKNESS = ("m", "35 um")
    ANGLE = ("degree", "12 deg")
    VOLTAGE = ("V", "24 V")
    CURRENT = ("A", "4 A")
    FREQUENCY = ("Hz", "100 MHz")
    TIME = ("s", "2 ns")
    RESISTANCE = ("ohm", "0.5 ohm")
    CAPACITANCE = ("F", "300 pF")
    INDUCTANCE = ("H", "0.4 nH")
    CHARGE = ("C", "20 nC")
    DECIBEL = ("dB", "6 dB")
    TEMPERATURE = ("degC", "85 degC")
    TEMPERATURE_DIFFERENCE = ("K", "40 K")
    CONDUCTIVITY = ("S/m", "58 MS/m")
    FRACTION = ("dimensionless", "0.1 %")
    AREA = ("m**2", "2 mm**2")
    FIELD_PER_CURRENT = ("1/m", "30 1/m")
    INDUCTANCE_PER_LENGTH = ("H/m", "0.14 nH/mm")
    RESISTANCE_PER_LENGTH = ("ohm/m", "0.3 ohm/m")
    CAPACITANCE_PER_LENGTH = ("F/m", "10 pF/m")
    NUMBER = ("", "4.4")
    COUNT = ("", "2")

    @property
    def unit(self) -> str:
        """Unit of the stored number."""
        return str(self.value[0])

    @property
    def example(self) -> str:
        """A text that is accepted."""
        return str(self.value[1])


_LENGTHS = ((MM, "mm"), (UM, "µm"))
_CONVENIENT: dict[Quantity, tuple[tuple[float, str], ...]] = {
    Quantity.LENGTH: _LENGTHS,
    Quantity.COPPER_THICKNESS: _LENGTHS,
    Quantity.ANGLE: ((1.0, "°"),),
    Quantity.TEMPERATURE: ((1.0, "°C"),),
    Quantity.FREQUENCY: ((1e9, "GHz"), (1e6, "MHz"), (1e3, "kHz"), (1.0, "Hz")),
    Quantity.CONDUCTIVITY: ((1e6, "MS/m"), (1.0, "S/m")),
    Quantity.FRACTION: ((0.01, "%"),),
    Quantity.VOLTAGE: ((1.0, "V"), (1e-3, "mV")),
    Quantity.TIME: ((1.0, "s"), (1e-3, "ms"), (1e-6, "µs"), (1e-9, "ns"), (1e-12, "ps")),
    Quantity.RESISTANCE: ((1.0, "Ω"), (1e-3, "mΩ")),
    Quantity.CAPACITANCE: ((1e-6, "µF"), (1e-9, "nF"), (1e-12, "pF")),
    Quantity.INDUCTANCE: ((1e-9, "nH"), (1e-12, "pH")),
    Quantity.CHARGE: ((1e-6, "µC"), (1e-9, "nC"), (1e-12, "pC")),
}
"""Units from large to small; a quantity that is not listed is shown in its stored unit."""


@cache
def _registry() -> pint.UnitRegistry[float]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define(f"ounce_copper = {OUNCE_COPPER!r} * meter")
    return registry


def read_quantity(value: object, quantity: Quantity, key: str = "value") -> float:
    """Read a quantity written as text with a unit.

    Parameters
    ----------
    value : object
        What stands in the file; only text with a number and a unit is accepted.
    quantity : Quantity
        What it has to be.
    key : str
        Name of the key, for the message.

    Returns
    -------
    float
        The value in SI units (degrees for angles, °C for temperatures).

    Raises
    ------
    GeometryError
        If the unit is missing, unknown or of another dimension; the message names the key and shows
        an accepted example.

    Examples
    --------
    >>> read_quantity("8 mil", Quantity.LENGTH)
    0.0002032
    >>> read_quantity("1 oz", Quantity.COPPER_THICKNESS)
    3.48e-05
    """
    hint = f'write it with its unit, for example {key} = "{quantity.example}"'
    if not isinstance(value, str):
        raise GeometryError(f"{key} is {value!r}, a bare value without a unit; {hint}")
    text = _with_trade_units(value.strip(), quantity)
    try:
        parsed: pint.Quantity[float] = _registry().Quantity(text)
        plain = parsed.units == _registry().dimensionless and "%" not in text
        if plain and quantity is not Quantity.FRACTION:
            raise GeometryError(f'{key} = "{value}" has no unit; {hint}')
        number = float(parsed.to(quantity.unit).magnitude)
    except pint.DimensionalityError as error:
        raise GeometryError(f'{key} = "{value}" is not a {_title(quantity)}; {hint}') from error
    except (pint.PintError, TokenError, ValueError, TypeError, AttributeError, SyntaxError) as error:
        if isinstance(error, GeometryError):
            raise
        raise GeometryError(f'{key} = "{value}" cannot be read as a {_title(quantity)}; {hint}') from error
    if not math.isfinite(number):
        raise GeometryError(f'{key} = "{value}" is not a finite number; {hint}')
    return float(f"{number:.15g}")


def read_number(value: object, key: str = "value") -> float:
    """Read a number without a unit, as a file writes it.

    Raises
    ------
    GeometryError
        If it is something else.

    Examples
    --------
    >>> read_number(4.4, "relative_permittivity")
    4.4
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < float("inf"):
        raise GeometryError(f"{key} is {value!r}; it is a number without a unit, for example {key} = 4.4")
    return float(value)


def convenient_unit(largest: float, quantity: Quantity) -> tuple[float, str]:
    """Unit in which values up to `largest` are easily read: its size in the stored unit, and its name.

    Examples
    --------
    >>> convenient_unit(0.002, Quantity.LENGTH), convenient_unit(35e-6, Quantity.LENGTH)
    ((0.001, 'mm'), (1e-06, 'µm'))
    """
    steps = _CONVENIENT.get(quantity, ((1.0, quantity.unit),))
    return next((step for step in steps if abs(largest) >= step[0] * _SMALLEST_SHOWN), steps[-1])


def write_quantity(value: float, quantity: Quantity) -> str:
    """A value as text with a convenient unit and up to five significant digits.

    Examples
    --------
    >>> write_quantity(0.0002, Quantity.LENGTH), write_quantity(85.0, Quantity.TEMPERATURE)
    ('0.2 mm', '85 °C')
    """
    size, unit = convenient_unit(value, quantity)
    return f"{value / size:.5g}{'' if unit == '°' else ' '}{unit}".rstrip().replace("-", "\N{MINUS SIGN}")


def _title(quantity: Quantity) -> str:
    return quantity.name.lower().replace("_", " ")


def _with_trade_units(text: str, quantity: Quantity) -> str:
    """A mil is a thousandth of an inch, not an angle; an ounce of copper is one per square foot, not a weight."""
    number, _, unit = text.rpartition(" ")
    if unit.lower() in {"mil", "mils"}:
        return f"{number} thou"
    if quantity is Quantity.COPPER_THICKNESS and unit.lower() in {"oz", "ounce"}:
        return f"{number} ounce_copper"
    return text
