"""Answer the budgets of a scenario for solved variants."""

from __future__ import annotations

from collections.abc import Iterable

from geometries.study.scenario import Scenario
from solver.study.budget_answers import BudgetAnswer
from solver.study.budget_kinds import judged
from solver.study.figures_of_merit import headlines
from solver.variant.results import VariantResult


def answer_budgets(scenario: Scenario, results: Iterable[VariantResult]) -> tuple[BudgetAnswer, ...]:
    """Set every budgeted figure of every variant against its limit.

    Parameters
    ----------
    scenario : Scenario
        With its budgets, and the tables that its figures need.
    results : iterable of VariantResult
        Solved variants.

    Returns
    -------
    tuple of BudgetAnswer
        By variant, then by budget; empty without budgets.
    """
    figures = {figure.key: figure for figure in headlines(scenario)}
    return tuple(
        BudgetAnswer(
            variant=result.variant.name,
            budget=budget,
            title=figures[budget.kind.figure].title,
            unit=figures[budget.kind.figure].unit,
            scale=figures[budget.kind.figure].scale,
            value=figures[budget.kind.figure].read(result),
            uncertainty=figures[budget.kind.figure].uncertainty(result),
        )
        for result in results
        for budget in judged(scenario)
    )
