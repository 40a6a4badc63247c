"""What stands around the loop and radiates with it: the board, its switch node, its cable."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.errors import ScenarioError


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The board that drives cables.

    Parameters
    ----------
    width, length : float
        Of its ground across and along the loop [m].
    attached_capacitance : float
        Of a chassis or other mass tied to the ground, to far away [F]; zero for none.
    """

    width: float
    length: float
    attached_capacitance: float = 0.0

    def __post_init__(self) -> None:
        if not (self.width > 0 and self.length > 0):
            raise ScenarioError(f"the board is {self.width:g} m by {self.length:g} m; both must be above zero")
        if not self.attached_capacitance >= 0:
            raise ScenarioError(f"attached_capacitance is {self.attached_capacitance:g} F; it must not be below zero")

    @property
    def radius(self) -> float:
        """Of the disc of the same area [m]."""
        return math.sqrt(self.width * self.length / math.pi)


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchNode:
    """The copper that switches, and the inductor on it.

    Parameters
    ----------
    width, length : float
        Of the copper across and along the loop [m].
    offset_across, offset_along : float
        Of its middle from the board's middle [m].
    inductor_footprint : float
        Area of the inductor's body on the board [m²]; zero leaves it out.
    """

    width: float
    length: float
    offset_across: float = 0.0
    offset_along: float = 0.0
    inductor_footprint: float = 0.0

    def __post_init__(self) -> None:
        if not (self.width > 0 and self.length > 0):
            raise ScenarioError(f"the switch node is {self.width:g} m by {self.length:g} m; both must be above zero")
        if not self.inductor_footprint >= 0:
            raise ScenarioError(f"inductor_footprint is {self.inductor_footprint:g} m²; it must not be below zero")

    @property
    def offset(self) -> float:
        """Distance of its middle from the board's middle [m]."""
        return math.hypot(self.offset_across, self.offset_along)
