"""Everything that a choice between variants rests on, in one table and one sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from geometries.operation.price import Price
from geometries.quantities import MHZ, NANO
from geometries.study.scenario import Scenario
from solver.emission.results import EmissionComparison
from solver.notation.labels import listed
from solver.study.budgets import BudgetCheck, BudgetChecks
from solver.study.figures_of_merit import AnyFigure, Readings, known_figures, read_figures
from solver.switching.results import SwitchingComparison
from solver.variant.analysis import Analysis, SolvedStudy
from solver.variant.results import VariantResult

_MILLI = 1e-3
_SAME_RATIO = 0.01
"""Changes below this fraction are not told."""

_SHOWN = ("loop_inductance", "ring_frequency", "peak_voltage", "overshoot", "feedback_noise", "emission_margin")
"""Figures that a choice rests on, as far as a scenario has them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SummaryRow:
    """One variant; what was not computed or stated is None.

    Parameters
    ----------
    name : str
        The variant.
    readings : mapping
        Of the figures shown.
    changes : mapping
        The same against the reference, as differences [SI].
    emission_change, emission_change_error : float, optional
        Of the loop alone against the reference, and its uncertainty, in which site and current drop out [dB].
    price : Price, optional
        Per board.
    price_change : float, optional
        Against the reference, in the same currency.
    keeps : bool
        Whether it keeps the voltage limit and every budget, as far as there are any.
    doubtful : bool
        Whether one of these is within its uncertainty of the limit.
    """

    name: str
    readings: Readings
    changes: Mapping[str, float]
    emission_change: float | None
    emission_change_error: float | None
    price: Price | None
    price_change: float | None
    keeps: bool
    doubtful: bool

    @property
    def inductance(self) -> float:
        """Of the loop of record [H]."""
        return self.readings["loop_inductance"].value

    def value(self, key: str) -> float | None:
        """One figure [SI]; None where it was not computed, or nothing rings."""
        reading = self.readings.get(key)
        return None if reading is None or (key == "ring_frequency" and reading.value == 0) else reading.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """The table, and what it says.

    Parameters
    ----------
    reference : str
        Variant that changes are against.
    figures : tuple of Figure
        The figures shown.
    rows : tuple of SummaryRow
        In the scenario's order.
    choice : str
        The variant that the sentence is about.
    sentence : str
        What it gains and costs.
    """

    reference: str
    figures: tuple[AnyFigure, ...]
    rows: tuple[SummaryRow, ...]
    choice: str
    sentence: str

    @property
    def priced(self) -> tuple[SummaryRow, ...]:
        """Rows with a price."""
        return tuple(row for row in self.rows if row.price is not None)


def summarize(study: SolvedStudy) -> Summary:
    """Table and sentence of all variants.

    Parameters
    ----------
    study : SolvedStudy
        With what switching, emission and budgets say, as far as they were asked for.

    Returns
    -------
    Summary
    """
    scenario = study.scenario
    figures = tuple(figure for figure in known_figures(scenario) if figure.key in _SHOWN)
    base = read_figures(scenario, study.base, figures)
    rows = tuple(_row(study, result, read_figures(scenario, result, figures), base) for result in study.results)
    limits = ["the voltage limit"] if _voltage_limit(scenario) is not None else []
    limits += ["every budget"] if scenario.budgets else []
    choice = choose(rows)
    sentences = _sentence(choice, rows, study.reference, " and ".join(limits)), _emission_sentence(choice)
    return Summary(
        reference=study.reference,
        figures=figures,
        rows=rows,
        choice=choice.name,
        sentence=" ".join(filter(None, sentences)),
    )


def _voltage_limit(scenario: Scenario) -> float | None:
    return None if scenario.switching is None else scenario.switching.voltage_limit


def _row(study: SolvedStudy, result: VariantResult, readings: Readings, base: Readings) -> SummaryRow:
    name = result.variant.name
    emission, budgets = study.outcome(EmissionComparison), study.outcome(BudgetChecks)
    emitted = None if emission is None else next(each for each in emission.predictions if each.name == name)
    checks: Sequence[BudgetCheck] = () if budgets is None else budgets.of(name)
    limit, peak = _voltage_limit(study.scenario), readings.get("peak_voltage")
    switched = study.outcome(SwitchingComparison)
    over = peak is not None and limit is not None and peak.value > limit
    if switched is not None:
        over = switched.keeps_limit(switched.reading(name)) is False
    unsure = peak is not None and limit is not None and abs(limit - peak.value) <= peak.uncertainty
    price, paid = result.variant.price, study.base.variant.price
    return SummaryRow(
        name=name,
        readings=readings,
        changes={key: reading.value - base[key].value for key, reading in readings.items()},
        emission_change=None if emitted is None else emitted.difference_db,
        emission_change_error=None if emitted is None else emitted.difference_band,
        price=price,
        price_change=None if price is None or paid is None else price.amount - paid.amount,
        keeps=not over and all(check.kept for check in checks),
        doubtful=unsure or any(check.doubtful for check in checks),
    )


