"""Interpreter of Gerber commands: each changes the state of drawing or adds an object.

A stroke is every run of draws without a break; a region is everything between G36 and G37. Steps and repeats and
aperture blocks are carried out, so that only plain objects are left.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import shapely
from shapely.affinity import translate
from shapely.geometry import LineString
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.apertures import Aperture, make_aperture, read_definition
from geometries.fabrication.arcs import arc_points, disc, quarter_segments
from geometries.fabrication.attributes import AttributeDictionaries
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber import (
    GerberFile,
    GraphicObject,
    Kind,
    commands,
    commented_attribute,
    line_of,
    require_whole,
)
from geometries.fabrication.macros import Macro
from geometries.fabrication.pen import INCH, CoordinateFormat, Placing, read_format, single_quadrant_centre
from geometries.fabrication.regions import region_shape
from geometries.quantities import MM
from geometries.section.outline import Point

MOST_OBJECTS = 400_000
"""More objects than this are refused, so that a small file of nested repeats cannot fill the memory."""

_OPERATION = re.compile(
    r"(?:G0?([123]))?(?:X([+-]?\d+))?(?:Y([+-]?\d+))?(?:I([+-]?\d+))?(?:J([+-]?\d+))?(?:D0?([123]))?$"
)
_SELECTION = re.compile(r"(?:G54)?D(\d+)$")
_REPEAT = re.compile(r"SRX(\d+)Y(\d+)I([-+.\d]+)J([-+.\d]+)$")
_HARMLESS = ("IN", "LN", "IPPOS", "ASAXBY", "MIA0B0", "OFA0B0", "SFA1B1", "IR0")
_WHOLE_IMAGE = ("IP", "AS", "MI", "OF", "SF", "IR")
_UNITS = {"MOMM": MM, "MOIN": INCH, "G71": MM, "G70": INCH}


def read_gerber(name: str, text: str) -> GerberFile:
    """Read one Gerber file.

    Parameters
    ----------
    name : str
        Its name, for messages.
    text : str
        Its content.

    Raises
    ------
    FabricationError
        If it breaks off, a command cannot be read or is missing, or it draws more than `MOST_OBJECTS` objects; the
        message names file and line.
    """
    require_whole(name, text)
    reader = _Interpreter()
    for extended, command, place in commands(text):
        try:
            (reader.extended if extended else reader.word)(command)
        except FabricationError as failure:
            raise FabricationError(f"{name}, line {line_of(text, place)}: {failure}") from failure
    reader.finish_stroke()
    return GerberFile(
        name=name, attributes=reader.known.file, objects=tuple(reader.objects), remarks=tuple(reader.remarks)
    )


@dataclass(slots=True)
class _Interpreter:
    """State of drawing, and the objects so far."""

    known: AttributeDictionaries = field(default_factory=AttributeDictionaries)
    unit: float = 0.0
    format: CoordinateFormat | None = None
    macros: dict[str, Macro] = field(default_factory=dict)
    apertures: dict[int, Aperture] = field(default_factory=dict)
    blocks: dict[int, list[GraphicObject]] = field(default_factory=dict)
    placed: dict[tuple[int, Placing], BaseGeometry] = field(default_factory=dict)
    current: int = -1
    position: Point = (0.0, 0.0)
    mode: str = "1"
    operation: str = "2"
    single_quadrant: bool = False
    dark: bool = True
    placing: Placing = field(default_factory=Placing)
    contours: list[list[Point]] | None = None
    stroke: list[Point] = field(default_factory=list)
    objects: list[GraphicObject] = field(default_factory=list)
    outer: list[tuple[int, list[GraphicObject]]] = field(default_factory=list)
    repeat: tuple[int, int, float, float] | None = None
    remarks: list[str] = field(default_factory=list)

    def word(self, command: str) -> None:
        """Follow a plain command."""
        found = _OPERATION.match(command)
        if found:
            self._operate(*found.groups())
        elif command.startswith("G04"):
            self._attribute(commented_attribute(command))
        elif chosen := _SELECTION.match(command):
            self.finish_stroke()
            self.current = int(chosen[1])
        elif command == "G36":
            self.finish_stroke()
            self.contours = []
        elif command == "G37":
            self._finish_region()
        else:
            self._set(command)

    def _set(self, command: str) -> None:
        if command in {"G74", "G75"}:
            self.single_quadrant = command == "G74"
        elif command in _UNITS:
            self._set_unit(command)
        elif command == "G91":
            raise FabricationError("coordinates are incremental (G91); export the file with absolute coordinates")
        elif command not in {"", "G90", "G55", "M00", "M01", "M02"}:
            raise FabricationError(f"command {command!r} is not known")

    def _set_unit(self, command: str) -> None:
        if self.unit and self.unit != _UNITS[command]:
            raise FabricationError(
                "the file changes its unit between mm and inch on the way; export it with one unit throughout"
            )
        self.unit = _UNITS[command]

    def _attribute(self, command: str) -> None:
        if command:
            self.finish_stroke()
            self.known.obey(command.rstrip("*"))

    def extended(self, command: str) -> None:
        """Follow what stands between two percent signs."""
        self.finish_stroke()
        if command.startswith("AM"):
            name, *blocks = command[2:].split("*")
            self.macros[name.strip()] = Macro(name=name.strip(), blocks=tuple(blocks))
            return
        for part in command.split("*"):
            if part.strip():
                self._parameter(part.strip())

    def _parameter(self, command: str) -> None:
        handler = {
            "FS": self._set_format, "MO": self._set_unit, "AD": self._define, "LP": self._set_polarity,
            "LM": self._set_placing, "LR": self._set_placing, "LS": self._set_placing, "SR": self._repeat,
            "AB": self._block,
        }.get(command[:2])  # fmt: skip
        if handler:
            handler(command)
        elif self.known.obey(command) or command.startswith(_HARMLESS):
            return
        elif command.startswith(_WHOLE_IMAGE):
            raise FabricationError(f"{command!r} changes the whole image and is not supported; export without it")
        else:
            self.word(command)

    def _set_format(self, command: str) -> None:
        self.format = read_format(command)

    def _set_polarity(self, command: str) -> None:
        self.dark = command[2:3] != "C"

    def _set_placing(self, command: str) -> None:
        now, value = self.placing, command[2:]
        self.placing = Placing(
            mirror=value if command[1] == "M" else now.mirror,
            turn=float(value) if command[1] == "R" else now.turn,
            size=float(value) if command[1] == "S" else now.size,
        )

    def _define(self, command: str) -> None:
        number, template, parameters = read_definition(command[2:])
        self.apertures[number] = make_aperture(
            template, parameters, macros=self.macros, unit=self._unit(), attributes=dict(self.known.aperture)
        )

    def _unit(self) -> float:
        if not self.unit:
            raise FabricationError("no unit was set before the first size or coordinate; the file needs MOMM or MOIN")
        return self.unit

    def _operate(self, mode: str, x: str, y: str, i: str, j: str, code: str) -> None:
        self.mode = mode or self.mode
        if x is None and y is None and code is None:
            return
        self.operation = code or self.operation
        start, offset = self.position, (self._length(i), self._length(j))
        self.position = (start[0] if x is None else self._length(x), start[1] if y is None else self._length(y))
        if self.operation == "1":
            self._draw(start, offset)
        elif self.operation == "2":
            self.finish_stroke()
            if self.contours is not None:
                self.contours.append([self.position])
        else:
            self.finish_stroke()
            self._flash()

    def _length(self, digits: str | None) -> float:
        if digits is None:
            return 0.0
        if self.format is None:
            raise FabricationError("no coordinate format was set before the first coordinate; the file needs FSLA")
        return self.format.value(digits) * self._unit()

    def _draw(self, start: Point, offset: Point) -> None:
        run = self.stroke
        if self.contours is not None:
            if not self.contours:
                self.contours.append([start])
            run = self.contours[-1]
        elif not run:
            run.append(start)
        if self.mode == "1":
            run.append(self.position)
            return
        clockwise = self.mode == "2"
        centre = (start[0] + offset[0], start[1] + offset[1])
        if self.single_quadrant:
            centre = single_quadrant_centre(start, self.position, offset, clockwise=clockwise)
        run.extend(map(tuple, arc_points(start, self.position, centre, clockwise=clockwise).tolist()))

    def finish_stroke(self) -> None:
        """Make an object of the draws so far."""
        if not self.stroke:
            return
        path, self.stroke = tuple(self.stroke), []
        pen = self._aperture()
        radius = pen.radius * self.placing.size
        shape = _swept(path, radius) if pen.radius else _swept_shape(path, self._placed())
        self._add(shape, Kind.STROKE, path[0], 2 * radius, path)

    def _aperture(self) -> Aperture:
        if self.current not in self.apertures:
            raise FabricationError(f"aperture D{self.current} is used, but was not defined")
        return self.apertures[self.current]

    def _placed(self) -> BaseGeometry:
        key = (self.current, self.placing)
        if key not in self.placed:
            self.placed[key] = self.placing.placed(self._aperture().shape)
        return self.placed[key]

    def _flash(self) -> None:
        if self.current in self.blocks:
            for item in self.blocks[self.current]:
                self._copy(item, self.placing, self.position, flipped=not self.dark)
            return
        shape = translate(self._placed(), *self.position)
        self._add(shape, Kind.FLASH, self.position, 2 * self._aperture().radius * self.placing.size, ())

    def _finish_region(self) -> None:
        contours, self.contours = self.contours, None
        if contours is None:
            raise FabricationError("G37 ends a region that was not begun with G36")
        shape, remark = region_shape([contour for contour in contours if len(contour) > 2])
        if remark:
            self.remarks.append(remark)
        if not shape.is_empty:
            self._add(shape, Kind.REGION, contours[0][0], 0.0, ())

    def _add(self, shape: BaseGeometry, kind: Kind, place: Point, size: float, path: tuple[Point, ...]) -> None:
        aperture = self.known.aperture if kind is Kind.REGION else dict(self._aperture().attributes)
        self._append(
            GraphicObject(
                shape=shape, dark=self.dark, kind=kind, place=place, size=size, path=path,
                attributes=self.known.attributes(aperture),
            )
        )  # fmt: skip

    def _append(self, item: GraphicObject) -> None:
        if len(self.objects) >= MOST_OBJECTS:
            raise FabricationError(f"the file draws more than {MOST_OBJECTS} objects; is it a panel? Export one board")
        self.objects.append(item)

    def _copy(self, item: GraphicObject, placing: Placing, offset: Point, *, flipped: bool) -> None:
        path = placing.placed(LineString(item.path)).coords if item.path else ()
        spot = placing.placed(shapely.Point(item.place))
        self._append(
            GraphicObject(
                shape=translate(placing.placed(item.shape), *offset),
                dark=item.dark != flipped,
                kind=item.kind,
                place=(spot.x + offset[0], spot.y + offset[1]),
                size=item.size * placing.size,
                path=tuple((x + offset[0], y + offset[1]) for x, y in path),
                attributes=item.attributes,
            )
        )

    def _repeat(self, command: str) -> None:
        self._finish_repeat()
        found = _REPEAT.match(command)
        if not found:
            if command not in {"SR", "SRX1Y1", "SRX1Y1I0J0"}:
                raise FabricationError(f"step and repeat {command!r} cannot be read")
            return
        self.repeat = (int(found[1]), int(found[2]), float(found[3]) * self._unit(), float(found[4]) * self._unit())
        self.outer.append((-1, self.objects))
        self.objects = []

    def _finish_repeat(self) -> None:
        if self.repeat is None:
            return
        columns, rows, dx, dy = self.repeat
        self.repeat, inner = None, self.objects
        self.objects = self.outer.pop()[1]
        for column in range(columns):
            for row in range(rows):
                for item in inner:
                    self._copy(item, Placing(), (column * dx, row * dy), flipped=False)

    def _block(self, command: str) -> None:
        if command == "AB":
            if not self.outer or self.outer[-1][0] < 0:
                raise FabricationError("AB ends an aperture block that was not begun")
            number, objects = self.outer.pop()
            self.blocks[number], self.objects = self.objects, objects
        else:
            self.outer.append((int(command.removeprefix("ABD")), self.objects))
            self.objects = []


def _swept(path: tuple[Point, ...], radius: float) -> BaseGeometry:
    """What a round pen covers along a path."""
    if all(point == path[0] for point in path):
        return disc(radius, path[0])
    return LineString(path).buffer(radius, quad_segs=quarter_segments(radius))


def _swept_shape(path: tuple[Point, ...], shape: BaseGeometry) -> BaseGeometry:
    """What a convex shape covers along a path: the hull of its places at both ends of every piece."""
    if shape.is_empty:
        return ShapelyPolygon()
    spots = [translate(shape, *point) for point in path]
    return shapely.union_all([one.union(two).convex_hull for one, two in zip(spots, spots[1:], strict=False)])
