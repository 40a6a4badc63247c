"""What stands around the loop and radiates with it: the board, its switch node, its cable."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.tables import Capacitance, Length, NotNegative, Positive, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Board(Table):
    """The board that drives cables.

    Parameters
    ----------
    width, length : float
        Of its ground across and along the loop [m].
    attached_capacitance : float
        Of a chassis or other mass tied to the ground, to far away [F]; zero for none.
    """

    SAID_OF = "emission.board: "
    width: Positive[Length]
    length: Positive[Length]
    attached_capacitance: NotNegative[Capacitance] = 0.0

    @property
    def radius(self) -> float:
        """Of the disc of the same area [m]."""
        return math.sqrt(self.width * self.length / math.pi)


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchNode(Table):
    """The copper that switches, and the inductor on it.

    Parameters
    ----------
    width, length : float
        Of the copper across and along the loop [m].
    offset_across, offset_along : float
        Of its middle from the board's middle [m].
    inductor_width, inductor_length : float
        Of the inductor's body on the board [m]; zero leaves it out.
    """

    SAID_OF = "emission.node: "
    width: Positive[Length]
    length: Positive[Length]
    offset_across: Length = 0.0
    offset_along: Length = 0.0
    inductor_width: NotNegative[Length] = 0.0
    inductor_length: NotNegative[Length] = 0.0

    @property
    def inductor_footprint(self) -> float:
        """Area of the inductor's body on the board [m²]."""
        return self.inductor_width * self.inductor_length

    @property
    def offset(self) -> float:
        """Distance of its middle from the board's middle [m]."""
        return math.hypot(self.offset_across, self.offset_along)
