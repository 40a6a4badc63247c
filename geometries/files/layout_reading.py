"""From a file with a copper outline written out to a :class:`~geometries.layout.layout.PlanLayout`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from geometries.board.materials import COPPER
from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import explained, parse_document, read_text
from geometries.layout.layout import (
    MIRROR,
    CopperSheet,
    EdgeTerminal,
    Faces,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    RingPort,
    Spread,
    Terminal,
    Via,
)
from geometries.section.outline import Polygon
from geometries.tables import CopperThickness, Frequency, Length, Table, read_table

Corner = tuple[Length, Length]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanTask:
    """A layout that is written out, and the frequency at which it is wanted beside its limits [Hz]."""

    layout: PlanLayout
    frequency: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTable(Table):
    """One piece of copper: its corners, its height, its holes."""

    name: str
    corners: tuple[Corner, ...]
    height: Length
    holes: tuple[tuple[Corner, ...], ...] = ()
    thickness: CopperThickness = 35e-6
    faces: Faces = Faces.BOTH


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalTable(Table):
    """Where a part meets the copper: a stretch of an edge, or a pad inside."""

    copper: str
    edge: tuple[Corner, Corner] | None = None
    pad: tuple[Corner, ...] | None = None

    def __post_init__(self) -> None:
        if (self.edge is None) == (self.pad is None):
            raise ValueError(
                'a terminal is either a stretch of an edge, edge = [["0 mm", "0 mm"], ["1 mm", "0 mm"]], or a pad with '
                "its corners, pad = [...]"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class PortTable(Table):
    """A part that closes a cut, from one terminal to the other."""

    name: str
    entry: TerminalTable
    leave: TerminalTable
    spread: Spread = Spread.FREE


@dataclass(frozen=True, slots=True, kw_only=True)
class RingPortTable(Table):
    """A closed ring, driven around the hole that holds a point."""

    name: str
    copper: str
    inside: Corner


@dataclass(frozen=True, slots=True, kw_only=True)
class PostTable(Table):
    """An upright conductor between two pieces of copper, or down to the mirror plane."""

    name: str
    centre: Corner
    radius: Length
    upper: str
    lower: str = MIRROR
    wall: Length = 25e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class MirrorTable(Table):
    """A whole plane without end below all copper; `metal` says whether its skin effect counts."""

    height: Length
    thickness: CopperThickness | None = None
    metal: Literal["copper", "perfect"] = "copper"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanTable(Table):
    """A whole file."""

    title: str
    frequency: Frequency = 100e6
    copper: Annotated[tuple[SheetTable, ...], Field(min_length=1)]
    port: tuple[PortTable, ...] = ()
    ring: tuple[RingPortTable, ...] = ()
    via: tuple[PostTable, ...] = ()
    plane: MirrorTable | None = None


def read_plan(path: Path) -> PlanTask:
    """Read a layout that is written out.

    Parameters
    ----------
    path : Path
        A TOML file.

    Returns
    -------
    PlanTask

    Raises
    ------
    ScenarioError
        If the file cannot be read or does not describe a layout; the message says what, where and how to mend it.
    """
    return parse_plan(read_text(path), where=str(path))


def parse_plan(text: str, *, where: str = "plan") -> PlanTask:
    """Read a layout from the text of a TOML file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_plan`.
    """
    document = parse_document(text, where=where)
    try:
        table = read_table(PlanTable, document)
    except ValidationError as error:
        raise explained(error, document, document, text, where) from error
    if not (table.frequency > 0 and math.isfinite(table.frequency)):
        raise ScenarioError(f"{where}: frequency is {table.frequency:g} Hz; it must be above zero")
    try:
        return PlanTask(layout=_build_layout(table), frequency=table.frequency)
    except GeometryError as error:
        raise ScenarioError(f"{where}: {error}") from error


def _build_layout(table: PlanTable) -> PlanLayout:
    ports = [
        Port(name=port.name, entry=_terminal(port.entry), leave=_terminal(port.leave), spread=port.spread)
        for port in table.port
    ]
    rings = [RingPort(name=ring.name, sheet=ring.copper, inside=ring.inside) for ring in table.ring]
    vias = [
        Via(
            name=via.name,
            centre=via.centre,
            radius=via.radius,
            upper=via.upper,
            lower=via.lower,
            wall=min(via.wall, via.radius),
        )
        for via in table.via
    ]
    return PlanLayout(
        name=table.title,
        sheets=tuple(map(_sheet, table.copper)),
        ports=(*ports, *rings),
        vias=tuple(vias),
        plane=None if table.plane is None else _plane(table.plane),
    )


def _sheet(table: SheetTable) -> CopperSheet:
    try:
        outline = Polygon(vertices=table.corners)
        holes = tuple(Polygon(vertices=hole) for hole in table.holes)
    except GeometryError as error:
        raise GeometryError(f"copper {table.name!r}: {error}") from error
    return CopperSheet(
        name=table.name, outline=outline, height=table.height, holes=holes, thickness=table.thickness, faces=table.faces
    )


def _terminal(table: TerminalTable) -> Terminal:
    if table.edge is not None:
        return EdgeTerminal(sheet=table.copper, start=table.edge[0], end=table.edge[1])
    return PadTerminal(sheet=table.copper, outline=Polygon(vertices=table.pad or ()))


def _plane(table: MirrorTable) -> MirrorPlane:
    return MirrorPlane(
        height=table.height,
        material=COPPER if table.metal == "copper" else None,
        thickness=math.inf if table.thickness is None else table.thickness,
    )
