"""What a study yields: frozen values, free of meshes and matrices, from which tables, figures and files are made."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.study.scenario import Scenario
from solver.emission.results import EmissionComparison
from solver.measurement.results import MeasurementResult
from solver.notation.warning import NumberedWarning
from solver.study.budget_answers import BudgetAnswer
from solver.study.summary_rows import Summary
from solver.study.view_rows import ViewComparison
from solver.switching.results import SwitchingComparison
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonRow:
    """One variant beside the reference, at the report frequency.

    Parameters
    ----------
    name : str
        The variant.
    inductance : float
        Section times length, ends not included [H].
    inductance_error : float
        Its estimated discretisation error [H].
    resistance : float
        Section times length [ohm].
    change : float
        Inductance minus that of the reference [H].
    change_fraction : float
        The same as a fraction of the reference [1].
    above_db, below_db : float
        Peak field on the nearest line above and below against the reference [dB].
    moment_db : float
        Line moment against the reference [dB].
    """

    name: str
    inductance: float
    inductance_error: float
    resistance: float
    change: float
    change_fraction: float
    above_db: float
    below_db: float
    moment_db: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StudyResult:
    """A finished, or interrupted, comparison.

    Parameters
    ----------
    scenario : Scenario
        What was asked.
    results : tuple of VariantResult
        Solved variants in the scenario's order; fewer than asked if interrupted.
    rows : tuple of ComparisonRow
        The same against the reference.
    decision : str
        The deciding sentence.
    cautions : tuple of Caution
        Warnings that concern the whole study.
    versions : tuple of (str, str)
        Program and library versions.
    emission : EmissionComparison, optional
        If the scenario asks for it.
    switching : SwitchingComparison, optional
        Likewise.
    budgets : tuple of BudgetAnswer
        By variant, then by budget.
    bench : BenchResult, optional
        What was measured on one of the variants, if it was solved.
    deciding : Deciding, optional
        All of this in one table and one sentence, if anything is known beside the loops.
    round_views : RoundComparison, optional
        The round view of the variants, beside their section view.
    """

    scenario: Scenario
    results: tuple[VariantResult, ...]
    rows: tuple[ComparisonRow, ...]
    decision: str
    warnings: tuple[NumberedWarning, ...]
    versions: tuple[tuple[str, str], ...]
    emission: EmissionComparison | None = None
    switching: SwitchingComparison | None = None
    budgets: tuple[BudgetAnswer, ...] = ()
    measurement: MeasurementResult | None = None
    summary: Summary | None = None
    axisymmetric_views: ViewComparison | None = None

    @property
    def complete(self) -> bool:
        """Whether every variant of the scenario was solved."""
        return len(self.results) == len(self.scenario.variants)


def reference_name(study: StudyResult) -> str:
    """The variant that the rows are compared with: the scenario's, or without it the one without change."""
    wanted = study.scenario.reference
    if any(row.name == wanted for row in study.rows):
        return wanted
    return next((row.name for row in study.rows if row.change == 0), wanted)
