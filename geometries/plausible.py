"""Where the values of each key usually lie, and beyond which bounds a value can only be a slip of the pen.

The usual ranges are common practice of switching converters from 3 V to 100 V and 1 A to 100 A, on boards of 0.4 mm to
3.2 mm: a value outside is computed and warned of. The outer bounds leave two decades or more around them: a value
outside is refused. Zero is left to the description, which knows whether something may be absent.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.errors import GeometryError
from geometries.quantities import MM, NANO, UM, Quantity, write_quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Plausible:
    """A usual range and the bounds of what is accepted, in the stored unit; of a signed value its magnitude.

    Parameters
    ----------
    low, high : float
        The value usually lies between them, both included.
    least, most : float
        A value outside is refused.
    signed : bool
        Whether the value may be negative: a position, a temperature, a level.
    """

    low: float
    high: float
    least: float
    most: float
    signed: bool = False

    def __post_init__(self) -> None:
        if not self.least <= self.low < self.high <= self.most:
            raise GeometryError(
                f"a usual range from {self.low:g} to {self.high:g} does not lie within the bounds {self.least:g} to "
                f"{self.most:g}"
            )


_PICO = 1e-12
_SIZE = Plausible(low=20 * UM, high=0.3, least=0.1 * UM, most=100.0)
_POSITION = Plausible(low=0.0, high=0.3, least=0.0, most=100.0, signed=True)
_EDGE = Plausible(low=0.2 * NANO, high=10 * NANO, least=_PICO, most=10e-6)
_PART_OF_ONE = Plausible(low=0.0, high=1.0, least=0.0, most=1.0)
_PARASITIC_RESISTANCE = Plausible(low=0.1e-3, high=10.0, least=1e-6, most=1e6)
_NODE_CAPACITANCE = Plausible(low=10 * _PICO, high=10 * NANO, least=1e-15, most=1e-3)

MEASURING_DISTANCE = Plausible(low=1.0, high=30.0, least=0.1, most=100.0)
"""From a set-up to the antenna."""

CABLE_DIAMETER = Plausible(low=0.5 * MM, high=30 * MM, least=10 * UM, most=1.0)
CABLE_LENGTH = Plausible(low=0.05, high=10.0, least=1 * MM, most=100.0)

BY_QUANTITY: dict[Quantity, Plausible] = {
    Quantity.LENGTH: _SIZE,
    Quantity.COPPER_THICKNESS: Plausible(low=5 * UM, high=0.42 * MM, least=0.1 * UM, most=10 * MM),
    Quantity.ANGLE: Plausible(low=0.0, high=45.0, least=0.0, most=89.0, signed=True),
    Quantity.VOLTAGE: Plausible(low=1e-3, high=1e3, least=1e-9, most=1e5, signed=True),
    Quantity.CURRENT: Plausible(low=10e-3, high=200.0, least=1e-6, most=1e5),
    Quantity.FREQUENCY: Plausible(low=1.0, high=6e9, least=1e-3, most=100e9),
    Quantity.TIME: _EDGE,
    Quantity.RESISTANCE: Plausible(low=0.1e-3, high=1e6, least=1e-6, most=1e9),
    Quantity.CAPACITANCE: Plausible(low=0.1 * _PICO, high=10e-3, least=1e-16, most=1.0),
    Quantity.INDUCTANCE: Plausible(low=0.02 * NANO, high=50 * NANO, least=1e-13, most=1e-3),
    Quantity.CHARGE: Plausible(low=0.1 * NANO, high=10e-6, least=1e-15, most=1.0),
    Quantity.DECIBEL: Plausible(low=0.0, high=40.0, least=0.0, most=300.0, signed=True),
    Quantity.TEMPERATURE: Plausible(low=0.0, high=155.0, least=0.0, most=1000.0, signed=True),
    Quantity.TEMPERATURE_DIFFERENCE: Plausible(low=0.0, high=200.0, least=0.0, most=1000.0, signed=True),
    Quantity.CONDUCTIVITY: Plausible(low=1e6, high=63e6, least=1.0, most=1e9),
    Quantity.FRACTION: Plausible(low=0.0, high=1.0, least=0.0, most=100.0, signed=True),
    Quantity.AREA: Plausible(low=0.0, high=0.01, least=0.0, most=1.0, signed=True),
    Quantity.FIELD_PER_CURRENT: Plausible(low=1e-6, high=1e4, least=0.0, most=1e9),
    Quantity.INDUCTANCE_PER_LENGTH: Plausible(low=1e-9, high=2e-6, least=1e-15, most=1e-3),
    Quantity.RESISTANCE_PER_LENGTH: Plausible(low=1e-4, high=1e3, least=1e-9, most=1e9),
    Quantity.CAPACITANCE_PER_LENGTH: Plausible(low=1e-13, high=1e-7, least=1e-18, most=1e-3),
}
"""For every key of a kind that is not listed below."""

BY_KEY: dict[tuple[str, Quantity], Plausible] = {
    # of a laminate: PTFE foams from 1.1, ceramic-filled ones to 12 (common practice)
    ("relative_permittivity", Quantity.NUMBER): Plausible(low=1.0, high=13.0, least=1.0, most=1000.0),
    # a layer: copper of 1/8 oz to 12 oz, or dielectric from a build-up film to the core of a thick board
    ("thickness", Quantity.COPPER_THICKNESS): Plausible(low=4 * UM, high=3.3 * MM, least=0.1 * UM, most=30 * MM),
    ("wall", Quantity.LENGTH): Plausible(low=5 * UM, high=1 * MM, least=0.1 * UM, most=0.1),
    **{
        (key, Quantity.LENGTH): _POSITION
        for key in (
            "position",
            "left",
            "right",
            "bottom",
            "top",
            "centre",
            "vertices",
            "corners",
            "holes",
            "edge",
            "inside",
            "pad",
            "distance",
            "edge_distance",
            "height",
        )
    },
    **{(key, Quantity.FRACTION): _PART_OF_ONE for key in ("duty", "derating", "tolerance")},
    **{
        (key, Quantity.RESISTANCE): _PARASITIC_RESISTANCE
        for key in ("capacitor_resistance", "esr", "switch_resistance", "damping_resistance")
    },
    **{(key, Quantity.CAPACITANCE): _NODE_CAPACITANCE for key in ("output_capacitance", "added_capacitance")},
    ("upper", Quantity.RESISTANCE): Plausible(low=100.0, high=2e6, least=1e-3, most=1e9),
    ("lower", Quantity.RESISTANCE): Plausible(low=100.0, high=1e6, least=1e-3, most=1e9),
    ("source_resistance", Quantity.RESISTANCE): Plausible(low=1e-3, high=100e3, least=1e-6, most=1e9),
    ("pin_capacitance", Quantity.CAPACITANCE): Plausible(low=0.5 * _PICO, high=20 * _PICO, least=1e-16, most=1e-6),
    ("probe_capacitance", Quantity.CAPACITANCE): Plausible(low=0.1 * _PICO, high=30 * _PICO, least=1e-16, most=1e-6),
    ("stray_capacitance", Quantity.CAPACITANCE): Plausible(low=0.01 * _PICO, high=100 * _PICO, least=1e-18, most=1e-6),
    ("feed_forward", Quantity.CAPACITANCE): Plausible(low=1 * _PICO, high=10 * NANO, least=1e-16, most=1e-3),
    ("frequency", Quantity.FREQUENCY): Plausible(low=10e3, high=1e9, least=1.0, most=100e9),
    ("ring_frequency", Quantity.FREQUENCY): Plausible(low=10e6, high=2e9, least=1e3, most=100e9),
    ("loaded_ring_frequency", Quantity.FREQUENCY): Plausible(low=5e6, high=2e9, least=1e3, most=100e9),
    ("input_voltage", Quantity.VOLTAGE): Plausible(low=0.5, high=1000.0, least=1e-3, most=1e5),
    ("voltage_rating", Quantity.VOLTAGE): Plausible(low=5.0, high=2000.0, least=1e-3, most=1e5),
    ("reference_voltage", Quantity.VOLTAGE): Plausible(low=0.2, high=5.0, least=1e-3, most=1e3),
    ("budget", Quantity.VOLTAGE): Plausible(low=0.1e-3, high=1.0, least=1e-9, most=1e3),
}
"""For single keys, by the kind of quantity that they hold. All common practice."""


def plausible_range(key: str, quantity: Quantity) -> Plausible | None:
    """The range of a key; None for a bare number or a count of which nothing is known."""
    return BY_KEY.get((key, quantity)) or BY_QUANTITY.get(quantity)


def judge(key: str, quantity: Quantity, value: float, known: Plausible | None = None) -> str | None:
    """Judge a value that was read.

    Parameters
    ----------
    key : str
        The key it stands under.
    quantity : Quantity
        What it is.
    value : float
        In the stored unit.
    known : Plausible, optional
        Its range, if it is another than that of all keys of this name.

    Returns
    -------
    str or None
        A warning if it lies outside the usual range; None if it lies within, or nothing is known of the key.

    Raises
    ------
    GeometryError
        If it is not finite, negative where only a position may be, or so far outside that it can only be a slip.

    Examples
    --------
    >>> judge("rise_time", Quantity.TIME, 1.5e-9)
    >>> judge("rise_time", Quantity.TIME, 15e-9)
    'rise_time is 15 ns; it usually lies between 200 ps and 10 ns (common practice): check the value and its unit'
    """
    if not math.isfinite(value):
        raise GeometryError(f"{key} is {value}; it must be a finite number")
    known = known or plausible_range(key, quantity)
    if known is None or value == 0:
        return None
    if value < 0 and not known.signed:
        raise GeometryError(f"{key} is {_text(value, quantity)}; it cannot be negative")
    size = abs(value)
    if not known.least <= size <= known.most:
        raise GeometryError(
            f"{key} is {_text(value, quantity)}; values accepted lie between {_text(known.least, quantity)} and "
            f"{_text(known.most, quantity)}, and usually between {_text(known.low, quantity)} and "
            f"{_text(known.high, quantity)}: check the value and its unit"
        )
    if known.low <= size <= known.high:
        return None
    usual = f"up to {_text(known.high, quantity)}"
    if known.low > 0:
        usual = f"between {_text(known.low, quantity)} and {_text(known.high, quantity)}"
    return f"{key} is {_text(value, quantity)}; it usually lies {usual} (common practice): check the value and its unit"


def _text(value: float, quantity: Quantity) -> str:
    return f"{value:.5g}" if quantity is Quantity.NUMBER else write_quantity(value, quantity)
