"""What varies from board to board, and by how much."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from geometries.errors import ScenarioError
from geometries.quantities import Quantity, read_number, read_quantity, write_quantity


class Source(StrEnum):
    """What a board house or a summer's day changes."""

    PREPREG = "prepreg"
    WIDTH = "width"
    ETCH = "etch"
    GAP = "gap"
    COPPER = "copper"
    PERMITTIVITY = "permittivity"
    TEMPERATURE = "temperature"

    @property
    def meaning(self) -> str:
        """What it changes, in a few words."""
        return {
            Source.PREPREG: "thickness of all dielectrics",
            Source.WIDTH: "width of the loop's copper",
            Source.ETCH: "every edge of the loop's copper moves outwards",
            Source.GAP: "gap between go and return",
            Source.COPPER: "thickness of all copper",
            Source.PERMITTIVITY: "permittivity of all dielectrics",
            Source.TEMPERATURE: "temperature of the copper",
        }[self]


class Distribution(StrEnum):
    """How samples lie between the limits of a tolerance."""

    UNIFORM = "uniform"
    NORMAL = "normal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A tolerance to both sides: a part of the value, and so much on top.

    Parameters
    ----------
    source : str
        What varies: a :class:`Source`, or a key of the scenario.
    relative : float
        Part of the nominal value [1].
    absolute : float
        On top, in the value's stored unit.
    quantity : Quantity
        Of `absolute`.

    Examples
    --------
    >>> spread = Spread(source=Source.WIDTH, relative=0.1, absolute=0.0, quantity=Quantity.LENGTH)
    >>> f"{spread.applied(3e-3, -1.0) * 1e3:.1f} mm", str(spread)
    ('2.7 mm', 'width ±10 %')
    """

    source: str
    relative: float
    absolute: float
    quantity: Quantity

    def __post_init__(self) -> None:
        if not (0 <= self.relative < 1 and self.absolute >= 0 and self.relative + self.absolute > 0):
            raise ScenarioError(
                f"tolerance: {self.source} is ±{100 * self.relative:g} % and ±{self.absolute:g} {self.quantity.unit}; "
                "a tolerance lies between 0 and 100 %, or is a size above zero"
            )

    @property
    def meaning(self) -> str:
        """What varies, in a few words."""
        return Source(self.source).meaning if self.source in set(Source) else f"value of {self.source}"

    def applied(self, nominal: float, offset: float) -> float:
        """The value at an offset from -1 to 1, in units of the tolerance."""
        return nominal * (1 + offset * self.relative) + offset * self.absolute

    def __str__(self) -> str:
        shown = [write_quantity(self.relative, Quantity.FRACTION)] if self.relative else []
        shown += [write_quantity(self.absolute, self.quantity)] if self.absolute else []
        return f"{self.source} ±{' ± '.join(shown)}"


def read_spread(value: object, source: str, quantity: Quantity) -> Spread:
    """Read "10 %" as a part of the value, anything else as so much of the quantity.

    Raises
    ------
    GeometryError
        If it is neither.

    Examples
    --------
    >>> print(read_spread("20 um", "etch", Quantity.LENGTH))
    etch ±20 µm
    """
    relative = isinstance(value, str) and value.strip().endswith("%")
    if relative or quantity not in (Quantity.NUMBER, Quantity.COUNT):
        number = read_quantity(value, Quantity.FRACTION if relative else quantity, source)
    else:
        number = read_number(value, source)
    return Spread(
        source=source, relative=number if relative else 0.0, absolute=0.0 if relative else number, quantity=quantity
    )
