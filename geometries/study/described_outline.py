"""From the table `outline` of a scenario, or a file of its own, to a loop on its layout."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from geometries.board.capacitors import Capacitor, ElectrodeBody, conductor
from geometries.board.materials import Conductor
from geometries.board.stackup import Stackup
from geometries.errors import GeometryError
from geometries.layout.laid_out import LaidOutLoop, LoopPart
from geometries.layout.layout import (
    MIRROR,
    CopperSheet,
    Corner,
    EdgeTerminal,
    Faces,
    MirrorPlane,
    PadTerminal,
    PlaneTerminal,
    PlanLayout,
    Port,
    RingPort,
    Side,
    Spread,
    Terminal,
    Via,
    Wall,
)
from geometries.layout.part_bodies import with_body
from geometries.quantities import MM
from geometries.section.outline import Polygon
from geometries.study.described_placement import PackageTable, PartTable, build_capacitor, build_package
from geometries.tables import CopperThickness, Filled, Length, Positive, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTable(Table):
    """A piece of copper: on a layer of the board, or at a height of its own."""

    name: str
    corners: tuple[Corner, ...]
    layer: str = ""
    height: Length | None = None
    holes: tuple[tuple[Corner, ...], ...] = ()
    thickness: CopperThickness | None = None
    faces: Faces = Faces.JOINED

    def __post_init__(self) -> None:
        _require_one_place(f"copper {self.name!r}", self.layer, self.height)


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalTable(Table):
    """A terminal: a stretch of an edge of copper, a pad inside it, or a place on the endless plane."""

    copper: str = ""
    edge: tuple[Corner, Corner] | None = None
    pad: tuple[Corner, ...] | None = None
    side: Side = Side.UPPER
    plane: Corner | None = None

    def __post_init__(self) -> None:
        given = [self.edge is not None, self.pad is not None, self.plane is not None]
        if sum(given) != 1 or bool(self.copper) is (self.plane is not None):
            raise GeometryError(
                'a terminal is either a stretch of an edge of copper, edge = [["0 mm", "0 mm"], ["1 mm", "0 mm"]], or '
                'a pad with its corners, pad = [...], or without copper a place on the endless plane, plane = ["0 mm", '
                '"0 mm"]'
            )

    def built(self) -> Terminal | PlaneTerminal:
        """The terminal itself."""
        if self.plane is not None:
            return PlaneTerminal(middle=self.plane)
        if self.edge is not None:
            return EdgeTerminal(sheet=self.copper, start=self.edge[0], end=self.edge[1])
        return PadTerminal(sheet=self.copper, outline=Polygon(vertices=self.pad or ()), side=self.side)


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeTable(Table):
    """What bridges a gap of the copper: a capacitor, the switches, a conductor at a height, or nothing."""

    capacitor: PartTable | None = None
    switch: PackageTable | None = None
    height: Positive[Length] | None = None

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        given = [key for key in ("capacitor", "switch", "height") if getattr(self, key) is not None]
        if len(given) > 1:
            raise GeometryError(
                f"a part is described by {' and '.join(given)}, which would count its inductance twice; give one of "
                "them (a capacitor has its electrode_height)"
            )

    def part(self) -> LoopPart | None:
        """What bridges it, if anything does."""
        if self.capacitor is not None:
            return build_capacitor(self.capacitor)
        if self.switch is not None:
            return build_package(self.switch)
        if self.height is not None:
            return conductor(self.height)
        return None


def described_parts(tables: Mapping[str, BridgeTable]) -> Mapping[str, LoopPart]:
    """The parts of which something is said, by their names."""
    return {name: part for name, described in tables.items() if (part := described.part()) is not None}


@dataclass(frozen=True, slots=True, kw_only=True)
class PortTable(BridgeTable):
    """A part between two terminals."""

    name: str
    entry: TerminalTable
    leave: TerminalTable
    spread: Spread = Spread.FREE


class ViaShape(StrEnum):
    """What a vertical conductor is: a plated hole, the same filled with copper, or a plated edge."""

    TUBE = "tube"
    FILLED = "filled"
    WALL = "full-width wall"


@dataclass(frozen=True, slots=True, kw_only=True)
class ViaTable(Table):
    """A vertical conductor from copper to other copper, or to the endless plane if `lower` is left out."""

    name: str
    shape: ViaShape = ViaShape.TUBE
    centre: Corner | None = None
    radius: Positive[Length] | None = None
    edge: tuple[Corner, Corner] | None = None
    upper: str
    lower: str = MIRROR
    wall: Positive[Length] = 25e-6

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        is_wall = self.shape is ViaShape.WALL
        if (self.edge is not None) is not is_wall or ((self.centre is None or self.radius is None) is not is_wall):
            raise GeometryError(
                f'via {self.name!r}: a {ViaShape.WALL} has an edge = [["0 mm", "0 mm"], ["0 mm", "2 mm"]] that it '
                "takes up, and a tube or a filled hole has its centre and radius"
            )

    def built(self, metal: Conductor) -> Via | Wall:
        """The conductor itself, of a metal."""
        ends = {"name": self.name, "upper": self.upper, "lower": self.lower}
        if self.edge is not None:
            return Wall(**ends, start=self.edge[0], end=self.edge[1], wall=self.wall, material=metal)
        radius, centre = self.radius or 0.0, self.centre or (0.0, 0.0)
        wall = radius if self.shape is ViaShape.FILLED else self.wall
        return Via(**ends, centre=centre, radius=radius, wall=wall, material=metal)


@dataclass(frozen=True, slots=True, kw_only=True)
class EndlessPlaneTable(Table):
    """A whole endless plane under everything: a layer of the board, or at a height."""

    layer: str = ""
    height: Length | None = None
    thickness: CopperThickness | None = None
    metal: Literal["copper", "perfect"] = "copper"

    def __post_init__(self) -> None:
        _require_one_place("plane", self.layer, self.height)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineTable(Table):
    """Copper seen from above, its ports with their parts, its vias, and an endless plane."""

    copper: Filled[SheetTable]
    port: tuple[PortTable, ...] = ()
    ring: tuple[RingPort, ...] = ()
    via: tuple[ViaTable, ...] = ()
    plane: EndlessPlaneTable | None = None


def build_outline(name: str, table: OutlineTable, stackup: Stackup | None, metal: Conductor) -> LaidOutLoop:
    """The loop on its layout.

    Parameters
    ----------
    name : str
        For messages and pictures.
    table : OutlineTable
        As described.
    stackup : Stackup, optional
        The board whose layers the copper is on.
    metal : Conductor
        Of all copper.

    Returns
    -------
    LaidOutLoop

    Raises
    ------
    GeometryError
        If a layer is unknown, copper meets where it must not, or it is no single loop.
    """
    layout = outline_layout(name, table, stackup, metal)
    parts = ((each.name, each.part()) for each in table.port)
    return LaidOutLoop(layout=layout, parts=tuple((name, part) for name, part in parts if part is not None))


def outline_layout(name: str, table: OutlineTable, stackup: Stackup | None, metal: Conductor) -> PlanLayout:
    """The copper alone, parts that are conductors among it; it may hold several loops.

    Raises
    ------
    GeometryError
        As for :func:`build_outline`.
    """
    layout = PlanLayout(
        name=name,
        sheets=tuple(_sheet(each, stackup, metal) for each in table.copper),
        ports=(*map(_port, table.port), *table.ring),
        vias=tuple(each.built(metal) for each in table.via),
        plane=None if table.plane is None else _plane(table.plane, stackup, metal),
    )
    for port in table.port:
        part = port.part()
        if isinstance(part, Capacitor) and isinstance(part.body, ElectrodeBody):
            layout = with_body(layout, port.name, part.body.height)
        elif port.height is not None:
            layout = with_body(layout, port.name, port.height)
    return layout


def _port(table: PortTable) -> Port:
    return Port(name=table.name, entry=table.entry.built(), leave=table.leave.built(), spread=table.spread)


def _sheet(table: SheetTable, stackup: Stackup | None, metal: Conductor) -> CopperSheet:
    height, thickness = table.height, table.thickness
    if table.layer:
        lower, upper = _board_of(stackup, f"copper {table.name!r}").heights(table.layer)
        thickness = upper - lower if thickness is None else thickness
        height = lower if table.faces is Faces.JOINED or table.layer == _first(stackup) else upper
    try:
        return CopperSheet(
            name=table.name,
            outline=Polygon(vertices=table.corners),
            height=0.0 if height is None else height,
            holes=tuple(Polygon(vertices=hole) for hole in table.holes),
            material=metal,
            faces=table.faces,
            **({} if thickness is None else {"thickness": thickness}),
        )
    except GeometryError as error:
        raise GeometryError(f"copper {table.name!r}: {error}") from error


def _plane(table: EndlessPlaneTable, stackup: Stackup | None, metal: Conductor) -> MirrorPlane:
    height, thickness = table.height, table.thickness
    if table.layer:
        lower, height = _board_of(stackup, "plane").heights(table.layer)
        thickness = height - lower if thickness is None else thickness
    return MirrorPlane(
        height=0.0 if height is None else height,
        material=metal if table.metal == "copper" else None,
        thickness=math.inf if thickness is None else thickness,
    )


def _first(stackup: Stackup | None) -> str:
    return "" if stackup is None else stackup.copper_names[0]


def _board_of(stackup: Stackup | None, what: str) -> Stackup:
    if stackup is None:
        raise GeometryError(
            f'{what} is on a layer, but no board is named; give stackup = "NAME" (see `copperfield stackups`), or its '
            "height"
        )
    return stackup


def _require_one_place(what: str, layer: str, height: float | None) -> None:
    if bool(layer) == (height is not None):
        given = f"layer {layer!r} and height {(height or 0.0) / MM:g} mm" if layer else "neither layer nor height"
        raise GeometryError(f'{what} has {given}; give its layer on the board, for example layer = "L1", or its height')
