"""The deciding sentence of a comparison."""

from __future__ import annotations

from geometries.study.scenario import Scenario
from solver.notation.labels import listed, scenario_wording
from solver.section.results import LayerBenefit
from solver.study.results import ComparisonRow
from solver.variant.results import VariantResult

_SAME = 0.01
"""Inductances closer than this fraction are called equal: no board is made that exactly."""


_NOTHING = 1e-3
"""A ground layer that changes the loop by less than this fraction is said to add nothing."""


def decide(
    scenario: Scenario, rows: tuple[ComparisonRow, ...], reference: str, benefit: tuple[LayerBenefit, ...] = ()
) -> str:
    """Say which variant has the smallest loop, what it gains on the reference, and what comes next.

    Parameters
    ----------
    scenario : Scenario
        For the report frequency.
    rows : tuple of ComparisonRow
        The solved variants.
    reference : str
        Name of the variant they were compared with.
    worth : tuple of LayerWorth
        What the ground layers of the best variant are worth, from the top.

    Returns
    -------
    str
        One to four sentences.
    """
    ranked = sorted(rows, key=lambda row: row.inductance)
    best = ranked[0]
    at = f"at {scenario.analysis.report_frequency / 1e6:g} MHz"
    words = scenario_wording(scenario)
    if len(rows) == 1:
        return f"“{best.name}” has a loop of {_nanohenry(best)} {at} ({words.basis})."
    if best.name == reference:
        first = f"No variant beats “{reference}”, whose loop has {_nanohenry(best)} {at} ({words.briefly})."
    else:
        first = (
            f"“{best.name}” has the smallest loop, {_nanohenry(best)} {at} ({words.briefly}): "
            f"{-best.change * 1e9:.2f} nH or {_percent(-best.change_fraction)} less than “{reference}”, with "
            f"{_field(best.above_db)} above the board and {_field(best.below_db)} below it."
        )
    return " ".join(filter(None, (first, _idle_layers(benefit), _runners_up(best, ranked[1:]))))


def decide_placements(results: tuple[VariantResult, ...], reference: str, frequency: float) -> str:
    """Rank placements by their whole loops.

    Parameters
    ----------
    results : tuple of VariantResult
        Solved variants, every one with its whole loop.
    reference : str
        Name of the variant they are compared with.
    frequency : float
        Where they were solved [Hz].

    Returns
    -------
    str
        One to two sentences.
    """
    loops = {each.variant.name: each.whole_loop for each in results if each.whole_loop is not None}
    ranked = sorted(loops, key=lambda name: loops[name].inductance)
    best = ranked[0]
    size = loops[best].inductance
    at = f"at {frequency / 1e6:g} MHz"
    if len(ranked) == 1:
        return f"The whole loop of “{best}” has {size * 1e9:.2f} nH {at}, capacitor and package included."
    first = f"“{best}” has the smallest whole loop, {size * 1e9:.2f} nH {at} with capacitor and package"
    if best != reference and reference in loops:
        less = loops[reference].inductance - size
        first += f": {less * 1e9:.2f} nH or {_percent(less / loops[reference].inductance)} less than “{reference}”"
    others = ", ".join(f"“{name}” {loops[name].inductance * 1e9:.2f} nH" for name in ranked[1:])
    return f"{first}. Then come {others}." if len(ranked) > 2 else f"{first}. Then comes {others}."


def _runners_up(best: ComparisonRow, others: list[ComparisonRow]) -> str:
    """Everything as good as the best, or else what comes next."""
    margin = max(_SAME, max((best.inductance_error + row.inductance_error) / best.inductance for row in others))
    equal = [f"“{row.name}”" for row in others if row.inductance / best.inductance - 1 <= margin]
    if equal:
        return f"{listed(equal)} {'is' if len(equal) == 1 else 'are'} as good within {_percent(margin)}."
    second = others[0]
    ratio = second.inductance / best.inductance - 1
    return f"“{second.name}” comes next with {_nanohenry(second)}, {_percent(ratio)} more."


def _idle_layers(benefit: tuple[LayerBenefit, ...]) -> str:
    """Ground layers of the best variant that change its loop by less than 0.1 %."""
    idle = [each.layer for each in benefit if abs(each.inductance_after / each.inductance_before - 1) < _NOTHING]
    if not idle:
        return ""
    subject = "Its ground layer" if len(idle) == 1 else "Its ground layers"
    verb = "changes" if len(idle) == 1 else "change"
    return f"{subject} {listed(idle)} {verb} the loop by less than 0.1 %."


def _nanohenry(row: ComparisonRow) -> str:
    return f"{row.inductance * 1e9:.3g} nH"


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.0f} %"


def _field(change: float) -> str:
    if abs(change) < 0.5:
        return "the same field"
    return f"{abs(change):.0f} dB {'less' if change < 0 else 'more'} field"
