"""The answer to a scenario's budgets: a table for people, plain values for machines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from solver.notation import numbers
from solver.study.budget_answers import BudgetAnswer
from solver.study.budget_kinds import Sense

SCHEMA = "copperfield-check/1"
"""Name and version of the layout of the answer."""

_DIGITS = 4
_SIGNS = {Sense.AT_MOST: "≤", Sense.AT_LEAST: "≥"}


def verdict(answer: BudgetAnswer) -> str:
    """Kept or exceeded, and whether the estimate is sharp enough to say so."""
    word = "kept" if answer.kept else "exceeded"
    return f"{word}, within the uncertainty" if answer.doubtful else word


def limit_words(answer: BudgetAnswer) -> str:
    """The limit with its sense and unit.

    Returns
    -------
    str
        For instance "≤ 32 V".
    """
    limit = numbers.significant(answer.budget.limit / answer.scale, _DIGITS).rstrip("0").rstrip(".")
    return f"{_SIGNS[answer.budget.kind.sense]} {limit} {answer.unit}"


def value_words(answer: BudgetAnswer) -> str:
    """The figure with its uncertainty and unit."""
    value, error = answer.value / answer.scale, answer.uncertainty / answer.scale
    decimals = numbers.decimals_for(value, error)
    shown = numbers.fixed(value, decimals)
    band = f" ± {numbers.rounded_up(error, decimals)}" if error > 0 else ""
    return f"{shown}{band} {answer.unit}"


def check_sentence(answers: Sequence[BudgetAnswer]) -> str:
    """Which variants keep all of their budgets, and which do not."""
    names = list(dict.fromkeys(answer.variant for answer in answers))
    broken = [name for name in names if not all(answer.kept for answer in answers if answer.variant == name)]
    kept = [f"“{name}”" for name in names if name not in broken]
    if not broken:
        return f"{'All variants keep' if len(kept) > 1 else f'{kept[0]} keeps'} every budget."
    exceeding = ", ".join(f"“{name}”" for name in broken)
    if not kept and len(broken) > 1:
        return "No variant keeps every budget."
    first = f"{', '.join(kept)} {'keeps' if len(kept) == 1 else 'keep'} every budget. " if kept else ""
    return f"{first}{exceeding} {'exceeds' if len(broken) == 1 else 'exceed'} at least one budget."


def check_table(answers: Sequence[BudgetAnswer]) -> Table:
    """Table of all answers for the terminal."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column(Text("variant"), overflow="fold", min_width=14)
    for heading in ("budget", "limit", "figure"):
        table.add_column(Text(heading), justify="left" if heading == "budget" else "right", no_wrap=True)
    table.add_column(Text("answer"))
    before = ""
    for answer in answers:
        name = "" if answer.variant == before else answer.variant
        before = answer.variant
        cells = name, answer.title, limit_words(answer), value_words(answer), verdict(answer)
        table.add_row(*(Text(cell) for cell in cells))
    return table


def answer_documents(answers: Sequence[BudgetAnswer]) -> list[dict[str, Any]]:
    """All answers as plain values, by variant; figures in SI units."""
    names = dict.fromkeys(answer.variant for answer in answers)
    return [
        {
            "variant": name,
            "kept": all(answer.kept for answer in answers if answer.variant == name),
            "budgets": [_document(answer) for answer in answers if answer.variant == name],
        }
        for name in names
    ]


def check_document(title: str, answers: Sequence[BudgetAnswer], versions: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """The whole check as plain values.

    Parameters
    ----------
    title : str
        Of the scenario.
    answers : sequence of BudgetAnswer
        Of all variants that were checked.
    versions : sequence of (str, str)
        Program and library versions.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`.
    """
    return {
        "schema": SCHEMA,
        "scenario": title,
        "kept": all(answer.kept for answer in answers),
        "sentence": check_sentence(answers),
        "variants": answer_documents(answers),
        "warning": ESTIMATE,
        "versions": dict(versions),
    }


ESTIMATE = "an estimate for design, no substitute for a measurement or for an accredited test"
"""Goes with every answer."""


def _document(answer: BudgetAnswer) -> dict[str, Any]:
    return {
        "budget": answer.budget.kind.key,
        "figure": answer.budget.kind.figure,
        "sense": answer.budget.kind.sense.value,
        "limit": answer.budget.limit,
        "value": answer.value,
        "uncertainty": answer.uncertainty,
        "kept": answer.kept,
        "within_uncertainty": answer.doubtful,
    }
