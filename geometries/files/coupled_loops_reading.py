"""The tables `[switched.NAME]` of a scenario file: further switched loops, and the current of the main one."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from geometries.board.stackup import Stackup
from geometries.errors import GeometryError
from geometries.files.tables import Current, Length, Table, Time
from geometries.files.victims_reading import TraceTable
from geometries.section.coupled_loops import SwitchedLoop, SwitchedLoops, switch_together
from geometries.section.section import CrossSection, CurrentLoop, Region
from geometries.section.victims import Trace, Victim

MAIN = "loop"
"""Name of the table that holds the commutation loop's own current and edge."""


class SwitchedTable(Table):
    """A switched loop: current and edge, and its copper unless it is the main loop."""

    current: Current
    edge: Time
    trace: TraceTable | None = None
    return_trace: TraceTable | None = None
    reference: str = ""
    length: Length | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.trace is None:
            if self.return_trace is not None or self.reference or self.length is not None:
                raise ValueError(
                    'a switched loop with a return needs its trace too, for example trace = { layer = "L1", '
                    'distance = "1 mm", width = "0.3 mm" }'
                )
            return self
        if bool(self.reference) == (self.return_trace is not None) or self.length is None:
            raise ValueError(
                "a switched loop needs its length and the conductor its current returns in: a return_trace of its own, "
                'or reference, the name of a plane\'s layer or of other copper, for example reference = "return"'
            )
        return self


def build_switched(
    tables: dict[str, SwitchedTable],
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
    tables : dict
        By name; the one called "loop" is the main loop's and holds current and edge alone.
    section : CrossSection
        Of the main loop, and of the victims if there are any.
    length : float
        Of the main loop [m].
    loop_edge : float
        See :func:`geometries.section.victims.loop_edge` [m].
    stackup : Stackup, optional
        The board; none for a section that is written out.
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
        raise GeometryError("switched loops are traces on a board; this section is written out: use [[current]] tables")
    copper: list[Region] = []
    others = []
    for name, table in tables.items():
        if name != MAIN:
            others.append(_further(name, table, stackup, loop_edge, copper))
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
    copper.append(_region(name, table.trace, stackup, loop_edge))
    back = table.reference
    if table.return_trace is not None:
        back = f"{name} return"
        copper.append(_region(back, table.return_trace, stackup, loop_edge))
    loop = SwitchedLoop(name=name, length=table.length, current=table.current, edge=table.edge)
    return loop, CurrentLoop(name=name, go_group=name, return_group=back)


def _region(name: str, table: TraceTable, stackup: Stackup, loop_edge: float) -> Region:
    trace = Trace(layer=table.layer, distance=table.distance, width=table.width)
    return trace.region(name, stackup, loop_edge)
