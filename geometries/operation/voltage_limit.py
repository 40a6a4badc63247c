"""What the voltage at a switch may reach: one level, or a second one for a short time."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.quantities import Quantity, read_quantity, write_quantity

_FORM = re.compile(r"^(?P<level>[^,]+?)(?:,\s*(?P<pulse>.+?)\s+for\s+(?P<time>.+))?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulse:
    """A higher level [V] that the voltage may reach while it lies above the first one for at most a time [s]."""

    level: float
    time: float


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageLimit:
    """Largest voltage allowed at the switch.

    Parameters
    ----------
    level : float
        For any time [V].
    pulse : Pulse, optional
        Allowed above it; the times above `level` after one edge add up.

    Examples
    --------
    >>> str(read_voltage_limit("24 V, 28 V for 10 ns"))
    '24 V, 28 V for 10 ns'
    """

    level: float
    pulse: Pulse | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.level) and self.level > 0):
            raise ScenarioError(f"absolute maximum is {self.level:g} V; it must be above zero")
        if self.pulse is None:
            return
        if not self.pulse.level > self.level:
            raise ScenarioError(
                f"absolute maximum of {self.level:g} V and {self.pulse.level:g} V for a short time; the short one is "
                "the higher of the two"
            )
        if not (math.isfinite(self.pulse.time) and self.pulse.time > 0):
            raise ScenarioError(f"absolute maximum: the time of the higher level is {self.pulse.time:g} s; state it")

    def __str__(self) -> str:
        first = write_quantity(self.level, Quantity.VOLTAGE)
        if self.pulse is None:
            return first
        level, time = (
            write_quantity(self.pulse.level, Quantity.VOLTAGE),
            write_quantity(self.pulse.time, Quantity.TIME),
        )
        return f"{first}, {level} for {time}"

    @property
    def highest(self) -> float:
        """Level that is never exceeded [V]."""
        return self.level if self.pulse is None else self.pulse.level

    def derated(self, part: float) -> VoltageLimit:
        """Both levels times a part [1]."""
        pulse = None if self.pulse is None else Pulse(level=self.pulse.level * part, time=self.pulse.time)
        return VoltageLimit(level=self.level * part, pulse=pulse)


def read_voltage_limit(text: str, key: str = "absolute_maximum") -> VoltageLimit:
    """Read a limit written as "24 V" or "24 V, 28 V for 10 ns".

    Raises
    ------
    GeometryError
        If the text has another form; the message shows the two that are accepted.
    """
    found = _FORM.match(text.strip())
    if found is None:
        raise ScenarioError(f'{key} = "{text}" cannot be read; write "24 V", or "24 V, 28 V for 10 ns"')
    level = read_quantity(found["level"], Quantity.VOLTAGE, key)
    if found["pulse"] is None:
        return VoltageLimit(level=level)
    pulse = Pulse(
        level=read_quantity(found["pulse"], Quantity.VOLTAGE, f"{key}, higher level"),
        time=read_quantity(found["time"], Quantity.TIME, f"{key}, time"),
    )
    return VoltageLimit(level=level, pulse=pulse)
