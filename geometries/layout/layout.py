"""A layout seen from above: flat copper at heights, where parts close the current, vias down to other copper.

x and y run in the board, z up out of it. Copper is a sheet of zero height that carries a surface current, or two of
them, its faces, joined along the rim; the thickness of a single sheet only sets its resistance. A part that closes a
cut is not drawn: its two terminals are, and together they are a port.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import Field
from shapely.geometry import LineString, MultiLineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.board.materials import COPPER, Conductor
from geometries.errors import GeometryError, require_unique
from geometries.quantities import MM, write_place
from geometries.section.outline import Point, Polygon, Rectangle
from geometries.tables import Length, Table

NEAR = 1e-9
"""Points closer than this are the same [m]."""

MIRROR = "mirror plane"
"""Lower end of a via that stands on the mirror plane."""

WALL_PARTS = 12
"""Filaments that stand for a wall."""

POST_SIDES = 16
"""A via is meshed as a regular polygon of so many sides and of its circle's perimeter."""


Corner = tuple[Length, Length]


class Faces(StrEnum):
    """Which faces of the copper carry the current where the skin is thin.

    ``one face`` and ``both faces`` make one sheet of it and set its impedance; ``joined faces`` makes two sheets a
    thickness apart, between which the current is shared as the plate's metal and the field will have it.
    """

    ONE = "one face"
    BOTH = "both faces"
    JOINED = "joined faces"


class Side(StrEnum):
    """On which of two joined faces of its copper a pad lies; both for what passes through."""

    UPPER = "upper"
    LOWER = "lower"
    THROUGH = "through"


class Spread(StrEnum):
    """How the current is distributed over a terminal.

    ``free`` makes the terminal an equipotential, as solder does; ``uniform`` forces an even density.
    """

    FREE = "free"
    UNIFORM = "uniform"


