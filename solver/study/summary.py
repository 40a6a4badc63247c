"""Join what was computed and stated of all variants into one table and one sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometries.quantities import MHZ, NANO
from geometries.study.scenario import Scenario
from solver.emission.results import EmissionComparison
from solver.notation.labels import listed
from solver.study.budget_answers import BudgetAnswer
from solver.study.figures_of_merit import loudest_victim
from solver.study.summary_rows import Summary, SummaryRow
from solver.switching.results import SwitchingComparison
from solver.variant.results import VariantResult

_MILLI = 1e-3
_SAME_RATIO = 0.01
"""Changes below this fraction are not told."""


def join(
    scenario: Scenario,
    results: Sequence[VariantResult],
    reference: str,
    *,
    switching: SwitchingComparison | None,
    emission: EmissionComparison | None,
    budgets: Sequence[BudgetAnswer],
) -> Summary | None:
    """Table and sentence of all variants.

    Parameters
    ----------
    scenario : Scenario
        Prices come from its variants.
    results : sequence of VariantResult
        Solved variants, the reference among them.
    reference : str
        Name of the variant that changes are against.
    switching : SwitchingComparison, optional
        If it was computed.
    emission : EmissionComparison, optional
        Likewise.
    budgets : sequence of BudgetAnswer
        All answers.

    Returns
    -------
    Deciding or None
        None if nothing is known beside the loops themselves.
    """
    priced = any(result.variant.price is not None for result in results)
    heard = any(result.pickup is not None for result in results)
    if switching is None and emission is None and not budgets and not priced and not heard:
        return None
    base = next(result for result in results if result.variant.name == reference)
    rows = tuple(_row(result, base, switching, emission, budgets) for result in results)
    limits = ["the voltage limit"] if switching is not None and switching.switching.voltage_limit is not None else []
    limits += ["every budget"] if budgets else []
    choice = choose(rows)
    return Summary(
        reference=reference,
        rows=rows,
        choice=choice.name,
        sentence=" ".join(
            filter(None, (_sentence(choice, rows, reference, " and ".join(limits)), _emission_sentence(choice)))
        ),
    )


def _row(
    result: VariantResult,
    base: VariantResult,
    switching: SwitchingComparison | None,
    emission: EmissionComparison | None,
    budgets: Sequence[BudgetAnswer],
) -> SummaryRow:
    name = result.variant.name
    inductance, before = _inductances(result, base)
    edge = None if switching is None else switching.reading(name)
    limit = None if switching is None else switching.switching.voltage_limit
    margin = None if edge is None or limit is None else limit - edge.built.peak.voltage
    emitted = None if emission is None else next(each for each in emission.predictions if each.name == name)
    noise = loudest_victim(result)
    answers = [answer for answer in budgets if answer.variant == name]
    price, paid = result.variant.price, base.variant.price
    unsure = edge is not None and margin is not None and abs(margin) <= edge.peak_error
    return SummaryRow(
        name=name,
        inductance=inductance,
        inductance_change=inductance - before,
        ring_frequency=None if edge is None or edge.built.ring is None else edge.built.ring.frequency,
        peak_voltage=None if edge is None else edge.built.peak.voltage,
        peak_error=None if edge is None else edge.peak_error,
        overshoot=None if edge is None else edge.built.overshoot,
        voltage_margin=margin,
        pickup=None if math.isnan(noise) else noise,
        emission_change=None if emitted is None else emitted.difference_db,
        emission_change_error=None if emitted is None else emitted.difference_band,
        emission_margin=None if emitted is None else emitted.closest.value,
        emission_band=None if emission is None else emission.emission.band,
        price=price,
        price_change=None if price is None or paid is None else price.amount - paid.amount,
        keeps=(margin is None or margin >= 0) and all(answer.kept for answer in answers),
        doubtful=unsure or any(answer.doubtful for answer in answers),
    )


def _inductances(result: VariantResult, base: VariantResult) -> tuple[float, float]:
    """Of a variant and of the reference [H]: of their whole loops where both have one, else section times length."""
    if result.whole_loop is not None and base.whole_loop is not None:
        return result.whole_loop.inductance, base.whole_loop.inductance
    return result.loop_inductance, base.loop_inductance


def choose(rows: Sequence[SummaryRow]) -> SummaryRow:
    """Among those that keep every limit (among all if none does) the cheapest, or without prices the smallest loop.

    Loops within 1 % of the smallest count as equal; of these, the one whose victims hear least.
    """
    candidates = [row for row in rows if row.keeps] or list(rows)
    prices = [row.price.amount for row in candidates if row.price is not None]
    if len(prices) == len(candidates) and any(row.keeps for row in rows):
        candidates = [row for row in candidates if row.price is not None and row.price.amount == min(prices)]
    least = min(row.inductance for row in candidates)
    equal = [row for row in candidates if row.inductance <= (1 + _SAME_RATIO) * least]
    return min(equal, key=lambda row: (math.inf if row.pickup is None else row.pickup, row.inductance))


def _sentence(choice: SummaryRow, rows: Sequence[SummaryRow], reference: str, limits: str) -> str:
    """What the choice is chosen for, and what it brings; `limits` says which ones were stated, if any."""
    base = next(row for row in rows if row.name == reference)
    first = f"{_reason(choice, rows, limits)}{_doubt(choice, limits)}"
    if choice is base:
        return f"{first}: the reference itself{_price_of(choice)}."
    return f"{first}. Instead of “{reference}” it brings {listed(_changes(choice, base))}."


def _reason(choice: SummaryRow, rows: Sequence[SummaryRow], limits: str) -> str:
    rivals = [row for row in rows if row is not choice and row.inductance <= (1 + _SAME_RATIO) * choice.inductance]
    shared = choice.pickup is not None and any(row.pickup is not None for row in rivals)
    smallest = f"“{choice.name}” has the smallest loop{' within 1 %, and hears least of those' if shared else ''}"
    if not limits:
        return smallest
    if not choice.keeps:
        return f"No variant keeps {limits}; {smallest}"
    if sum(row.keeps for row in rows) == 1:
        return f"“{choice.name}” is the only variant that keeps {limits}"
    why = "is the cheapest" if _all_priced(rows) else "has the smallest loop"
    return f"“{choice.name}” {why} of those that keep {limits}"


def _doubt(choice: SummaryRow, limits: str) -> str:
    return ", within the uncertainty of a limit" if limits and choice.doubtful else ""


def _emission_sentence(choice: SummaryRow) -> str:
    """Where the choice stands against the limits of emission; what that leaves open stands with it."""
    margin, band = choice.emission_margin, choice.emission_band
    if margin is None or band is None:
        return ""
    side = f"keeps {margin:.0f} dB margin to" if margin >= 0 else f"lies {-margin:.0f} dB above"
    return f"Its loop alone {side} the limits of emission (±{band:g} dB); cables and a measurement decide."


def _all_priced(rows: Sequence[SummaryRow]) -> bool:
    return all(row.price is not None for row in rows if row.keeps)


def _changes(choice: SummaryRow, base: SummaryRow) -> list[str]:
    """What changes from the reference, each as far as it is known of both."""
    told = [_more_or_less(choice.inductance_change / NANO, "nH", 2)]
    if choice.ring_frequency is not None and base.ring_frequency is not None:
        told.append(f"a ring at {choice.ring_frequency / MHZ:.0f} instead of {base.ring_frequency / MHZ:.0f} MHz")
    if choice.peak_voltage is not None and base.peak_voltage is not None:
        told.append(f"a peak of {choice.peak_voltage:.1f} instead of {base.peak_voltage:.1f} V")
    if choice.pickup is not None and base.pickup is not None:
        told.append(f"{choice.pickup / _MILLI:.3g} instead of {base.pickup / _MILLI:.3g} mV at the pin")
    if choice.emission_change is not None:
        told.append(f"{_more_or_less(choice.emission_change, 'dB', 0)} emission by the loop alone")
    if choice.price_change is not None and choice.price is not None:
        same = abs(choice.price_change) < _SAME_RATIO * choice.price.amount
        told.append(
            "the same price per board"
            if same
            else f"a board that costs {_more_or_less(choice.price_change, choice.price.currency, 2)}"
        )
    return told


def _more_or_less(change: float, unit: str, decimals: int) -> str:
    """The size of a change and its direction.

    Examples
    --------
    >>> _more_or_less(-3.554, "nH", 2), _more_or_less(0.4, "dB", 0)
    ('3.55 nH less', 'no more or less')
    """
    size = f"{abs(change):.{decimals}f}"
    if float(size) == 0:
        return "no more or less"
    return f"{size} {unit} {'less' if change < 0 else 'more'}"


def _price_of(row: SummaryRow) -> str:
    return "" if row.price is None else f", at {row.price} per board"
