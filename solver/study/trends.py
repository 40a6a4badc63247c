"""What a sweep shows of one figure, in a sentence or two."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from geometries.quantities import Quantity, write_quantity
from geometries.study.sweep import Sweep, SweepAxis
from solver.notation.numbers import fixed, significant
from solver.study.figures_of_merit import AnyFigure
from solver.variant.figure import Reading

Point = tuple[tuple[float, ...], Reading]
"""Values of the axes, and the figure there."""

_SAME = 1e-3
"""Values that all lie within this fraction, or within their uncertainties, are called the same."""

_DIGITS = 3
_SMALL_CHANGE = 0.05
_EVEN = 1.5
"""Slopes whose ratio is below this are called even."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """How a figure's values and changes are told."""

    figure: AnyFigure

    @property
    def subject(self) -> str:
        title = self.figure.title
        return title[0].upper() + title[1:]

    def size(self, value: float, digits: int = _DIGITS) -> str:
        return f"{significant(value / self.figure.scale, digits)} {self.figure.unit}"

    def change(self, after: float, before: float) -> str:
        """In percent of what it was; of a level, or where it was nothing, as a difference."""
        if self.figure.quantity is Quantity.DECIBEL or before <= 0:
            return f"{fixed((after - before) / self.figure.scale, 1, signed=True)} {self.figure.unit}"
        fraction = after / before - 1
        return f"{fixed(100 * fraction, 0 if abs(fraction) > _SMALL_CHANGE else 1, signed=True)} %"


def find_trend(sweep: Sweep, figure: AnyFigure, points: Sequence[Point]) -> str:
    """Say how a figure depends on what was varied.

    Parameters
    ----------
    sweep : Sweep
        What was varied.
    figure : Figure
        What is looked at.
    points : sequence of (tuple of float, Reading)
        Solved points in the sweep's order.

    Returns
    -------
    str
        One or two sentences.
    """
    known = [point for point in points if math.isfinite(point[1].value)]
    if len(known) < 2:
        return f"{len(known)} of {sweep.size} points could be solved; that is too few for a finding."
    words = _Words(figure=figure)
    least, most = min(known, key=_value), max(known, key=_value)
    margin = max(_SAME * abs(_value(least)), least[1].uncertainty + most[1].uncertainty)
    if _value(most) - _value(least) <= margin:
        names = " and ".join(axis.key for axis in sweep.axes)
        within = words.size(margin, 2)
        return f"{words.subject} stays at {words.size(_value(least))} within {within}, whatever {names}."
    if len(sweep.axes) == 1:
        return _along_line(sweep.axes[0], words, known, least, most)
    return _over_grid(sweep, words, known, least, most)


def _value(point: Point) -> float:
    return point[1].value


def _along_line(axis: SweepAxis, words: _Words, points: Sequence[Point], least: Point, most: Point) -> str:
    ordered = sorted(points, key=lambda point: point[0][0])
    first, last = ordered[0], ordered[-1]
    if {id(first), id(last)} != {id(least), id(most)}:
        return (
            f"{words.subject} is least, {words.size(_value(least))}, at {axis.key} = {_at(axis, least)} and "
            f"largest, {words.size(_value(most))}, at {_at(axis, most)}."
        )
    verb = "grows" if last is most else "falls"
    small = abs(_value(last) / _value(first) - 1) <= _SMALL_CHANGE if _value(first) else False
    start, stop = (words.size(_value(point), _DIGITS + small) for point in (first, last))
    sizes = f"from {start} to {stop} ({words.change(_value(last), _value(first))})"
    way = f"as {axis.key} goes from {_at(axis, first)} to {_at(axis, last)}"
    return f"{words.subject} {verb} {sizes} {way}{_where_steepest(axis, ordered)}."


def _where_steepest(axis: SweepAxis, ordered: Sequence[Point]) -> str:
    """Where along the axis, as it is spaced, the figure changes most."""
    scale: Callable[[float], float] = math.log if axis.logarithmic else float
    slopes = [
        abs((_value(right) - _value(left)) / (scale(right[0][0]) - scale(left[0][0])))
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


def _over_grid(sweep: Sweep, words: _Words, points: Sequence[Point], least: Point, most: Point) -> str:
    effects = [_effect(points, number) for number in (0, 1)]
    order = (0, 1) if effects[0][0] >= effects[1][0] else (1, 0)
    told = [words.change(effects[number][2], effects[number][1]).lstrip("+") for number in order]
    stronger, weaker = (sweep.axes[number].key for number in order)
    return (
        f"{words.subject} lies between {words.size(_value(least))} ({_place(sweep, least)}) and "
        f"{words.size(_value(most))} ({_place(sweep, most)}). {stronger} changes it by up to {told[0]}, {weaker} by up "
        f"to {told[1]}, the other held."
    )


def _effect(points: Sequence[Point], number: int) -> tuple[float, float, float]:
    """Largest change between two values that differ in one axis alone: its size, and both values."""

    def held(point: Point) -> float:
        return point[0][1 - number]

    changes = []
    for _, group in groupby(sorted(points, key=held), key=held):
        values = [_value(point) for point in group]
        low, high = min(values), max(values)
        changes.append((high / low if low > 0 else high - low, low, high))
    return max(changes)


def _place(sweep: Sweep, point: Point) -> str:
    return ", ".join(
        f"{axis.key} {write_quantity(value, axis.quantity)}" for axis, value in zip(sweep.axes, point[0], strict=True)
    )


def _at(axis: SweepAxis, point: Point) -> str:
    return write_quantity(point[0][0], axis.quantity)
