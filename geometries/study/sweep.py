"""A sweep: one variant of a scenario, solved again and again with one or two of its values changed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from geometries.quantities import Quantity, write_quantity
from geometries.study.scenario import Analysis, Scenario, Variant


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepAxis:
    """One key and the values it takes.

    Parameters
    ----------
    key : str
        As it is written in the scenario file, for instance "planes.L2.width".
    steps : tuple of str or int
        The way to it through the tables of :attr:`Sweep.inputs`.
    quantity : Quantity
        What the key measures.
    values : tuple of float
        In the quantity's stored unit, in the order of the file; at least two, all different.
    logarithmic : bool
        Whether the values are spaced by ratios rather than by differences.
    """

    key: str
    steps: tuple[str | int, ...]
    quantity: Quantity
    values: tuple[float, ...]
    logarithmic: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepPoint:
    """One point: its number in the sweep's order, and the value of every axis in its stored unit."""

    index: int
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """One variant and the keys to vary in it.

    Parameters
    ----------
    scenario : Scenario
        The whole file as read.
    variant : str
        Name of the variant that is varied.
    axes : tuple of SweepAxis
        One or two.
    inputs : str
        All that the points are computed from, as JSON: the scenario's tables without other variants, titles and notes.
    """

    scenario: Scenario
    variant: str
    axes: tuple[SweepAxis, ...]
    inputs: str

    @property
    def size(self) -> int:
        """Number of points."""
        return math.prod(len(axis.values) for axis in self.axes)


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepCase:
    """A point together with what has to be solved for it."""

    point: SweepPoint
    variant: Variant
    analysis: Analysis


def sweep_points(sweep: Sweep) -> Iterator[SweepPoint]:
    """All points in order; the last key runs fastest."""
    for index, values in enumerate(product(*(axis.values for axis in sweep.axes))):
        yield SweepPoint(index=index, values=values)


def point_label(sweep: Sweep, point: SweepPoint) -> str:
    """A point in words, for instance "loop.gap = 0.2 mm, planes.L2.width = 8 mm"."""
    return ", ".join(
        f"{axis.key} = {write_quantity(value, axis.quantity)}"
        for axis, value in zip(sweep.axes, point.values, strict=True)
    )
