"""Copper beside the loop as a file describes it: `[victims.NAME]`, `[switch_node]` and `[switched.NAME]`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from geometries.board.stackup import Stackup
from geometries.errors import GeometryError
from geometries.section.coupled_loops import SwitchedLoop, SwitchedLoops, switch_together
from geometries.section.section import CrossSection, CurrentLoop, Region, Role
from geometries.section.victims import Drive, Run, SwitchNode, Trace, Victim, VictimSetup, loop_edge, with_victims
from geometries.tables import Current, Length, Table, Time

MAIN = "loop"
"""Name of the table that holds the commutation loop's own current and edge."""

_RUNS = {"sense": Run.SENSE, "pin": Run.PIN}


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnCopper(Table):
    """Copper that is a conductor of a user-defined section, or a trace of its own on a layer beside the loop."""

    conductor: str = ""
    layer: str = ""
    distance: Annotated[Length | None, Field(description="from the loop's right edge")] = None
    width: Length | None = None
    length: Length

    @property
    def trace(self) -> Trace | None:
        """The trace, if it is one."""
        if self.distance is None or self.width is None:
            return None
        return Trace(layer=self.layer, distance=self.distance, width=self.width)

    @property
    def is_one_of_both(self) -> bool:
        """Whether it is given in one of the two ways, and completely."""
        placed = [bool(self.layer), self.distance is not None, self.width is not None]
        return not any(placed) if self.conductor else all(placed)


