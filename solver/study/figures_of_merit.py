"""Figures of merit: the list of every quantity that variants are judged by, and how it is read.

A further figure is one entry in the list of its analysis; a further analysis is one line here. Tables, pages, files,
sweeps, tolerances and budgets are views of this list.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from geometries.errors import ScenarioError, nearest
from geometries.study.scenario import Scenario
from solver.emission.figures import EMISSION
from solver.switching.figures import SWITCHING
from solver.variant.analysis import Analysis
from solver.variant.figure import Figure, Reading
from solver.variant.loop_figures import LOOP
from solver.variant.needs import Needs
from solver.variant.pickup_figures import PICKUP
from solver.variant.results import VariantResult
from solver.variant.shielding_figures import SHIELDING

MEASURED: tuple[Analysis[Any], ...] = (LOOP, SHIELDING, PICKUP, SWITCHING, EMISSION)
"""The analyses that have figures."""

AnyFigure = Figure[Any]
Readings = Mapping[str, Reading]
"""By the figure's key."""


@cache
def _home(key: str) -> Analysis[Any]:
    """The analysis that a figure belongs to."""
    return next(analysis for analysis in MEASURED if any(figure.key == key for figure in analysis.figures))


def every_figure() -> Iterator[AnyFigure]:
    """All figures there are."""
    for analysis in MEASURED:
        yield from analysis.figures


def known_figures(scenario: Scenario) -> tuple[AnyFigure, ...]:
    """The figures that a scenario has.

    Parameters
    ----------
    scenario : Scenario
        Its tables and variants say which analyses are asked for.

    Returns
    -------
    tuple of Figure
        In the order in which they are shown.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import known_figures
    >>> [figure.key for figure in known_figures(read_builtin_scenario("pond-aerator"))][:3]
    ['loop_inductance', 'loop_resistance', 'peak_field_above']
    """
    asked = (analysis for analysis in MEASURED if analysis.asked(scenario))
    return tuple(figure for analysis in asked for figure in analysis.figures if figure.known(scenario))


def headline_figures(scenario: Scenario) -> tuple[AnyFigure, ...]:
    """The figures that are shown, swept and toleranced unless others are asked for."""
    return tuple(figure for figure in known_figures(scenario) if figure.headline)


def figure_named(key: str, scenario: Scenario, *, where: str) -> AnyFigure:
    """A figure by its key.

    Parameters
    ----------
    key : str
        As in documents, for instance "peak_voltage".
    scenario : Scenario
        Has to have it.
    where : str
        Names the table in messages, for instance "budgets".

    Raises
    ------
    ScenarioError
        If there is no such figure, with the nearest one, or the scenario lacks what it is computed from.
    """
    known = [figure.key for figure in every_figure()]
    if key not in known:
        raise ScenarioError(f"{where}: unknown figure {key!r}; {nearest(key, known)}")
    here = {figure.key: figure for figure in known_figures(scenario)}
    if key not in here:
        raise ScenarioError(
            f"{where}: {key} is not known of every variant, because not all have what it is computed from; add the "
            f"table [{_home(key).key}], or remove it"
        )
    return here[key]


def chosen_figures(keys: Sequence[str], scenario: Scenario, *, where: str) -> tuple[AnyFigure, ...]:
    """The figures of these keys, or the headline figures without any.

    Raises
    ------
    ScenarioError
        As for :func:`figure_named`.
    """
    return tuple(figure_named(key, scenario, where=where) for key in keys) or headline_figures(scenario)


def needs_of(figures: Iterable[AnyFigure], scenario: Scenario) -> Needs:
    """What has to be solved for these figures, and nothing else."""
    listed = tuple(figures)
    homes = {_home(figure.key).key: _home(figure.key) for figure in listed}
    parts = [*(figure.needs for figure in listed), *(home.needs(scenario) for home in homes.values())]
    return frozenset().union(*parts)


def read_figures(scenario: Scenario, result: VariantResult, figures: Iterable[AnyFigure]) -> Readings:
    r"""Readings of a solved variant; what several figures are read from is found once.

    Parameters
    ----------
    scenario : Scenario
        What was solved.
    result : VariantResult
        One of its variants.
    figures : iterable of Figure
        Some of :func:`known_figures`.

    Returns
    -------
    dict of str to Reading
        By the figures' keys.

    Raises
    ------
    SolverError
        If the variant was solved without what a figure needs.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import known_figures, read_figures, solve_variant
    >>> from solver.variant.needs import Need
    >>> scenario = read_builtin_scenario("garden-lamp")
    >>> result = solve_variant(scenario.variants[0], scenario.analysis, frozenset({Need.WHOLE_LOOP}))
    >>> inductance = read_figures(scenario, result, known_figures(scenario)[:1])["loop_inductance"]
    >>> f"{inductance.value * 1e9:.1f} nH"
    '3.0 nH'
    """
    found: dict[str, Any] = {}
    readings = {}
    for figure in figures:
        home = _home(figure.key)
        if home.key not in found:
            found[home.key] = home.find(scenario, result)
        readings[figure.key] = figure.read(found[home.key])
    return readings
