"""The tables `[pickup]`, `[victims.NAME]` and `[switch_node]` of a scenario file."""

from __future__ import annotations

import math
from typing import Self

from pydantic import model_validator

from geometries.board.stackup import Stackup
from geometries.errors import GeometryError
from geometries.files.switching_reading import own_or_of_edge
from geometries.files.tables import Capacitance, Current, Fraction, Frequency, Length, Resistance, Table, Time, Voltage
from geometries.operation.switching import Switching
from geometries.section.section import CrossSection, Region, Role
from geometries.section.victims import Divider, Drive, Run, SwitchNode, Trace, Victim, VictimSetup, hear

_RUNS = {"sense": Run.SENSE, "pin": Run.PIN}


class TraceTable(Table):
    """Copper on a layer beside the loop."""

    layer: str
    distance: Length
    width: Length


class VictimTable(Table):
    """A trace that hears the loop: on the board beside it, or a conductor of a written-out section."""

    layer: str = ""
    distance: Length | None = None
    width: Length | None = None
    conductor: str = ""
    reference: str = ""
    return_trace: TraceTable | None = None
    length: Length
    run: str = "sense"

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        placed = [bool(self.layer), self.distance is not None, self.width is not None]
        if any(placed) if self.conductor else not all(placed):
            raise ValueError(
                'a victim needs its layer, its distance from the loop and its width, for example layer = "L1", '
                'distance = "2 mm", width = "0.2 mm"; in a written-out section the name of its conductor alone'
            )
        if bool(self.reference) == (self.return_trace is not None):
            raise ValueError(
                "a victim needs the conductor in which its current returns: either reference, the name of a plane's "
                'layer or of other copper, for example reference = "L2", or a return_trace of its own'
            )
        if self.run not in _RUNS:
            raise ValueError(
                f'run is {self.run!r}; it is "sense" between output and divider, or "pin" between divider and pin'
            )
        return self


class SwitchNodeTable(Table):
    """Copper whose voltage jumps: a conductor of the section, or a trace of its own."""

    conductor: str = ""
    layer: str = ""
    distance: Length | None = None
    width: Length | None = None
    length: Length

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        placed = [bool(self.layer), self.distance is not None, self.width is not None]
        if any(placed) if self.conductor else not all(placed):
            raise ValueError(
                'the switch node is either a conductor of the section, for example conductor = "go", or copper of its '
                "own with layer, distance and width"
            )
        return self


class DividerTable(Table):
    """The feedback divider; the pin's capacitance is usually 2 to 5 pF (common practice)."""

    upper: Resistance
    lower: Resistance
    feed_forward: Capacitance = 0.0
    pin_capacitance: Capacitance = 5e-12
    source_resistance: Resistance = 0.0


class PickupTable(Table):
    """What the loop and the switch node do, and what the pin is compared with."""

    current: Current
    frequency: Frequency | None = None
    duty: Fraction = 0.5
    rise_time: Time | None = None
    fall_time: Time | None = None
    voltage: Voltage | None = None
    voltage_rise_time: Time | None = None
    voltage_fall_time: Time | None = None
    reference_voltage: Voltage
    budget: Voltage | None = None
    divider: DividerTable


