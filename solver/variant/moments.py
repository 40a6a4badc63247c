"""A loop's magnetic moment over the frequencies of an emission: what lies on the board, and what stands on it.

The plan view gives the moment of the loop's own copper with its ends; the section view says what its ground layers
leave of the part that lies, with their edges, slots and cuts. (A plan view over a meshed plane would not do for that:
its moment is good to some tenths of a per cent of the loop's own, and less than one per cent is left.)

Above the frequencies at which currents crowd to the surface, all this tends to its limit as the skin depth does, with
the inverse square root of frequency: straight lines over that are drawn between a few solutions, and beyond the last.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solver.loop.layout_loop import LayoutLoop

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]

_CLOSE = 0.05
"""If lines between samples may miss more [dB], further ones are asked for."""

_MOST_SAMPLES = 9
_SMALLEST = 1e-30


@dataclass(frozen=True, slots=True, kw_only=True)
class MomentParts:
    """What lies on the board and what stands on it, as areas per ampere.

    Parameters
    ----------
    lying, standing : float
        Magnitudes [m²]; of a stretch of a section per length [m].
    left : float
        Part of the own lying moment that ground layers without net current leave [1].
    """

    lying: float
    standing: float
    left: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MomentCurve:
    """Both parts over frequency.

    Parameters
    ----------
    frequencies : (n,) array
        Where they were solved [Hz], ascending.
    areas : (n, 2) array
        Lying and standing part per ampere [m²].
    missed : float
        By how much a magnitude between these frequencies may be off [dB].

    Examples
    --------
    >>> areas = np.array([[2e-6, 1e-6], [1e-6, 1e-6]])
    >>> curve = MomentCurve(frequencies=np.array([1e8, 4e8]), areas=areas, missed=0.0)
    >>> (curve.at(np.array([1e8, 16e8]))[:, 0] * 1e6).round(3).tolist()
    [2.0, 0.5]
    """

    frequencies: Floats
    areas: Floats
    missed: float

    def at(self, frequencies: Floats) -> Floats:
        """Lying and standing part at any frequencies [m²], (m, 2); below the lowest as there."""
        depth, known = _depth(np.maximum(frequencies, self.frequencies[0])), _depth(self.frequencies)
        if len(known) == 1:
            return np.repeat(self.areas, len(depth), axis=0)
        after = np.clip(np.searchsorted(self.frequencies, frequencies), 1, len(known) - 1)
        part = (depth - known[after]) / (known[after - 1] - known[after])
        return np.maximum(self.areas[after] + part[:, None] * (self.areas[after - 1] - self.areas[after]), 0.0)


def parts_of_loop(own: Complexes | None, stretches: Sequence[tuple[float, MomentParts]], carried: bool) -> MomentParts:
    """Both parts of a loop at one frequency.

    Parameters
    ----------
    own : (3,) complex array, optional
        Moment per ampere of the loop's own copper, with its ends and bodies, from the plan view [m²]; none without one.
    stretches : sequence of (float, MomentParts)
        Lengths [m] and line moments of its sections.
    carried : bool
        Whether a ground layer carries the return.

    Examples
    --------
    >>> stretch = MomentParts(lying=1e-3, standing=0.0, left=0.1)
    >>> parts = parts_of_loop(np.array([0, 3e-6, 20e-6j]), [(8e-3, stretch)], False)
    >>> f"{parts.lying * 1e6:.1f} and {parts.standing * 1e6:.1f} mm²"
    '2.0 and 3.0 mm²'
    """
    lying = math.fsum(length * each.lying for length, each in stretches)
    if own is None:
        return MomentParts(lying=lying, standing=math.fsum(length * each.standing for length, each in stretches))
    standing = math.hypot(*np.abs(own[:2]))
    if carried:
        return MomentParts(lying=lying, standing=standing)
    left = math.fsum(length * each.left for length, each in stretches) / math.fsum(length for length, _ in stretches)
    return MomentParts(lying=abs(complex(own[2])) * left, standing=standing)


def parts_on_layout(loop: LayoutLoop, moment: Complexes) -> MomentParts:
    """Both parts of the moment of a loop that its layout describes, (3,) [m²]."""
    lying, standing = loop.lying_and_standing(moment)
    return MomentParts(lying=lying, standing=standing)


def moment_curve(
    parts: Callable[[Sequence[float]], Sequence[MomentParts]], frequencies: Sequence[float]
) -> MomentCurve:
    """Sample both parts where they bend, until straight lines are as close as is needed.

    Parameters
    ----------
    parts : callable
        Both parts at some frequencies, in their order; asked once per round.
    frequencies : sequence of float
        Where to begin [Hz], ascending, three or more; what is asked for lies between the outer ones.
    """
    known: dict[float, MomentParts] = {}
    asked = list(frequencies)
    while True:
        known |= zip(asked, parts(asked), strict=True)
        curve = _curve(known)
        if not curve.missed > _CLOSE or len(known) == _MOST_SAMPLES:
            return curve
        asked = _between(curve, int(_left_over(curve).argmax()))


def middle_of(low: float, high: float) -> float:
    """The frequency whose skin depth is the mean of those at two others [Hz]."""
    return float((2 / (low**-0.5 + high**-0.5)) ** 2)


def _depth(frequencies: Floats) -> Floats:
    """Proportional to the skin depth."""
    return 1 / np.sqrt(frequencies)


def _curve(known: dict[float, MomentParts]) -> MomentCurve:
    frequencies = sorted(known)
    areas = np.array([(known[each].lying, known[each].standing) for each in frequencies])
    curve = MomentCurve(frequencies=np.array(frequencies), areas=areas, missed=0.0)
    return replace(curve, missed=float(_left_over(curve).max()))


def _left_over(curve: MomentCurve) -> Floats:
    """How far a parabola through each inner sample and its neighbours is off the lines between them [dB]."""
    depth, areas = _depth(curve.frequencies), curve.areas
    place = (depth[1:-1] - depth[2:]) / (depth[:-2] - depth[2:])
    line = areas[2:] + place[:, None] * (areas[:-2] - areas[2:])
    off = np.linalg.norm(areas[1:-1] - line, axis=1) / np.maximum(np.linalg.norm(areas[1:-1], axis=1), _SMALLEST)
    longest = np.maximum(place, 1 - place)
    return np.asarray(20 * np.log10(1 + off * longest**2 / (4 * place * (1 - place))))


def _between(curve: MomentCurve, index: int) -> list[float]:
    """The frequencies between an inner sample and the two beside it."""
    low, here, high = (float(each) for each in curve.frequencies[index : index + 3])
    return [middle_of(low, here), middle_of(here, high)]
