"""Every figure over the box of every variant, with the error of the interpolation measured."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.quantities import Quantity
from geometries.study.explore import Exploration, ExploredVariant
from solver.explore.consequences import consequences, handed_of
from solver.explore.inputs import Inputs, inputs_of
from solver.explore.interpolation import Index, Interpolation, interpolate
from solver.explore.points import (
    SolvedPlace,
    explored_figures,
    handed_key,
    is_computed,
    operating_states,
    whole_index,
)
from solver.study.figures_of_merit import AnyFigure
from solver.variant.figure import Reading

MARGIN = 4.0
"""The largest error at a few independent places is not yet the largest in the box: four times as much is counted."""


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
    computed : bool
        Whether a page computes it from what solved places hand on, in place of a polynomial of its own.
    """

    figure: AnyFigure
    by_ratios: bool
    error: float
    within: bool
    computed: bool

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
        Of value and uncertainty of each that is not computed, one after the other, and of all numbers handed on.
    inputs : Inputs, optional
        What computed figures start from beside these; none where nothing is computed.
    solved : int
        Places that were solved for it, checks not counted.
    """

    variant: str
    figures: tuple[ExploredFigure, ...]
    interpolation: Interpolation
    inputs: Inputs | None
    solved: int

    def readings(self, x: Sequence[float]) -> dict[str, Reading]:
        """All figures that are interpolated, at a place from -1 to 1 on every axis."""
        values = self.interpolation.values(x)
        plain = (each for each in self.figures if not each.computed)
        return {
            each.figure.key: each.decoded(float(values[2 * number]), float(values[2 * number + 1]))
            for number, each in enumerate(plain)
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
    variant = next(each for each in asked.variants if each.name == name)
    measured = [found for _, found in checks]
    every = [*nodes.values(), *measured]
    known = [
        _unmeasured(figure, measured if computed else every, computed=computed)
        for figure, computed in ((figure, is_computed(asked, figure.key)) for figure in explored_figures(asked))
        if _is_finite(figure, measured if computed else every)
    ]
    plain = [each for each in known if not each.computed]
    inputs = inputs_of(asked, variant) if asked.computes else None
    coded = {index: [*_coded(plain, found), *_handed(found)] for index, found in nodes.items()}
    interpolation = interpolate(coded)
    estimates = [_estimate(asked, variant, plain, interpolation.values(state), state) for state, _ in checks]
    figures = tuple(_measured(each, estimates, [readings for _, readings in checks]) for each in known)
    return Surrogate(
        variant=name,
        figures=figures,
        interpolation=interpolation,
        inputs=inputs,
        solved=sum(each.place.number is not None for each in places),
    )


def _estimate(
    asked: Exploration,
    variant: ExploredVariant,
    plain: Sequence[ExploredFigure],
    values: NDArray[np.float64],
    state: Sequence[float],
) -> dict[str, float]:
    """Every figure by its key as the page has it, coded, without uncertainty."""
    found = {each.figure.key: float(values[2 * number]) for number, each in enumerate(plain)}
    if not asked.computes:
        return found
    scenario = asked.scenario_at(variant, asked.values(state))
    computed = consequences(scenario, handed_of(values[2 * len(plain) :].tolist(), scenario))
    return {**computed, **found}


def _handed(found: Mapping[str, Reading]) -> list[float]:
    """Numbers handed on, in their order."""
    count = sum(key.startswith("handed.") for key in found)
    return [found[handed_key(number)].value for number in range(count)]


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


def _is_finite(figure: AnyFigure, every: Sequence[Mapping[str, Reading]]) -> bool:
    return all(math.isfinite(found[figure.key].value) for found in every)


def _unmeasured(figure: AnyFigure, every: Sequence[Mapping[str, Reading]], *, computed: bool) -> ExploredFigure:
    decibels = figure.quantity is Quantity.DECIBEL
    positive = not (computed or decibels) and all(found[figure.key].value > 0 for found in every)
    return ExploredFigure(figure=figure, by_ratios=positive, error=0.0, within=True, computed=computed)


def _measured(
    each: ExploredFigure, estimates: Sequence[Mapping[str, float]], solved: Sequence[Mapping[str, Reading]]
) -> ExploredFigure:
    """With the error found at the independent places."""
    key = each.figure.key
    found = [each.coded(readings[key]) for readings in solved]
    errors = [abs(known[key] - wanted) for known, (wanted, _) in zip(estimates, found, strict=True)]
    within = all(error <= uncertainty for error, (_, uncertainty) in zip(errors, found, strict=True))
    size = 1.0 if each.by_ratios else max(abs(value) for value, _ in found)
    return replace(each, error=max(MARGIN * max(errors), ROUNDING * size), within=within)
