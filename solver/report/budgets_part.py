"""Budgets: every limit, every variant's figure beside it, and whether it is kept."""

from __future__ import annotations

from solver.notation import numbers
from solver.report.figure_tables import value_words
from solver.report.part import Part
from solver.report.tables import Column, Table, named, words_table
from solver.study.budgets import BudgetCheck, BudgetChecks, Limit
from solver.study.results import StudyResult
from solver.variant.figure import Sense

_DIGITS = 4
_SIGNS = {Sense.LESS: "≤", Sense.NEITHER: "≤", Sense.MORE: "≥"}

ESTIMATE = "an estimate for design, no substitute for a measurement or for an accredited test"
"""Goes with every check."""


def verdict(check: BudgetCheck) -> str:
    """Kept or exceeded, and whether the estimate is sharp enough to say so."""
    word = "kept" if check.kept else "exceeded"
    return f"{word}, within the uncertainty" if check.doubtful else word


def limit_words(limit: Limit) -> str:
    """The limit with its sense and unit.

    Returns
    -------
    str
        For instance "≤ 32 V".
    """
    shown = numbers.significant(limit.value / limit.figure.scale, _DIGITS)
    return f"{_SIGNS[limit.figure.sense]} {_trimmed(shown)} {limit.figure.unit}"


def _trimmed(shown: str) -> str:
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def check_sentence(checks: BudgetChecks) -> str:
    """Which variants keep all of their budgets, and which do not."""
    names = list(dict.fromkeys(check.variant for check in checks.checks))
    broken = [name for name in names if not all(check.kept for check in checks.of(name))]
    kept = [f"“{name}”" for name in names if name not in broken]
    if not broken:
        return f"{'All variants keep' if len(kept) > 1 else f'{kept[0]} keeps'} every budget."
    if not kept and len(broken) > 1:
        return "No variant keeps every budget."
    exceeding = ", ".join(f"“{name}”" for name in broken)
    first = f"{', '.join(kept)} {'keeps' if len(kept) == 1 else 'keep'} every budget. " if kept else ""
    return f"{first}{exceeding} {'exceeds' if len(broken) == 1 else 'exceed'} at least one budget."


def check_table(checks: BudgetChecks) -> Table:
    """All checks, by variant."""
    headings = named(), Column(name="budget", words=True), Column(name="limit"), Column(name="figure")
    return words_table("", (*headings, Column(name="result", words=True)), [_row(check) for check in checks.checks])


def _row(check: BudgetCheck) -> tuple[str, ...]:
    figure = check.limit.figure
    value = f"{value_words(figure, check.reading)} {figure.unit}"
    return check.variant, figure.title, limit_words(check.limit), value, verdict(check)


def check_details(checks: BudgetChecks) -> object:
    """All checks for documents, by variant; limits in SI."""
    names = dict.fromkeys(check.variant for check in checks.checks)
    return {
        name: [
            {
                "figure": check.limit.figure.key,
                "sense": check.limit.figure.sense,
                "limit": check.limit.value,
                "kept": check.kept,
                "within_uncertainty": check.doubtful,
            }
            for check in checks.of(name)
        ]
        for name in names
    }


def _checks(study: StudyResult) -> BudgetChecks:
    return study.outcome(BudgetChecks) or BudgetChecks(checks=())


BUDGETS_PART = Part(
    key="budgets",
    title="Budgets",
    shown=lambda study: study.outcome(BudgetChecks),
    heading=lambda study: "Budgets",
    sentences=lambda study: (check_sentence(_checks(study)), f"{ESTIMATE[0].upper()}{ESTIMATE[1:]}."),
    tables=lambda study: (check_table(_checks(study)),),
    details=lambda study: check_details(_checks(study)),
)
