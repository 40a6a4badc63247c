"""The product as a whole: what drives its sources, and what a change brings with what the edges are not known by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from solver.emission.current import LoopCurrent, root_mean_square
from solver.emission.sources import Drive, SpreadChange


def board_drive(current: LoopCurrent, frequencies: NDArray[np.float64]) -> Drive:
    """Largest lines of current and node voltage for any duty, root mean square.

    Parameters
    ----------
    current : LoopCurrent
        In the loop, with the ring if that is known; without it nothing is known of the switch node's voltage.
    frequencies : (n,) array
        Of the lines [Hz].
    """
    return Drive(
        frequencies=frequencies,
        current=root_mean_square([current.bound(float(each)) for each in frequencies]),
        node_voltage=root_mean_square([current.node_voltage_bound(float(each)) for each in frequencies]),
    )


def with_drifts(nominal: Sequence[SpreadChange], moved: Sequence[Sequence[SpreadChange]]) -> tuple[SpreadChange, ...]:
    """Changes whose bands hold how far they move when an input that both boards share is off.

    Parameters
    ----------
    nominal : sequence of SpreadChange
        As described.
    moved : sequence of sequence of SpreadChange
        The same with one input at an end of its tolerance each, sources in the same order.

    Returns
    -------
    tuple of SpreadChange
        The largest drift of each counts with its band as the root of their squares.

    Examples
    --------
    >>> known = [SpreadChange(name="sum", change=-6.0, band=3.0)]
    >>> slower = [SpreadChange(name="sum", change=-10.0, band=3.0)]
    >>> with_drifts(known, [slower])[0].band
    5.0
    """
    return tuple(
        replace(
            each,
            band=math.hypot(each.band, max((abs(others[index].change - each.change) for others in moved), default=0.0)),
        )
        for index, each in enumerate(nominal)
    )
