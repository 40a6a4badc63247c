"""Everything that a choice between variants rests on, in one table and one sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from geometries.operation.price import Price
from geometries.quantities import NANO
from geometries.study.scenario import Scenario
from solver.emission.product_results import ProductPrediction
from solver.emission.results import EmissionComparison
from solver.notation import numbers
from solver.notation.labels import listed
from solver.study.budgets import BudgetCheck, BudgetChecks
from solver.study.decision import Decision, decision_sentence
from solver.study.decision import Figure as Judgement
from solver.study.figures_of_merit import AnyFigure, Readings, known_figures, needs_of, read_figures
from solver.study.ranking import own_uncertainty
from solver.study.verdict import (
    BUDGETS,
    PRICE,
    PRODUCT,
    VOLTAGE_LIMIT,
    Judged,
    judge,
    known_objectives,
    objective_figures,
    objectives_of,
)
from solver.switching.results import SwitchingComparison
from solver.variant.analysis import Analysis, SolvedStudy
from solver.variant.figure import Reading
from solver.variant.results import VariantResult

_SAME_RATIO = 0.01
"""Inductances closer than this part of them are equal, as no board house makes them more alike."""

_STUDY = "It is a study: its ground layers are tied nowhere."

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
    own_uncertainty : float
        Of the loop of record, without that of what all variants have alike [H].
    emission_change, emission_change_error : float, optional
        Of the loop alone against the reference, and its uncertainty, in which site and current drop out [dB].
    price : Price, optional
        Per board.
    price_change : float, optional
        Against the reference, in the same currency.
    keeps : bool
        Whether it keeps the voltage limit and every budget, as far as there are any.
    doubtful : bool
        Whether one of these is within its uncertainty of the limit, and none surely beyond.
    exceeded : int, optional
        Budgets that it exceeds by more than their uncertainty; None without budgets.
    tied : bool
        Whether each of its ground layers, if it has any, is tied to the loop somewhere.
    product_change, product_change_error : float, optional
        Change of the highest line of all sources together against the reference [dB], with its band; None unless board
        and cable are described.
    product_margin : Reading, optional
        Where all sources together come closest to a limit [dB], with their band; None likewise.
    """

    name: str
    readings: Readings
    changes: Mapping[str, float]
    own_uncertainty: float
    emission_change: float | None
    emission_change_error: float | None
    price: Price | None
    price_change: float | None
    keeps: bool
    doubtful: bool
    exceeded: int | None
    tied: bool
    product_change: float | None
    product_change_error: float | None
    product_margin: Reading | None

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
    objectives : tuple of str
        Keys of the objectives that all variants have a figure of, in their order.
    decision : Decision
        What was chosen; its steps belong to the first of these objectives.
    sentence : str
        What decided, by how much, and what stays undecided.
    cautions : tuple of str
        Where the choice stands against the voltage limit and the limits of emission.
    voltage_limited : bool
        Whether there is a limit of the switch's voltage.
    """

    reference: str
    figures: tuple[AnyFigure, ...]
    rows: tuple[SummaryRow, ...]
    choice: str
    objectives: tuple[str, ...]
    decision: Decision
    sentence: str
    cautions: tuple[str, ...]
    voltage_limited: bool = False

    def row(self, name: str) -> SummaryRow:
        """Of one variant."""
        return next(row for row in self.rows if row.name == name)

    @property
    def priced(self) -> tuple[SummaryRow, ...]:
        """Rows with a price."""
        return tuple(row for row in self.rows if row.price is not None)


def summarize(study: SolvedStudy) -> Summary:
    """Table and verdict of all variants.

    Parameters
    ----------
    study : SolvedStudy
        With what switching, emission and budgets say, as far as they were asked for.

    Returns
    -------
    Summary
    """
    scenario = study.scenario
    wanted = {*_SHOWN, *(figure.key for figure in objective_figures(scenario))}
    figures = tuple(figure for figure in known_figures(scenario) if figure.key in wanted)
    base = read_figures(scenario, study.base, figures)
    rows = tuple(_row(study, result, read_figures(scenario, result, figures), base) for result in study.results)
    limit = _voltage_limit(scenario)
    objectives, decision = verdict_of(rows, objectives_of(scenario), limit)
    choice = next(row for row in rows if row.name == decision.recommended[0])
    alone = len(rows) == 1
    said = _alone_sentence(study, choice, limit) if alone else _sentence(decision, choice, limit)
    return Summary(
        reference=study.reference,
        figures=figures,
        rows=rows,
        choice=choice.name,
        objectives=objectives,
        decision=decision,
        sentence=said,
        cautions=() if alone else _cautions(choice, limit),
        voltage_limited=limit is not None,
    )


def _voltage_limit(scenario: Scenario) -> float | None:
    return None if scenario.switching is None else scenario.switching.voltage_limit


def _row(study: SolvedStudy, result: VariantResult, readings: Readings, base: Readings) -> SummaryRow:
    name = result.variant.name
    emission = study.outcome(EmissionComparison)
    emitted = None if emission is None else next(each for each in emission.predictions if each.name == name)
    product = None if emission is None else _product(emission, name)
    checks = _checks(study, name)
    limit, peak = _voltage_limit(study.scenario), readings.get("peak_voltage")
    switched = study.outcome(SwitchingComparison)
    over = peak is not None and limit is not None and peak.value > limit
    if switched is not None:
        over = switched.keeps_limit(switched.reading(name)) is False
    unsure = peak is not None and limit is not None and abs(limit - peak.value) <= peak.uncertainty
    exceeded = sum(not check.kept and not check.doubtful for check in checks)
    surely_missed = exceeded > 0 or (over and not unsure)
    price, paid = result.variant.price, study.base.variant.price
    return SummaryRow(
        name=name,
        readings=readings,
        changes={key: reading.value - base[key].value for key, reading in readings.items()},
        own_uncertainty=own_uncertainty(result, [each for each in study.results if each is not result]),
        emission_change=None if emitted is None else emitted.difference_db,
        emission_change_error=None if emitted is None else emitted.difference_band,
        price=price,
        price_change=None if price is None or paid is None else price.amount - paid.amount,
        keeps=not over and all(check.kept for check in checks),
        doubtful=not surely_missed and (unsure or any(check.doubtful for check in checks)),
        exceeded=exceeded if checks else None,
        tied=not result.variant.untied_layers,
        product_change=None if product is None else product.sum_change.change,
        product_change_error=None if product is None else product.sum_change.band,
        product_margin=None
        if product is None
        else Reading(value=product.margin.value, uncertainty=product.margin_band),
    )


def _checks(study: SolvedStudy, name: str) -> Sequence[BudgetCheck]:
    budgets = study.outcome(BudgetChecks)
    return () if budgets is None else budgets.of(name)


def _product(emission: EmissionComparison, name: str) -> ProductPrediction | None:
    """All sources together; a sum without cables is none that decides."""
    if emission.product is None or emission.emission.cable is None:
        return None
    return next(each for each in emission.product.predictions if each.name == name)


def verdict_of(
    rows: Sequence[SummaryRow], keys: Sequence[str], limit: float | None = None
) -> tuple[tuple[str, ...], Decision]:
    """Those of the objectives that all rows have a figure of, and which row to build by them."""
    judged = [_judged(row, limit) for row in rows]
    known = known_objectives(judged, keys)
    return known, judge(judged, known, limit)


def _judged(row: SummaryRow, limit: float | None) -> Judged:
    """Every figure of a row that an objective may go by; emission is judged by its change, not by its level."""
    readings = {key: reading for key, reading in row.readings.items() if key != PRODUCT}
    figures = {key: Judgement(value=each.value, band=each.uncertainty) for key, each in readings.items()}
    figures["loop_inductance"] = Judgement(
        value=row.inductance, band=math.hypot(_SAME_RATIO * row.inductance, row.own_uncertainty)
    )
    if limit is not None and "peak_voltage" in figures:
        figures[VOLTAGE_LIMIT] = figures["peak_voltage"]
    if row.product_change is not None and row.product_change_error is not None:
        figures[PRODUCT] = Judgement(value=row.product_change, band=row.product_change_error)
    for key, exact in ((BUDGETS, row.exceeded), (PRICE, None if row.price is None else row.price.amount)):
        if exact is not None:
            figures[key] = Judgement(value=float(exact), band=0.0)
    return Judged(name=row.name, tied=row.tied, figures=figures)


def _sentence(decision: Decision, choice: SummaryRow, limit: float | None) -> str:
    """What to build and what decided, and which limits even that may not keep."""
    study = "" if choice.tied else _STUDY
    doubt = "" if _surely_kept(choice, limit) else _voltage_sentence(choice, limit)
    loud = "" if _surely_quiet(choice) else _product_sentence(choice)
    return " ".join(filter(None, (decision_sentence(decision), study, doubt, loud)))


def _alone_sentence(study: SolvedStudy, choice: SummaryRow, limit: float | None) -> str:
    """What the only variant does: there is nothing to choose."""
    loop = choice.readings["loop_inductance"]
    words = numbers.with_uncertainty(loop.value, loop.uncertainty, NANO)
    first = f"“{choice.name}” has a loop of {words} nH."
    tie = "" if choice.tied else _STUDY
    limits = _voltage_sentence(choice, limit), _budget_sentence(_checks(study, choice.name))
    emission = _product_sentence(choice), _loop_emission_sentence(choice)
    return " ".join(filter(None, (first, tie, *limits, *emission)))


def _budget_sentence(checks: Sequence[BudgetCheck]) -> str:
    """Which budgets are missed, and by how much."""
    missed = [_missed(check) for check in checks if not check.kept]
    if not checks:
        return ""
    return f"It misses its budget of {listed(missed)}." if missed else "It keeps its budgets."


def _missed(check: BudgetCheck) -> str:
    figure, distance = check.limit.figure, abs(check.limit.judged(check.reading) - check.limit.value)
    unsure = " (within its uncertainty)" if check.doubtful else ""
    return f"{figure.title} by {numbers.significant(distance / figure.scale, 2)} {figure.unit}{unsure}"


def _surely_kept(choice: SummaryRow, limit: float | None) -> bool:
    """Whether the choice's peak keeps the voltage limit with all of its uncertainty."""
    peak = choice.readings.get("peak_voltage")
    return peak is None or limit is None or peak.value + peak.uncertainty <= limit