@dataclass(frozen=True, slots=True, kw_only=True)
class CopperSheet:
    """One connected piece of copper on one layer.

    Parameters
    ----------
    name : str
        Unique in its layout.
    outline : Polygon or Rectangle
        Outer edge [m].
    height : float
        Height of the current's surface [m]; for a thin skin that of the face towards the plane, of joined faces that
        of the lower one.
    holes : tuple of Polygon or Rectangle
        Voids, slots and clearances inside the outline [m]; none may touch another or the edge.
    thickness : float
        Copper thickness [m]; of a single sheet for the resistance only.
    material : Conductor
        Its metal.
    faces : Faces
        Faces that carry the current: ``JOINED`` for any copper, ``ONE`` for a thin sheet over a near plane, ``BOTH``
        for one far from a plane.

    Raises
    ------
    GeometryError
        If a hole touches another or the edge, or the thickness is not above zero.

    Examples
    --------
    >>> from geometries import MM, CopperSheet, Rectangle
    >>> frame = Rectangle(left=0.0, right=5 * MM, bottom=0.0, top=3 * MM)
    >>> hole = Rectangle(left=1 * MM, right=4 * MM, bottom=1 * MM, top=2 * MM)
    >>> sheet = CopperSheet(name="top", outline=frame, height=0.2 * MM, holes=(hole,))
    >>> round(sheet.shape.area * 1e6, 6)
    12.0
    """

    name: str
    outline: Polygon | Rectangle
    height: float
    holes: tuple[Polygon | Rectangle, ...] = ()
    thickness: float = 35e-6
    material: Conductor = COPPER
    faces: Faces = Faces.BOTH

    def __post_init__(self) -> None:
        if not self.thickness > 0:
            raise GeometryError(f"copper {self.name!r} has a thickness of {self.thickness:g} m; it must be above zero")
        inside = ShapelyPolygon(self.outline.vertices)
        for index, hole in enumerate(self.holes):
            if not inside.contains(hole.shape) or inside.exterior.distance(hole.shape) < NEAR:
                raise GeometryError(
                    f"hole {index + 1} of copper {self.name!r}, {_place(hole.shape)}, reaches the outer edge; "
                    "draw it into the outline instead"
                )
        for (i, one), (k, other) in combinations(enumerate(self.holes), 2):
            if one.shape.distance(other.shape) < NEAR:
                raise GeometryError(
                    f"holes {i + 1} and {k + 1} of copper {self.name!r} touch {_place(other.shape)}; "
                    "draw them as one polygon"
                )

    @property
    def shape(self) -> ShapelyPolygon:
        """Outline with holes as a shapely polygon."""
        return ShapelyPolygon(self.outline.vertices, [hole.vertices for hole in self.holes])

    @property
    def mid_height(self) -> float:
        """Height of the middle of its levels [m]."""
        return sum(self.levels) / len(self.levels)

    @property
    def levels(self) -> tuple[float, ...]:
        """Heights of its current's surfaces, the lower one first [m]."""
        joined = self.faces is Faces.JOINED
        return (self.height, self.height + self.thickness) if joined else (self.height,)

    def hole_around(self, point: Point) -> int:
        """Index of the hole that holds a point; raise GeometryError if there is none."""
        for index, hole in enumerate(self.holes):
            if hole.shape.contains(ShapelyPoint(point)):
                return index
        raise GeometryError(f"copper {self.name!r} has no hole at {write_place(point)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeTerminal:
    """A stretch of a straight edge of copper through which the current passes, from `start` to `end` [m].

    Parameters
    ----------
    sheet : str
        Name of the copper.
    start, end : (x, y)
        Ends of the stretch, on one straight edge [m].

    Examples
    --------
    >>> from geometries import EdgeTerminal
    >>> EdgeTerminal(sheet="strip", start=(0.0, 0.0), end=(0.0, 2e-3)).middle
    (0.0, 0.001)
    """

    sheet: str
    start: Point
    end: Point

    @property
    def line(self) -> LineString:
        """The stretch as a shapely line."""
        return LineString([self.start, self.end])

    @property
    def middle(self) -> Point:
        """Its middle [m]."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class PadTerminal:
    """A soldered area inside the copper; the current passes its rim anywhere. The copper under it is whole.

    What passes both faces, as a via does, leaves a hole in them.

    Parameters
    ----------
    sheet : str
        Name of the copper.
    outline : Polygon or Rectangle
        The area [m].

    Examples
    --------
    >>> from geometries import PadTerminal, Rectangle
    >>> PadTerminal(sheet="strip", outline=Rectangle(left=0.0, right=2e-3, bottom=0.0, top=2e-3)).middle
    (0.001, 0.001)
    """

    sheet: str
    outline: Polygon | Rectangle
    side: Side = Side.UPPER

    @property
    def middle(self) -> Point:
        """Centroid of the area [m]."""
        centre = self.outline.shape.centroid
        return float(centre.x), float(centre.y)


Terminal = EdgeTerminal | PadTerminal


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneTerminal:
    """Where a part meets the endless plane [m]; what spreads from there in the plane is in the images.

    Parameters
    ----------
    middle : (x, y)
        Its place [m].

    Examples
    --------
    >>> from geometries import PlaneTerminal
    >>> PlaneTerminal(middle=(0.0, 0.0)).sheet
    'mirror plane'
    """

    middle: Point

    @property
    def sheet(self) -> str:
        """Stands for the plane where copper has its name."""
        return MIRROR


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """A part between two terminals; its current enters the copper at `entry` and leaves it at `leave`.

    Parameters
    ----------
    name : str
        Unique among ports, rings and vias.
    entry, leave : EdgeTerminal, PadTerminal or PlaneTerminal
        Where the current comes into the copper and where it goes back into the part.
    spread : Spread
        Of the current over both terminals; free is the physical one for soldered parts.

    Examples
    --------
    >>> from geometries import EdgeTerminal, Port
    >>> ends = [EdgeTerminal(sheet="strip", start=(x, 0.0), end=(x, 2e-3)) for x in (0.0, 8e-3)]
    >>> Port(name="capacitor", entry=ends[0], leave=ends[1]).spread.value
    'free'
    """

    name: str
    entry: Terminal | PlaneTerminal
    leave: Terminal | PlaneTerminal
    spread: Spread = Spread.FREE

    def terminals(self) -> tuple[Terminal, ...]:
        """Where the current comes into copper and where it leaves it; none on the endless plane."""
        return tuple(end for end in (self.entry, self.leave) if not isinstance(end, PlaneTerminal))


@dataclass(frozen=True, slots=True, kw_only=True)
class RingPort(Table):
    """A closed ring driven around one of its holes, without a cut; `inside` is any point in that hole [m].

    The current is what circulates around the hole, counter-clockwise.

    Parameters
    ----------
    name : str
        Unique among ports, rings and vias.
    sheet : str
        Name of the copper.
    inside : (x, y)
        Any point in the hole [m].

    Examples
    --------
    >>> from geometries import MM, CopperSheet, Rectangle, RingPort
    >>> hole = Rectangle(left=1 * MM, right=4 * MM, bottom=1 * MM, top=2 * MM)
    >>> outline = Rectangle(left=0.0, right=5 * MM, bottom=0.0, top=3 * MM)
    >>> sheet = CopperSheet(name="top", outline=outline, height=0.2 * MM, holes=(hole,))
    >>> sheet.hole_around(RingPort(name="loop", sheet="top", inside=(2 * MM, 1.5 * MM)).inside)
    0
    """

    name: str
    sheet: Annotated[str, Field(alias="copper")]
    inside: Corner


@dataclass(frozen=True, slots=True, kw_only=True)
class Via:
    """A vertical round conductor that joins two sheets, or a sheet and the mirror plane.

    One via may go on from where another ends, at the same place and with the same radius.

    Parameters
    ----------
    name : str
        Unique among ports, rings and vias.
    centre : (x, y)
        Where it stands [m].
    radius : float
        Outer radius [m]; for a via half the drilled diameter.
    upper : str
        Name of the sheet at its upper end.
    lower : str
        Name of the sheet at its lower end, or ``MIRROR``.
    wall : float
        Thickness of the metal [m]; a via's plating, or the radius for a solid post.
    material : Conductor
        Its metal.

    Examples
    --------
    >>> from geometries import Via
    >>> Via(name="to the plane", centre=(0.0, 0.0), radius=0.15e-3, upper="top").lower
    'mirror plane'
    """

    name: str
    centre: Point
    radius: float
    upper: str
    lower: str = MIRROR
    wall: float = 25e-6
    material: Conductor = COPPER

    def __post_init__(self) -> None:
        if not 0 < self.wall <= self.radius:
            raise GeometryError(
                f"via {self.name!r} has a radius of {self.radius:g} m and a wall of {self.wall:g} m; "
                "both must be above zero and the wall no thicker than the radius"
            )

    @property
    def footprint(self) -> Polygon:
        """The polygon of the circle's perimeter that stands for it in the copper."""
        turns = 2 * math.pi * (np.arange(POST_SIDES) + 0.5) / POST_SIDES
        radius = self.radius * math.pi / (POST_SIDES * math.sin(math.pi / POST_SIDES))
        x, y = self.centre
        return Polygon(vertices=tuple((x + radius * math.cos(a), y + radius * math.sin(a)) for a in turns))

    def terminals(self) -> tuple[PadTerminal, ...]:
        """Its ends in copper, from the upper to the lower."""
        ends = (self.upper,) if self.lower == MIRROR else (self.upper, self.lower)
        return tuple(PadTerminal(sheet=sheet, outline=self.footprint, side=Side.THROUGH) for sheet in ends)

    @property
    def shape(self) -> BaseGeometry:
        """What it takes up seen from above."""
        return self.footprint.shape

    @property
    def girth(self) -> float:
        """Width of its metal, unrolled [m]."""
        return 2 * math.pi * (self.radius - self.wall / 2)

    @property
    def filaments(self) -> tuple[Point, ...]:
        """Where wires stand that share its current evenly."""
        return (self.centre,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A vertical plate that joins straight edges of two sheets, or of a sheet and the mirror plane, over a full width.

    Parameters
    ----------
    name : str
        Unique among ports, rings and vias.
    start, end : (x, y)
        Ends of the stretch of edge that it takes up, seen from above [m].
    upper, lower : str
        As for a via.
    wall : float
        Thickness of the metal [m].
    material : Conductor
        Its metal.

    Examples
    --------
    >>> from geometries import Wall
    >>> wall = Wall(name="edge plating", start=(0.0, 0.0), end=(0.0, 2e-3), upper="top")
    >>> wall.girth, wall.centre
    (0.002, (0.0, 0.001))
    """

    name: str
    start: Point
    end: Point
    upper: str
    lower: str = MIRROR
    wall: float = 25e-6
    material: Conductor = COPPER

    def __post_init__(self) -> None:
        if not 0 < self.wall < self.girth:
            raise GeometryError(
                f"wall {self.name!r} is {self.girth / MM:g} mm wide and {self.wall / MM:g} mm thick; both must be "
                "above zero, and it must be wider than thick"
            )

    def terminals(self) -> tuple[EdgeTerminal, ...]:
        """Its ends in copper, from the upper to the lower."""
        ends = (self.upper,) if self.lower == MIRROR else (self.upper, self.lower)
        return tuple(EdgeTerminal(sheet=sheet, start=self.start, end=self.end) for sheet in ends)

    @property
    def shape(self) -> BaseGeometry:
        """What it takes up seen from above."""
        return LineString([self.start, self.end])

    @property
    def girth(self) -> float:
        """Its width [m]."""
        return math.dist(self.start, self.end)

    @property
    def centre(self) -> Point:
        """Its middle [m]."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2

    @property
    def filaments(self) -> tuple[Point, ...]:
        """Where wires stand that share its current evenly: in the middle of equal parts."""
        places = (np.arange(WALL_PARTS) + 0.5) / WALL_PARTS
        return tuple(
            (
                float(self.start[0] + part * (self.end[0] - self.start[0])),
                float(self.start[1] + part * (self.end[1] - self.start[1])),
            )
            for part in places
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MirrorPlane:
    """An infinite unbroken plane under everything, taken into account by images.

    Parameters
    ----------
    height : float
        Height of its upper face [m].
    material : Conductor, optional
        Its metal; without one it is a perfect conductor.
    thickness : float
        Its thickness [m]; infinite by default.

    Examples
    --------
    >>> from geometries import COPPER, UM, MirrorPlane
    >>> MirrorPlane(height=0.0, material=COPPER, thickness=35 * UM).material.name
    'copper'
    """

    height: float
    material: Conductor | None = None
    thickness: float = math.inf

    def __post_init__(self) -> None:
        if not self.thickness > 0:
            raise GeometryError(f"the mirror plane has a thickness of {self.thickness:g} m; it must be above zero")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLayout:
    """Copper, ports and vias, with or without a mirror plane.

    A ground layer as it is, with its outline, slots and clearances, is a sheet like any other. A via that joins several
    layers is described by a via from each of them to the next, all of one radius at one place.

    Parameters
    ----------
    name : str
        What is analysed.
    sheets : tuple of CopperSheet
        All copper, a plane with edges, voids or slots included.
    ports : tuple of Port or RingPort
        Parts that close the current. The first is where the loop is driven, for instance the switch; every current
        path that the others leave open, for instance one per capacitor, is a loop of its own.
    vias : tuple of Via or Wall
        Vertical conductors.
    plane : MirrorPlane, optional
        Lies under all copper.

    Raises
    ------
    GeometryError
        If copper touches copper, a terminal is not on the copper or wider than its edge, terminals overlap, a via
        does not stand on its copper or passes through other copper without a clearance, or nothing closes the current
        of a port.

    Examples
    --------
    >>> from geometries import MM, CopperSheet, MirrorPlane, PlanLayout, Rectangle, RingPort
    >>> frame = Rectangle(left=0.0, right=5 * MM, bottom=0.0, top=3 * MM)
    >>> hole = Rectangle(left=1 * MM, right=4 * MM, bottom=1 * MM, top=2 * MM)
    >>> sheet = CopperSheet(name="top", outline=frame, height=0.2 * MM, holes=(hole,))
    >>> layout = PlanLayout(
    ...     name="ring over a plane",
    ...     sheets=(sheet,),
    ...     ports=(RingPort(name="around the hole", sheet="top", inside=(2 * MM, 1.5 * MM)),),
    ...     plane=MirrorPlane(height=0.0),
    ... )
    >>> layout.cut_ports
    ()
    """

    name: str
    sheets: tuple[CopperSheet, ...]
    ports: tuple[Port | RingPort, ...]
    vias: tuple[Via | Wall, ...] = ()
    plane: MirrorPlane | None = None

    def __post_init__(self) -> None:
        require_unique("copper", [sheet.name for sheet in self.sheets])
        require_unique("port or via", [branch.name for branch in (*self.ports, *self.vias)])
        if not self.ports:
            raise GeometryError(f"layout {self.name!r} has no port; say where the current enters and leaves")
        self._require_apart()
        self._require_plane_below()
        self._require_vias()
        for port in self.ports:
            self._require_port(port)
        self._require_free_spread()
        self._require_separate_terminals()
        self._require_closed()

    def sheet(self, name: str) -> CopperSheet:
        """Return the sheet called `name`; raise GeometryError if there is none."""
        for sheet in self.sheets:
            if sheet.name == name:
                return sheet
        known = ", ".join(repr(sheet.name) for sheet in self.sheets)
        raise GeometryError(f"layout {self.name!r} has no copper {name!r}; its copper is {known}")

    @property
    def cut_ports(self) -> tuple[Port, ...]:
        """Ports with two terminals, without the driven rings."""
        return tuple(port for port in self.ports if isinstance(port, Port))

    def terminals(self) -> tuple[tuple[str, Terminal], ...]:
        """Every terminal with the name of its port or via: entry and leave of ports, then ends of vias.

        Where one via continues from another's end the two have one terminal, under the name of the first.
        """
        ports = [(port.name, end) for port in self.cut_ports for end in port.terminals()]
        ends: dict[Terminal, str] = {}
        for via in self.vias:
            for end in via.terminals():
                ends.setdefault(end, via.name)
        return (*ports, *((name, end) for end, name in ends.items()))

    @property
    def idle_vias(self) -> tuple[str, ...]:
        """Vias that carry nothing, since nothing leads their current back: ties at one end only."""
        first = len(self.cut_ports)
        return tuple(via.name for column, via in enumerate(self.vias, start=first) if self._leads_nowhere(column))

    def ends(self, via: Via | Wall) -> tuple[float, float]:
        """Heights of the lower and the upper end of a via [m]."""
        if via.lower != MIRROR:
            return self.sheet(via.lower).levels[-1], self.sheet(via.upper).height
        if self.plane is None:
            raise GeometryError(f"via {via.name!r} stands on the mirror plane, but the layout has none")
        return self.plane.height, self.sheet(via.upper).height

    def level(self, terminal: Terminal | PlaneTerminal) -> float:
        """Height at which a part meets a terminal [m]: the upper face, unless its pad lies on the lower one."""
        if isinstance(terminal, PlaneTerminal):
            return self._mirror(terminal).height
        levels = self.sheet(terminal.sheet).levels
        below = isinstance(terminal, PadTerminal) and terminal.side is Side.LOWER
        return levels[0] if below else levels[-1]

    def _mirror(self, terminal: PlaneTerminal) -> MirrorPlane:
        if self.plane is None:
            place = write_place(terminal.middle)
            raise GeometryError(f"a part meets the endless plane at {place}, but layout {self.name!r} has none")
        return self.plane

    def spreads(self) -> tuple[Spread, ...]:
        """How the current spreads over each terminal; a via's is free."""
        ports = [port.spread for port in self.cut_ports for _ in port.terminals()]
        return (*ports, *(Spread.FREE for _ in self.terminals()[len(ports) :]))

    def incidence(self) -> NDArray[np.int64]:
        """Current that each port with a cut, then each via (downwards), brings into each sheet per ampere.

        Returns
        -------
        (sheets, branches) array
            A layout's currents sum to zero in every row.
        """
        index = {sheet.name: row for row, sheet in enumerate(self.sheets)}
        branches = [[(port.entry.sheet, 1), (port.leave.sheet, -1)] for port in self.cut_ports]
        branches += [[(via.upper, -1), (via.lower, 1)] for via in self.vias]
        matrix = np.zeros((len(self.sheets), len(branches)), dtype=np.int64)
        for column, ends in enumerate(branches):
            for sheet, sign in ends:
                if sheet != MIRROR:
                    matrix[index[sheet], column] += sign
        return matrix

    def _require_apart(self) -> None:
        for one, other in combinations(self.sheets, 2):
            if one.height == other.height and one.shape.distance(other.shape) < NEAR:
                shared = one.shape.buffer(NEAR).intersection(other.shape.buffer(NEAR))
                raise GeometryError(
                    f"copper {one.name!r} and {other.name!r} of layout {self.name!r} touch {_place(shared)}; "
                    "draw joined copper as one outline, or leave a gap"
                )

    def _require_plane_below(self) -> None:
        if self.plane is None:
            return
        for sheet in self.sheets:
            if not sheet.height > self.plane.height:
                raise GeometryError(
                    f"copper {sheet.name!r} lies at {sheet.height / MM:g} mm, not above the mirror plane at "
                    f"{self.plane.height / MM:g} mm"
                )

    def _require_vias(self) -> None:
        for via in self.vias:
            lower, upper = self.ends(via)
            if not upper > lower:
                raise GeometryError(f"the upper end of via {via.name!r} is not above its lower end; swap them")
            self._require_clear(via, lower, upper)

    def _require_clear(self, via: Via | Wall, lower: float, upper: float) -> None:
        """Refuse a via that touches copper it neither ends on nor has a clearance in."""
        shape = via.shape
        for sheet in self.sheets:
            passed = lower < sheet.height < upper and sheet.name not in (via.upper, via.lower)
            if passed and sheet.shape.distance(shape) < NEAR:
                raise GeometryError(
                    f"via {via.name!r} passes through copper {sheet.name!r} {_place(shape)} without a clearance; "
                    "give the copper a hole there, or describe a via to it and another one from there on"
                )

    def _require_port(self, port: Port | RingPort) -> None:
        if isinstance(port, RingPort):
            self.sheet(port.sheet).hole_around(port.inside)
            return
        for end in (port.entry, port.leave):
            self.level(end)
        if not port.terminals():
            raise GeometryError(f"port {port.name!r} lies between the plane and itself; let one end be on copper")

    def _require_free_spread(self) -> None:
        for port in self.cut_ports:
            joined = [end.sheet for end in port.terminals() if self.sheet(end.sheet).faces is Faces.JOINED]
            if joined and port.spread is Spread.UNIFORM:
                raise GeometryError(
                    f"port {port.name!r} has a uniform spread on copper {joined[0]!r} of joined faces; make it free, "
                    "or the copper a single sheet"
                )

    def _require_separate_terminals(self) -> None:
        seen: dict[str, list[tuple[str, BaseGeometry]]] = {}
        for name, terminal in self.terminals():
            sheet = self.sheet(terminal.sheet)
            _require_on_copper(name, terminal, sheet)
            shape = terminal.line if isinstance(terminal, EdgeTerminal) else terminal.outline.shape
            for other, taken in seen.setdefault(sheet.name, []):
                if shape.distance(taken) < NEAR:
                    raise GeometryError(
                        f"terminals of {other!r} and {name!r} touch on copper {sheet.name!r} {_place(shape)}; "
                        "leave copper between them"
                    )
            seen[sheet.name].append((name, shape))

    def _require_closed(self) -> None:
        for column, port in enumerate(self.cut_ports):
            if self._leads_nowhere(column):
                raise GeometryError(
                    f"nothing closes the current of {port.name!r} in layout {self.name!r}; copper at its ends needs "
                    "another port or via to lead the current on"
                )

    def _leads_nowhere(self, column: int) -> bool:
        """Whether no others lead back the current of a port or via, by its column of the incidence matrix."""
        incidence = self.incidence()
        others = np.delete(incidence, column, axis=1)
        if not others.size:
            return bool(incidence.any())
        return bool(np.linalg.matrix_rank(others) < np.linalg.matrix_rank(incidence))


def _require_on_copper(name: str, terminal: Terminal, sheet: CopperSheet) -> None:
    if isinstance(terminal, PadTerminal):
        shape = terminal.outline.shape
        if not sheet.shape.contains(shape) or sheet.shape.boundary.distance(shape) < NEAR:
            raise GeometryError(
                f"{name!r} does not stand wholly inside copper {sheet.name!r} {_place(shape)}; "
                "move it or widen the copper"
            )
        return
    if terminal.line.length < NEAR:
        raise GeometryError(f"a terminal of port {name!r} on copper {sheet.name!r} has no width")
    line = terminal.line
    near = [(edge, edge.buffer(NEAR)) for edge in _straight_edges(sheet) if edge.distance(line) < NEAR]
    under = [(edge, around) for edge, around in near if around.intersection(line).length > NEAR]
    if not under or all(edge.distance(ShapelyPoint(terminal.middle)) > NEAR for edge, _ in under):
        raise GeometryError(f"a terminal of port {name!r} is not on an edge of copper {sheet.name!r} {_place(line)}")
    if not any(around.covers(line) for _, around in under):
        widest = max(edge.length for edge, _ in under)
        raise GeometryError(
            f"a terminal of port {name!r} is {line.length / MM:.4g} mm wide, more than the straight edge of "
            f"copper {sheet.name!r} under it ({widest / MM:.4g} mm) {_place(line)}"
        )


def _straight_edges(sheet: CopperSheet) -> Iterator[LineString]:
    for ring in (sheet.outline, *sheet.holes):
        closed = (*ring.vertices, ring.vertices[0])
        yield from MultiLineString([closed[i : i + 2] for i in range(len(ring.vertices))]).geoms


def _place(shape: BaseGeometry) -> str:
    where = shape.representative_point()
    return f"near x = {where.x / MM:.4g} mm, y = {where.y / MM:.4g} mm"
