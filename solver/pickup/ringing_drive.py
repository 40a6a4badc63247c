"""What drives a victim: trapezoids with the ring that their edges excite, and the pin's exact answer to them.

A ring of a switch whose capacitance depends on its voltage is no sum of exponentials. Its current is sampled densely
and taken as straight between the samples; to such a wave the answer of a linear circuit is exact again (see
:mod:`solver.pickup.waveform`): every change of slope leaves an exponential behind.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.nonlinear_edge import NonlinearLoop, nonlinear_edge
from solver.pickup.waveform import Transfer, Trapezoid

_PER_PERIOD = 96
_LEFT = 1e-3
"""Part of a ring that may be left when its samples end."""

_ONE = 1e-6
_LINES_AT_ONCE = 128

Samples = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Transient:
    """What a ring adds to a trapezoid, from the start of an edge.

    Parameters
    ----------
    times, values : (n,) array
        From zero on [s], and in the trapezoid's unit; a cubic spline in between, nothing afterwards.
    """

    times: Samples
    values: Samples

    def at(self, times: Samples) -> Samples:
        """At times from the start of the edge, (n,)."""
        inside = (times >= 0) & (times <= self.times[-1])
        return np.where(inside, CubicSpline(self.times, self.values)(np.where(inside, times, 0.0)), 0.0)

    def repeated(self, times: Samples, period: float) -> Samples:
        """What all that began a whole number of periods earlier make together, (n,)."""
        turns = range(1 + int(self.times[-1] // period))
        return np.asarray(sum(self.at(times + turn * period) for turn in turns))

    def __neg__(self) -> Transient:
        return Transient(times=self.times, values=-self.values)


NO_TRANSIENT = Transient(times=np.linspace(0.0, 1e-12, 4), values=np.zeros(4))
"""Of an edge that excites nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingingWave:
    """A trapezoid with a ring at either edge.

    Parameters
    ----------
    shape : Trapezoid
        What is switched.
    rise, fall : Transient
        Added from the start of either edge; what is left of it after a period adds to the next one.
    """

    shape: Trapezoid
    rise: Transient = NO_TRANSIENT
    fall: Transient = NO_TRANSIENT

    @property
    def corners(self) -> Samples:
        """Times of one period at which its slope changes [s]."""
        starts = self.shape.corners[[0, 2]]
        rings = [(start + ring.times) % self.shape.period for start, ring in zip(starts, self._rings, strict=True)]
        return np.concatenate([self.shape.corners, *rings])

    def values(self, times: Samples) -> Samples:
        """The wave at times of the first period, (n,)."""
        starts, period = self.shape.corners[[0, 2]], self.shape.period
        added = [
            ring.repeated((times - start) % period, period) for start, ring in zip(starts, self._rings, strict=True)
        ]
        return self.shape.values(times) + added[0] + added[1]

    @property
    def mean(self) -> float:
        """Mean over a period."""
        added = sum(float(np.trapezoid(ring.values, ring.times)) for ring in self._rings)
        return self.shape.mean + added / self.shape.period

    @property
    def _rings(self) -> tuple[Transient, Transient]:
        return self.rise, self.fall


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PinSource:
    """One of the causes of what is seen at a pin.

    Parameters
    ----------
    name : str
        Of the loop, or the switch node.
    transfer : Transfer
        From its wave to the pin.
    wave : RingingWave
        Its current or voltage.
    """

    name: str
    transfer: Transfer
    wave: RingingWave


def ring_transients(circuit: NonlinearLoop, edge: Edge) -> tuple[Transient, Transient]:
    """What an edge adds to trapezoids until the ring has died out.

    Returns
    -------
    current, voltage : Transient
        Of the loop [A]; of the switch beyond its straight edge [V].
    """
    times = _ring_times(circuit, edge)
    solved = nonlinear_edge(circuit, edge, until=float(times[-1]))
    ramp = edge.height * np.clip(times / max(edge.duration, math.ulp(1.0)), 0.0, 1.0)
    return (
        Transient(times=times, values=solved.current(times)),
        Transient(times=times, values=solved.voltage(times) - ramp),
    )


def pin_times(sources: Sequence[PinSource]) -> Samples:
    """Times of one period with every corner of every wave among them [s], ascending from zero to the period.

    Times closer than a millionth of the fastest edge are one.
    """
    period = sources[0].wave.shape.period
    shapes = [source.wave.shape.times() for source in sources]
    corners = [source.wave.corners for source in sources]
    times = np.unique(np.clip(np.concatenate([[0.0, period], *shapes, *corners]), 0.0, period))
    closest = _ONE * min(min(source.wave.shape.rise_time, source.wave.shape.fall_time) for source in sources)
    return np.append(times[:-1][np.diff(times) > closest], period)


