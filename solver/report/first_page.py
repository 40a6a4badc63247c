"""The first page of every report, which prints alone on A4: question, decision, a short table, a picture, cautions."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date

from geometries.quantities import Quantity
from geometries.study.scenario import Scenario
from solver import figures
from solver.notation import numbers
from solver.report.figure_tables import brief_table
from solver.report.loop_part import reference_row, report_frequency, variant_rows, with_unsolved
from solver.report.part import Drawing, drawn, sketch
from solver.report.summary_part import summary_table
from solver.report.tables import Table, named
from solver.study.basis import solved_basis
from solver.study.budgets import limits_of
from solver.study.figures_of_merit import AnyFigure
from solver.study.results import StudyResult
from solver.study.summary import Summary

MOST_ROWS = 7
"""Rows of the table."""

_MOST_FIGURES = 3
_LEADING = ("loop_inductance", "peak_voltage", "product_emission", "emission_margin", "feedback_noise")
"""Figures that the table holds first, as far as a scenario has them."""

CAUTIONS = (
    "An estimate, no compliance test: an accredited laboratory and the local rules decide.",
    "Switching nodes and input capacitors can hold dangerous voltage, also when switched off: for qualified persons "
    "only, by the local rules.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstPage:
    """What the page shows.

    Parameters
    ----------
    question : str
        Title of the scenario.
    decision : str
        The answer.
    table : Table, optional
        At most :data:`MOST_ROWS` rows.
    picture : Drawing, optional
        Narrow enough for a telephone.
    assumptions : tuple of str
        What the numbers rest on.
    revision : str
        Of the inputs.
    incomplete : str
        What is missing, if anything.
    issued : str
        Date of the report.
    cautions : tuple of str
        Always the same.
    """

    question: str
    decision: str
    table: Table | None
    picture: Drawing | None
    assumptions: tuple[str, ...]
    revision: str
    incomplete: str = ""
    issued: str
    cautions: tuple[str, ...] = CAUTIONS


def study_first_page(study: StudyResult) -> FirstPage:
    """The first page of a comparison."""
    summary = study.outcome(Summary)
    wanted = (study.reference,) if summary is None else (summary.choice, study.reference)
    table = few_rows(answer_table(study), wanted)
    return FirstPage(
        question=study.scenario.title,
        decision=decision_of(study),
        table=table,
        picture=_study_picture(study, table),
        assumptions=(
            f"Loop at {report_frequency(study)}: {solved_basis(study.results)}.",
            *operating_words(study.scenario),
            MODEL_UNCERTAINTY,
        ),
        revision=revision_of(study.scenario),
        incomplete=incomplete_words(study),
        issued=today(),
    )


def decision_of(study: StudyResult) -> str:
    """The sentence on top: that of the summary, if there is one."""
    summary = study.outcome(Summary)
    return study.decision if summary is None else summary.sentence


def incomplete_words(study: StudyResult) -> str:
    """Which variants were not solved; empty if all were."""
    solved = {result.variant.name for result in study.results}
    missing = [variant.name for variant in study.scenario.variants if variant.name not in solved]
    if not missing:
        return ""
    count = f"{len(study.results)} of {len(study.scenario.variants)} variants"
    return f"Incomplete: {count} were solved before the study was interrupted. Not solved: {', '.join(missing)}."


MODEL_UNCERTAINTY = "± holds for the model as described, not for tolerances."


def today() -> str:
    """Date of the report, as ISO 8601 writes it."""
    return date.today().isoformat()


def revision_of(scenario: Scenario) -> str:
    """The revision that is stated, and what tells one state of the inputs from another by every letter of the file."""
    stated = f"revision {scenario.revision} · " if scenario.revision else ""
    return f"{stated}inputs {hashlib.sha256(scenario.text.encode('utf-8')).hexdigest()[:8]}"


def operating_words(scenario: Scenario) -> tuple[str, ...]:
    """Edge and site, as far as they are described."""
    switching, emission = scenario.switching, scenario.emission
    words = []
    if switching is not None:
        volts = numbers.with_unit(switching.input_voltage, Quantity.VOLTAGE)
        words.append(f"Edge: {volts} in {numbers.with_unit(switching.full_edge, Quantity.TIME)}.")
    if emission is not None:
        words.append(f"Emission at {emission.distance:g} m, {emission.site.value}.")
    return tuple(words)


def answer_table(study: StudyResult) -> Table:
    """The figures that a choice rests on, without changes; where there is no summary, those of the loop."""
    summary = study.outcome(Summary)
    if summary is None:
        shown = study.headlines[:_MOST_FIGURES]
        return with_unsolved(study, brief_table("", (named(),), variant_rows(study), shown, reference_row(study)))
    known = sorted(
        (each for each in summary.figures if each.key in _LEADING), key=lambda each: _LEADING.index(each.key)
    )
    return with_unsolved(study, _without_changes(summary_table(replace(summary, figures=tuple(known[:_MOST_FIGURES])))))


def _without_changes(table: Table) -> Table:
    kept = [number for number, column in enumerate(table.columns) if not column.name.startswith("Δ")]
    return replace(
        table,
        columns=tuple(table.columns[number] for number in kept),
        rows=tuple(tuple(row[number] for number in kept) for row in table.rows),
    )


def few_rows(table: Table, wanted: Collection[str]) -> Table:
    """The first rows of a table, those with the wanted names among them."""
    named_rows = [row for row in table.rows if row[0].text in wanted]
    others = [row for row in table.rows if row[0].text not in wanted]
    kept = [*named_rows, *others[: MOST_ROWS - len(named_rows)]]
    title = table.title if len(kept) == len(table.rows) else f"{len(kept)} of {len(table.rows)}"
    return replace(table, title=title, rows=tuple(row for row in table.rows if row in kept))


def _study_picture(study: StudyResult, table: Table) -> Drawing:
    """The loop's inductance of the variants in the table, with its budget."""
    figure = next(each for each in study.figures if each.key == "loop_inductance")
    solved = {result.variant.name for result in study.results}
    bars = [(row[0].text, study.reading(row[0].text, figure.key)) for row in table.rows if row[0].text in solved]
    words = f"Bars of {figure.title} of the variants in the table."
    limit = limit_of(study.scenario, figure)
    return drawn(sketch("first-page", words, figures.short_bars_figure, figure, bars, limit, table.marked))


def points_first_page(
    scenario: Scenario, decision: str, basis: str, table: Table | None, picture: Drawing | None
) -> FirstPage:
    """The first page of a study of many points."""
    return FirstPage(
        question=scenario.title,
        decision=decision,
        table=table,
        picture=picture,
        assumptions=(f"Loop values: {basis}.", *operating_words(scenario), MODEL_UNCERTAINTY),
        revision=revision_of(scenario),
        issued=today(),
    )


def limit_of(scenario: Scenario, figure: AnyFigure) -> float | None:
    """The budget of a figure, if it has one [SI]."""
    return next((each.value for each in limits_of(scenario) if each.figure.key == figure.key), None)
