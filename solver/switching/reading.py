"""Numbers read off a waveform: peak, ring, settling."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from solver.circuit.edge_response import EdgeResponse

SETTLED = 0.05
"""A voltage counts as settled within this part of its final value (common practice)."""

_PER_PERIOD = 32
_PERIODS_BEFORE, _PERIODS_AFTER = 3, 6
_LATE_POINTS = 100
_LATEST = 20.0
_CHUNK = 4096
_ROUNDING = 1e-10
"""Peaks that exceed the final value by less than this part of it are rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """The oscillation of a waveform.

    Parameters
    ----------
    frequency : float
        Damped frequency [Hz].
    decay_rate : float
        Of its amplitude [1/s].
    """

    frequency: float
    decay_rate: float

    @property
    def quality(self) -> float:
        """Quality factor [1]: magnitude of the complex frequency over twice its decay rate."""
        return math.hypot(2 * math.pi * self.frequency, self.decay_rate) / (2 * self.decay_rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Peak:
    """Largest voltage [V] and when it is reached, from the start of the edge [s]; infinite if it is the final one."""

    voltage: float
    time: float


def ring_of(response: EdgeResponse) -> Ring | None:
    """The strongest oscillation of a response; None if it has none.

    Raises
    ------
    ValueError
        If it does not decay.
    """
    turning = np.flatnonzero(response.rates.imag > 0)
    if not len(turning):
        return None
    strongest = turning[np.abs(response.voltage_parts[turning]).argmax()]
    rate = complex(response.rates[strongest])
    if not rate.real < 0:
        raise ValueError("the loop has no resistance at all; its ring never decays")
    return Ring(frequency=rate.imag / (2 * math.pi), decay_rate=-rate.real)


def peak_of(response: EdgeResponse) -> Peak:
    """Largest voltage of a response.

    Notes
    -----
    Searched where the ripple has its largest crest: up to three periods before the end of the edge (earlier the edge's
    own slope wins over any ripple) and six after it, then in growing steps until everything has decayed. The place is
    refined to a zero of the slope.
    """
    times = _search_times(response)
    values = response.voltage(times)
    highest = int(values.argmax())
    final = response.edge.height
    if values[highest] <= final * (1 + _ROUNDING):
        return Peak(voltage=final, time=math.inf)
    low, high = times[max(0, highest - 1)], times[min(len(times) - 1, highest + 1)]
    if not response.slope(low) > 0 > response.slope(high):
        return Peak(voltage=float(values[highest]), time=float(times[highest]))
    time = brentq(response.slope, low, high, xtol=1e-12 * high, rtol=1e-12)
    return Peak(voltage=float(response.voltage(np.array([time]))[0]), time=float(time))


def settling_time(response: EdgeResponse, *, part: float = SETTLED) -> float:
    """Time from the start of the edge after which the voltage stays within a part of its final value [s]."""
    band = part * response.edge.height
    step = 1 / (_PER_PERIOD * _fastest(response))
    late = response.edge.duration + _envelope_time(response, band)
    while late > 0:
        times = np.asarray(late - step * np.arange(_CHUNK)[::-1], dtype=np.float64)
        outside = np.flatnonzero(_excess(response, times, band) > 0)
        if len(outside):
            last = float(times[outside[-1]])
            return _crossing(response, last, last + step, band)
        late = float(times[0])
    return 0.0


def _crossing(response: EdgeResponse, low: float, high: float, band: float) -> float:
    def excess(time: float) -> float:
        return float(_excess(response, np.array([time]), band)[0])

    return float(brentq(excess, low, high, xtol=1e-12 * high, rtol=1e-12)) if excess(high) < 0 else high


def _excess(response: EdgeResponse, times: NDArray[np.float64], band: float) -> NDArray[np.float64]:
    return np.abs(response.voltage(times) - response.edge.height) - band


def _envelope_time(response: EdgeResponse, band: float) -> float:
    """Time after the edge from which on the sum of all amplitudes is below a band [s]."""
    sizes = np.abs(response.deviation_parts)

    def excess(time: float) -> float:
        return float(np.sum(sizes * np.exp(response.rates.real * time))) - band

    if excess(0.0) <= 0:
        return 0.0
    late = 1 / _fastest(response)
    while excess(late) > 0:
        late *= 2
    return float(brentq(excess, 0.0, late, xtol=1e-9 * late))


def _fastest(response: EdgeResponse) -> float:
    """Frequency of the fastest oscillation [Hz], or without one, of the slowest part that counts."""
    turning = float(response.rates.imag.max())
    if turning > 0:
        return turning / (2 * math.pi)
    sizes = np.abs(response.voltage_parts)
    counting = sizes > 1e-3 * sizes.max()
    return float(np.abs(response.rates[counting]).min()) / (2 * math.pi)


def _search_times(response: EdgeResponse) -> NDArray[np.float64]:
    duration, period = response.edge.duration, 1 / _fastest(response)
    start = max(0.0, duration - _PERIODS_BEFORE * period)
    close = duration + _PERIODS_AFTER * period
    near = np.linspace(start, close, 1 + math.ceil((close - start) / period * _PER_PERIOD))
    slowest = float(np.abs(response.rates.real).min())
    latest = max(2 * close, duration + _LATEST / slowest) if slowest > 0 else 2 * close
    return np.concatenate([near, np.geomspace(close, latest, _LATE_POINTS)[1:]])
