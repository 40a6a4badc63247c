"""A sweep: one variant of a scenario, solved again and again with one or two of its values changed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from geometries.errors import GeometryError, ScenarioError
from geometries.quantities import Quantity, write_quantity
from geometries.study.build import build_scenario
from geometries.study.described_variation import MOST_SWEEP_POINTS, SweepKeyTable
from geometries.study.description import Description
from geometries.study.fingerprint import computed_from
from geometries.study.keys import KeyPath, find_key, of_variant, read_value, with_values
from geometries.study.scenario import Scenario, only_variant


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepAxis:
    """One key and the values it takes.

    Parameters
    ----------
    path : KeyPath
        The key.
    values : tuple of float
        In the quantity's stored unit, in the order of the file; at least two, all different.
    logarithmic : bool
        Whether the values are spaced by ratios rather than by differences.
    """

    path: KeyPath
    values: tuple[float, ...]
    logarithmic: bool

    @property
    def key(self) -> str:
        """The key as it is written in the scenario file, for instance "planes.L2.width"."""
        return self.path.text

    @property
    def quantity(self) -> Quantity:
        """What the key measures."""
        return self.path.quantity


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
    figures : tuple of str
        Keys of the figures that are wanted, not judged here; empty if the file names none.
    description : Description
        All that the points are computed from: the variant alone, without titles and notes.

    Examples
    --------
    >>> from geometries.files.reading import builtin_text
    >>> from geometries.files.sweep_reading import parse_sweep
    >>> sweep = parse_sweep(builtin_text("orchard-pump"))
    >>> sweep.size, [axis.key for axis in sweep.axes]
    (45, ['stackup.prepreg 7628.thickness', 'loop.width'])
    """

    scenario: Scenario
    variant: str
    axes: tuple[SweepAxis, ...]
    figures: tuple[str, ...]
    description: Description

    @property
    def size(self) -> int:
        """Number of points."""
        return math.prod(len(axis.values) for axis in self.axes)


def sweep_points(sweep: Sweep) -> Iterator[SweepPoint]:
    """All points in order; the last key runs fastest.

    Parameters
    ----------
    sweep : Sweep
        What is varied.

    Returns
    -------
    iterator of SweepPoint

    Examples
    --------
    >>> from geometries import sweep_points
    >>> from geometries.files.reading import builtin_text
    >>> from geometries.files.sweep_reading import parse_sweep
    >>> len(list(sweep_points(parse_sweep(builtin_text("orchard-pump")))))
    45
    """
    for index, values in enumerate(product(*(axis.values for axis in sweep.axes))):
        yield SweepPoint(index=index, values=values)


def point_label(sweep: Sweep, point: SweepPoint) -> str:
    """A point in words, for instance "loop.gap = 0.2 mm, planes.L2.width = 8 mm"."""
    return ", ".join(
        f"{axis.key} = {write_quantity(value, axis.quantity)}"
        for axis, value in zip(sweep.axes, point.values, strict=True)
    )


def build_sweep(scenario: Scenario, description: Description) -> Sweep:
    """Build the sweep that a file describes, and every point of it once.

    Parameters
    ----------
    scenario : Scenario
        The whole file.
    description : Description
        With its `[sweep]` table.

    Returns
    -------
    Sweep

    Raises
    ------
    ScenarioError
        If there is no such table, a key does not exist or has no effect, or a value makes an impossible geometry.
    """
    table = description.sweep
    if table is None:
        raise ScenarioError(
            'there is no [sweep] table; add one, for example [sweep] vary = [{ key = "loop.width", from = "1 mm", '
            'to = "5 mm", steps = 9 }]'
        )
    name = only_variant(scenario, table.variant).reference
    alone = of_variant(description, name)
    axes = tuple(_build_axis(each, alone) for each in table.vary)
    if len({axis.path.steps for axis in axes}) < len(axes):
        raise ScenarioError(f"sweep: {axes[0].key} is varied twice; name another key, or one key alone")
    sweep = Sweep(scenario=scenario, variant=name, axes=axes, figures=table.figures, description=alone)
    if sweep.size > MOST_SWEEP_POINTS:
        raise ScenarioError(
            f"sweep: the grid has {sweep.size} points; at most {MOST_SWEEP_POINTS} are solved: take fewer steps"
        )
    _try_every_point(sweep)
    return sweep


def sweep_scenario(sweep: Sweep, point: SweepPoint) -> Scenario:
    """What has to be solved for one point of a sweep: the variant alone, with all tables that analyses ask for.

    Parameters
    ----------
    sweep : Sweep
        What is varied.
    point : SweepPoint
        One of :func:`sweep_points`.

    Returns
    -------
    Scenario
        Its one variant has no steps.

    Raises
    ------
    ScenarioError
        If the point's values make an impossible geometry; the message names them.

    Examples
    --------
    >>> from geometries import sweep_points, sweep_scenario
    >>> from geometries.files.reading import builtin_text
    >>> from geometries.files.sweep_reading import parse_sweep
    >>> sweep = parse_sweep(builtin_text("orchard-pump"))
    >>> first = sweep_scenario(sweep, next(sweep_points(sweep)))
    >>> first.variants[0].stackups[0].layers[1].thickness
    7e-05
    """
    values = {axis.path: value for axis, value in zip(sweep.axes, point.values, strict=True)}
    try:
        scenario = build_scenario(with_values(sweep.description, values))
    except GeometryError as error:
        raise ScenarioError(f"sweep point {point_label(sweep, point)}: {error}") from error
    return replace(scenario, variants=(replace(scenario.variants[0], steps=()),))


def _build_axis(table: SweepKeyTable, description: Description) -> SweepAxis:
    path = find_key(description, table.key)
    values = _spaced(table, path) if table.values is None else [read_value(value, path) for value in table.values]
    if len(set(values)) < len(values):
        raise ScenarioError(f"{table.key} takes the same value twice; list every value once")
    return SweepAxis(path=path, values=tuple(values), logarithmic=table.spacing == "logarithmic" and min(values) > 0)


def _spaced(table: SweepKeyTable, path: KeyPath) -> list[float]:
    """Values from the first to the last, both included, evenly spaced as the table says."""
    start, stop = (read_value(each, path) for each in (table.start, table.stop))
    count = table.steps or 2
    if table.spacing == "linear":
        return [_rounded(start + (stop - start) * step / (count - 1)) for step in range(count)]
    if not (start > 0 and stop > 0):
        raise ScenarioError(
            f"{table.key} goes from {table.start} to {table.stop}; logarithmic spacing needs both above zero"
        )
    return [_rounded(start * math.exp(math.log(stop / start) * step / (count - 1))) for step in range(count)]


def _rounded(value: float) -> float:
    return float(f"{value:.12g}")


def _try_every_point(sweep: Sweep) -> None:
    """Build every point once; refuse a key that changes nothing that is computed."""
    found = {point: computed_from(sweep_scenario(sweep, point)) for point in sweep_points(sweep)}
    first = next(iter(found))
    for number, axis in enumerate(sweep.axes):
        alone = (point for point in found if _only_differs_in(point, first, number))
        if all(found[point] == found[first] for point in alone):
            raise ScenarioError(
                f"sweep: {axis.key} changes nothing in variant {sweep.variant!r} that is computed; vary a key that "
                "shapes a conductor, or one of a table that is asked for"
            )


def _only_differs_in(point: SweepPoint, other: SweepPoint, number: int) -> bool:
    pairs = zip(point.values, other.values, strict=True)
    return all((one == two) != (index == number) for index, (one, two) in enumerate(pairs))