def _cautions(choice: SummaryRow, limit: float | None) -> tuple[str, ...]:
    """Where the choice stands against its limits, as far as the decision does not say so."""
    voltage = _voltage_sentence(choice, limit) if _surely_kept(choice, limit) else ""
    product = _product_sentence(choice) if _surely_quiet(choice) else ""
    return tuple(filter(None, (voltage, product, _loop_emission_sentence(choice))))


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


def _surely_quiet(choice: SummaryRow) -> bool:
    """Whether the choice's emission with cables lies below the limits with all of its uncertainty."""
    margin = choice.product_margin
    return margin is None or margin.value >= margin.uncertainty


def _product_sentence(choice: SummaryRow) -> str:
    """Where the estimate of all sources together, cables among them, stands against the limits of emission."""
    margin = choice.product_margin
    if margin is None:
        return ""
    band = numbers.band_decibels(margin.uncertainty)
    return f"Emission with cables: estimated {_from_limits(margin)} limits (±{band} dB)."


def _loop_emission_sentence(choice: SummaryRow) -> str:
    """Where the loop alone stands against them; what that leaves open stands with it."""
    margin = choice.readings.get("emission_margin")
    if margin is None:
        return ""
    decides = "cables and a measurement decide" if choice.product_margin is None else "a measurement decides"
    limits = f"the limits of emission (±{margin.uncertainty:g} dB)"
    return f"Its loop alone lies {_from_limits(margin)} {limits}; {decides}."


def _from_limits(margin: Reading) -> str:
    return f"{abs(margin.value):.0f} dB {'below' if margin.value >= 0 else 'above'}"


def _asked(scenario: Scenario) -> bool:
    """Whether anything is known beside the loops themselves."""
    variants = scenario.variants
    tables = scenario.switching, scenario.emission, *scenario.budgets
    return any(tables) or any(each.price is not None or each.pickup is not None for each in variants)


SUMMARY: Analysis[None] = Analysis(
    key="summary",
    asked=_asked,
    find=lambda scenario, result: None,
    needs=lambda scenario: needs_of(objective_figures(scenario), scenario),
    compare=lambda study, _workers: summarize(study),
)
"""Asked for where something is known beside the loops themselves."""
