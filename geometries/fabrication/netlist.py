"""Net names by coordinates: the bare-board test file IPC-D-356A.

IPC-D-356A, *Bare Substrate Electrical Test Data Format* (from memory): fixed columns; operation codes 317 (through
hole) and 327 (surface) with net in columns 4-17, reference 21-26, pin 28-31, X and Y in units of 0.0001 inch or
0.001 mm. A net's name holds at most 14 characters: longer ones are given by ``NNAME`` aliases or cut.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from geometries.fabrication.attributes import NO_NET
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.pen import INCH
from geometries.quantities import MM
from geometries.section.outline import Point

_PLACE = re.compile(r"A(\d\d)X([ +-]?\d+)Y([ +-]?\d+)")
_ALIAS = re.compile(r"P\s+(NNAME\S*)\s+(\S.*)")
_TENTH_MIL = INCH * 1e-4
_MICROMETRE = 1e-3 * MM


@dataclass(frozen=True, slots=True, kw_only=True)
class TestPoint:
    """A place on a net.

    Parameters
    ----------
    net, reference, pin : str
        As in the file, aliases resolved.
    place : (x, y)
        Where it is [m].
    layer : int
        Copper layer that it can be reached on, 0 for all.
    """

    __test__ = False

    net: str
    reference: str
    pin: str
    place: Point
    layer: int


def is_netlist(text: str) -> bool:
    """Whether a text is an IPC-D-356 file."""
    return bool(re.search(r"^(317|327).{14}", text, re.MULTILINE)) and bool(re.search(r"^[CP]  ", text, re.MULTILINE))


def read_netlist(name: str, text: str) -> tuple[TestPoint, ...]:
    """Every place on a named net.

    Raises
    ------
    FabricationError
        If the unit is missing or a record has no coordinates, with file and line; or if the file breaks off.
    """
    lines = text.splitlines()
    unit = _unit(name, text)
    aliases = {found[1]: found[2].strip() for line in lines if (found := _ALIAS.match(line))}
    if not any(line.startswith("999") for line in lines):
        raise FabricationError(f"{name}: the file breaks off; it ends with a record 999. Export it again")
    records = [(number, line) for number, line in enumerate(lines, start=1) if line[:3] in {"317", "327"}]
    return tuple(
        _point(name, number, line, unit, aliases) for number, line in records if line[3:17].strip() not in NO_NET
    )


def _unit(name: str, text: str) -> float:
    found = re.search(r"^P\s+UNITS\s+CUST\s*([012])", text, re.MULTILINE)
    if not found:
        raise FabricationError(f"{name}: no unit is given; the file needs a line 'P  UNITS CUST 0' (inch) or 1 (mm)")
    return _MICROMETRE if found[1] == "1" else _TENTH_MIL


def _point(name: str, number: int, line: str, unit: float, aliases: dict[str, str]) -> TestPoint:
    place = _PLACE.search(line, 31)
    if not place:
        raise FabricationError(f"{name}, line {number}: this record has no coordinates")
    net = line[3:17].strip()
    return TestPoint(
        net=aliases.get(net, net),
        reference=line[20:26].strip(),
        pin=line[27:31].strip(),
        place=(int(place[2]) * unit, int(place[3]) * unit),
        layer=int(place[1]) if line[:3] == "327" else 0,
    )
