r"""Time of a switch's edge from its gate drive: an estimate with its band."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.operation.spans import Span, within
from geometries.quantities import NANO

BAND = (0.65, 1.6)
"""Factors by which a real edge may be shorter or longer than the estimate (common practice: spread of Q_gd, driver and
plateau)."""


COMMON_SOURCE_INDUCTANCE = Span(
    value=0.1 * NANO, least=0.0, most=0.3 * NANO, source="typical of a leadless package with a gate return of its own"
)
"""What gate loop and power loop share (common practice; a wire-bonded lead has 1 nH and more)."""

_STATED_WITHIN = 0.3
"""Relative span of a stated common-source inductance (estimate)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeEstimate:
    """Time of the whole edge, 0 to 100 % [s]: estimate, shortest, longest, and what it rests on."""

    time: float
    shortest: float
    longest: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GateCurrent:
    """A driver that feeds the gate a current while the voltage changes.

    Parameters
    ----------
    current : float
        [A].
    gate_drain_charge : float
        Q_gd at the input voltage [C].
    """

    current: float
    gate_drain_charge: float

    def __post_init__(self) -> None:
        _require_positive("current", self.current, "A")
        _require_positive("gate_drain_charge", self.gate_drain_charge, "C")

    def edge(self) -> EdgeEstimate:
        """Gate-drain charge over gate current: the current carries it while the gate stays at its plateau.

        Examples
        --------
        >>> f"{GateCurrent(current=1.0, gate_drain_charge=2e-9).edge().time * 1e9:.1f} ns"
        '2.0 ns'
        """
        return _estimate(self.gate_drain_charge / self.current, "gate current and gate-drain charge")


@dataclass(frozen=True, slots=True, kw_only=True)
class GateResistor:
    r"""A driver of a voltage behind a resistor, with an inductance that gate loop and power loop share.

    Parameters
    ----------
    drive_voltage, plateau_voltage : float
        Of the driver and of the gate's plateau [V].
    resistance : float
        Of driver, resistor and gate together [ohm].
    gate_drain_charge : float
        Q_gd at the input voltage [C].
    common_source_inductance : float, optional
        L_s [H]; a typical one without it.
    moved_charge : float, optional
        Q_oss: the output charge that the switch moves during the edge [C]; of a described switch its own at the input
        voltage.
    """

    drive_voltage: float
    plateau_voltage: float
    resistance: float
    gate_drain_charge: float
    common_source_inductance: float | None = None
    moved_charge: float | None = None

    def __post_init__(self) -> None:
        for name, unit in (("resistance", "ohm"), ("gate_drain_charge", "C")):
            _require_positive(name, getattr(self, name), unit)
        for name, unit in (("common_source_inductance", "H"), ("moved_charge", "C")):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value >= 0):
                raise ScenarioError(f"gate: {name} is {value:g} {unit}; it must not be below zero")
        if not 0 <= self.plateau_voltage < self.drive_voltage < math.inf:
            raise ScenarioError(
                f"gate: the plateau is {self.plateau_voltage:g} V and the driver gives {self.drive_voltage:g} V; the "
                "plateau lies below it"
            )

    @property
    def common_source(self) -> Span:
        """Common-source inductance with its span [H]."""
        if self.common_source_inductance is None:
            return COMMON_SOURCE_INDUCTANCE
        return within(self.common_source_inductance, _STATED_WITHIN)

    def edge(self) -> EdgeEstimate:
        r"""Balance of flux in the gate loop over the edge, (V_dr - V_pl) t = R_g Q_gd + L_s I, with I = Q_oss/t.

        .. math::
            t = \frac{R_g Q_{gd} + \sqrt{(R_g Q_{gd})^2 + 4 (V_{dr} - V_{pl}) L_s Q_{oss}}}{2 (V_{dr} - V_{pl})}

        Notes
        -----
        Derived; constant plateau, and the switch's current grows over the edge by what the moved charge takes on
        average. An estimate.

        Examples
        --------
        >>> plain = GateResistor(drive_voltage=5.0, plateau_voltage=2.0, resistance=3.0, gate_drain_charge=2e-9)
        >>> f"{plain.edge().time * 1e9:.2f} ns"
        '2.00 ns'
        """
        surplus, drop = self.drive_voltage - self.plateau_voltage, self.resistance * self.gate_drain_charge
        feedback = 4 * surplus * self.common_source.value * (self.moved_charge or 0.0)
        time = (drop + math.sqrt(drop**2 + feedback)) / (2 * surplus)
        return _estimate(time, "gate resistor, gate-drain charge and common-source inductance")


def _estimate(time: float, source: str) -> EdgeEstimate:
    return EdgeEstimate(time=time, shortest=time * BAND[0], longest=time * BAND[1], source=source)


def _require_positive(name: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ScenarioError(f"gate: {name} is {value:g} {unit}; it must be above zero")
