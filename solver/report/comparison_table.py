"""The table of all variants for the terminal."""

from __future__ import annotations

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from solver.notation.labels import scenario_wording
from solver.notation.numbers import decibel, frequency, milliohm, nanohenry, nanohenry_change, nanohenry_error, percent
from solver.study.results import ComparisonRow, StudyResult, reference_name

_HEADINGS = (
    "L\n[nH]",
    "±\n[nH]",
    "change\n[nH]",
    "change\n[%]",
    "R\n[mΩ]",
    "H above\n[dB]",
    "H below\n[dB]",
    "moment\n[dB]",
)


def comparison_table(study: StudyResult) -> Table:
    """Table of all variants for the terminal.

    Parameters
    ----------
    study : StudyResult
        A finished or interrupted study.

    Returns
    -------
    rich.table.Table
        One row per solved variant, units in the headings.
    """
    at = frequency(study.scenario.analysis.report_frequency)
    table = Table(
        title=f"At {at}, {scenario_wording(study.scenario).basis}",
        title_justify="left",
        box=SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
    table.add_column(Text("variant"), overflow="fold", min_width=10)
    for heading in _HEADINGS:
        table.add_column(Text(heading), justify="right", no_wrap=True)
    reference = reference_name(study)
    for row in study.rows:
        table.add_row(Text(row.name), *_cells(row, row.name == reference))
    return table


def _cells(row: ComparisonRow, is_reference: bool) -> tuple[str, ...]:
    inductance = nanohenry(row.inductance, row.inductance_error)
    error = nanohenry_error(row.inductance, row.inductance_error)
    if is_reference:
        return inductance, error, "reference", "", milliohm(row.resistance), "0.0", "0.0", "0.0"
    return (
        inductance,
        error,
        nanohenry_change(row.change, row.inductance_error),
        percent(row.change_fraction),
        milliohm(row.resistance),
        decibel(row.above_db),
        decibel(row.below_db),
        decibel(row.moment_db),
    )