def pin_parts(sources: Sequence[PinSource]) -> tuple[Samples, Samples]:
    """What every source leaves at the pin over one period, in the periodic state.

    Parameters
    ----------
    sources : sequence of PinSource
        Of one period.

    Returns
    -------
    times : (t,) array
        Of both ends of every straight piece [s]: at a corner right before it and right after it.
    parts : (s, t) array
        [V]; their sum is the voltage at the pin, mean level included.

    Raises
    ------
    ValueError
        If the sources have different periods.
    """
    periods = {source.wave.shape.period for source in sources}
    if len(periods) != 1:
        raise ValueError(f"the sources have the periods {sorted(periods)} s; all of a converter switch together")
    times = pin_times(sources)
    parts = np.array([straight_response(each.transfer, times, each.wave.values(times)) for each in sources])
    return np.column_stack([times[:-1], np.nextafter(times[1:], 0.0)]).ravel(), parts


def straight_response(transfer: Transfer, times: Samples, values: Samples) -> Samples:
    """Answer of a circuit to a periodic wave of straight pieces, at both ends of each piece, (2n - 2,).

    Parameters
    ----------
    transfer : Transfer
        The circuit.
    times, values : (n,) array
        Corners of one period, the last one its end [s]; heights, the last one that of the first.

    Examples
    --------
    A low-pass of 1 µs delays a slow ramp by as much:

    >>> low_pass = Transfer(level=1.0, slope=-1e-6, poles=np.array([-1e6]), residues=np.array([1e6]))
    >>> wave = straight_response(low_pass, np.array([0.0, 4e-4, 5e-4, 9e-4, 1e-3]), np.array([0.0, 1.0, 1.0, 0.0, 0.0]))
    >>> float(wave[1].round(6))
    0.9975
    """
    lengths = np.diff(times)
    slopes = np.diff(values) / lengths
    bends = slopes - np.roll(slopes, 1)
    left = _left_behind(transfer.poles, lengths, bends)
    decayed = left * np.exp(np.outer(lengths, transfer.poles))
    sizes = transfer.residues / transfer.poles**2
    ends = [
        transfer.level * heights + transfer.slope * slopes + exponentials @ sizes
        for heights, exponentials in ((values[:-1], left), (values[1:], decayed))
    ]
    return np.column_stack(ends).ravel()


def wave_harmonics(times: Samples, values: Samples, count: int) -> NDArray[np.complex128]:
    """Peak phasors of the first harmonics of a periodic wave of straight pieces, (count,)."""
    period = float(times[-1] - times[0])
    slopes = np.diff(values) / np.diff(times)
    bends = slopes - np.roll(slopes, 1)
    omega: Samples = 2 * math.pi / period * np.arange(1.0, count + 1)
    turned = [np.exp(-1j * np.outer(part, times[:-1])) @ bends for part in _in_parts(omega)]
    return np.asarray(2 * np.concatenate(turned) / (period * (1j * omega) ** 2))


def _in_parts(omega: Samples) -> list[Samples]:
    return [omega[start : start + _LINES_AT_ONCE] for start in range(0, len(omega), _LINES_AT_ONCE)]


def _left_behind(poles: Samples, lengths: Samples, bends: Samples) -> Samples:
    """Exponentials right after each corner in the periodic state, (n - 1, poles)."""
    decays = np.exp(np.outer(lengths, poles))
    state = np.zeros(len(poles))
    for bend, decay in zip(bends, decays, strict=True):
        state = (state + bend) * decay
    state = state / -np.expm1(poles * lengths.sum())
    found = np.empty_like(decays)
    for index, (bend, decay) in enumerate(zip(bends, decays, strict=True)):
        found[index] = state + bend
        state = found[index] * decay
    return found


def _ring_times(circuit: NonlinearLoop, edge: Edge) -> Samples:
    """From the start of the edge until a thousandth of the ring is left, 96 in a period [s]."""
    linear = circuit.linear_at(edge.height)
    rates = edge_response(linear, edge).rates
    turning = rates[rates.imag > 0]
    slowest = float(-turning.real.max()) if len(turning) else float(-rates.real.max())
    if not slowest > 0:
        raise ValueError("the loop has no resistance at all; its ring never decays")
    fastest = max(float(np.abs(turning).max()) if len(turning) else 0.0, linear.natural_frequency)
    end = edge.duration + math.log(1 / _LEFT) / slowest
    count = math.ceil(end * fastest / (2 * math.pi) * _PER_PERIOD)
    return np.linspace(0.0, end, 1 + count)
