"""What a sweep shows, in a sentence or two."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import groupby, pairwise

from geometries.quantities import write_quantity
from geometries.study.sweep import Sweep, SweepAxis
from solver.study.sweep_rows import SweepRow

_SAME = 1e-3
"""Inductances that all lie within this fraction, or within their errors, are called the same."""

_DIGITS = 3
_SMALL_CHANGE = 0.05
_EVEN = 1.5
"""Slopes whose ratio is below this are called even."""


def find(sweep: Sweep, rows: Sequence[SweepRow]) -> str:
    """Say how the loop's inductance depends on what was varied.

    Parameters
    ----------
    sweep : Sweep
        What was varied.
    rows : sequence of SweepRow
        Solved points in the sweep's order.

    Returns
    -------
    str
        One or two sentences.
    """
    if len(rows) < 2:
        return f"{len(rows)} of {sweep.size} points could be solved; that is too few for a finding."
    least = min(rows, key=lambda row: row.loop_inductance)
    most = max(rows, key=lambda row: row.loop_inductance)
    margin = max(_SAME, (least.inductance_error + most.inductance_error) / least.loop_inductance)
    if most.loop_inductance <= least.loop_inductance * (1 + margin):
        names = " and ".join(axis.key for axis in sweep.axes)
        size = f"{_nanohenry(least.loop_inductance)} nH"
        return f"Loop inductance stays at {size} within {100 * margin:.2g} %, whatever {names}."
    if len(sweep.axes) == 1:
        return _along_line(sweep.axes[0], rows, least, most)
    return _over_grid(sweep, rows, least, most)


def _along_line(axis: SweepAxis, rows: Sequence[SweepRow], least: SweepRow, most: SweepRow) -> str:
    ordered = sorted(rows, key=lambda row: row.values[0])
    first, last = ordered[0], ordered[-1]
    if {first.index, last.index} != {least.index, most.index}:
        return (
            f"Loop inductance is least, {_nanohenry(least.loop_inductance)} nH, at {axis.key} = {_at(axis, least)} and "
            f"largest, {_nanohenry(most.loop_inductance)} nH, at {_at(axis, most)}."
        )
    verb = "grows" if last is most else "falls"
    change = last.loop_inductance / first.loop_inductance - 1
    digits = _DIGITS if abs(change) > _SMALL_CHANGE else _DIGITS + 1
    start, stop = (_nanohenry(row.loop_inductance, digits) for row in (first, last))
    sizes = f"from {start} to {stop} nH ({_percent(change)})"
    way = f"as {axis.key} goes from {_at(axis, first)} to {_at(axis, last)}"
    return f"Loop inductance {verb} {sizes} {way}{_where_steepest(axis, ordered)}."


def _where_steepest(axis: SweepAxis, ordered: Sequence[SweepRow]) -> str:
    """Where along the axis, as it is spaced, the inductance changes most."""
    scale: Callable[[float], float] = math.log if axis.logarithmic else float
    slopes = [
        abs((right.loop_inductance - left.loop_inductance) / (scale(right.values[0]) - scale(left.values[0])))
        for left, right in pairwise(ordered)
    ]
    if len(slopes) < 2:
        return ""
    if max(slopes) < _EVEN * min(slopes):
        return ", evenly"
    steepest = slopes.index(max(slopes))
    if steepest == 0:
        return f"; it changes most near {_at(axis, ordered[0])}"
    if steepest == len(slopes) - 1:
        return f"; it changes most near {_at(axis, ordered[-1])}"
    return f"; it changes most between {_at(axis, ordered[steepest])} and {_at(axis, ordered[steepest + 1])}"


def _over_grid(sweep: Sweep, rows: Sequence[SweepRow], least: SweepRow, most: SweepRow) -> str:
    first, second = (_effect(rows, number) for number in (0, 1))
    stronger, weaker = sweep.axes if first >= second else sweep.axes[::-1]
    return (
        f"Loop inductance lies between {_nanohenry(least.loop_inductance)} nH ({_place(sweep, least)}) and "
        f"{_nanohenry(most.loop_inductance)} nH ({_place(sweep, most)}). {stronger.key} changes it by up to "
        f"{_percent(max(first, second) - 1)}, {weaker.key} by up to {_percent(min(first, second) - 1)}, the other held."
    ).replace("+", "")


def _effect(rows: Sequence[SweepRow], number: int) -> float:
    """Largest ratio of two inductances that differ in one axis alone."""

    def held(row: SweepRow) -> float:
        return row.values[1 - number]

    ratios = []
    for _, group in groupby(sorted(rows, key=held), key=held):
        inductances = [row.loop_inductance for row in group]
        ratios.append(max(inductances) / min(inductances))
    return max(ratios)


def _place(sweep: Sweep, row: SweepRow) -> str:
    return ", ".join(
        f"{axis.key} {write_quantity(value, axis.quantity)}" for axis, value in zip(sweep.axes, row.values, strict=True)
    )


def _at(axis: SweepAxis, row: SweepRow) -> str:
    return write_quantity(row.values[0], axis.quantity)


def _percent(fraction: float) -> str:
    """With its sign; one decimal where it is small."""
    return f"{100 * fraction:+.{0 if abs(fraction) > _SMALL_CHANGE else 1}f} %".replace("-", "−")


def _nanohenry(value: float, digits: int = _DIGITS) -> str:
    return f"{value * 1e9:#.{digits}g}".rstrip(".")
