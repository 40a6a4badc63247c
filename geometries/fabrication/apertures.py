"""Apertures: the shapes that a Gerber file flashes and draws with.

Ucamco, *The Gerber Layer Format Specification*, revision 2024.05, section 4.4 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.arcs import disc, quarter_segments
from geometries.fabrication.attributes import Fields
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.macros import Macro, evaluate

_STANDARD = frozenset("CROP")


@dataclass(frozen=True, slots=True, kw_only=True)
class Aperture:
    """A shape around its origin, and what it draws with.

    Parameters
    ----------
    shape : shapely geometry
        What is flashed [m].
    radius : float
        Radius of the pen if it is a plain circle [m]; zero for any other shape.
    attributes : mapping
        Attributes in force when it was defined.
    """

    shape: BaseGeometry
    radius: float
    attributes: Mapping[str, Fields]


def make_aperture(
    template: str,
    parameters: tuple[float, ...],
    *,
    macros: Mapping[str, Macro],
    unit: float,
    attributes: Mapping[str, Fields],
) -> Aperture:
    """An aperture by the name of its template, ``C R O P`` or a macro's, and its parameters in the file's unit [m]."""
    if template in macros:
        return Aperture(shape=macros[template].shape(parameters, unit), radius=0.0, attributes=attributes)
    if template not in _STANDARD:
        raise FabricationError(f"an aperture uses the macro {template!r}, which the file does not define")
    if not parameters or min(parameters[: 1 if template in "CP" else 2]) < 0:
        raise FabricationError(f"aperture {template} has the parameters {parameters}; it needs sizes of zero or more")
    sizes = tuple(value * unit for value in parameters)
    if template == "C":
        return _circle(sizes, attributes)
    shape = _polygon(parameters, unit) if template == "P" else _upright(template, sizes)
    return Aperture(
        shape=_drilled(shape, sizes[3:] if template == "P" else sizes[2:]), radius=0.0, attributes=attributes
    )


def _circle(sizes: tuple[float, ...], attributes: Mapping[str, Fields]) -> Aperture:
    radius = sizes[0] / 2
    shape = _drilled(disc(radius), sizes[1:]) if radius else Point()
    return Aperture(shape=shape, radius=radius, attributes=attributes)


def _upright(template: str, sizes: tuple[float, ...]) -> BaseGeometry:
    if len(sizes) < 2:
        raise FabricationError(f"aperture {template} needs a width and a height")
    width, height = sizes[:2]
    if template == "R":
        return box(-width / 2, -height / 2, width / 2, height / 2)
    radius = min(width, height) / 2
    reach = (max(width - 2 * radius, 0.0) / 2, max(height - 2 * radius, 0.0) / 2)
    spine = LineString([(-reach[0], -reach[1]), reach]) if any(reach) else Point(0, 0)
    return spine.buffer(radius, quad_segs=quarter_segments(radius))


def _polygon(parameters: tuple[float, ...], unit: float) -> BaseGeometry:
    if len(parameters) < 2:
        raise FabricationError("aperture P needs a diameter and a number of corners")
    diameter, corners, *turn = parameters[:3]
    block = f"5,1,{corners},0,0,{diameter},{(*turn, 0.0)[0]}"
    return Macro(name="P", blocks=(block,)).shape((), unit)


def _drilled(shape: BaseGeometry, hole: tuple[float, ...]) -> BaseGeometry:
    """The shape with a round hole; a rectangular one, which the format once had, has two sizes."""
    if not hole or not hole[0] or len(hole) > 2:
        return shape
    cutout = disc(hole[0] / 2) if len(hole) == 1 else box(-hole[0] / 2, -hole[1] / 2, hole[0] / 2, hole[1] / 2)
    return shape.difference(cutout)


def read_definition(text: str) -> tuple[int, str, tuple[float, ...]]:
    """Number, template and parameters of an aperture, from what follows AD.

    Examples
    --------
    >>> read_definition("D10R,1.8X3.15")
    (10, 'R', (1.8, 3.15))
    """
    digits = len(text[1:]) - len(text[1:].lstrip("0123456789"))
    name, _, numbers = text[1 + digits :].partition(",")
    if text[:1] != "D" or not digits or not name:
        raise FabricationError(f"aperture definition AD{text!r} cannot be read")
    return int(text[1 : 1 + digits]), name, tuple(evaluate(part, {}) for part in numbers.split("X") if part.strip())
