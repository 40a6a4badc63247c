"""What a scenario says about the switching edge: the switch, its voltage limit, a snubber, tolerances."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from enum import Enum
from typing import Annotated, Any

from geometries.errors import ScenarioError
from geometries.operation.capacitance import ConstantCapacitance, OutputCapacitance, TypicalCapacitance
from geometries.operation.edge_inputs import (
    CONSTANT,
    Curve,
    CurveFile,
    as_read,
    capacitance_keys,
    limit_of,
    read_absolute_maximum,
    read_curve,
    read_gate,
    read_recovery,
    read_ringing,
)
from geometries.operation.gate_edge import EdgeEstimate, GateCurrent, GateResistor
from geometries.operation.recovery import NoRecovery, Recovery
from geometries.operation.ringing import Ringing, SwitchKind, typical_ringing
from geometries.operation.spans import Span
from geometries.operation.voltage_limit import VoltageLimit
from geometries.quantities import NANO
from geometries.tables import (
    Capacitance,
    Derived,
    Described,
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

EDGE_SPREAD = 0.2
"""Typical part by which an edge is shorter or longer than stated, where no tolerance is (common practice)."""

PACKAGE_SPAN = Span(value=TYPICAL_PACKAGE_INDUCTANCE, least=0.3 * NANO, most=1.0 * NANO, source="typical")
"""Of it, where it is not stated."""

ASSUMED_RECOVERY = NoRecovery(stated=False)
"""Where nothing is said of it."""

_TYPICAL = {"package_inductance": TYPICAL_PACKAGE_INDUCTANCE}
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
    edge_time : float, optional
        Time of the edge over its `edge_span` [s]; none where `gate` says it.
    output_capacitance : float, optional
        Of the switch that is off, with what hangs on its node; small-signal value at one voltage [F].
    capacitance_voltage : float, optional
        At which it holds [V]; the input voltage by default.
    capacitance_curve : OutputCapacitance, CurveFile or "constant", optional
        In place of one value, or that the value does not change with the voltage; without it a typical curve runs
        through the value.
    switch_resistance : float, optional
        What damps the ring in the switch that is on [ohm]; far more than its R_DS(on).
    capacitor_resistance : float
        Of the input capacitor (its equivalent series resistance) [ohm].
    ringing : Ringing, optional
        How the ring is damped, in place of `switch_resistance`; typical of a silicon switch without both.
    recovery : Recovery
        Of the diode of the switch that turns off.
    gate : GateCurrent or GateResistor, optional
        From which the edge is estimated.
    package_inductance : float
        Of everything in the loop beside its copper: packages, capacitor [H].
    damping_resistance : float
        Added in series on purpose [ohm].
    edge_span : EdgeSpan
        What `edge_time` is counted over.
    frequency : float, optional
        Switching frequency [Hz], for the snubber's loss.
    voltage_rating : float, optional
        Of the switch [V].
    absolute_maximum : VoltageLimit, optional
        One or two levels, in place of the rating; without both there is no limit.
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
    edge_time: Positive[Time] | None = None
    output_capacitance: Positive[Capacitance] | None = None
    capacitance_voltage: Positive[Voltage] | None = None
    capacitance_curve: Annotated[Curve, as_read(read_curve)] = None
    switch_resistance: NotNegative[Resistance] | None = None
    capacitor_resistance: NotNegative[Resistance] = 0.0
    ringing: Annotated[Ringing | None, as_read(read_ringing)] = None
    recovery: Annotated[Recovery, as_read(read_recovery)] = ASSUMED_RECOVERY
    gate: Annotated[GateCurrent | GateResistor | None, as_read(read_gate)] = None
    package_inductance: NotNegative[Inductance] = TYPICAL_PACKAGE_INDUCTANCE
    damping_resistance: NotNegative[Resistance] = 0.0
    edge_span: EdgeSpan = EdgeSpan.FULL
    frequency: Positive[Frequency] | None = None
    voltage_rating: Voltage | None = None
    absolute_maximum: Annotated[VoltageLimit | None, as_read(read_absolute_maximum)] = None
    derating: Fraction = 1.0
    snubber: Snubber | None = None
    tolerance: SwitchingTolerance = SwitchingTolerance()
    assumed: Derived[tuple[str, ...]] = ()

    @classmethod
    def completed(cls, table: dict[str, Any]) -> dict[str, Any]:
        """The keys of a table, and which of them typical values stand for."""
        return {**capacitance_keys(table), "assumed": tuple(key for key in _TYPICAL if key not in table)}

    def built(self, described: Described) -> Switching:
        """With the capacitance curve that a file holds."""
        if not isinstance(self.capacitance_curve, CurveFile):
            return self
        return replace(
            self,
            capacitance_curve=self.capacitance_curve.read(
                described.file(self.capacitance_curve.name, "output_capacitance")
            ),
        )

    def __post_init__(self) -> None:
        still = tuple(key for key in self.assumed if getattr(self, key) == _TYPICAL[key])
        object.__setattr__(self, "assumed", still)
        Table.__post_init__(self)
        self._check_what_is_stated()
        if self.frequency is not None and not self.full_edge < 1 / self.frequency:
            raise ScenarioError(
                f"switching: the edge takes {self.full_edge:g} s and the whole period {1 / self.frequency:g} s; "
                "shorten edge_time or lower the frequency"
            )
        if not 0 < self.derating <= 1:
            raise ScenarioError(f"switching: derating is {self.derating:g}; it lies above 0 and at most at 100 %")
        if self.limit is not None and not self.limit.level > self.input_voltage:
            raise ScenarioError(
                f"switching: the peak may reach {self.limit.level:g} V (voltage_rating times derating) and the input "
                f"voltage is {self.input_voltage:g} V already; choose a switch of higher rating"
            )

    def _check_what_is_stated(self) -> None:
        if (self.edge_time is None) == (self.gate is None):
            raise ScenarioError(
                'switching: give either edge_time, for example "2 ns", or gate, from which the edge is estimated'
            )
        curve = self.capacitance_curve
        if (self.output_capacitance is None) != (curve is not None and curve != CONSTANT):
            raise ScenarioError(
                'switching: give output_capacitance: "300 pF" at the input voltage, a value with its voltage, '
                "points, a formula, a file, or a constant"
            )
        if isinstance(curve, str) and curve != CONSTANT:
            raise ScenarioError(f'switching: capacitance_curve is {curve!r}; the only word for it is "{CONSTANT}"')
        if self.ringing is not None and self.switch_resistance is not None:
            raise ScenarioError(
                "switching: ringing and switch_resistance both say how the ring is damped; give ringing alone"
            )

    @property
    def edge_estimate(self) -> EdgeEstimate | None:
        """From the gate, where the scenario describes it."""
        return None if self.gate is None else self._completed(self.gate).edge()

    def _completed(self, gate: GateCurrent | GateResistor) -> GateCurrent | GateResistor:
        """With the charge that the switch moves, its own unless it is stated."""
        if isinstance(gate, GateCurrent) or gate.moved_charge is not None:
            return gate
        if isinstance(self.capacitance_curve, CurveFile):
            raise ScenarioError(
                "switching: gate needs moved_charge where the capacitance curve stands in a file: the charge of the "
                'curve up to the input voltage, for example moved_charge = "10 nC"'
            )
        return replace(gate, moved_charge=self.capacitance.charge(self.input_voltage))

    @property
    def full_edge(self) -> float:
        """Time of the whole straight edge, 0 to 100 %: stated, or estimated from the gate [s]."""
        if self.edge_time is not None:
            return self.edge_time / self.edge_span.part
        estimate = self.edge_estimate
        return math.nan if estimate is None else estimate.time

    @property
    def capacitance(self) -> OutputCapacitance:
        """Of the switch that is off, as a function of its voltage."""
        curve, value = self.capacitance_curve, self.output_capacitance
        if isinstance(curve, CurveFile):
            raise ScenarioError(f"switching: the curve in {curve.name} has not been read; build the scenario first")
        if value is None:
            if curve is None or isinstance(curve, str):
                raise ScenarioError("switching: nothing is known of the output capacitance")
            return curve
        if curve == CONSTANT:
            return ConstantCapacitance(value=value)
        return TypicalCapacitance(value=value, voltage=self.capacitance_voltage or self.input_voltage)

    @property
    def capacitance_at_input(self) -> float:
        """Small-signal capacitance at the input voltage [F]."""
        return self.capacitance.at(self.input_voltage)

    def with_capacitance(self, factor: float) -> Switching:
        """With the whole capacitance curve times a factor."""
        if self.output_capacitance is not None:
            return replace(self, output_capacitance=self.output_capacitance * factor)
        return replace(self, capacitance_curve=self.capacitance.scaled(factor))

    @property
    def damping(self) -> Ringing | None:
        """Stated ringing, or what is typical where nothing is said; none where resistances are stated."""
        if self.ringing is not None:
            return self.ringing
        return typical_ringing(SwitchKind.SILICON) if self.switch_resistance is None else None

    @property
    def series_resistance(self) -> float:
        """Stated resistance in the loop beside its copper [ohm]."""
        return (self.switch_resistance or 0.0) + self.capacitor_resistance + self.damping_resistance

    @property
    def limit(self) -> VoltageLimit | None:
        """What the peak may reach."""
        return limit_of(self.voltage_rating, self.absolute_maximum, self.derating)

    @property
    def voltage_limit(self) -> float | None:
        """Highest voltage that the peak may reach [V]."""
        return None if self.limit is None else self.limit.highest
