"""The series loop that an edge makes ring."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, overload

import numpy as np
from numpy.typing import NDArray

from geometries.operation.switching import Switching
from solver.circuit.rl_network import RLNetwork


@dataclass(frozen=True, slots=True, kw_only=True)
class DampedBranch:
    """Resistor [ohm] and capacitor [F] in series, across the switch."""

    resistance: float
    capacitance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesLoop:
    """Resistor, inductor, cells and the switch's capacitance in series, with a snubber across the capacitance.

    Parameters
    ----------
    resistance : float
        [ohm].
    inductance : float
        Beside the cells: what is left at the highest frequencies [H].
    capacitance : float
        Of the switch [F].
    cells : tuple of (float, float)
        Resistor [ohm] and inductor [H] in parallel, each.
    snubber : DampedBranch, optional
        Across the capacitance.

    Raises
    ------
    ValueError
        If an element is negative, or inductance or capacitance is zero.
    """

    resistance: float
    inductance: float
    capacitance: float
    cells: tuple[tuple[float, float], ...] = ()
    snubber: DampedBranch | None = None

    def __post_init__(self) -> None:
        branch = () if self.snubber is None else (self.snubber.resistance, self.snubber.capacitance)
        positive = (self.inductance, self.capacitance, *(value for cell in self.cells for value in cell), *branch)
        if not (all(math.isfinite(value) and value > 0 for value in positive) and 0 <= self.resistance < math.inf):
            raise ValueError(
                f"series loop of {self.resistance:g} ohm, {self.inductance:g} H, {self.capacitance:g} F, cells "
                f"{self.cells} and snubber {branch}; all must be finite, the resistance not below zero and all else "
                "above it"
            )

    @property
    def characteristic_impedance(self) -> float:
        """Root of inductance, without cells, over capacitance [ohm]."""
        return math.sqrt(self.inductance / self.capacitance)

    @property
    def natural_frequency(self) -> float:
        """Undamped angular frequency of inductance, without cells, and capacitance [rad/s]."""
        return 1 / math.sqrt(self.inductance * self.capacitance)

    @overload
    def series_impedance(self, frequency: float) -> complex: ...
    @overload
    def series_impedance(self, frequency: NDArray[np.float64]) -> NDArray[np.complex128]: ...
    def series_impedance(self, frequency: Any) -> Any:
        """Impedance in series with the capacitance [ohm] at a frequency or several [Hz]."""
        s = 2j * math.pi * frequency
        cells = sum(s * inductor * resistor / (resistor + s * inductor) for resistor, inductor in self.cells)
        return self.resistance + s * self.inductance + cells

    def with_snubber(self, resistance: float, capacitance: float) -> SeriesLoop:
        """The same loop with another snubber."""
        return replace(self, snubber=DampedBranch(resistance=resistance, capacitance=capacitance))

    def with_more_inductance(self, inductance: float) -> SeriesLoop:
        """The same loop with so much more inductance [H] in series; less, if negative."""
        return replace(self, inductance=self.inductance + inductance)


def series_loop(circuit: RLNetwork, switching: Switching) -> SeriesLoop:
    """The first loop of a layout in series with package, switch and capacitor; without snubber.

    Parameters
    ----------
    circuit : RLNetwork
        Of the loops; the others are left open.
    switching : Switching
        Values of what lies beside the copper.

    Returns
    -------
    SeriesLoop
    """
    return SeriesLoop(
        resistance=switching.series_resistance
        + sum(each.resistance * each.turns[0] ** 2 for each in circuit.resistors),
        inductance=switching.package_inductance
        + sum(each.inductance * each.turns[0] ** 2 for each in circuit.inductors),
        capacitance=switching.capacitance_at_input,
        cells=tuple(
            (each.resistance * each.turns[0] ** 2, each.inductance * each.turns[0] ** 2)
            for each in circuit.cells
            if each.turns[0] != 0
        ),
    )


def copper_alone(loop: SeriesLoop, switching: Switching) -> SeriesLoop:
    """The loop with no resistance beside that of its copper: the least damping there can be."""
    return replace(loop, resistance=max(0.0, loop.resistance - switching.series_resistance), snubber=None)
