"""Spectrum of the loop's current: a trapezoid, and the ring that its edges excite in the loop's own circuit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.circuit.series_loop import SeriesLoop
from solver.formulas import trapezoid_bound, trapezoid_harmonic

Floats = NDArray[np.float64]

_MOST_LINES = 20_000
"""More lines than this between two frequencies are thinned out for the bound, evenly on a logarithmic axis."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RingCircuit:
    """The circuit that rings, and what drives it.

    Parameters
    ----------
    voltage : float
        Height of the trapezoidal voltage in series with it [V].
    loop : SeriesLoop
        The loop's copper, package, switch and snubber; beyond the band of the copper's model, above which skin effect
        is left as it is there, the same circuit goes on.
    """

    voltage: float
    loop: SeriesLoop

    def __post_init__(self) -> None:
        if not self.voltage >= 0:
            raise ValueError(f"the driving voltage is {self.voltage:g} V; it must not be below zero")

    def admittance(self, frequencies: Floats) -> NDArray[np.complex128]:
        """Current of the loop per volt of the driving edge at frequencies [Hz], (n,) [S]."""
        return np.asarray(self._shunt(frequencies) * self.node_gain(frequencies))

    def node_gain(self, frequencies: Floats) -> NDArray[np.complex128]:
        """Voltage of the switch node per volt of the driving edge, likewise [1]."""
        return np.asarray(1 / (1 + self._shunt(frequencies) * self.loop.series_impedance(frequencies)))

    def _shunt(self, frequencies: Floats) -> NDArray[np.complex128]:
        """Admittance of the switch that is off, with its snubber [S]."""
        s = 2j * math.pi * frequencies
        snubber = self.loop.snubber
        damped = 0.0 if snubber is None else 1 / (snubber.resistance + 1 / (s * snubber.capacitance))
        return np.asarray(s * self.loop.capacitance + damped)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopCurrent:
    """A loop's periodic current.

    Parameters
    ----------
    amplitude : float
        Height of its trapezoid [A].
    frequency : float
        Switching frequency [Hz].
    duty : float
        Between the middles of the edges [1].
    rise_time, fall_time : float
        0 to 100 % [s].
    ring : RingCircuit, optional
        Excited by both edges; a voltage of the same shape drives it. None for a current without ring.

    Notes
    -----
    Exact for a linear circuit in its periodic state: the ring's line is admittance times the line of the driving
    voltage, whatever is left of it when the next edge comes.
    """

    amplitude: float
    frequency: float
    duty: float
    rise_time: float
    fall_time: float
    ring: RingCircuit | None = None

    def lines(self, harmonics: NDArray[np.int64]) -> NDArray[np.complex128]:
        """Peak phasors of lines with these numbers, (n,) [A]."""
        edges = (self.frequency, self.duty, self.rise_time, self.fall_time)
        shapes = np.array([trapezoid_harmonic(1.0, *edges, int(each)) for each in harmonics])
        return np.asarray(shapes * self._heights((harmonics * self.frequency).astype(float)))

    def bounds(self, frequencies: Floats) -> Floats:
        """Largest peak values that lines can have at frequencies [Hz], whatever the duty, (n,) [A]."""
        return self._bounds_of_shape(frequencies) * np.abs(self._heights(frequencies))

    def node_voltage_bounds(self, frequencies: Floats) -> Floats:
        """Largest peak values of the switch node's voltage, whatever the duty, (n,) [V]; zero without ring."""
        if self.ring is None:
            return np.zeros(len(frequencies))
        return self._bounds_of_shape(frequencies) * self.ring.voltage * np.abs(self.ring.node_gain(frequencies))

    def _bounds_of_shape(self, frequencies: Floats) -> Floats:
        edges = (self.frequency, self.rise_time, self.fall_time)
        return np.array([trapezoid_bound(1.0, *edges, float(each)) for each in frequencies])

    def _heights(self, frequencies: Floats) -> NDArray[np.complex128]:
        """Height of the trapezoid that the line at a frequency belongs to: switched and ringing current together."""
        ring = 0.0 if self.ring is None else self.ring.voltage * self.ring.admittance(frequencies)
        return np.asarray(self.amplitude + ring, dtype=complex)


def harmonic_numbers(current: LoopCurrent, lowest: float, highest: float) -> NDArray[np.int64]:
    """Numbers of the lines from one frequency to another [Hz], (n,), ascending; thinned out evenly if very many."""
    first, last = max(1, math.ceil(lowest / current.frequency)), math.floor(highest / current.frequency)
    if last - first < _MOST_LINES:
        return np.arange(first, last + 1)
    return np.unique(np.geomspace(first, last, _MOST_LINES).round().astype(np.int64))


def root_mean_square(peaks: Sequence[float] | NDArray[np.float64]) -> NDArray[np.float64]:
    """Root mean square of sines of these peak values, (n,)."""
    return np.asarray(peaks, dtype=float) / math.sqrt(2)
