"""From the `[switching]` table of a scenario file to :class:`~geometries.operation.switching.Switching`."""

from __future__ import annotations

from geometries.errors import ScenarioError
from geometries.files.tables import Capacitance, Fraction, Frequency, Inductance, Resistance, Table, Time, Voltage
from geometries.operation.switching import (
    TYPICAL_PACKAGE_INDUCTANCE,
    USUAL_DERATING,
    EdgeSpan,
    Snubber,
    Switching,
    SwitchingTolerance,
)

_TYPICAL = ("package_inductance", "derating")
"""Keys for which a typical value stands if they are not given."""


class SnubberTable(Table):
    """Resistor and capacitor in series across the switch; without the resistor, the best one is searched."""

    capacitance: Capacitance
    resistance: Resistance | None = None


class SwitchingToleranceTable(Table):
    """Relative tolerances to both sides."""

    edge_time: Fraction = 0.0
    output_capacitance: Fraction = 0.0
    resistance: Fraction = 0.0
    package_inductance: Fraction = 0.0


class SwitchingTable(Table):
    """The edge, the switch and what limits its voltage."""

    input_voltage: Voltage
    edge_time: Time
    edge_span: EdgeSpan = EdgeSpan.FULL
    output_capacitance: Capacitance
    switch_resistance: Resistance
    capacitor_resistance: Resistance
    package_inductance: Inductance = TYPICAL_PACKAGE_INDUCTANCE
    damping_resistance: Resistance = 0.0
    frequency: Frequency | None = None
    voltage_rating: Voltage | None = None
    derating: Fraction = USUAL_DERATING
    snubber: SnubberTable | None = None
    tolerance: SwitchingToleranceTable = SwitchingToleranceTable()


def build_switching(table: SwitchingTable) -> Switching:
    """Build what a scenario says about the switching edge.

    Raises
    ------
    ScenarioError
        If a value is impossible.
    """
    plain = {name: getattr(table, name) for name in SwitchingTable.model_fields if name not in ("snubber", "tolerance")}
    return Switching(
        **plain,
        snubber=None if table.snubber is None else Snubber(**table.snubber.model_dump()),
        tolerance=SwitchingTolerance(**table.tolerance.model_dump()),
        assumed=tuple(name for name in _TYPICAL if name not in table.model_fields_set),
    )


def own_or_of_edge(table: str, key: str, own: float | None, of_edge: float | None, example: str) -> float:
    """A value of a table that names a cause again, or of the switching edge.

    Raises
    ------
    ScenarioError
        If neither gives it.
    """
    value = of_edge if own is None else own
    if value is None:
        raise ScenarioError(
            f'{table}: {key} is missing; give it here or in [switching], for example {key} = "{example}"'
        )
    return value