def build_drive(table: PickupTable, switching: Switching | None) -> Drive:
    """Build what a scenario says about the pick-up's causes and the pin.

    Parameters
    ----------
    table : PickupTable
        As read.
    switching : Switching, optional
        The switching edge; frequency, edge and voltage are taken from it where the table does not give them.

    Raises
    ------
    ScenarioError
        If a value is impossible or missing.
    """
    edge = switching
    of_edge = (None, None, None) if edge is None else (edge.frequency, edge.full_edge, edge.input_voltage)
    frequency = own_or_of_edge("pickup", "frequency", table.frequency, of_edge[0], "400 kHz")
    rise_time = own_or_of_edge("pickup", "rise_time", table.rise_time, of_edge[1], "2 ns")
    fall_time = rise_time if table.fall_time is None else table.fall_time
    rising = rise_time if table.voltage_rise_time is None else table.voltage_rise_time
    falling = fall_time if table.voltage_rise_time is None else table.voltage_rise_time
    return Drive(
        current=table.current,
        frequency=frequency,
        duty=table.duty,
        rise_time=rise_time,
        fall_time=fall_time,
        voltage=own_or_of_edge("pickup", "voltage", table.voltage, of_edge[2], "12 V"),
        voltage_rise_time=rising,
        voltage_fall_time=falling if table.voltage_fall_time is None else table.voltage_fall_time,
        reference_voltage=table.reference_voltage,
        divider=Divider(
            upper=table.divider.upper,
            lower=table.divider.lower,
            feed_forward=table.divider.feed_forward,
            pin_capacitance=table.divider.pin_capacitance,
            source_resistance=table.divider.source_resistance,
        ),
        budget=math.inf if table.budget is None else table.budget,
    )


def build_victims(
    tables: dict[str, VictimTable],
    node: SwitchNodeTable | None,
    drive: Drive,
    section: CrossSection,
    *,
    loop_edge: float,
    stackup: Stackup | None,
) -> VictimSetup:
    """Put the victims of a variant into its section.

    Parameters
    ----------
    tables : dict
        Victims by name.
    node : SwitchNodeTable, optional
        The switch node, if it is described.
    drive : Drive
        What they hear.
    section : CrossSection
        The variant's section.
    loop_edge : float
        See :func:`geometries.section.victims.loop_edge` [m].
    stackup : Stackup, optional
        Its board; none for a section that is written out.

    Returns
    -------
    Hearing

    Raises
    ------
    GeometryError
        If a victim does not fit into the section.
    """
    copper: list[Region] = []
    victims = [_victim(name, table, section, copper, stackup, loop_edge) for name, table in tables.items()]
    switch_node = None
    if node is not None:
        conductor = _group(section, node.conductor)
        if node.distance is not None and node.width is not None:
            conductor = "switch node"
            trace = Trace(layer=node.layer, distance=node.distance, width=node.width)
            copper.append(_copper(conductor, trace, stackup, loop_edge, Role.FLOATING))
        switch_node = SwitchNode(conductor=conductor, length=node.length)
    return hear(section, victims, drive, loop_edge=loop_edge, copper=copper, switch_node=switch_node, stackup=stackup)


def _victim(
    name: str,
    table: VictimTable,
    section: CrossSection,
    copper: list[Region],
    stackup: Stackup | None,
    loop_edge: float,
) -> Victim:
    conductor, reference, trace = _group(section, table.conductor), _group(section, table.reference), None
    if table.distance is not None and table.width is not None:
        conductor = name
        trace = Trace(layer=table.layer, distance=table.distance, width=table.width)
        copper.append(_copper(conductor, trace, stackup, loop_edge))
    if table.return_trace is not None:
        reference, back = f"{name} return", table.return_trace
        own = Trace(layer=back.layer, distance=back.distance, width=back.width)
        copper.append(_copper(reference, own, stackup, loop_edge))
    return Victim(
        name=name,
        conductor=conductor,
        reference=reference,
        length=table.length,
        run=_RUNS[table.run],
        trace=trace,
    )


def _copper(name: str, trace: Trace, stackup: Stackup | None, loop_edge: float, role: Role = Role.VICTIM) -> Region:
    if stackup is None:
        raise GeometryError(
            f"{name!r} is placed on a layer, but the section is written out and has none; write it as a region of "
            "role 'victim' and give its name as the conductor"
        )
    return trace.region(name, stackup, loop_edge, role)


def _group(section: CrossSection, name: str) -> str:
    """Group of the conductor called `name`; a plane goes by its layer, whole or in parts. Unknown names stay."""
    for region in section.regions:
        if region.name == name or region.name.startswith(f"{name} part "):
            return region.group
    return name
