"""The budgets of a scenario: limits of its figures of merit, resolved and set against what was solved."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from geometries.errors import GeometryError, ScenarioError
from geometries.operation.budgets import Budget, Decision
from geometries.quantities import read_quantity
from geometries.study.scenario import Scenario
from solver.study.figures_of_merit import AnyFigure, figure_named, read_figures
from solver.variant.analysis import Analysis, SolvedStudy
from solver.variant.figure import Reading, Sense
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A figure and the limit [SI] that every variant is asked to keep, by its nominal value or by its worst."""

    figure: AnyFigure
    value: float
    decide: Decision = Decision.NOMINAL

    def keeps(self, value: float) -> bool:
        """Whether a figure keeps it; the limit itself does."""
        return value >= self.value if self.figure.sense is Sense.MORE else value <= self.value

    def judged(self, reading: Reading) -> float:
        """The value that has to keep it: the nominal one, or the one further towards the limit by its uncertainty."""
        if self.decide is Decision.NOMINAL:
            return reading.value
        towards = -1 if self.figure.sense is Sense.MORE else 1
        return reading.value + towards * reading.uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetCheck:
    """One budget of one variant: its limit, and the figure's reading."""

    variant: str
    limit: Limit
    reading: Reading

    @property
    def kept(self) -> bool:
        """Whether the figure keeps its budget."""
        return self.limit.keeps(self.limit.judged(self.reading))

    @property
    def doubtful(self) -> bool:
        """Whether the figure lies within its uncertainty of the limit, so that the model does not decide."""
        return abs(self.reading.value - self.limit.value) <= self.reading.uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetChecks:
    """All checks, by variant, then by budget."""

    checks: tuple[BudgetCheck, ...]

    @property
    def kept(self) -> bool:
        """Whether every variant keeps every budget."""
        return all(check.kept for check in self.checks)

    def of(self, variant: str) -> tuple[BudgetCheck, ...]:
        """The checks of one variant."""
        return tuple(check for check in self.checks if check.variant == variant)


def limits_of(scenario: Scenario) -> tuple[Limit, ...]:
    """The budgets of a scenario with the figures that they limit.

    Raises
    ------
    ScenarioError
        If a key is no figure, its limit cannot be read, or the scenario lacks what the figure is computed from.
    """
    return tuple(_limit(budget, scenario) for budget in scenario.budgets)


def _limit(budget: Budget, scenario: Scenario) -> Limit:
    figure = figure_named(budget.key, scenario, where="budgets")
    try:
        value = read_quantity(budget.text, figure.quantity, budget.key)
    except GeometryError as error:
        raise ScenarioError(f"budgets: {error}") from error
    if figure.sense is not Sense.MORE and not value > 0:
        raise ScenarioError(f'budgets: {budget.key} = "{budget.text}" can never be kept; a limit lies above zero')
    return Limit(figure=figure, value=value, decide=budget.decide)


def check_budgets(scenario: Scenario, results: Iterable[VariantResult]) -> BudgetChecks:
    """Set every budgeted figure of every variant against its limit.

    Parameters
    ----------
    scenario : Scenario
        With its budgets, and the tables that its figures need.
    results : iterable of VariantResult
        Solved variants.

    Returns
    -------
    BudgetChecks
        Empty without budgets.

    Raises
    ------
    ScenarioError
        As for :func:`limits_of`.
    """
    limits = limits_of(scenario)
    checks = []
    for result in results:
        readings = read_figures(scenario, result, [limit.figure for limit in limits])
        checks += [
            BudgetCheck(variant=result.variant.name, limit=limit, reading=readings[limit.figure.key])
            for limit in limits
        ]
    return BudgetChecks(checks=tuple(checks))


def _compare(study: SolvedStudy) -> BudgetChecks:
    return check_budgets(study.scenario, study.results)


BUDGETS: Analysis[None] = Analysis(
    key="budgets",
    asked=lambda scenario: bool(scenario.budgets),
    find=lambda scenario, result: None,
    compare=lambda study, _workers: _compare(study),
)
"""Asked for by a [budgets] table."""
