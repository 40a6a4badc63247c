r"""How strongly a switch's ring is damped: what can be known of it before the board exists, with its span."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from geometries.errors import ScenarioError

LEAST_QUALITY = 0.5
"""Below it nothing rings."""

_SPAN_OF_STATED = 1.3
"""A quality factor read off a similar board holds for this one within so large a factor to both sides (estimate)."""


class SwitchKind(Enum):
    """Kinds of switch, with the quality factor of the undamped ring as it is seen on boards: least, usual, most.

    Common practice, from memory: channels in transition, skin effect and packages damp far more than R_DS(on) does.
    """

    INTEGRATED = ("integrated", (3.0, 5.0, 9.0))
    SILICON = ("silicon", (4.0, 7.0, 14.0))
    GALLIUM_NITRIDE = ("gan", (5.0, 10.0, 22.0))

    @property
    def label(self) -> str:
        """As a scenario writes it."""
        return self.value[0]

    @property
    def qualities(self) -> tuple[float, float, float]:
        """Least, usual and most [1]."""
        return self.value[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ringing:
    """Quality factor of the loop's ring, without snubber, and its span.

    Parameters
    ----------
    quality, least, most : float
        [1].
    source : str
        Where they come from.

    Examples
    --------
    >>> four = ringing_from_cycles(4.0)
    >>> f"{four.quality:.1f} ({four.least:.1f} to {four.most:.1f})"
    '18.1 (14.0 to 23.6)'
    """

    quality: float
    least: float
    most: float
    source: str

    def __post_init__(self) -> None:
        if not self.least > LEAST_QUALITY:
            raise ScenarioError(
                f"ringing: a quality factor of {self.least:g} is called ringing; nothing rings at {LEAST_QUALITY:g} or "
                "below: state the resistances instead"
            )
        if not (self.least <= self.quality <= self.most < math.inf):
            raise ScenarioError(
                f"ringing: quality factor {self.quality:g} with a span from {self.least:g} to {self.most:g}; it lies "
                "within its span"
            )

    def resistance(self, inductance: float, capacitance: float) -> float:
        """Series resistance that damps so [ohm], for the loop's inductance [H] and capacitance [F]."""
        return math.sqrt(inductance / capacitance) / self.quality


def ringing_from_quality(quality: float, source: str = "quality factor stated") -> Ringing:
    """A quality factor read off a similar board."""
    if not quality > LEAST_QUALITY:
        raise ScenarioError(
            f"ringing: quality_factor is {quality:g}; nothing rings at {LEAST_QUALITY:g} or below: state the "
            "resistances instead"
        )
    least = max(quality / _SPAN_OF_STATED, math.nextafter(LEAST_QUALITY, 1.0))
    return Ringing(quality=quality, least=least, most=quality * _SPAN_OF_STATED, source=source)


def quality_from_cycles(cycles: float) -> float:
    r"""Quality factor of a ring whose amplitude falls to half within so many cycles.

    .. math:: Q = \sqrt{\tfrac14 + \left(\frac{\pi n}{\ln 2}\right)^2}

    Exact for one damped sine. Derived: its amplitude falls by exp(-alpha/f) in a cycle and Q = omega_0/(2 alpha).

    Examples
    --------
    >>> f"{quality_from_cycles(1.0):.4f}"
    '4.5599'
    """
    if not (math.isfinite(cycles) and cycles > 0):
        raise ScenarioError(f"ringing: cycles_to_half is {cycles:g}; count them on a similar board, above zero")
    return math.hypot(0.5, math.pi * cycles / math.log(2))


def ringing_from_cycles(cycles: float) -> Ringing:
    """Cycles in which the ring falls to half, counted on a similar board."""
    return ringing_from_quality(quality_from_cycles(cycles), f"{cycles:g} cycles to half, on a similar board")


def typical_ringing(kind: SwitchKind) -> Ringing:
    """What is typical of a kind of switch (common practice, from memory)."""
    least, usual, most = kind.qualities
    return Ringing(quality=usual, least=least, most=most, source=f"typical of {kind.label} switches")