@dataclass(frozen=True, slots=True, kw_only=True)
class VictimTable(OwnCopper):
    """A trace that picks up noise of the loop: on the board beside it, or a conductor of a user-defined section."""

    reference: str = ""
    return_trace: Trace | None = None
    run: str = "sense"

    def __post_init__(self) -> None:
        if not self.is_one_of_both:
            raise ValueError(
                'a victim needs its layer, its distance from the loop and its width, for example layer = "L1", '
                'distance = "2 mm", width = "0.2 mm"; in a user-defined section the name of its conductor alone'
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchNodeTable(OwnCopper):
    """Copper whose voltage jumps."""

    def __post_init__(self) -> None:
        if not self.is_one_of_both:
            raise ValueError(
                'the switch node is either a conductor of the section, for example conductor = "go", or copper of its '
                "own with layer, distance and width"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchedTable(Table):
    """A switched loop: current and edge, and its copper unless it is the main loop."""

    current: Current
    edge: Time
    trace: Trace | None = None
    return_trace: Trace | None = None
    reference: str = ""
    length: Length | None = None

    def __post_init__(self) -> None:
        if self.trace is None:
            if self.return_trace is not None or self.reference or self.length is not None:
                raise ValueError(
                    'a switched loop with a return needs its trace too, for example trace = { layer = "L1", '
                    'distance = "1 mm", width = "0.3 mm" }'
                )
        elif bool(self.reference) == (self.return_trace is not None) or self.length is None:
            raise ValueError(
                "a switched loop needs its length and the conductor its current returns in: a return_trace of its own, "
                'or reference, the name of a plane\'s layer or of other copper, for example reference = "return"'
            )


def build_victims(
    tables: Mapping[str, VictimTable],
    node: SwitchNodeTable | None,
    drive: Drive,
    section: CrossSection,
    length: float,
    stackup: Stackup | None,
) -> VictimSetup:
    """Put the victims of a variant into its section.

    Parameters
    ----------
    tables : mapping of str to VictimTable
        Victims by name.
    node : SwitchNodeTable, optional
        The switch node, if it is described.
    drive : Drive
        Cause of the noise, and the pin.
    section : CrossSection
        The variant's section.
    length : float
        Of its loop [m].
    stackup : Stackup, optional
        Its board; none for a user-defined section.

    Raises
    ------
    GeometryError
        If a victim does not fit into the section.
    """
    edge, copper = loop_edge(section), list[Region]()
    victims = [_victim(name, table, section, copper, stackup, edge) for name, table in tables.items()]
    switch_node = None
    if node is not None:
        conductor = _group(section, node.conductor)
        if node.trace is not None:
            conductor = "switch node"
            copper.append(_copper(conductor, node.trace, stackup, edge, Role.FLOATING))
        switch_node = SwitchNode(conductor=conductor, length=node.length)
    return with_victims(
        section,
        victims,
        drive,
        loop_edge=edge,
        loop_length=length,
        copper=copper,
        switch_node=switch_node,
        stackup=stackup,
    )


def _victim(
    name: str, table: VictimTable, section: CrossSection, copper: list[Region], stackup: Stackup | None, edge: float
) -> Victim:
    conductor, reference = _group(section, table.conductor), _group(section, table.reference)
    if table.trace is not None:
        conductor = name
        copper.append(_copper(conductor, table.trace, stackup, edge))
    if table.return_trace is not None:
        reference = f"{name} return"
        copper.append(_copper(reference, table.return_trace, stackup, edge))
    return Victim(
        name=name,
        conductor=conductor,
        reference=reference,
        length=table.length,
        run=_RUNS[table.run],
        trace=table.trace,
    )


def _copper(name: str, trace: Trace, stackup: Stackup | None, edge: float, role: Role = Role.VICTIM) -> Region:
    if stackup is None:
        raise GeometryError(
            f"{name!r} is placed on a layer, but the section is user-defined and has none; write it as a region of "
            "role 'victim' and give its name as the conductor"
        )
    return trace.region(name, stackup, edge, role)


def _group(section: CrossSection, name: str) -> str:
    """Group of the conductor called `name`; a plane goes by its layer, whole or in parts. Unknown names stay."""
    for region in section.regions:
        if region.name == name or region.name.startswith(f"{name} part "):
            return region.group
    return name


def build_switched(
    tables: Mapping[str, SwitchedTable],
    section: CrossSection,
    *,
    length: float,
    loop_edge: float,
    stackup: Stackup | None,
    victims: tuple[Victim, ...] = (),
) -> SwitchedLoops:
    """Put the switched loops of a variant into its section.

    Parameters
    ----------
    tables : mapping of str to SwitchedTable
        By name; the one called "loop" is the main loop's and holds current and edge alone.
    section : CrossSection
        Of the main loop, and of the victims if there are any.
    length : float
        Of the main loop [m].
    loop_edge : float
        See :func:`geometries.section.victims.loop_edge` [m].
    stackup : Stackup, optional
        The board; none for a user-defined section.
    victims : tuple of Victim
        In the order of the section's further loops.

    Raises
    ------
    GeometryError
        If the main loop's table is missing, or a loop does not fit into the section.
    """
    main = tables.get(MAIN)
    if main is None or main.trace is not None or len(tables) < 2:
        raise GeometryError(
            "switched loops need a table for the main loop with its current and edge alone, "
            f'[switched.{MAIN}] current = "4 A", edge = "2 ns", and at least one more with a trace'
        )
    if stackup is None:
        raise GeometryError(
            "switched loops are traces on a board; this section is user-defined: use [[current]] tables"
        )
    copper: list[Region] = []
    others = [_further(name, table, stackup, loop_edge, copper) for name, table in tables.items() if name != MAIN]
    return switch_together(
        section,
        SwitchedLoop(name=MAIN, length=length, current=main.current, edge=main.edge),
        others,
        copper,
        tuple((victim.name, victim.length) for victim in victims),
    )


def _further(
    name: str, table: SwitchedTable, stackup: Stackup, loop_edge: float, copper: list[Region]
) -> tuple[SwitchedLoop, CurrentLoop]:
    """A loop with its groups; its conductors are added to `copper`."""
    if table.trace is None or table.length is None:
        raise GeometryError(f"switched loop {name!r} has no trace; only [switched.{MAIN}] has none")
    copper.append(table.trace.region(name, stackup, loop_edge))
    back = table.reference
    if table.return_trace is not None:
        back = f"{name} return"
        copper.append(table.return_trace.region(back, stackup, loop_edge))
    loop = SwitchedLoop(name=name, length=table.length, current=table.current, edge=table.edge)
    return loop, CurrentLoop(name=name, go_group=name, return_group=back)
