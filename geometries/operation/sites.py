"""Where emission is measured, and how the board may stand there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from geometries.errors import ScenarioError

TABLE_HEIGHT = 0.8
"""Of a table-top product over the ground [m], CISPR 16-2-3 and ANSI C63.4 (both from memory)."""

SCAN = (1.0, 4.0)
"""Lowest and highest position of the antenna over the ground [m], CISPR 16-2-3 (from memory)."""

_STEP = 0.05
"""Of the height scan [m]: a sixth of the wavelength at 1 GHz; the largest value is missed by less than 0.1 dB there."""


class BoardAxis(Enum):
    """An axis of the board, by its place in a vector (across, along, normal)."""

    ACROSS = 0
    ALONG = 1
    NORMAL = 2


class Orientation(Enum):
    """How the board stands in the product: which of its axes may point up."""

    FLAT = "flat"
    ON_EDGE = "on edge"
    UNKNOWN = "unknown"

    @property
    def upright_axes(self) -> tuple[BoardAxis, ...]:
        """Axes that may point up; the turntable does the rest."""
        return {
            Orientation.FLAT: (BoardAxis.NORMAL,),
            Orientation.ON_EDGE: (BoardAxis.ACROSS, BoardAxis.ALONG),
            Orientation.UNKNOWN: (BoardAxis.NORMAL, BoardAxis.ACROSS, BoardAxis.ALONG),
        }[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringSite:
    """Where the antenna stands, and what the ground adds.

    Parameters
    ----------
    distance : float
        Along the ground from the product to the antenna [m].
    reflection : float
        Part of the image in the ground that reaches the antenna [1]: 1 over a perfectly conducting ground, 0 without.
    heights : tuple of float
        Of the antenna over the ground [m]; the product stands at `TABLE_HEIGHT`.
    """

    distance: float
    reflection: float
    heights: tuple[float, ...]

    def __post_init__(self) -> None:
        if not (math.isfinite(self.distance) and self.distance > 0):
            raise ScenarioError(f"the antenna stands {self.distance:g} m away; give a distance above zero")
        if not 0 <= self.reflection <= 1:
            raise ScenarioError(f"the ground reflects {self.reflection:g} of the wave; give 0 to 1")
        if not self.heights or min(self.heights) < 0:
            raise ScenarioError("the antenna has no height, or one below the ground; give heights of zero or more")


def semi_anechoic_site(distance: float) -> MeasuringSite:
    """Open-area site or semi-anechoic room: conducting ground, table of 0.8 m, antenna moved from 1 to 4 m."""
    lowest, highest = SCAN
    steps = round((highest - lowest) / _STEP)
    heights = tuple(lowest + (highest - lowest) * step / steps for step in range(steps + 1))
    return MeasuringSite(distance=distance, reflection=1.0, heights=heights)


def anechoic_site(distance: float) -> MeasuringSite:
    """Fully anechoic room: no reflection, antenna at the height of the product."""
    return MeasuringSite(distance=distance, reflection=0.0, heights=(TABLE_HEIGHT,))
