r"""What a diode still carries when the edge begins: recovered charge or current of the switch that turns off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.errors import ScenarioError


@dataclass(frozen=True, slots=True, kw_only=True)
class NoRecovery:
    """Stated: nothing recovers, as with a switch without a junction, or a dead time too short for one to conduct.

    Parameters
    ----------
    reason : str
        As stated.
    """

    reason: str = "stated"

    def current(self, voltage: float, inductance: float) -> float:
        """Loop current when the edge begins [A]."""
        return 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoveryCurrent:
    """Peak of the reverse current, from the data sheet at the slope of the application.

    Parameters
    ----------
    peak : float
        I_rr [A].
    """

    peak: float

    def __post_init__(self) -> None:
        _require_positive("current", self.peak, "A")

    def current(self, voltage: float, inductance: float) -> float:
        """Loop current when the edge begins [A]."""
        return self.peak


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoveredCharge:
    r"""Charge that flows backwards through the diode before it blocks.

    .. math:: I_{rr} = \sqrt{2\,Q_{rr}\,\frac{di}{dt}}, \qquad \frac{di}{dt} \le \frac{V}{L}

    Parameters
    ----------
    charge : float
        Q_rr [C].
    slope : float, optional
        di/dt of the commutation [A/s]; without it V/L, the fastest that the loop allows, which makes the current an
        upper bound: its energy in the loop is then Q_rr V.

    Notes
    -----
    Abrupt recovery: all charge flows before the current's peak. A soft diode leaves less current at the same charge.

    Examples
    --------
    >>> f"{RecoveredCharge(charge=2e-9).current(24.0, 1e-9):.2f} A"
    '9.80 A'
    """

    charge: float
    slope: float | None = None

    def __post_init__(self) -> None:
        _require_positive("charge", self.charge, "C")
        if self.slope is not None:
            _require_positive("slope", self.slope, "A/s")

    def current(self, voltage: float, inductance: float) -> float:
        """Loop current when the edge begins [A], for an input voltage [V] and the loop's inductance [H]."""
        fastest = voltage / inductance
        slope = fastest if self.slope is None else min(self.slope, fastest)
        return math.sqrt(2 * self.charge * slope)


Recovery = NoRecovery | RecoveryCurrent | RecoveredCharge


def _require_positive(name: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ScenarioError(
            f'recovery: {name} is {value:g} {unit}; it must be above zero; where nothing recovers, write "none"'
        )