def choose(rows: Sequence[SummaryRow]) -> SummaryRow:
    """Among those that keep every limit (among all if none does) the cheapest, or without prices the smallest loop.

    Loops within 1 % of the smallest count as equal; of these, the one whose victims pick up least.
    """
    candidates = [row for row in rows if row.keeps] or list(rows)
    prices = [row.price.amount for row in candidates if row.price is not None]
    if len(prices) == len(candidates) and any(row.keeps for row in rows):
        candidates = [row for row in candidates if row.price is not None and row.price.amount == min(prices)]
    least = min(row.inductance for row in candidates)
    equal = [row for row in candidates if row.inductance <= (1 + _SAME_RATIO) * least]
    return min(equal, key=lambda row: (_noise(row), row.inductance))


def _noise(row: SummaryRow) -> float:
    noise = row.value("feedback_noise")
    return math.inf if noise is None else noise


def _sentence(choice: SummaryRow, rows: Sequence[SummaryRow], reference: str, limits: str) -> str:
    """What the choice is chosen for, and what it brings; `limits` says which ones were stated, if any."""
    base = next(row for row in rows if row.name == reference)
    first = f"{_reason(choice, rows, limits)}{_doubt(choice, limits)}"
    if choice is base:
        return f"{first}: the reference itself{_price_of(choice)}."
    return f"{first}. Compared with “{reference}”: {listed(_changes(choice, base))}."


def _reason(choice: SummaryRow, rows: Sequence[SummaryRow], limits: str) -> str:
    rivals = [row for row in rows if row is not choice and row.inductance <= (1 + _SAME_RATIO) * choice.inductance]
    shared = math.isfinite(_noise(choice)) and any(math.isfinite(_noise(row)) for row in rivals)
    smallest = f"“{choice.name}” has the smallest loop{' within 1 %, and picks up least of those' if shared else ''}"
    if not limits:
        return smallest
    if not choice.keeps:
        return f"No variant keeps {limits}; {smallest}"
    if sum(row.keeps for row in rows) == 1:
        return f"“{choice.name}” is the only variant that keeps {limits}"
    why = "is the cheapest" if all(row.price is not None for row in rows if row.keeps) else "has the smallest loop"
    return f"“{choice.name}” {why} of those that keep {limits}"


def _doubt(choice: SummaryRow, limits: str) -> str:
    return ", within the uncertainty of a limit" if limits and choice.doubtful else ""


def _emission_sentence(choice: SummaryRow) -> str:
    """Where the choice stands against the limits of emission; what that leaves open stands with it."""
    reading = choice.readings.get("emission_margin")
    if reading is None:
        return ""
    margin = reading.value
    side = f"keeps {margin:.0f} dB margin to" if margin >= 0 else f"lies {-margin:.0f} dB above"
    return (
        f"Its loop alone {side} the limits of emission (±{reading.uncertainty:g} dB); cables and a measurement decide."
    )


def _changes(choice: SummaryRow, base: SummaryRow) -> list[str]:
    """What changes from the reference, each as far as it is known of both."""
    told = [_signed(choice.changes["loop_inductance"] / NANO, "nH", 2)]
    told += _now_and_before(choice, base, "ring_frequency", "ringing {:.0f} MHz (was {:.0f})", MHZ)
    told += _now_and_before(choice, base, "peak_voltage", "peak {:.1f} V (was {:.1f})", 1.0)
    told += _now_and_before(choice, base, "feedback_noise", "{:.3g} mV at the pin (was {:.3g})", _MILLI)
    if choice.emission_change is not None:
        told.append(f"{_signed(choice.emission_change, 'dB', 0)} emission by the loop alone")
    if choice.price_change is not None and choice.price is not None:
        same = abs(choice.price_change) < _SAME_RATIO * choice.price.amount
        told.append("the same price" if same else f"{_signed(choice.price_change, choice.price.currency, 2)} per board")
    return told


def _now_and_before(choice: SummaryRow, base: SummaryRow, key: str, words: str, scale: float) -> list[str]:
    now, before = choice.value(key), base.value(key)
    return [] if now is None or before is None else [words.format(now / scale, before / scale)]


def _signed(change: float, unit: str, decimals: int) -> str:
    """A change with its sign.

    Examples
    --------
    >>> _signed(-3.554, "nH", 2), _signed(0.4, "dB", 0)
    ('−3.55 nH', '±0 dB')
    """
    size = f"{abs(change):.{decimals}f}"
    sign = "±" if float(size) == 0 else "−" if change < 0 else "+"
    return f"{sign}{size} {unit}"


def _price_of(row: SummaryRow) -> str:
    return "" if row.price is None else f", at {row.price} per board"


def _asked(scenario: Scenario) -> bool:
    """Whether anything is known beside the loops themselves."""
    variants = scenario.variants
    tables = scenario.switching, scenario.emission, *scenario.budgets
    return any(tables) or any(each.price is not None or each.pickup is not None for each in variants)


SUMMARY: Analysis[None] = Analysis(
    key="summary",
    asked=_asked,
    find=lambda scenario, result: None,
    compare=summarize,
)
"""Asked for where something is known beside the loops themselves."""
