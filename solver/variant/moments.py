"""A loop's magnetic moment at one frequency: what lies on the board, and what stands on it.

The plan view gives the moment of the loop's own copper with its ends; the section view says what its ground layers
leave of the part that lies, with their edges, slots and cuts. (A plan view over a meshed plane would not do for that:
its moment is good to some tenths of a per cent of the loop's own, and less than one per cent is left.)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.loop.layout_loop import LayoutLoop

Complexes = NDArray[np.complex128]


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
