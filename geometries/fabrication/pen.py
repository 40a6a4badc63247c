"""What the commands of a Gerber file set: units, coordinates, mode of drawing, and how an aperture is placed."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.affinity import rotate, scale
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.errors import FabricationError
from geometries.quantities import MM
from geometries.section.outline import Point

INCH = 25.4 * MM

_FORMAT = re.compile(r"FS([LT]?)([AI]?)X(\d)(\d)Y(\d)(\d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class CoordinateFormat:
    """How the digits of a coordinate are read: `whole` digits before the point, `fraction` after it."""

    whole: int
    fraction: int
    trailing_omitted: bool = False

    def value(self, digits: str) -> float:
        """A coordinate in the file's unit.

        Examples
        --------
        >>> CoordinateFormat(whole=2, fraction=4).value("-15000")
        -1.5
        """
        if self.trailing_omitted:
            sign, plain = (digits[0], digits[1:]) if digits[:1] in "+-" else ("", digits)
            digits = sign + plain.ljust(self.whole + self.fraction, "0")
        return float(int(digits) / 10**self.fraction)


def read_format(command: str) -> CoordinateFormat:
    """Coordinate format of an FS command; incremental coordinates are refused."""
    found = _FORMAT.match(command)
    if not found:
        raise FabricationError(f"coordinate format {command!r} cannot be read; write it like FSLAX46Y46")
    if found[2] == "I":
        raise FabricationError("coordinates are incremental; export the file with absolute coordinates")
    if (found[3], found[4]) != (found[5], found[6]):
        raise FabricationError(f"coordinate format {command!r} differs in x and y; export it with one format")
    return CoordinateFormat(whole=int(found[3]), fraction=int(found[4]), trailing_omitted=found[1] == "T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """How apertures are mirrored (LM), turned (LR) and scaled (LS), in this order of the format's own."""

    mirror: str = "N"
    turn: float = 0.0
    size: float = 1.0

    @property
    def plain(self) -> bool:
        """Whether the aperture stays as it is."""
        return self.mirror == "N" and not self.turn and self.size == 1

    def placed(self, shape: BaseGeometry) -> BaseGeometry:
        """The shape mirrored, then turned, then scaled about its origin."""
        if self.plain:
            return shape
        flips = (-1 if "X" in self.mirror else 1, -1 if "Y" in self.mirror else 1)
        turned = rotate(scale(shape, *flips, origin=(0, 0)), self.turn, origin=(0, 0))
        return scale(turned, self.size, self.size, origin=(0, 0))


def single_quadrant_centre(start: Point, end: Point, offset: Point, *, clockwise: bool) -> Point:
    """Centre of an arc of at most 90°, whose offsets come without a sign (G74): the choice that fits best."""
    best, found = np.inf, start
    for sx in (-1, 1):
        for sy in (-1, 1):
            centre = (start[0] + sx * abs(offset[0]), start[1] + sy * abs(offset[1]))
            misfit = _misfit(np.subtract(start, centre), np.subtract(end, centre), clockwise=clockwise)
            if misfit < best:
                best, found = misfit, centre
    return found


def _misfit(first: NDArray[np.float64], last: NDArray[np.float64], *, clockwise: bool) -> float:
    """Difference of the radii, or infinite if the arc would be more than a quarter circle."""
    turn = np.arctan2(first[0] * last[1] - first[1] * last[0], first @ last)
    angle = -turn if clockwise else turn
    within = -1e-6 <= angle <= np.pi / 2 + 1e-6
    return float(abs(np.hypot(*first) - np.hypot(*last))) if within else float("inf")
