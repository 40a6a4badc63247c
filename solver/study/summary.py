"""Everything that a choice between variants rests on, in one table and one sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from geometries.operation.price import Price
from geometries.quantities import MHZ, NANO
from geometries.study.scenario import Scenario, Variant
from solver.emission.results import EmissionComparison
from solver.emission.total import SpreadChange
from solver.notation import numbers
from solver.notation.labels import listed
from solver.study.budgets import BudgetCheck, BudgetChecks
from solver.study.decision import Decision, decision_sentence
from solver.study.decision import Figure as Judgement
from solver.study.figures_of_merit import AnyFigure, Readings, known_figures, read_figures
from solver.study.verdict import Judged, judge
from solver.switching.results import SwitchingComparison
from solver.variant.analysis import Analysis, SolvedStudy
from solver.variant.results import VariantResult

_MILLI = 1e-3
_SAME_RATIO = 0.01
"""Changes below this fraction are not told."""

_SHOWN = (
    "loop_inductance",
    "ring_frequency",
    "peak_voltage",
    "overshoot",
    "feedback_noise",
    "emission_margin",
    "product_emission",
)
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
    exceeded : int
        Budgets that it exceeds by more than their uncertainty.
    tied : bool
        Whether each of its ground layers, if it has any, is tied to the loop somewhere.
    product_change, product_change_error : float, optional
        Change of the highest line of all sources together against the reference [dB], with its band; None unless board
        and cable are described.
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
    exceeded: int
    tied: bool
    product_change: float | None
    product_change_error: float | None

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
    decision = verdict_of(rows, _voltage_limit(scenario), has_budgets=bool(scenario.budgets))
    choice = next(row for row in rows if row.name == decision.recommended[0])
    sentences = (
        _sentence(decision, choice, rows, study.reference),
        _voltage_sentence(choice, _voltage_limit(scenario)),
        _emission_sentence(choice),
    )
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
    product = None if emission is None else _product_change(emission, name)
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
        exceeded=sum(not check.kept and not check.doubtful for check in checks),
        tied=_is_tied(result.variant),
        product_change=None if product is None else product.change,
        product_change_error=None if product is None else product.band,
    )


def _is_tied(variant: Variant) -> bool:
    return not variant.section.untied_layers


def _product_change(emission: EmissionComparison, name: str) -> SpreadChange | None:
    """Change of all sources together; a sum without cables is none that decides."""
    if emission.product is None or emission.emission.cable is None:
        return None
    return next(each for each in emission.product.predictions if each.name == name).sum_change


def verdict_of(rows: Sequence[SummaryRow], limit: float | None, *, has_budgets: bool) -> Decision:
    """Which row to build; see :func:`solver.study.verdict.judge`."""
    return judge([_judged(row) for row in rows], limit, has_budgets=has_budgets)


def _judged(row: SummaryRow) -> Judged:
    peak, change, error = row.readings.get("peak_voltage"), row.product_change, row.product_change_error
    return Judged(
        name=row.name,
        tied=row.tied,
        peak_voltage=None if peak is None else Judgement(value=peak.value, band=peak.uncertainty),
        exceeded=row.exceeded,
        emission=None if change is None or error is None else Judgement(value=change, band=error),
        inductance=row.inductance,
        noise=row.value("feedback_noise"),
        price=None if row.price is None else row.price.amount,
    )


def _sentence(decision: Decision, choice: SummaryRow, rows: Sequence[SummaryRow], reference: str) -> str:
    """What to build and what decided, and what it brings."""
    base = next(row for row in rows if row.name == reference)
    study = "" if choice.tied else " It is a study: its ground layers are tied nowhere."
    first = f"{decision_sentence(decision)}{study}"
    if choice is base:
        return f"{first} It is the reference itself{_price_of(choice)}."
    return f"{first} Compared with “{reference}”: {listed(_changes(choice, base))}."


def _voltage_sentence(choice: SummaryRow, limit: float | None) -> str:
    """Where the choice's peak stands against the voltage limit."""
    peak = choice.readings.get("peak_voltage")
    if peak is None or limit is None:
        return ""
    distance = abs(peak.value - limit)
    side = "above" if peak.value > limit else "below"
    unsure = ", within its uncertainty" if distance <= peak.uncertainty else ""
    words = numbers.with_uncertainty(peak.value, peak.uncertainty)
    return f"Its peak of {words} V lies {side} the limit of {limit:g} V{unsure}."


def _emission_sentence(choice: SummaryRow) -> str:
    """Where the choice stands against the limits of emission; what that leaves open stands with it."""
    reading = choice.readings.get("emission_margin")
    if reading is None:
        return ""
    margin = reading.value
    distance = f"{abs(margin):.0f} dB {'below' if margin >= 0 else 'above'}"
    limits = f"the limits of emission (±{reading.uncertainty:g} dB)"
    return f"Its loop alone lies {distance} {limits}; cables and a measurement decide."


def _changes(choice: SummaryRow, base: SummaryRow) -> list[str]:
    """What changes from the reference, each as far as it is known of both."""
    told = [_signed(choice.changes["loop_inductance"] / NANO, "nH", 2)]
    told += _now_and_before(choice, base, "ring_frequency", "ringing {:.0f} MHz (was {:.0f})", MHZ)
    told += _now_and_before(choice, base, "peak_voltage", "peak {:.1f} V (was {:.1f})", 1.0)
    told += _now_and_before(choice, base, "feedback_noise", "{:.3g} mV at the pin (was {:.3g})", _MILLI)
    if choice.product_change is not None:
        told.append(
            f"{_signed(choice.product_change, 'dB', 0)} (±{choice.product_change_error:.0f}) emission with cables"
        )
    elif choice.emission_change is not None:
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
