"""Aperture macros: shapes put together from primitives whose numbers are expressions of the aperture's parameters.

Ucamco, *The Gerber Layer Format Specification*, revision 2024.05, section 4.5 (from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field

import shapely
from shapely.affinity import rotate
from shapely.geometry import LineString, box
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.arcs import disc
from geometries.fabrication.errors import FabricationError

_TOKEN = re.compile(r"\s*(?:(\d+\.?\d*|\.\d+)|(\$\d+)|([-+xX/()]))")


@dataclass(slots=True)
class _Expression:
    """An arithmetic expression being read from left to right: ``+ -`` bind less than ``x /``."""

    tokens: list[str]
    variables: dict[str, float]
    place: int = 0

    def peek(self) -> str:
        return self.tokens[self.place] if self.place < len(self.tokens) else ""

    def take(self) -> str:
        token = self.peek()
        self.place += 1
        return token

    def sum(self) -> float:
        value = self.product()
        while self.peek() in {"+", "-"}:
            value = value + self.product() if self.take() == "+" else value - self.product()
        return value

    def product(self) -> float:
        value = self.factor()
        while self.peek() in {"x", "X", "/"}:
            value = value / self.factor() if self.take() == "/" else value * self.factor()
        return value

    def factor(self) -> float:
        token = self.take()
        if token in {"+", "-"}:
            return self.factor() if token == "+" else -self.factor()
        if token == "(":
            value = self.sum()
            if self.take() != ")":
                raise FabricationError("a bracket is not closed")
            return value
        if token.startswith("$"):
            return self.variables.get(token, 0.0)
        return float(token)


def evaluate(text: str, variables: dict[str, float]) -> float:
    """Value of a macro's expression; a variable that was never set is zero.

    Examples
    --------
    >>> evaluate("$1+$1x-2/(3-1)", {"$1": 4.0})
    0.0
    """
    tokens, place = [], 0
    stripped = text.strip()
    while place < len(stripped):
        found = _TOKEN.match(stripped, place)
        if not found:
            raise FabricationError(f"macro expression {text!r} cannot be read at {stripped[place:]!r}")
        tokens.append(found[0].strip())
        place = found.end()
    expression = _Expression(tokens, variables)
    try:
        value = expression.sum()
    except (ValueError, ZeroDivisionError) as failure:
        raise FabricationError(f"macro expression {text!r} cannot be evaluated: {failure}") from failure
    if expression.place < len(tokens):
        raise FabricationError(f"macro expression {text!r} has something left over at {expression.peek()!r}")
    return value


def _circle(exposure: float, diameter: float, x: float, y: float, turn: float = 0.0) -> BaseGeometry:
    return _turned(disc(diameter / 2, (x, y)), turn)


def _vector_line(
    exposure: float, width: float, x1: float, y1: float, x2: float, y2: float, turn: float = 0.0
) -> BaseGeometry:
    return _turned(LineString([(x1, y1), (x2, y2)]).buffer(width / 2, cap_style="flat"), turn)


def _centre_line(exposure: float, width: float, height: float, x: float, y: float, turn: float = 0.0) -> BaseGeometry:
    return _turned(box(x - width / 2, y - height / 2, x + width / 2, y + height / 2), turn)


def _outline(exposure: float, segments: float, *numbers: float) -> BaseGeometry:
    count = 2 * (int(segments) + 1)
    points = [(numbers[i], numbers[i + 1]) for i in range(0, count, 2)]
    return _turned(ShapelyPolygon(points).buffer(0), numbers[count] if len(numbers) > count else 0.0)


def _regular_polygon(
    exposure: float, corners: float, x: float, y: float, diameter: float, turn: float = 0.0
) -> BaseGeometry:
    turns = [2 * math.pi * i / int(corners) for i in range(int(corners))]
    radius = diameter / 2
    return _turned(ShapelyPolygon([(x + radius * math.cos(a), y + radius * math.sin(a)) for a in turns]), turn)


def _thermal(x: float, y: float, outer: float, inner: float, gap: float, turn: float = 0.0) -> BaseGeometry:
    ring = disc(outer / 2, (x, y)).difference(disc(inner / 2, (x, y)))
    cross = box(x - outer, y - gap / 2, x + outer, y + gap / 2).union(
        box(x - gap / 2, y - outer, x + gap / 2, y + outer)
    )
    return _turned(ring.difference(cross), turn)


def _turned(shape: BaseGeometry, degrees: float) -> BaseGeometry:
    """A primitive turned about the macro's origin."""
    return rotate(shape, degrees, origin=(0, 0)) if degrees else shape


_OUTLINE, _THERMAL = 4, 7
_PRIMITIVES: dict[int, Callable[..., BaseGeometry]] = {
    1: _circle,
    2: _vector_line,
    20: _vector_line,
    21: _centre_line,
    _OUTLINE: _outline,
    5: _regular_polygon,
    _THERMAL: _thermal,
}
_LENGTHS_OF = {
    1: (1, 2, 3),
    2: (1, 2, 3, 4, 5),
    20: (1, 2, 3, 4, 5),
    21: (1, 2, 3, 4),
    5: (2, 3, 4),
    7: (0, 1, 2, 3, 4),
}
"""Which numbers of each primitive are lengths; for an outline they are its coordinates."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Macro:
    """A macro as it stands in the file: its name and its blocks."""

    name: str
    blocks: tuple[str, ...] = field(default=())

    def shape(self, parameters: tuple[float, ...], unit: float) -> BaseGeometry:
        """The aperture for a set of parameters, around its origin [m].

        Parameters
        ----------
        parameters : tuple of float
            $1, $2 … as they stand in the aperture's definition.
        unit : float
            Length unit of the file [m].
        """
        variables = {f"${i}": value for i, value in enumerate(parameters, start=1)}
        shape: BaseGeometry = ShapelyPolygon()
        for block in self.blocks:
            text = block.strip()
            if text.startswith("$"):
                name, _, expression = text.partition("=")
                variables[name.strip()] = evaluate(expression, variables)
            elif text and not text.startswith("0"):
                shape = self._joined(shape, [evaluate(part, variables) for part in text.split(",")], unit)
        return shape

    def _joined(self, shape: BaseGeometry, numbers: list[float], unit: float) -> BaseGeometry:
        code, values = int(numbers[0]), numbers[1:]
        if code not in _PRIMITIVES:
            raise FabricationError(f"macro {self.name!r} uses primitive {code}, which is not supported")
        lengths = _LENGTHS_OF[code] if code != _OUTLINE else range(2, 4 + 2 * int(values[1]))
        scaled = [value * unit if i in lengths else value for i, value in enumerate(values)]
        try:
            primitive = _PRIMITIVES[code](*scaled)
        except (TypeError, IndexError, ValueError, shapely.errors.GEOSException) as failure:
            raise FabricationError(f"primitive {code} of macro {self.name!r} has wrong numbers: {failure}") from failure
        exposed = code == _THERMAL or values[0] != 0
        return shape.union(primitive) if exposed else shape.difference(primitive)
