"""Periodic waveforms of straight pieces, and what a linear circuit makes of them.

A transfer G(s) that grows no faster than s, with simple poles p_i and residues r_i, is

    G(s) = G(0) + s G'(0) + sum of (r_i / p_i²) s² / (s - p_i).

A ramp of slope k that begins at t_j and goes on for ever is k/s² there, so that every change dk_j of the input's slope
leaves an exponential behind, and in the periodic state

    y(t) = G(0) u(t) + G'(0) u'(t) + sum of dk_j (r_i / p_i²) exp(p_i tau_j) / (1 - exp(p_i T)),

with tau_j = (t - t_j) mod T.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

_PER_PIECE = 160
_FIRST_STEP = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Transfer:
    """Output over input of a linear circuit.

    Parameters
    ----------
    level, slope : float
        G(0) and G'(0).
    poles, residues : (m,) array
        Real and negative, all different [rad/s]; residues in the transfer's unit times rad/s.
    """

    level: float
    slope: float
    poles: NDArray[np.float64]
    residues: NDArray[np.float64]

    def at(self, s: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """G at complex frequencies (n,) -> (n,)."""
        terms = s[:, None] ** 2 / (s[:, None] - self.poles) * (self.residues / self.poles**2)
        return np.asarray(self.level + s * self.slope + terms.sum(axis=1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Trapezoid:
    """A periodic trapezoid between 0 and `height`; it begins to rise at t = 0.

    Parameters
    ----------
    height : float
        Its height in its own unit.
    period : float
        [s].
    duty : float
        From the middle of the rise to the middle of the fall, in periods [1].
    rise_time, fall_time : float
        Edges, 0 to 100 % [s].
    """

    height: float
    period: float
    duty: float
    rise_time: float
    fall_time: float

    @property
    def corners(self) -> NDArray[np.float64]:
        """Where the slope changes [s], (4,)."""
        fall = (self.rise_time - self.fall_time) / 2 + self.duty * self.period
        return np.array([0.0, self.rise_time, fall, fall + self.fall_time])

    @property
    def mean(self) -> float:
        """Mean over a period."""
        return self.height * self.duty

    def values(self, times: NDArray[np.float64]) -> NDArray[np.float64]:
        """The waveform at times of the first period, (n,)."""
        heights = [0.0, self.height, self.height, 0.0, 0.0]
        return np.asarray(np.interp(times, [*self.corners, self.period], heights))

    def times(self) -> NDArray[np.float64]:
        """Times of one period, dense after every corner and with one right before each [s]."""
        corners = [*self.corners, self.period]
        first = _FIRST_STEP * min(self.rise_time, self.fall_time)
        pieces = []
        for start, stop in pairwise(corners):
            if stop - start > 2 * first:
                inside = start + np.geomspace(first, stop - start, _PER_PIECE)
                pieces.append(np.concatenate([[start], inside[:-1], [np.nextafter(stop, start)]]))
        return np.unique(np.concatenate(pieces))
