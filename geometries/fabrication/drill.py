"""Drilled holes and slots: of an Excellon or XNC file, or of a Gerber drill file.

XNC: Ucamco, *The XNC Format Specification*, revision 2021.11 (from memory): a strict subset of Excellon with
attributes in comments. Excellon itself: common practice; what a file leaves open is assumed and said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from geometries.fabrication.attributes import COMMENTED, AttributeDictionaries, Fields
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber import GerberFile, Kind
from geometries.fabrication.pen import INCH, CoordinateFormat
from geometries.quantities import MM
from geometries.section.outline import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillHit:
    """A hole, or a slot from `start` to `end` [m].

    Parameters
    ----------
    diameter : float
        Of the tool [m].
    plated : bool
        Whether its wall is metal.
    function : str
        What the file says it is for, for instance ``ViaDrill``.
    layers : (first, last)
        Copper layers that it joins, from 1; ``(1, 0)`` for all.
    """

    start: Point
    end: Point
    diameter: float
    plated: bool
    function: str
    layers: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillFile:
    """A drill file as read, and what was assumed about it."""

    name: str
    function: Fields
    hits: tuple[DrillHit, ...]
    remarks: tuple[str, ...] = ()


ALL_LAYERS = (1, 0)
_PLATED, _UNPLATED = "Plated", "NonPlated"
_PLATING_ASSUMED = "the file does not say whether its holes are plated; they were taken as plated"
_TOOL = re.compile(r"T0*(\d+)(?:[FSBHZ][-+.\d]+)*C([.\d]+)")
_SELECT = re.compile(r"T0*(\d+)$")
_HIT = re.compile(
    r"(?:G0?([0123]))?(?:X([-+.\d]+))?(?:Y([-+.\d]+))?(?:G85(?:X([-+.\d]+))?(?:Y([-+.\d]+))?)?(?:[AIJ].*)?$"
)
_FORMAT_COMMENT = re.compile(r"FORMAT\s*=\s*\{(\d):(\d)/.*suppress (leading|trailing)")
_DIGITS = re.compile(r",(0+)\.(0+)")


def is_plated(function: Fields) -> bool:
    """Whether a file or aperture function says that holes are plated."""
    return bool(function) and function[0] in {_PLATED, "MixedPlating", "PTH"}


def layer_span(function: Fields) -> tuple[int, int]:
    """First and last copper layer of a drill file's function, ``Plated,1,4,PTH``."""
    numbers = [int(value) for value in function[1:3] if value.isdigit()]
    return (numbers[0], numbers[1]) if len(numbers) == 2 else ALL_LAYERS


def holes_of_gerber(file: GerberFile) -> DrillFile:
    """Holes of a Gerber drill file: flashes are holes, strokes are slots."""
    plated, span = is_plated(file.function), layer_span(file.function)
    hits = tuple(
        DrillHit(
            start=item.place, end=item.path[-1] if item.path else item.place, diameter=item.size, plated=plated,
            function=item.attributes.aperture, layers=span,
        )
        for item in file.objects
        if item.kind is not Kind.REGION and item.size > 0
    )  # fmt: skip
    return DrillFile(name=file.name, function=file.function, hits=hits, remarks=file.remarks)


def read_excellon(name: str, text: str) -> DrillFile:
    """Read an Excellon or XNC file.

    Raises
    ------
    FabricationError
        If it breaks off, has no unit, changes its unit, uses incremental coordinates or a tool it does not define;
        the message names file and line.
    """
    reader = _Excellon()
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            reader.line(line.strip())
        except (FabricationError, ValueError) as failure:
            raise FabricationError(f"{name}, line {number}: {failure}") from failure
    if not reader.ended:
        raise FabricationError(f"{name}: the file breaks off; a drill file ends with M30. Export it again")
    return DrillFile(name=name, function=reader.function, hits=tuple(reader.hits), remarks=tuple(reader.remarks))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tool:
    diameter: float
    plated: bool | None
    function: str


