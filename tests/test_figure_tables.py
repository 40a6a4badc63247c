"""Facts about the one way in which figures are shown: digits by the uncertainty, changes as the figure has them."""

from __future__ import annotations

import math

import pytest

from solver.report.figure_tables import FigureRow, change_columns, figure_records, figure_table, value_words
from solver.report.tables import Cell, fitted, named, records, table_text
from solver.study.figures_of_merit import every_figure
from solver.variant.figure import Reading


def figure(key: str):
    return next(each for each in every_figure() if each.key == key)


def row(name: str, **values: float) -> FigureRow:
    readings = {key: Reading(value=value, uncertainty=0.01 * abs(value)) for key, value in values.items()}
    return FigureRow(labels=(Cell(text=name),), readings=readings)


ROWS = (row("a", loop_inductance=2e-9, loop_moment=4e-6), row("b", loop_inductance=1e-9, loop_moment=2e-6))
FIGURES = (figure("loop_inductance"), figure("loop_moment"))


@pytest.mark.parametrize(
    ("value", "error", "words"),
    [
        (1.0969858e-9, 4e-13, "1.097 ± 0.001"),
        (46.51e-9, 0.3e-9, "46.5 ± 0.3"),
        (1.7252e-9, 0.1241e-9, "1.73 ± 0.13"),
        (17.252e-9, 1.62e-9, "17.3 ± 1.7"),
        (1.7252e-9, 0.2e-9, "1.7 ± 0.2"),
        (1e-9, 0.0, "1.00"),
        (math.nan, 0.0, "–"),
        (math.inf, 0.0, "unlimited"),
    ],
)
def test_digits_follow_the_uncertainty(value: float, error: float, words: str) -> None:
    assert value_words(figure("loop_inductance"), Reading(value=value, uncertainty=error)) == words


def test_a_difference_is_shown_in_its_unit_and_in_percent() -> None:
    table = figure_table("", (named(),), ROWS, FIGURES, ROWS[0])
    assert [cell.text for cell in table.rows[1][:4]] == ["b", "1.000 ± 0.010", "−1.000", "−50.0"]


def test_a_ratio_is_shown_in_decibels() -> None:
    table = figure_table("", (named(),), ROWS, FIGURES, ROWS[0])
    assert table.columns[-1].unit == "dB"
    assert table.rows[1][-1].value == pytest.approx(20 * math.log10(0.5), rel=1e-12)


def test_a_level_has_no_percent() -> None:
    assert [column.unit for column in change_columns(figure("emission_margin"))] == ["dB"]


def test_the_spreadsheet_holds_full_digits_under_the_figures_titles() -> None:
    head, _, second = figure_records((named(),), ROWS, FIGURES, ROWS[0])
    assert head[:3] == ["variant", "loop inductance [nH]", "uncertainty of loop inductance [nH]"]
    assert second[1:5] == pytest.approx([1.0, 0.01, -1.0, -50.0], rel=1e-12)


def test_records_hold_the_number_behind_a_cell() -> None:
    _, first, _ = records(figure_table("", (named(),), ROWS, FIGURES, ROWS[0]))
    assert first[:2] == ["a", pytest.approx(2.0)]


def test_a_number_is_written_with_ten_digits() -> None:
    assert table_text([["a", 1 / 3]]) == "a,0.3333333333\n"


def test_a_wide_table_is_broken_into_pieces_that_fit_and_name_their_rows() -> None:
    table = figure_table("title", (named(),), ROWS, FIGURES * 3, ROWS[0])
    pieces = fitted(table, 40)
    assert len(pieces) > 1
    assert [piece.rows[1][0].text for piece in pieces] == ["b"] * len(pieces)
    assert [piece.title for piece in pieces] == ["title", *[""] * (len(pieces) - 1)]
    assert sum(len(piece.columns) - 1 for piece in pieces) == len(table.columns) - 1
