"""Interpreter of a Gerber file's commands: it keeps unit, numbers, mode and position, and has the plotter draw."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from geometries.fabrication.apertures import make_aperture, read_definition
from geometries.fabrication.arcs import arc_points
from geometries.fabrication.attributes import AttributeDictionaries
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber import GerberFile, commands, commented_attribute, line_of, require_whole
from geometries.fabrication.macros import Macro
from geometries.fabrication.pen import INCH, CoordinateFormat, Placing, read_format, single_quadrant_centre
from geometries.fabrication.plotter import Plotter
from geometries.quantities import MM
from geometries.section.outline import Point

_OPERATION = re.compile(
    r"(?:G0?([123]))?(?:X([+-]?\d+))?(?:Y([+-]?\d+))?(?:I([+-]?\d+))?(?:J([+-]?\d+))?(?:D0?([123]))?$"
)
_LINEAR, _CLOCKWISE = "1", "2"
_DRAW, _MOVE = "1", "2"
_SELECTION = re.compile(r"(?:G54)?D(\d+)$")
_REPEAT = re.compile(r"SRX(\d+)Y(\d+)I([-+.\d]+)J([-+.\d]+)$")
_NO_REPEAT = frozenset({"SR", "SRX1Y1", "SRX1Y1I0J0", "SRX1Y1I0.0J0.0"})
_HARMLESS = ("IN", "LN", "IPPOS", "ASAXBY", "MIA0B0", "OFA0B0", "SFA1B1", "IR0")
_WHOLE_IMAGE = ("IP", "AS", "MI", "OF", "SF", "IR")
_UNITS = {"MOMM": MM, "MOIN": INCH, "G71": MM, "G70": INCH}
_NOTHING = frozenset({"", "G90", "G55", "M01"})
_END = frozenset({"M00", "M02"})


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
        If it breaks off, a command cannot be read or is missing, or it draws more than `plotter.MOST_OBJECTS`
        objects or `plotter.MOST_POINTS` corners, or lines that cross more than `crossings.MOST_CROSSINGS` times; the
        message names file and line.
    """
    require_whole(name, text)
    reader = _Interpreter()
    for extended, command, place in commands(text):
        try:
            (reader.extended if extended else reader.word)(command)
        except FabricationError as failure:
            raise FabricationError(f"{name}, line {line_of(text, place)}: {failure}") from failure
    plotter = reader.plotter
    return GerberFile(
        name=name, attributes=reader.known.file, objects=tuple(plotter.objects), remarks=tuple(plotter.remarks)
    )


def _new_plotter() -> Plotter:
    return Plotter(known=AttributeDictionaries())


