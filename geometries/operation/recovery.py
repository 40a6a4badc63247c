"""What a diode still carries when it should block: recovered charge or current of the switch that turns off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.quantities import Quantity, write_quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class NoRecovery:
    """Nothing recovers: a switch without a junction, or a dead time too short for one to conduct.

    Parameters
    ----------
    stated : bool
        Whether the scenario says so; otherwise it is an assumption that the report names.
    """

    stated: bool = True

    def __str__(self) -> str:
        return "none"


NO_RECOVERY = NoRecovery()
"""Stated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoveryCurrent:
    """The diode blocks once its reverse current has reached a peak.

    Parameters
    ----------
    current : float
        I_rr at the slope of the application [A].
    """

    current: float

    def __post_init__(self) -> None:
        _require_positive("current", self.current, "A")

    def __str__(self) -> str:
        return f"current {write_quantity(self.current, Quantity.CURRENT)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoveredCharge:
    """The diode blocks once a charge has flowed backwards through it.

    Parameters
    ----------
    charge : float
        Q_rr [C].

    Notes
    -----
    Abrupt recovery: all of the charge flows before the current's peak. A soft diode leaves less current in the loop.
    """

    charge: float

    def __post_init__(self) -> None:
        _require_positive("charge", self.charge, "C")

    def __str__(self) -> str:
        return f"charge {write_quantity(self.charge, Quantity.CHARGE)}"


Recovery = NoRecovery | RecoveryCurrent | RecoveredCharge


def _require_positive(name: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ScenarioError(
            f'recovery: {name} is {value:g} {unit}; it must be above zero; where nothing recovers, write "none"'
        )
