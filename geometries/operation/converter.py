"""The operating point of a converter, once for all analyses."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.operation.switching import EdgeSpan
from geometries.tables import Current, Fraction, Frequency, OperatingTable, Positive, Time, Voltage


@dataclass(frozen=True, slots=True, kw_only=True)
class Converter(OperatingTable):
    """The `[converter]` table of a scenario, from which the tables of all analyses take what they leave out.

    Parameters
    ----------
    input_voltage, output_voltage : float, optional
        At the terminals [V].
    load_current : float, optional
        Mean current of the output inductor [A].
    ripple : float
        Peak to peak of the inductor current, as a part of the load current [1].
    frequency : float, optional
        Switching frequency [Hz].
    duty : float, optional
        Of the switch at the input; of a step-down converter it follows from the two voltages.
    current_rise_time, current_fall_time, voltage_rise_time, voltage_fall_time : float, optional
        Of the loop's current and of the switch node's voltage, over `edge_span` [s].
    edge_span : EdgeSpan
        What the four times are counted over.

    Examples
    --------
    >>> converter = Converter(input_voltage=24.0, output_voltage=6.0, load_current=4.0, ripple=0.5)
    >>> converter.switched_current, converter.duty_cycle
    (5.0, 0.25)
    """

    SAID_OF = "converter: "
    input_voltage: Positive[Voltage] | None = None
    output_voltage: Positive[Voltage] | None = None
    load_current: Positive[Current] | None = None
    ripple: Fraction = 0.0
    frequency: Positive[Frequency] | None = None
    duty: Fraction | None = None
    current_rise_time: Positive[Time] | None = None
    current_fall_time: Positive[Time] | None = None
    voltage_rise_time: Positive[Time] | None = None
    voltage_fall_time: Positive[Time] | None = None
    edge_span: EdgeSpan = EdgeSpan.FULL

    def __post_init__(self) -> None:
        OperatingTable.__post_init__(self)
        if not 0 <= self.ripple <= 2:
            raise ScenarioError(
                f"converter: ripple is {self.ripple:g}; it lies between 0 and 200 % of the load current"
            )
        if self.duty is not None and not 0 < self.duty < 1:
            raise ScenarioError(f"converter: duty is {self.duty:g}; it lies above 0 and below 100 %")

    @property
    def switched_current(self) -> float | None:
        """Largest current that is switched, half a ripple above the load current [A]."""
        return None if self.load_current is None else self.load_current * (1 + self.ripple / 2)

    @property
    def duty_cycle(self) -> float | None:
        """As stated, or of a step-down converter the ratio of its voltages."""
        if self.duty is not None or self.input_voltage is None or self.output_voltage is None:
            return self.duty
        return self.output_voltage / self.input_voltage if self.output_voltage < self.input_voltage else None

    @property
    def current_rise(self) -> float | None:
        """Whole straight edge, 0 to 100 % [s]."""
        return self._whole(self.current_rise_time)

    @property
    def current_fall(self) -> float | None:
        """Whole straight edge, 0 to 100 % [s]."""
        return self._whole(self.current_fall_time)

    @property
    def current_edge(self) -> float | None:
        """The shorter of the two, which induces more [s]."""
        return min((each for each in (self.current_rise, self.current_fall) if each is not None), default=None)

    @property
    def voltage_rise(self) -> float | None:
        """Whole straight edge, 0 to 100 % [s]."""
        return self._whole(self.voltage_rise_time)

    @property
    def voltage_fall(self) -> float | None:
        """Whole straight edge, 0 to 100 % [s]."""
        return self._whole(self.voltage_fall_time)

    def _whole(self, time: float | None) -> float | None:
        return None if time is None else time / self.edge_span.part
