"""Quantities with their unit in the text: "0.2 mm" becomes 0.0002. A strict grammar reads, a units library converts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from enum import Enum
from functools import cache
from types import MappingProxyType

import pint

from geometries.errors import GeometryError, shown
from geometries.quantity_text import split_quantity

MM = 1e-3
UM = 1e-6
MHZ = 1e6
NANO = 1e-9

OUNCE_COPPER = 34.8 * UM
"""Thickness of one ounce of copper per square foot, 1.37 mil (common practice); IPC-4562 lists 34.3 um for foil."""


_ROUNDING = 1e-9
_DIGITS = 5
"""A value is shown with so many significant digits."""


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


_LENGTHS = ((1.0, "m"), (MM, "mm"), (UM, "µm"), (1e-9, "nm"))
_LEAST = {"mm": 0.1}
"""Boards are dimensioned in millimetres down to a tenth, as "0.2 mm"; all else from one of its unit up, as "200 ps"."""

_CONVENIENT: dict[Quantity, tuple[tuple[float, str], ...]] = {
    Quantity.LENGTH: _LENGTHS,
    Quantity.COPPER_THICKNESS: _LENGTHS,
    Quantity.ANGLE: ((1.0, "°"),),
    Quantity.TEMPERATURE: ((1.0, "°C"),),
    Quantity.FREQUENCY: ((1e9, "GHz"), (1e6, "MHz"), (1e3, "kHz"), (1.0, "Hz")),
    Quantity.CONDUCTIVITY: ((1e6, "MS/m"), (1e3, "kS/m"), (1.0, "S/m")),
    Quantity.FRACTION: ((0.01, "%"),),
    Quantity.VOLTAGE: ((1e3, "kV"), (1.0, "V"), (1e-3, "mV"), (1e-6, "µV")),
    Quantity.CURRENT: ((1.0, "A"), (1e-3, "mA"), (1e-6, "µA")),
    Quantity.TIME: ((1.0, "s"), (1e-3, "ms"), (1e-6, "µs"), (1e-9, "ns"), (1e-12, "ps")),
    Quantity.RESISTANCE: ((1e6, "MΩ"), (1e3, "kΩ"), (1.0, "Ω"), (1e-3, "mΩ"), (1e-6, "µΩ")),
    Quantity.CAPACITANCE: ((1.0, "F"), (1e-3, "mF"), (1e-6, "µF"), (1e-9, "nF"), (1e-12, "pF"), (1e-15, "fF")),
    Quantity.INDUCTANCE: ((1.0, "H"), (1e-3, "mH"), (1e-6, "µH"), (1e-9, "nH"), (1e-12, "pH")),
    Quantity.CHARGE: ((1.0, "C"), (1e-6, "µC"), (1e-9, "nC"), (1e-12, "pC"), (1e-15, "fC")),
}
"""Units from large to small; a quantity that is not listed is shown in its stored unit."""


_METRES = {"m": "m", "cm": "cm", "mm": "mm", "um": "um", "µm": "um", "\N{GREEK SMALL LETTER MU}m": "um", "nm": "nm"}
_MILS = {"mil": "thou", "mils": "thou", "thou": "thou", "inch": "inch", "in": "inch"}
"""A mil is a thousandth of an inch, not an angle."""


def _with_prefixes(unit: str, prefixes: str, *spellings: str) -> dict[str, str]:
    """Every spelling of a unit with every prefix, u in its three spellings; no prefix is written as a space."""
    found = {}
    for spelling in (unit, *spellings):
        for prefix in prefixes:
            for written in ("u", "µ", "\N{GREEK SMALL LETTER MU}") if prefix == "u" else (prefix.strip(),):
                found[f"{written}{spelling}"] = f"{prefix.strip()}{unit}"
    return found


def _per_length(units: Mapping[str, str]) -> dict[str, str]:
    return {f"{unit}/{length}": f"{name}/{length}" for unit, name in units.items() for length in ("m", "cm", "mm")}


_OHMS = _with_prefixes("ohm", "Mk mu", "\N{GREEK CAPITAL LETTER OMEGA}", "\N{OHM SIGN}")

UNITS: Mapping[Quantity, Mapping[str, str]] = MappingProxyType(
    {
        Quantity.LENGTH: {**_METRES, **_MILS},
        Quantity.COPPER_THICKNESS: {**_METRES, **_MILS, "oz": "ounce_copper", "ounce": "ounce_copper"},
        Quantity.ANGLE: {"deg": "degree", "degree": "degree", "degrees": "degree", "°": "degree", "rad": "rad"},
        Quantity.VOLTAGE: _with_prefixes("V", "k mu"),
        Quantity.CURRENT: _with_prefixes("A", "k mu"),
        Quantity.FREQUENCY: _with_prefixes("Hz", "GMk "),
        Quantity.TIME: _with_prefixes("s", " munp"),
        Quantity.RESISTANCE: _OHMS,
        Quantity.CAPACITANCE: _with_prefixes("F", " munpf"),
        Quantity.INDUCTANCE: _with_prefixes("H", " munpf"),
        Quantity.CHARGE: _with_prefixes("C", " munpf"),
        Quantity.DECIBEL: {"dB": "dB"},
        Quantity.TEMPERATURE: {"degC": "degC", "°C": "degC"},
        Quantity.TEMPERATURE_DIFFERENCE: {"K": "K"},
        Quantity.CONDUCTIVITY: {"MS/m": "MS/m", "kS/m": "kS/m", "S/m": "S/m", "S/cm": "S/cm"},
        Quantity.FRACTION: {"%": "percent", "ppm": "ppm"},
        Quantity.AREA: {
            f"{length}{square}": f"{length} ** 2" for length in ("m", "cm", "mm") for square in ("²", "2", "^2", "**2")
        },
        Quantity.FIELD_PER_CURRENT: {"1/m": "1/m", "1/mm": "1/mm"},
        Quantity.INDUCTANCE_PER_LENGTH: _per_length(_with_prefixes("H", " munp")),
        Quantity.RESISTANCE_PER_LENGTH: _per_length(_OHMS),
        Quantity.CAPACITANCE_PER_LENGTH: _per_length(_with_prefixes("F", " munpf")),
    }
)
"""The units of each kind as they may be written, and their names in the units library."""

_KIND_HINTS = {
    Quantity.TEMPERATURE: "temperatures are written in degC",
    Quantity.TEMPERATURE_DIFFERENCE: "differences of temperature are written in K",
}


@cache
def _registry() -> pint.UnitRegistry[float]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    registry.define(f"ounce_copper = {OUNCE_COPPER!r} * meter")
    return registry


@cache
def _size(unit: str, stored: str) -> float:
    """Size of a unit in the unit that is stored; a temperature is stored in the one unit it is written in."""
    if unit == stored:
        return 1.0
    return float(_registry().Quantity(1.0, unit).to(stored).magnitude)


def read_quantity(value: object, quantity: Quantity, key: str = "value") -> float:
    """Read a quantity written as text with a unit.

    Parameters
    ----------
    value : object
        What stands in the file; only text of one number and one unit is accepted.
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
        If it is not exactly one number and one of the units of its kind (see `geometries.quantity_text`); the
        message names key and text, what is wrong, and an accepted example.

    Examples
    --------
    >>> read_quantity("8 mil", Quantity.LENGTH)
    0.0002032
    >>> read_quantity("1 oz", Quantity.COPPER_THICKNESS)
    3.48e-05
    """
    hint = f'write it with its unit, for example {key} = "{quantity.example}"'
    if not isinstance(value, str):
        raise GeometryError(f"{key} is {shown(value)}, a bare value without a unit; {hint}")
    try:
        number, unit = split_quantity(value.strip(" "), UNITS.get(quantity, {}))
    except GeometryError as error:
        reason = _wrong_kind(value, quantity) or str(error)
        raise GeometryError(f"{key} = {shown(value)} {reason}; {hint}") from error
    return float(f"{number * _size(UNITS[quantity][unit], quantity.unit):.15g}")


def _wrong_kind(text: str, quantity: Quantity) -> str | None:
    """Say what else a text could measure; None if it measures nothing."""
    for units in UNITS.values():
        try:
            split_quantity(text.strip(" "), units)
        except GeometryError:
            continue
        also = _KIND_HINTS.get(quantity)
        return f"is not a {_title(quantity)}" + (f"; {also}" if also else "")
    return None


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
    try:
        if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(float(value)):
            return float(value)
    except OverflowError:  # an integer of hundreds of digits
        pass
    raise GeometryError(f"{key} is {shown(value)}; it is a number without a unit, for example {key} = 4.4")


def convenient_unit(largest: float, quantity: Quantity) -> tuple[float, str]:
    """Unit in which values up to `largest` are easily read: its size in the stored unit, and its name.

    Examples
    --------
    >>> convenient_unit(0.002, Quantity.LENGTH), convenient_unit(35e-6, Quantity.LENGTH)
    ((0.001, 'mm'), (1e-06, 'µm'))
    >>> convenient_unit(100e6, Quantity.FREQUENCY)
    (1000000.0, 'MHz')
    """
    steps = _CONVENIENT.get(quantity, ((1.0, quantity.unit),))
    shown = abs(float(f"{largest:.{_DIGITS}g}")) * (1 + _ROUNDING)
    if shown == 0:
        shown = MM if steps is _LENGTHS else 1.0
    return next((step for step in steps if shown >= step[0] * _LEAST.get(step[1], 1.0)), steps[-1])


def write_quantity(value: float, quantity: Quantity) -> str:
    """A value as text with a convenient unit and up to five significant digits.

    Examples
    --------
    >>> write_quantity(0.0002, Quantity.LENGTH), write_quantity(85.0, Quantity.TEMPERATURE)
    ('0.2 mm', '85 °C')
    """
    size, unit = convenient_unit(value, quantity)
    return f"{value / size:.{_DIGITS}g}{'' if unit == '°' else ' '}{unit}".rstrip().replace("-", "\N{MINUS SIGN}")


def write_place(point: Iterable[float]) -> str:
    """Where a point (x, y) [m] lies, to a micrometre.

    Examples
    --------
    >>> write_place((0.0123, 4e-3))
    '(12.3, 4) mm'
    """
    x, y = (round(value / MM, 3) + 0.0 for value in point)
    return f"({x:.10g}, {y:.10g}) mm"


def _title(quantity: Quantity) -> str:
    return quantity.name.lower().replace("_", " ")
