"""Every figure over the box of every variant, with the error of the interpolation measured."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.quantities import Quantity
from geometries.study.explore import Exploration
from solver.explore.interpolation import Index, Interpolation, interpolate
from solver.explore.points import SolvedPlace, explored_figures, operating_states, whole_index
from solver.study.figures_of_merit import AnyFigure
from solver.variant.figure import Reading

MARGIN = 3.0
"""The largest error at a few independent places is not yet the largest in the box: three times as much is counted."""


ROUNDING = 5e-6
"""Part of a value that is lost where a page and its address keep six digits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExploredFigure:
    """One figure over the box of one variant.

    Parameters
    ----------
    figure : Figure
        Which.
    by_ratios : bool
        Whether its logarithm is interpolated, for values that are all above zero and are no level.
    error : float
        Of the interpolation, :data:`MARGIN` times the largest at the independent places: of the logarithm, or [SI].
    within : bool
        Whether at all of these places it was below the figure's own uncertainty.
    """

    figure: AnyFigure
    by_ratios: bool
    error: float
    within: bool

    def coded(self, reading: Reading) -> tuple[float, float]:
        """Value and uncertainty as they are interpolated."""
        if self.by_ratios:
            return math.log(reading.value), reading.uncertainty / reading.value
        return reading.value, reading.uncertainty

    def decoded(self, value: float, uncertainty: float) -> Reading:
        """Value with its whole uncertainty, that of the interpolation in it."""
        if self.by_ratios:
            size = math.exp(value)
            return Reading(value=size, uncertainty=size * (max(uncertainty, 0.0) + self.error))
        return Reading(value=value, uncertainty=max(uncertainty, 0.0) + self.error)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surrogate:
    """All figures of one variant.

    Parameters
    ----------
    variant : str
        Its name.
    figures : tuple of ExploredFigure
        Those that are finite everywhere.
    interpolation : Interpolation
        Of value and uncertainty of each, one after the other.
    solved : int
        Places that were solved for it, checks not counted.
    """

    variant: str
    figures: tuple[ExploredFigure, ...]
    interpolation: Interpolation
    solved: int

    def readings(self, x: Sequence[float]) -> dict[str, Reading]:
        """All figures at a place, from -1 to 1 on every axis."""
        values = self.interpolation.values(x)
        return {
            each.figure.key: each.decoded(float(values[2 * number]), float(values[2 * number + 1]))
            for number, each in enumerate(self.figures)
        }


def surrogates(asked: Exploration, solved: Iterable[SolvedPlace]) -> tuple[Surrogate, ...]:
    """The figures of every variant over the box, from all solved places."""
    places = list(solved)
    return tuple(
        _surrogate(asked, name, [each for each in places if each.place.variant == name]) for name in _names(asked)
    )


def _names(asked: Exploration) -> list[str]:
    return [variant.name for variant in asked.variants]


def _surrogate(asked: Exploration, name: str, places: Sequence[SolvedPlace]) -> Surrogate:
    nodes = _nodes(asked, places)
    checks = [
        (state, readings)
        for each in places
        if each.place.number is None
        for state, readings in zip(each.place.states, each.readings, strict=True)
    ]
    every = [*nodes.values(), *(found for _, found in checks)]
    plain = [
        _unmeasured(figure, every)
        for figure in explored_figures(asked)
        if all(math.isfinite(readings[figure.key].value) for readings in every)
    ]
    interpolation = interpolate({index: _coded(plain, found) for index, found in nodes.items()})
    estimates = [(interpolation.values(state), readings) for state, readings in checks]
    figures = tuple(_measured(each, number, estimates) for number, each in enumerate(plain))
    solved = sum(each.place.number is not None for each in places)
    return Surrogate(variant=name, figures=figures, interpolation=interpolation, solved=solved)


def _nodes(asked: Exploration, places: Sequence[SolvedPlace]) -> dict[Index, Mapping[str, Reading]]:
    """Readings of every point that the polynomials run through."""
    return {
        whole_index(asked, each.place.number, state): readings
        for each in places
        if each.place.number is not None
        for state, readings in zip(operating_states(asked), each.readings, strict=True)
    }


def _coded(figures: Sequence[ExploredFigure], found: Mapping[str, Reading]) -> list[float]:
    return [part for each in figures for part in each.coded(found[each.figure.key])]


def _unmeasured(figure: AnyFigure, every: Sequence[Mapping[str, Reading]]) -> ExploredFigure:
    positive = figure.quantity is not Quantity.DECIBEL and all(found[figure.key].value > 0 for found in every)
    return ExploredFigure(figure=figure, by_ratios=positive, error=0.0, within=True)


def _measured(
    each: ExploredFigure, number: int, estimates: Sequence[tuple[NDArray[np.float64], Mapping[str, Reading]]]
) -> ExploredFigure:
    """With the error found at the independent places."""
    found = [each.coded(readings[each.figure.key]) for _, readings in estimates]
    errors = [abs(float(values[2 * number]) - value) for (values, _), (value, _) in zip(estimates, found, strict=True)]
    within = all(error <= uncertainty for error, (_, uncertainty) in zip(errors, found, strict=True))
    size = 1.0 if each.by_ratios else max(abs(value) for value, _ in found)
    error = max(MARGIN * max(errors), ROUNDING * size)
    return ExploredFigure(figure=each.figure, by_ratios=each.by_ratios, error=error, within=within)
