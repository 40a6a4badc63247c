"""Which variant has the smallest loop, what it gains on the reference, and which others are as good."""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometries.quantities import NANO
from solver.notation.labels import listed
from solver.section.field_scan import nearest_scan
from solver.section.results import LayerBenefit
from solver.variant.analysis import SolvedStudy
from solver.variant.loop_figures import PEAKS
from solver.variant.results import VariantResult

_SAME = 0.01
"""Inductances closer than this fraction are called equal: no board is made that exactly."""

_NOTHING = 1e-3
"""A ground layer that changes the loop by less than this fraction is said to add nothing."""


def decide(study: SolvedStudy) -> str:
    """Say which variant has the smallest loop of record, what it gains on the reference, and what comes next.

    Parameters
    ----------
    study : SolvedStudy
        At least one solved variant.

    Returns
    -------
    str
        One to four sentences.
    """
    ranked = sorted(study.results, key=lambda result: result.loop_inductance)
    best = ranked[0]
    at = f"at {study.scenario.analysis.report_frequency / 1e6:g} MHz"
    if len(ranked) == 1:
        return f"“{best.variant.name}” has a loop of {_nanohenry(best)} {at} ({best.basis.value})."
    if best is study.base:
        first = f"No variant beats “{study.reference}”, whose loop has {_nanohenry(best)} {at} ({best.basis.briefly})."
    else:
        first = (
            f"“{best.variant.name}” has the smallest loop, {_nanohenry(best)} {at} ({best.basis.briefly}): "
            f"{_gain(best, study)}."
        )
    return " ".join(filter(None, (first, _idle_layers(best.benefit), _runners_up(best, ranked[1:]))))


def _gain(best: VariantResult, study: SolvedStudy) -> str:
    less = study.base.loop_inductance - best.loop_inductance
    gain = f"{less / NANO:.2f} nH or {_percent(less / study.base.loop_inductance)} less than “{study.reference}”"
    if not (best.lines and study.base.lines):
        return gain
    above, below = (
        figure.decibels(*(nearest_scan(each.lines, side).peak for each in (best, study.base)))
        for side, figure in PEAKS.items()
    )
    return f"{gain}, with {_field(above)} above the board and {_field(below)} below it"


def difference_uncertainty(one: VariantResult, other: VariantResult) -> float:
    """Uncertainty of the difference of two loops [H]: what both have alike, such as the package, drops out of it."""
    return math.hypot(own_uncertainty(one, [other]), own_uncertainty(other, [one]))


def own_uncertainty(result: VariantResult, others: Sequence[VariantResult]) -> float:
    """Uncertainty of a loop [H] without what all others have alike of it."""
    loop, compared = result.planned_loop, [each.planned_loop for each in others if each.basis is result.basis]
    if loop is None or len(compared) < len(others):
        return result.loop.inductance_uncertainty
    if {term.name for term in loop.terms} != {
        term.name for each in compared if each is not None for term in each.terms
    }:
        return result.loop.inductance_uncertainty
    rows = [[each.term(term.name) for each in compared if each is not None] for term in loop.terms]
    return math.hypot(*(term.own_uncertainty(row) for term, row in zip(loop.terms, rows, strict=True)))


def _runners_up(best: VariantResult, others: Sequence[VariantResult]) -> str:
    """Everything as good as the best, or else what comes next."""
    size = best.loop_inductance
    margins = [max(_SAME, difference_uncertainty(best, each) / size) for each in others]
    equal = [each for each, margin in zip(others, margins, strict=True) if each.loop_inductance / size - 1 <= margin]
    if equal:
        margin = max(margin for each, margin in zip(others, margins, strict=True) if any(each is one for one in equal))
        names = listed([f"“{each.variant.name}”" for each in equal])
        return f"{names} {'is' if len(equal) == 1 else 'are'} as good within {_percent(margin)}."
    second = others[0]
    more = _percent(second.loop_inductance / size - 1)
    return f"“{second.variant.name}” comes next with {_nanohenry(second)}, {more} more."


def _idle_layers(benefit: tuple[LayerBenefit, ...]) -> str:
    """Ground layers of the best variant that change its loop by less than 0.1 %."""
    idle = [each.layer for each in benefit if abs(each.inductance_after / each.inductance_before - 1) < _NOTHING]
    if not idle:
        return ""
    subject, verb = ("Its ground layer", "changes") if len(idle) == 1 else ("Its ground layers", "change")
    return f"{subject} {listed(idle)} {verb} the loop by less than 0.1 %."


def _nanohenry(result: VariantResult) -> str:
    return f"{result.loop_inductance / NANO:.3g} nH"


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.0f} %"


def _field(change: float) -> str:
    if abs(change) < 0.5:
        return "the same field"
    return f"{abs(change):.0f} dB {'less' if change < 0 else 'more'} field"
