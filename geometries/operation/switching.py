"""What a scenario says about the switching edge: the switch, its voltage limit, a snubber, tolerances."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import Enum
from typing import Any

from geometries.errors import ScenarioError
from geometries.quantities import NANO
from geometries.tables import (
    Capacitance,
    Derived,
    Fraction,
    Frequency,
    Inductance,
    NotNegative,
    OperatingTable,
    Positive,
    Resistance,
    Table,
    Time,
    Voltage,
)

TYPICAL_PACKAGE_INDUCTANCE = 0.5 * NANO
"""Typical inductance of what closes the loop beside its copper, two leadless switches and the capacitor's body together
[H] (common practice: 0.3 to 1 nH)."""

USUAL_DERATING = 0.8
"""Usual part of the rated voltage that a switch is let see (common practice)."""

_TYPICAL = {"package_inductance": TYPICAL_PACKAGE_INDUCTANCE, "derating": USUAL_DERATING}
"""Values that stand for keys that are not given."""


class EdgeSpan(Enum):
    """Between which parts of its height an edge is timed.

    Examples
    --------
    >>> from geometries import EdgeSpan
    >>> EdgeSpan("10-90 %").part
    0.8
    """

    FULL = "0-100 %"
    INNER = "10-90 %"

    @property
    def part(self) -> float:
        """Part of a straight edge that lies between them."""
        return {EdgeSpan.FULL: 1.0, EdgeSpan.INNER: 0.8}[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Snubber(Table):
    """A resistor and a capacitor in series across the switch.

    Parameters
    ----------
    capacitance : float
        [F].
    resistance : float, optional
        [ohm]; None asks for the one with the least overshoot.

    Examples
    --------
    >>> from geometries import Snubber
    >>> Snubber(capacitance=470e-12).resistance is None
    True
    """

    SAID_OF = "snubber: "
    capacitance: Positive[Capacitance]
    resistance: Positive[Resistance] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchingTolerance(Table):
    """Relative tolerances to both sides; what is not stated counts as exact.

    Parameters
    ----------
    edge_time, output_capacitance, resistance, package_inductance : float
        Relative, from 0 to 1 [1].

    Examples
    --------
    >>> from geometries import SwitchingTolerance
    >>> SwitchingTolerance(edge_time=0.2).resistance
    0.0
    """

    edge_time: Fraction = 0.0
    output_capacitance: Fraction = 0.0
    resistance: Fraction = 0.0
    package_inductance: Fraction = 0.0

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if not 0 <= value < 1:
                raise ScenarioError(f"switching: tolerance of {field.name} is {value:g}; it lies between 0 and 100 %")


@dataclass(frozen=True, slots=True, kw_only=True)
class Switching(OperatingTable):
    """The `[switching]` table of a scenario: a straight edge drives the loop in series with the switch that is off.

    Parameters
    ----------
    input_voltage : float
        Height of the edge, and the voltage that the switch settles at [V].
    edge_time : float
        Time of the edge over its `edge_span` [s].
    output_capacitance : float
        Of the switch that is off, with what hangs on its node; effective value at the input voltage [F].
    switch_resistance, capacitor_resistance : float
        Of the switch that is on, and of the input capacitor (its equivalent series resistance) [ohm].
    package_inductance : float
        Of everything in the loop beside its copper: packages, capacitor [H].
    damping_resistance : float
        Added in series on purpose [ohm].
    edge_span : EdgeSpan
        What `edge_time` is counted over.
    frequency : float, optional
        Switching frequency [Hz], for the snubber's loss.
    voltage_rating : float, optional
        Of the switch [V]; without it there is no limit.
    derating : float
        Part of the rating that the peak may reach [1].
    snubber : Snubber, optional
        Across the switch.
    tolerance : SwitchingTolerance
        Of the values above.
    assumed : tuple of str
        Keys that were not stated, so that a typical value stands for them.

    Examples
    --------
    >>> from geometries import Switching
    >>> switching = Switching(
    ...     input_voltage=24.0,
    ...     edge_time=2e-9,
    ...     output_capacitance=300e-12,
    ...     switch_resistance=0.3,
    ...     capacitor_resistance=5e-3,
    ... )
    >>> round(switching.series_resistance, 4), switching.voltage_limit
    (0.305, None)
    """

    SAID_OF = "switching: "
    input_voltage: Positive[Voltage]
    edge_time: Positive[Time]
    output_capacitance: Positive[Capacitance]
    switch_resistance: NotNegative[Resistance]
    capacitor_resistance: NotNegative[Resistance]
    package_inductance: NotNegative[Inductance] = TYPICAL_PACKAGE_INDUCTANCE
    damping_resistance: NotNegative[Resistance] = 0.0
    edge_span: EdgeSpan = EdgeSpan.FULL
    frequency: Positive[Frequency] | None = None
    voltage_rating: Voltage | None = None
    derating: Fraction = USUAL_DERATING
    snubber: Snubber | None = None
    tolerance: SwitchingTolerance = SwitchingTolerance()
    assumed: Derived[tuple[str, ...]] = ()

    @classmethod
    def completed(cls, table: dict[str, Any]) -> dict[str, Any]:
        """The keys of a table, and which of them typical values stand for."""
        return {**table, "assumed": tuple(key for key in _TYPICAL if key not in table)}

    def __post_init__(self) -> None:
        still = tuple(key for key in self.assumed if getattr(self, key) == _TYPICAL[key])
        object.__setattr__(self, "assumed", still)
        Table.__post_init__(self)
        if self.frequency is not None and not self.full_edge < 1 / self.frequency:
            raise ScenarioError(
                f"switching: the edge takes {self.full_edge:g} s and the whole period {1 / self.frequency:g} s; "
                "shorten edge_time or lower the frequency"
            )
        if not 0 < self.derating <= 1:
            raise ScenarioError(f"switching: derating is {self.derating:g}; it lies above 0 and at most at 100 %")
        if self.voltage_limit is not None and not self.voltage_limit > self.input_voltage:
            raise ScenarioError(
                f"switching: the peak may reach {self.voltage_limit:g} V (voltage_rating times derating) and the input "
                f"voltage is {self.input_voltage:g} V already; choose a switch of higher rating"
            )

    @property
    def full_edge(self) -> float:
        """Time of the whole straight edge, 0 to 100 % [s]."""
        return self.edge_time / self.edge_span.part

    @property
    def series_resistance(self) -> float:
        """Stated resistance in the loop beside its copper [ohm]."""
        return self.switch_resistance + self.capacitor_resistance + self.damping_resistance

    @property
    def voltage_limit(self) -> float | None:
        """What the peak may reach [V]."""
        return None if self.voltage_rating is None else self.voltage_rating * self.derating
