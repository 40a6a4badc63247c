"""The deciding sentence of a comparison."""

from __future__ import annotations

from geometries.scenario import Scenario
from solver.results import ComparisonRow

_SAME = 0.01
"""Inductances closer than this fraction are called equal: no board is made that exactly."""


def decide(scenario: Scenario, rows: tuple[ComparisonRow, ...], reference: str) -> str:
    """Say which variant has the smallest loop, what it gains on the reference, and what comes next.

    Parameters
    ----------
    scenario : Scenario
        For the report frequency.
    rows : tuple of ComparisonRow
        The solved variants.
    reference : str
        Name of the variant they were compared with.

    Returns
    -------
    str
        One to three sentences.
    """
    ranked = sorted(rows, key=lambda row: row.inductance)
    best = ranked[0]
    at = f"at {scenario.analysis.report_frequency / 1e6:g} MHz"
    if len(rows) == 1:
        return f"“{best.name}” has a loop of {_nanohenry(best)} {at} (section × length, ends not included)."
    if best.name == reference:
        first = f"No variant beats “{reference}”, whose loop has {_nanohenry(best)} {at} (section × length)."
    else:
        first = (
            f"“{best.name}” has the smallest loop, {_nanohenry(best)} {at} (section × length): "
            f"{-best.change * 1e9:.2f} nH or {_percent(-best.change_fraction)} less than “{reference}”, with "
            f"{_field(best.above_db)} above the board and {_field(best.below_db)} below it."
        )
    return f"{first} {_runner_up(best, ranked[1])}"


def _runner_up(best: ComparisonRow, second: ComparisonRow) -> str:
    ratio = second.inductance / best.inductance - 1
    margin = max(_SAME, (best.inductance_error + second.inductance_error) / best.inductance)
    if ratio <= margin:
        return f"“{second.name}” is as good within {_percent(margin)}."
    return f"“{second.name}” comes next with {_nanohenry(second)}, {_percent(ratio)} more."


def _nanohenry(row: ComparisonRow) -> str:
    return f"{row.inductance * 1e9:.3g} nH"


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.0f} %"


def _field(change: float) -> str:
    if abs(change) < 0.05:
        return "the same field"
    return f"{abs(change):.0f} dB {'less' if change < 0 else 'more'} field"
