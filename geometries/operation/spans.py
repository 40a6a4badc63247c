"""A value that is known within a span."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.errors import ScenarioError


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Value, the least and the most that it may be, and where they come from.

    Parameters
    ----------
    value, least, most : float
        In one SI unit; the value between the other two.
    source : str
        "stated", or what is typical.
    """

    value: float
    least: float
    most: float
    source: str = "stated"

    def __post_init__(self) -> None:
        if not -math.inf < self.least <= self.value <= self.most < math.inf:
            raise ScenarioError(
                f"a value of {self.value:g} with a span from {self.least:g} to {self.most:g}; it lies within its span"
            )


def exactly(value: float) -> Span:
    """A stated value without span."""
    return Span(value=value, least=value, most=value)


def within(value: float, part: float, source: str = "stated") -> Span:
    """A value, and a relative tolerance to both sides."""
    return Span(value=value, least=value * (1 - part), most=value * (1 + part), source=source)
