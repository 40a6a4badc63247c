"""What a scenario says about radiated emission: the loop's current, the test site, cables and limits."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from geometries.errors import ScenarioError
from geometries.operation.limits import LimitLine
from geometries.operation.switching import Switching

BAND = 6.0
"""Usual uncertainty of a predicted level and of a measured one [dB] (common practice)."""


class Site(Enum):
    """What the ground of the test site adds to the direct wave."""

    FREE_SPACE = "free space"
    OPEN_AREA_MAXIMUM = "open-area maximum"

    @property
    def gain(self) -> float:
        """Largest factor on the field strength: direct and reflected wave add up where the antenna is moved to."""
        return {Site.FREE_SPACE: 1.0, Site.OPEN_AREA_MAXIMUM: 2.0}[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable:
    """The longest cable on the board.

    Parameters
    ----------
    length : float
        Straight part that can radiate [m].
    diameter : float
        Over all of its wires [m].
    """

    length: float
    diameter: float = 4e-3

    def __post_init__(self) -> None:
        if not self.length >= 10 * self.diameter > 0:
            raise ScenarioError(
                f"the cable is {self.length:g} m long and {self.diameter:g} m thick; a cable that radiates is at least "
                "ten times as long as thick"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Emission:
    """The `[emission]` table of a scenario.

    Parameters
    ----------
    current : float
        Height of the loop's trapezoidal current: what the switches carry in turn [A].
    frequency : float
        Switching frequency [Hz].
    duty : float
        Between the middles of both edges [1]. Margins do not depend on it: they are taken from the bound for any duty.
    rise_time, fall_time : float
        Edges of the current, 0 to 100 % [s].
    distance : float
        From the board to the antenna [m].
    site : Site
        What the ground adds.
    limits : tuple of LimitLine
        For that distance; at least one.
    highest_frequency : float
        Up to where lines are looked at [Hz].
    band : float
        Uncertainty of a level, to both sides [dB].
    upright_height, upright_length : float
        Part of the loop that stands on the board, such as the current through the capacitor's body: its height over
        the loop's copper and its length [m]; zero leaves it out.
    cable : Cable, optional
        None leaves cables out.
    stray_capacitance : float
        From the switch node past the ground layer to the surroundings [F]; zero leaves it out.
    switching : Switching, optional
        The switching edge, whose ring is part of the current then, and whose switch node drives the stray capacitance.
    """

    current: float
    frequency: float
    duty: float
    rise_time: float
    fall_time: float
    distance: float
    site: Site
    limits: tuple[LimitLine, ...]
    highest_frequency: float = 1e9
    band: float = BAND
    upright_height: float = 0.0
    upright_length: float = 0.0
    cable: Cable | None = None
    stray_capacitance: float = 0.0
    switching: Switching | None = None

    def __post_init__(self) -> None:
        for name in ("current", "frequency", "rise_time", "fall_time", "distance"):
            if not getattr(self, name) > 0:
                raise ScenarioError(f"emission: {name} is {getattr(self, name):g}; it must be above zero")
        for name in ("band", "upright_height", "upright_length", "stray_capacitance"):
            if not getattr(self, name) >= 0:
                raise ScenarioError(f"emission: {name} is {getattr(self, name):g}; it must not be below zero")
        edges = (self.rise_time + self.fall_time) * self.frequency / 2
        if not edges <= self.duty <= 1 - edges:
            raise ScenarioError(
                f"emission: the duty is {self.duty:.3g}; with these edges it lies between {edges:.3g} and "
                f"{1 - edges:.3g}"
            )
        if self.stray_capacitance > 0 and self.switching is None:
            raise ScenarioError(
                "emission: a stray_capacitance is driven by the switch node, of which nothing is said; add a "
                "[switching] table with its voltage and its edge"
            )
        if not self.limits:
            raise ScenarioError("emission: no limit is named; give limits, for example limits = ['CISPR 32 class B']")
        lowest = min(line.breakpoints[0] for line in self.limits)
        if not max(self.frequency, lowest) < self.highest_frequency:
            raise ScenarioError(
                f"emission: highest_frequency is {self.highest_frequency:g} Hz; it must lie above the switching "
                f"frequency and above the limits' first frequency, {lowest:g} Hz"
            )
