"""What a loop radiates by, over the frequencies of an emission: sampled at a few of them, with straight lines between.

Above the frequencies at which currents crowd to the surface, a moment and the voltage along a ground tend to their
limits as the skin depth does, with the inverse square root of frequency: straight lines over that are drawn between a
few solutions, and beyond the last.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_MOST_SAMPLES = 9
_SMALLEST = 1e-30


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SkinCurve:
    """Numbers of one kind over frequency.

    Parameters
    ----------
    frequencies : (n,) array
        Where they were solved [Hz], ascending.
    values : (n, k) array
        Zero or more [SI].
    missed : float
        By how much the root of their squares between these frequencies may be off [dB].

    Examples
    --------
    >>> areas = np.array([[2e-6, 1e-6], [1e-6, 1e-6]])
    >>> curve = SkinCurve(frequencies=np.array([1e8, 4e8]), values=areas, missed=0.0)
    >>> (curve.at(np.array([1e8, 16e8]))[:, 0] * 1e6).round(3).tolist()
    [2.0, 0.5]
    """

    frequencies: Floats
    values: Floats
    missed: float

    def at(self, frequencies: Floats) -> Floats:
        """Values at any frequencies [Hz], (m, k); below the lowest as there."""
        depth, known = _depth(np.maximum(frequencies, self.frequencies[0])), _depth(self.frequencies)
        if len(known) == 1:
            return np.repeat(self.values, len(depth), axis=0)
        after = np.clip(np.searchsorted(self.frequencies, frequencies), 1, len(known) - 1)
        part = (depth - known[after]) / (known[after - 1] - known[after])
        return np.maximum(self.values[after] + part[:, None] * (self.values[after - 1] - self.values[after]), 0.0)


def skin_curves(
    solve: Callable[[Sequence[float]], Sequence[Sequence[Floats]]], frequencies: Sequence[float], close: Sequence[float]
) -> tuple[SkinCurve, ...]:
    """Sample several curves where they bend, until straight lines are as close as is needed.

    Parameters
    ----------
    solve : callable
        Values (k,) of every curve at some frequencies, in their order; asked once per round.
    frequencies : sequence of float
        Where to begin [Hz], ascending, three or more; what is asked for lies between the outer ones.
    close : sequence of float
        What lines of each curve may miss [dB] before further frequencies are asked for.
    """
    known: dict[float, Sequence[Floats]] = {}
    asked = list(frequencies)
    while True:
        known |= zip(asked, solve(asked), strict=True)
        curves = tuple(_curve(known, number) for number in range(len(close)))
        worst, most = max(zip(curves, close, strict=True), key=lambda each: each[0].missed / each[1])
        if not worst.missed > most or len(known) == _MOST_SAMPLES:
            return curves
        asked = _between(worst, int(_left_over(worst).argmax()))


def middle_of(low: float, high: float) -> float:
    """The frequency whose skin depth is the mean of those at two others [Hz]."""
    return float((2 / (low**-0.5 + high**-0.5)) ** 2)


def _depth(frequencies: Floats) -> Floats:
    """Proportional to the skin depth."""
    return 1 / np.sqrt(frequencies)


def _curve(known: Mapping[float, Sequence[Floats]], number: int) -> SkinCurve:
    frequencies = sorted(known)
    values = np.array([known[each][number] for each in frequencies])
    curve = SkinCurve(frequencies=np.array(frequencies), values=values, missed=0.0)
    return replace(curve, missed=float(_left_over(curve).max()))


def _left_over(curve: SkinCurve) -> Floats:
    """How far a parabola through each inner sample and its neighbours is off the lines between them [dB]."""
    depth, values = _depth(curve.frequencies), curve.values
    place = (depth[1:-1] - depth[2:]) / (depth[:-2] - depth[2:])
    line = values[2:] + place[:, None] * (values[:-2] - values[2:])
    off = np.linalg.norm(values[1:-1] - line, axis=1) / np.maximum(np.linalg.norm(values[1:-1], axis=1), _SMALLEST)
    longest = np.maximum(place, 1 - place)
    return np.asarray(20 * np.log10(1 + off * longest**2 / (4 * place * (1 - place))))


def _between(curve: SkinCurve, index: int) -> list[float]:
    """The frequencies between an inner sample and the two beside it."""
    low, here, high = (float(each) for each in curve.frequencies[index : index + 3])
    return [middle_of(low, here), middle_of(here, high)]
