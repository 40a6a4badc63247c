"""What a check of budgets yields; frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from solver.study.budget_kinds import JudgedBudget


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetAnswer:
    """One budget of one variant.

    Parameters
    ----------
    variant : str
        The variant.
    budget : Budget
        Its limit.
    title, unit : str
        Name of the figure on pages, and the unit it is shown in.
    scale : float
        That unit in SI units.
    value : float
        The figure [SI].
    uncertainty : float
        Of the figure, to both sides [SI]; zero if none is estimated.
    """

    variant: str
    budget: JudgedBudget
    title: str
    unit: str
    scale: float
    value: float
    uncertainty: float

    @property
    def kept(self) -> bool:
        """Whether the figure keeps its budget."""
        return self.budget.keeps(self.value)

    @property
    def doubtful(self) -> bool:
        """Whether the figure lies within its uncertainty of the limit, so that the model does not decide."""
        return abs(self.value - self.budget.limit) <= self.uncertainty
