"""Reader of one Gerber file: its attributes and its graphic objects in order, each with the net it belongs to.

Ucamco, *The Gerber Layer Format Specification*, revision 2024.05 (from memory). Deprecated forms that older programs
write are read (modal operation codes, single-quadrant arcs, G54, G70, G71); those that would turn or mirror the whole
image are refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from shapely.geometry.base import BaseGeometry

from geometries.fabrication.attributes import COMMENTED, Fields, ObjectAttributes
from geometries.fabrication.errors import FabricationError
from geometries.section.outline import Point

_COMMAND = re.compile(r"%([^%]*)%|([^*%]*)\*")


class Kind(StrEnum):
    """How an object was made."""

    FLASH = "flash"
    STROKE = "stroke"
    REGION = "region"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GraphicObject:
    """A shape added to the image, or, if not `dark`, taken away from what came before.

    Parameters
    ----------
    shape : shapely geometry
        Polygon or polygons [m].
    dark : bool
        Whether it adds.
    kind : Kind
        Flash, stroke or region.
    place : (x, y)
        Where it was flashed or begun [m].
    size : float
        Diameter of the round pen [m], zero for any other shape.
    attributes : ObjectAttributes
        Net, part, pin and aperture function.
    path : tuple of (x, y)
        Middle of a stroke [m]; empty for flashes and regions.
    """

    shape: BaseGeometry
    dark: bool
    kind: Kind
    place: Point
    size: float
    attributes: ObjectAttributes
    path: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GerberFile:
    """A file as read: its name, its attributes, its objects in order, and what was doubtful in it."""

    name: str
    attributes: Mapping[str, Fields]
    objects: tuple[GraphicObject, ...]
    remarks: tuple[str, ...] = ()

    @property
    def function(self) -> Fields:
        """The ``.FileFunction`` attribute, empty if the file has none."""
        return self.attributes.get(".FileFunction", ())


def commands(text: str) -> Iterator[tuple[bool, str, int]]:
    """Every command of a file: whether it is extended, its text without line breaks, and where it begins.

    Examples
    --------
    >>> [command[:2] for command in commands("G04 lamp*%MOMM*%X1Y2D03*")]
    [(False, 'G04 lamp'), (True, 'MOMM*'), (False, 'X1Y2D03')]
    """
    for found in _COMMAND.finditer(text):
        extended = found[1] is not None
        words = found[1] if extended else found[2]
        yield extended, words.replace("\n", "").replace("\r", ""), found.start()


def commented_attribute(command: str) -> str:
    """The attribute command inside a G04 comment; empty if it holds none."""
    words = command[3:].strip()
    return words[len(COMMENTED) :].strip() if words.startswith(COMMENTED) else ""


def line_of(text: str, place: int) -> int:
    """Number of the line in which a character stands."""
    return text.count("\n", 0, place) + 1


def require_whole(name: str, text: str) -> None:
    """Refuse a file that is no Gerber file or that breaks off."""
    if "%" not in text and "*" not in text:
        raise FabricationError(f"{name}: this is not a Gerber file; its commands end with '*'")
    if not re.search(r"M0[02]\*\s*$", text):
        raise FabricationError(
            f"{name}: the file breaks off in line {line_of(text, len(text))}; a Gerber file ends with M02*. "
            "Export it again, or copy it again whole"
        )
