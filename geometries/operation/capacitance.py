r"""Output capacitance of a switch as a function of its voltage, with the charge and the energy that follow from it.

A junction's capacitance falls with its voltage v as

.. math:: C(v) = \frac{C_0}{(1 + v/V_j)^m} + C_f

Between points of a data sheet the same law holds piece by piece, so that the curve goes through every point and charge
and energy are its exact integrals.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Protocol

from geometries.errors import ScenarioError
from geometries.operation.comma_tables import read_comma_table
from geometries.quantities import Quantity, read_quantity, write_quantity

TYPICAL_JUNCTION_VOLTAGE = 0.8
"""Built-in voltage of a silicon junction [V] (common practice: 0.6 to 1 V)."""

TYPICAL_RATIOS = (2.4, 5.6)
"""Typical span of C(0)/C(V) of switches rated up to about 100 V (common practice). Superjunction switches of several
hundred volts fall far more steeply: state points for them."""


class OutputCapacitance(Protocol):
    """What the solver asks of a capacitance; voltages are at or above zero."""

    def at(self, voltage: float) -> float:
        """Small-signal capacitance at a voltage [F]."""
        ...

    def charge(self, voltage: float) -> float:
        """Charge from zero up to a voltage [C]."""
        ...

    def energy(self, voltage: float) -> float:
        """Energy stored from zero up to a voltage [J]."""
        ...

    def scaled(self, factor: float) -> OutputCapacitance:
        """The same curve, times a factor."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstantCapacitance:
    """The same at every voltage: a capacitor, or a switch's effective value that the scenario calls constant.

    Parameters
    ----------
    value : float
        [F].
    """

    value: float

    def __post_init__(self) -> None:
        _require_capacitance("constant", self.value)

    def at(self, voltage: float) -> float:
        """Small-signal capacitance at a voltage [F]."""
        return self.value

    def charge(self, voltage: float) -> float:
        """Charge from zero up to a voltage [C]."""
        return self.value * voltage

    def energy(self, voltage: float) -> float:
        """Energy stored from zero up to a voltage [J]."""
        return self.value * voltage**2 / 2

    def scaled(self, factor: float) -> ConstantCapacitance:
        """The same curve, times a factor."""
        return ConstantCapacitance(value=self.value * factor)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePiece:
    """A stretch of a curve: C0/(1 + v/Vj)^m [F] between two voltages [V]."""

    zero_bias: float
    exponent: float
    junction_voltage: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class JunctionCapacitance:
    """C0/(1 + v/Vj)^m + Cf.

    Parameters
    ----------
    zero_bias : float
        C0, the junction's part at 0 V [F].
    junction_voltage : float
        Vj [V].
    exponent : float
        m [1]: 0.33 of a graded junction, 0.5 of an abrupt one.
    fixed : float
        Cf, which does not change with the voltage [F].

    Examples
    --------
    >>> curve = JunctionCapacitance(zero_bias=1e-9, junction_voltage=0.8, exponent=0.5, fixed=100e-12)
    >>> f"{curve.at(24.0) * 1e12:.1f} pF, {curve.charge(24.0) * 1e9:.3f} nC"
    '279.6 pF, 9.708 nC'
    """

    zero_bias: float
    junction_voltage: float
    exponent: float
    fixed: float = 0.0

    def __post_init__(self) -> None:
        _require_capacitance("C0", self.zero_bias)
        if not (math.isfinite(self.junction_voltage) and self.junction_voltage > 0):
            raise ScenarioError(f"output_capacitance: Vj is {self.junction_voltage:g} V; it must be above zero")
        if not 0 <= self.exponent < 2:
            raise ScenarioError(f"output_capacitance: m is {self.exponent:g}; it lies from 0 to 2, usually 0.3 to 0.5")
        if not (math.isfinite(self.fixed) and self.fixed >= 0):
            raise ScenarioError(f"output_capacitance: Cf is {self.fixed:g} F; it must not be below zero")

    @property
    def piece(self) -> CurvePiece:
        """The junction's part, at all voltages."""
        return CurvePiece(
            zero_bias=self.zero_bias,
            exponent=self.exponent,
            junction_voltage=self.junction_voltage,
            low=0.0,
            high=math.inf,
        )

    def at(self, voltage: float) -> float:
        """Small-signal capacitance at a voltage [F]."""
        return float(self.zero_bias / (1 + voltage / self.junction_voltage) ** self.exponent + self.fixed)

    def charge(self, voltage: float) -> float:
        """Charge from zero up to a voltage [C]."""
        return _power_charge(self.piece, 0.0, voltage) + self.fixed * voltage

    def energy(self, voltage: float) -> float:
        """Energy stored from zero up to a voltage [J]."""
        return _power_energy(self.piece, 0.0, voltage) + self.fixed * voltage**2 / 2

    def scaled(self, factor: float) -> JunctionCapacitance:
        """The same curve, times a factor."""
        return JunctionCapacitance(
            zero_bias=self.zero_bias * factor,
            junction_voltage=self.junction_voltage,
            exponent=self.exponent,
            fixed=self.fixed * factor,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitanceCurve:
    """Points of a data sheet; between them, and beyond both ends, a junction's law through the two nearest.

    Parameters
    ----------
    points : tuple of (float, float)
        Voltage [V] and small-signal capacitance [F], at least two, voltages ascending from zero or above.

    Notes
    -----
    The law's built-in voltage is :data:`TYPICAL_JUNCTION_VOLTAGE`. Beyond the last point the last exponent goes on: a
    peak above it rests on that.

    Examples
    --------
    >>> curve = CapacitanceCurve(points=((0.0, 1.1e-9), (5.0, 520e-12), (24.0, 300e-12)))
    >>> f"{curve.at(5.0) * 1e12:.1f} pF, {curve.charge(24.0) * 1e9:.3f} nC"
    '520.0 pF, 10.554 nC'
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise ScenarioError(
                "output_capacitance: a curve has one point; give two or more, or one value with its voltage alone"
            )
        for voltage, value in self.points:
            _require_capacitance(f"point at {voltage:g} V", value)
            if not (math.isfinite(voltage) and voltage >= 0):
                raise ScenarioError(f"output_capacitance: a point lies at {voltage:g} V; voltages start at 0 V")
        for (first, _), (second, _) in pairwise(self.points):
            if not first < second:
                raise ScenarioError(
                    f"output_capacitance: the point at {second:g} V follows the one at {first:g} V; write the points "
                    "in the order of rising voltage, each voltage once"
                )
        for pair in pairwise(self.points):
            if not abs(_exponent(*pair)) < 2:
                raise ScenarioError(
                    "output_capacitance: between two points the capacitance changes more steeply than any junction's; "
                    "check the units of the points"
                )

    def at(self, voltage: float) -> float:
        """Small-signal capacitance at a voltage [F]."""
        return _power_at(self._piece(voltage), voltage)

    def charge(self, voltage: float) -> float:
        """Charge from zero up to a voltage [C]."""
        return sum(_power_charge(piece, low, high) for piece, low, high in self._covered(voltage))

    def energy(self, voltage: float) -> float:
        """Energy stored from zero up to a voltage [J]."""
        return sum(_power_energy(piece, low, high) for piece, low, high in self._covered(voltage))

    def scaled(self, factor: float) -> CapacitanceCurve:
        """The same curve, times a factor."""
        return CapacitanceCurve(points=tuple((voltage, value * factor) for voltage, value in self.points))

    @property
    def pieces(self) -> tuple[CurvePiece, ...]:
        """The law between every two points; the first goes on down to zero, the last upwards."""
        corners = [0.0, *(corner for corner, _ in self.points[1:-1]), math.inf]
        laws = (_power_through(*pair) for pair in pairwise(self.points))
        return tuple(replace(law, low=low, high=high) for law, (low, high) in zip(laws, pairwise(corners), strict=True))

    def _piece(self, voltage: float) -> CurvePiece:
        last = len(self.points) - 2
        index = min(max(bisect_right(self.points, (voltage, math.inf)) - 1, 0), last)
        return _power_through(self.points[index], self.points[index + 1])

    def _covered(self, voltage: float) -> list[tuple[CurvePiece, float, float]]:
        """Pieces of the law from zero to a voltage, with their ends."""
        return [(piece, piece.low, min(piece.high, voltage)) for piece in self.pieces if piece.low < voltage]


@dataclass(frozen=True, slots=True, kw_only=True)
class TypicalCapacitance:
    """One value at one voltage; the curve through it is the middle of typical ones.

    Parameters
    ----------
    value : float
        Small-signal capacitance [F] at `voltage`.
    voltage : float
        [V].
    ratios : tuple of float
        Smallest and largest C(0)/C(voltage) of typical curves.

    Examples
    --------
    >>> one = TypicalCapacitance(value=300e-12, voltage=24.0)
    >>> [f"{curve.at(0.0) * 1e12:.0f} pF" for curve in (one.least, one.middle, one.most)]
    ['720 pF', '1100 pF', '1680 pF']
    """

    value: float
    voltage: float
    ratios: tuple[float, float] = TYPICAL_RATIOS

    def __post_init__(self) -> None:
        _require_capacitance("value", self.value)
        if not (math.isfinite(self.voltage) and self.voltage > 0):
            raise ScenarioError(
                f"output_capacitance: its value holds at {self.voltage:g} V; give the voltage of the data sheet's "
                "value, above zero"
            )
        if not 1 <= self.ratios[0] <= self.ratios[1] < math.inf:
            raise ScenarioError(
                f"output_capacitance: typical ratios are {self.ratios}; both are 1 or more, the smaller one first"
            )

    @property
    def least(self) -> JunctionCapacitance:
        """The flattest of typical curves."""
        return self.curve(self.ratios[0])

    @property
    def middle(self) -> JunctionCapacitance:
        """With the geometric mean of both ratios."""
        return self.curve(math.sqrt(self.ratios[0] * self.ratios[1]))

    @property
    def most(self) -> JunctionCapacitance:
        """The steepest of typical curves."""
        return self.curve(self.ratios[1])

    def curve(self, ratio: float) -> JunctionCapacitance:
        """Junction without fixed part through the value, with a ratio C(0)/C(voltage)."""
        return JunctionCapacitance(
            zero_bias=self.value * ratio,
            junction_voltage=TYPICAL_JUNCTION_VOLTAGE,
            exponent=math.log(ratio) / math.log1p(self.voltage / TYPICAL_JUNCTION_VOLTAGE),
        )

    def at(self, voltage: float) -> float:
        """Small-signal capacitance at a voltage [F]."""
        return self.middle.at(voltage)

    def charge(self, voltage: float) -> float:
        """Charge from zero up to a voltage [C]."""
        return self.middle.charge(voltage)

    def energy(self, voltage: float) -> float:
        """Energy stored from zero up to a voltage [J]."""
        return self.middle.energy(voltage)

    def scaled(self, factor: float) -> TypicalCapacitance:
        """The same curve, times a factor."""
        return TypicalCapacitance(value=self.value * factor, voltage=self.voltage, ratios=self.ratios)


def read_capacitance_curve(path: Path) -> CapacitanceCurve:
    """Read a curve from a CSV file with the columns voltage and capacitance, each entry with its unit.

    Raises
    ------
    ScenarioError
        If the file cannot be read, or its points do not make a curve; the message names the file.
    """
    rows = read_comma_table(path, ("voltage", "capacitance"), what="points of a capacitance curve")
    points = tuple(
        (
            read_quantity(row["voltage"], Quantity.VOLTAGE, f"{place}: voltage"),
            read_quantity(row["capacitance"], Quantity.CAPACITANCE, f"{place}: capacitance"),
        )
        for place, row in rows
    )
    try:
        return CapacitanceCurve(points=points)
    except ScenarioError as error:
        raise ScenarioError(f"{path}: {error}") from error


def _power_through(first: tuple[float, float], second: tuple[float, float]) -> CurvePiece:
    """The law through two points."""
    exponent = _exponent(first, second)
    return CurvePiece(
        zero_bias=float(first[1] * (1 + first[0] / TYPICAL_JUNCTION_VOLTAGE) ** exponent),
        exponent=exponent,
        junction_voltage=TYPICAL_JUNCTION_VOLTAGE,
        low=0.0,
        high=math.inf,
    )


def _exponent(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Of the law through two points."""
    one, two = (1 + voltage / TYPICAL_JUNCTION_VOLTAGE for voltage in (first[0], second[0]))
    return math.log(first[1] / second[1]) / math.log(two / one)


def _power_at(law: CurvePiece, voltage: float) -> float:
    return float(law.zero_bias / (1 + voltage / law.junction_voltage) ** law.exponent)


def _power_charge(law: CurvePiece, low: float, high: float) -> float:
    """Integral of the law, with x = 1 + v/Vj: C0 Vj x^(1-m)/(1-m)."""
    one, two = 1 + low / law.junction_voltage, 1 + high / law.junction_voltage
    return law.zero_bias * law.junction_voltage * _integral(1 - law.exponent, one, two)


def _power_energy(law: CurvePiece, low: float, high: float) -> float:
    """Integral of the law times v = Vj (x - 1)."""
    one, two = 1 + low / law.junction_voltage, 1 + high / law.junction_voltage
    parts = _integral(2 - law.exponent, one, two) - _integral(1 - law.exponent, one, two)
    return law.zero_bias * law.junction_voltage**2 * parts


def _integral(power: float, low: float, high: float) -> float:
    """Of x^(power - 1)."""
    return math.log(high / low) if power == 0 else float((high**power - low**power) / power)


def _require_capacitance(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ScenarioError(
            f"output_capacitance: {name} is {write_quantity(value, Quantity.CAPACITANCE)}; the charge of a capacitance "
            "rises with the voltage, so it must be above zero everywhere"
        )