@dataclass(slots=True)
class _Excellon:
    """State while lines are read, and the holes so far."""

    known: AttributeDictionaries = field(default_factory=AttributeDictionaries)
    unit: float = 0.0
    format: CoordinateFormat | None = None
    tools: dict[int, _Tool] = field(default_factory=dict)
    current: _Tool | None = None
    typed: bool | None = None
    position: Point = (0.0, 0.0)
    down: bool = False
    ended: bool = False
    hits: list[DrillHit] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    @property
    def function(self) -> Fields:
        """The file's function."""
        return self.known.file.get(".FileFunction", ())

    def line(self, line: str) -> None:
        """Follow one line."""
        if line.startswith(";"):
            self._comment(line[1:].strip())
        elif line.startswith(("INCH", "METRIC", "M71", "M72")):
            self._set_unit(line)
        elif line in {"M30", "M00"}:
            self.ended = True
        elif line in {"G91", "ICI", "ICI,ON"}:
            raise FabricationError("coordinates are incremental; export the file with absolute coordinates")
        elif found := _TOOL.match(line):
            self._define(int(found[1]), float(found[2]))
        elif found := _SELECT.match(line):
            self._select(int(found[1]))
        elif line in {"M15", "M16", "M17"}:
            self.down = line == "M15"
        elif line[:1] in {"X", "Y", "G"} and (found := _HIT.match(line)):
            self._hit(*found.groups())
        elif line[:1] == "R" and line[1:2].isdigit():
            raise FabricationError(f"repeated holes {line!r} are not supported; export without repeats")

    def _comment(self, words: str) -> None:
        if words.startswith(COMMENTED):
            self.known.obey(words[len(COMMENTED) :].strip())
        elif words.replace(" ", "").upper().startswith("TYPE="):
            self.typed = "NON" not in words.upper()
        elif found := _FORMAT_COMMENT.match(words):
            self.format = CoordinateFormat(
                whole=int(found[1]), fraction=int(found[2]), trailing_omitted=found[3] == "trailing"
            )

    def _set_unit(self, line: str) -> None:
        unit = INCH if line.startswith(("INCH", "M72")) else MM
        if self.unit and unit != self.unit:
            raise FabricationError("the file changes its unit between mm and inch; export it with one unit throughout")
        self.unit = unit
        digits = _DIGITS.search(line)
        whole, fraction = (len(digits[1]), len(digits[2])) if digits else ((2, 4) if unit == INCH else (3, 3))
        if "LZ" in line or "TZ" in line or digits:
            self.format = CoordinateFormat(whole=whole, fraction=fraction, trailing_omitted="LZ" in line)

    def _define(self, number: int, diameter: float) -> None:
        function = self.known.aperture.get(".AperFunction", ())
        plated = is_plated(function) if function[:1] in {(_PLATED,), (_UNPLATED,)} else self.typed
        self.tools[number] = _Tool(
            diameter=diameter * self._unit(),
            plated=plated,
            function=next((word for word in function if word.endswith("Drill")), ""),
        )

    def _select(self, number: int) -> None:
        if number and number not in self.tools:
            raise FabricationError(f"tool T{number} is used, but was not defined")
        self.current = self.tools.get(number)

    def _unit(self) -> float:
        if not self.unit:
            raise FabricationError("no unit was set; the file needs METRIC or INCH in its header")
        return self.unit

    def _hit(self, mode: str, x: str, y: str, slot_x: str, slot_y: str) -> None:
        if x is None and y is None:
            return
        start, self.position = self.position, self._moved(self.position, x, y)
        if mode == "0":
            return
        if mode is not None or self.down:
            self._add(start, self.position)
            if mode in {"2", "3"}:
                self.remarks.append("a routed arc was taken as a straight slot")
            return
        first = self.position
        if slot_x is not None or slot_y is not None:
            self.position = self._moved(first, slot_x, slot_y)
        self._add(first, self.position)

    def _moved(self, place: Point, x: str | None, y: str | None) -> Point:
        return place[0] if x is None else self._length(x), place[1] if y is None else self._length(y)

    def _length(self, digits: str) -> float:
        if "." in digits:
            return float(digits) * self._unit()
        if self.format is None:
            whole, fraction = (2, 4) if self._unit() == INCH else (3, 3)
            self.format = CoordinateFormat(whole=whole, fraction=fraction)
            self.remarks.append(f"coordinates without a point were read as {whole}:{fraction}, leading zeros omitted")
        return self.format.value(digits) * self._unit()

    def _add(self, start: Point, end: Point) -> None:
        if self.current is None:
            raise FabricationError("a hole is drilled before a tool was chosen")
        tool = self.current
        self.hits.append(
            DrillHit(
                start=start, end=end, diameter=tool.diameter, plated=self._plated(tool), function=tool.function,
                layers=layer_span(self.function),
            )
        )  # fmt: skip

    def _plated(self, tool: _Tool) -> bool:
        if tool.plated is not None or self.function:
            return is_plated(self.function) if tool.plated is None else tool.plated
        if _PLATING_ASSUMED not in self.remarks:
            self.remarks.append(_PLATING_ASSUMED)
        return True