@dataclass(slots=True)
class _Interpreter:
    """Unit, numbers, mode and position, and the plotter that draws."""

    plotter: Plotter = field(default_factory=_new_plotter)
    unit: float = 0.0
    format: CoordinateFormat | None = None
    macros: dict[str, Macro] = field(default_factory=dict)
    position: Point = (0.0, 0.0)
    mode: str = _LINEAR
    operation: str = _MOVE
    single_quadrant: bool = False

    @property
    def known(self) -> AttributeDictionaries:
        """Attributes in force."""
        return self.plotter.known

    def word(self, command: str) -> None:
        """Follow a plain command."""
        if found := _OPERATION.match(command):
            self._operate(*found.groups())
        elif command.startswith("G04"):
            self._attribute(commented_attribute(command))
        elif chosen := _SELECTION.match(command):
            self.plotter.finish_stroke()
            self.plotter.current = int(chosen[1])
        elif command == "G36":
            self.plotter.begin_region()
        elif command == "G37":
            self.plotter.finish_region()
        else:
            self._set(command)

    def _set(self, command: str) -> None:
        if command in {"G74", "G75"}:
            self.single_quadrant = command == "G74"
        elif command in _UNITS:
            self._set_unit(command)
        elif command in _END:
            self.plotter.finish_stroke()
        elif command == "G91":
            raise FabricationError("coordinates are incremental (G91); export the file with absolute coordinates")
        elif command not in _NOTHING:
            raise FabricationError(f"command {command!r} is not known")

    def _set_unit(self, command: str) -> None:
        if command not in _UNITS:
            raise FabricationError(f"unit {command!r} is not known; it is MOMM or MOIN")
        if self.unit and self.unit != _UNITS[command]:
            raise FabricationError(
                "the file changes its unit between mm and inch on the way; export it with one unit throughout"
            )
        self.unit = _UNITS[command]

    def _attribute(self, command: str) -> None:
        if command:
            self.plotter.finish_stroke()
            self.known.obey(command.rstrip("*"))

    def extended(self, command: str) -> None:
        """Follow what stands between two percent signs."""
        self.plotter.finish_stroke()
        if command.startswith("AM"):
            name, *blocks = command[2:].split("*")
            self.macros[name.strip()] = Macro(name=name.strip(), blocks=tuple(blocks))
            return
        for part in command.split("*"):
            if part.strip():
                self._parameter(part.strip())

    def _parameter(self, command: str) -> None:
        if handler := self._handlers().get(command[:2]):
            handler(command)
        elif self.known.obey(command) or command.startswith(_HARMLESS):
            return
        elif command.startswith(_WHOLE_IMAGE):
            raise FabricationError(f"{command!r} changes the whole image and is not supported; export without it")
        else:
            self.word(command)

    def _handlers(self) -> dict[str, Callable[[str], None]]:
        return {
            "FS": self._set_format,
            "MO": self._set_unit,
            "AD": self._define,
            "LP": self._set_polarity,
            "LM": self._set_placing,
            "LR": self._set_placing,
            "LS": self._set_placing,
            "SR": self._repeat,
            "AB": self._block,
        }

    def _set_format(self, command: str) -> None:
        self.format = read_format(command)

    def _set_polarity(self, command: str) -> None:
        self.plotter.dark = command[2:3] != "C"

    def _set_placing(self, command: str) -> None:
        now, value = self.plotter.placing, command[2:]
        self.plotter.placing = Placing(
            mirror=value if command[1] == "M" else now.mirror,
            turn=_number(value) if command[1] == "R" else now.turn,
            size=_number(value) if command[1] == "S" else now.size,
        )

    def _define(self, command: str) -> None:
        number, template, parameters = read_definition(command[2:])
        attributes = dict(self.known.aperture)
        self.plotter.apertures[number] = make_aperture(
            template, parameters, macros=self.macros, unit=self._unit(), attributes=attributes
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
        start = self.position
        self.position = (start[0] if x is None else self._length(x), start[1] if y is None else self._length(y))
        if self.operation == _DRAW:
            self.plotter.draw(start, self._way(start, (self._length(i), self._length(j))))
        elif self.operation == _MOVE:
            self.plotter.move(self.position)
        else:
            self.plotter.flash(self.position)

    def _length(self, digits: str | None) -> float:
        if digits is None:
            return 0.0
        if self.format is None:
            raise FabricationError("no coordinate format was set before the first coordinate; the file needs FSLA")
        return self.format.value(digits) * self._unit()

    def _way(self, start: Point, offset: Point) -> list[Point]:
        """Points from the start to the position: along a line, or along an arc around start plus offset."""
        if self.mode == _LINEAR:
            return [self.position]
        clockwise = self.mode == _CLOCKWISE
        centre = (start[0] + offset[0], start[1] + offset[1])
        if self.single_quadrant:
            centre = single_quadrant_centre(start, self.position, offset, clockwise=clockwise)
        return [(x, y) for x, y in arc_points(start, self.position, centre, clockwise=clockwise).tolist()]

    def _repeat(self, command: str) -> None:
        self.plotter.finish_repeat()
        found = _REPEAT.match(command)
        if found:
            step = (_number(found[3]) * self._unit(), _number(found[4]) * self._unit())
            self.plotter.begin_repeat(int(found[1]), int(found[2]), step)
        elif command not in _NO_REPEAT:
            raise FabricationError(f"step and repeat {command!r} cannot be read")

    def _block(self, command: str) -> None:
        if command == "AB":
            self.plotter.finish_block()
            return
        number = command.removeprefix("ABD")
        if not number.isdigit():
            raise FabricationError(f"aperture block {command!r} cannot be read; it is ABD12")
        self.plotter.begin_block(int(number))


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError as failure:
        raise FabricationError(f"{text!r} is not a number") from failure
