"""The verdict of a study: which variant to build, by the objectives that the scenario states, in their order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from geometries.errors import ScenarioError, nearest
from geometries.operation.switching import Switching
from geometries.study.scenario import Scenario
from solver.study.decision import Candidate, Decision, Figure, Objective, Sense, decide
from solver.study.figures_of_merit import AnyFigure, every_figure, figure_named, known_figures
from solver.variant.figure import Sense as Better

VOLTAGE_LIMIT, BUDGETS, PRICE = "voltage_limit", "budgets", "price"
"""Objectives that are no figures of merit of their own."""

PRODUCT = "product_emission"
"""Judged by its change against the reference, in which what all variants share drops out."""

USUAL = (VOLTAGE_LIMIT, BUDGETS, PRODUCT, "loop_inductance", "feedback_noise", PRICE)
"""Order of the objectives unless a scenario states its own: what it does not have is left out."""

_WORDS = {
    VOLTAGE_LIMIT: "the voltage limit",
    BUDGETS: "the budgets",
    PRODUCT: "emission with cables",
    "loop_inductance": "inductance",
    "feedback_noise": "noise at the pin",
    PRICE: "price",
}


def objective_words(key: str) -> str:
    """What an objective is called in sentences and tables.

    Examples
    --------
    >>> objective_words("product_emission"), objective_words("peak_field_below")
    ('emission with cables', 'peak |H| below')
    """
    return _WORDS.get(key) or next(figure.title for figure in every_figure() if figure.key == key)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What of one variant is judged.

    Parameters
    ----------
    name : str
        The variant.
    tied : bool
        Whether its ground layers, if it has any, are tied to the loop somewhere.
    figures : mapping
        By the objective's key [SI]; what is not known of the variant is missing.
    """

    name: str
    tied: bool
    figures: Mapping[str, Figure]


def objectives_of(scenario: Scenario) -> tuple[str, ...]:
    """Keys of a scenario's objectives, the most important first.

    Raises
    ------
    ScenarioError
        If one is unknown, stated twice, wants neither less nor more, or the scenario lacks what it needs.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> objectives_of(read_builtin_scenario("orchard-pump"))[:2]
    ('voltage_limit', 'budgets')
    """
    stated = scenario.objectives
    for key in stated:
        if stated.count(key) > 1:
            raise ScenarioError(f"objectives: {key!r} stands there twice; the first place counts, remove the other")
        _require_known(key, scenario)
    return stated or USUAL


def objective_figures(scenario: Scenario) -> tuple[AnyFigure, ...]:
    """Figures of merit that the objectives of a scenario are read from, as far as it has them."""
    wanted = {"peak_voltage" if key == VOLTAGE_LIMIT else key for key in objectives_of(scenario)}
    return tuple(figure for figure in known_figures(scenario) if figure.key in wanted)


def known_objectives(variants: Sequence[Judged], keys: Sequence[str]) -> tuple[str, ...]:
    """The objectives that all variants have a figure of, in their order."""
    return tuple(key for key in keys if all(key in each.figures for each in variants))


def judge(variants: Sequence[Judged], keys: Sequence[str], voltage_limit: float | None = None) -> Decision:
    """Decide by the objectives in their order.

    Parameters
    ----------
    variants : sequence of Judged
        At least one.
    keys : sequence of str
        Of objectives that all variants have a figure of, as from :func:`known_objectives`.
    voltage_limit : float, optional
        That the peak at the switch must keep [V].

    Returns
    -------
    Decision
        Where the ground of no variant is tied, all are judged as studies and compared all the same.
    """
    nothing_tied = not any(each.tied for each in variants)
    candidates = [
        Candidate(
            name=each.name,
            tied=each.tied or nothing_tied,
            figures=tuple(each.figures[key] for key in keys),
        )
        for each in variants
    ]
    return decide(candidates, [_objective(key, voltage_limit) for key in keys])


def _objective(key: str, voltage_limit: float | None) -> Objective:
    if key == VOLTAGE_LIMIT and voltage_limit is not None:
        return Objective(name=_WORDS[key], unit="V", sense=Sense.KEEP_BELOW, limit=voltage_limit)
    figure = next((each for each in every_figure() if each.key == key), None)
    more = figure is not None and figure.sense is Better.MORE
    return Objective(
        name=objective_words(key),
        unit="" if figure is None else figure.unit,
        sense=Sense.MORE if more else Sense.LESS,
    )


def _require_known(key: str, scenario: Scenario) -> None:
    """Raise ScenarioError unless a scenario has what an objective is read from."""
    known = [*_WORDS, *(figure.key for figure in every_figure())]
    if key not in known:
        raise ScenarioError(f"objectives: unknown objective {key!r}; {nearest(key, known)}")
    switching = scenario.asked(Switching)
    missing = {
        VOLTAGE_LIMIT: switching is None or switching.voltage_limit is None,
        BUDGETS: not scenario.budgets,
        PRICE: any(variant.price is None for variant in scenario.variants),
    }
    if missing.get(key, False):
        needs = {
            VOLTAGE_LIMIT: "a [switching] table with its voltage_rating",
            BUDGETS: "a [budgets] table",
            PRICE: "the price of every variant",
        }[key]
        raise ScenarioError(f"objectives: {key} needs {needs}; add it, or remove the objective")
    if key not in missing and figure_named(key, scenario, where="objectives").sense is Better.NEITHER:
        raise ScenarioError(f"objectives: neither less nor more of {key} is better; remove it")
