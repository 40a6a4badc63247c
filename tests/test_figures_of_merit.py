"""The list of figures of merit: declared once, complete, refused in words where a scenario cannot have them."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario
from solver.study.figures_of_merit import (
    every_figure,
    figure_named,
    headline_figures,
    known_figures,
    needs_of,
    read_figures,
)
from solver.variant.analysis import Analysis
from solver.variant.figure import Change, Figure, Reading
from solver.variant.needs import Need

NOMENCLATURE = (Path(__file__).resolve().parent.parent / "docs" / "nomenclature.md").read_text(encoding="utf-8")

BOARD = """
title = "board"
stackup = "4L-7628"
planes = { L2 = { tie = "both ends", width = "20 mm" } }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
"""
EDGE = """
[switching]
input_voltage = "12 V"
edge_time = "2 ns"
output_capacitance = "300 pF"
switch_resistance = "0.3 ohm"
capacitor_resistance = "5 mohm"
"""


def test_every_key_is_declared_once() -> None:
    keys = [figure.key for figure in every_figure()]
    assert len(set(keys)) == len(keys)


def test_every_figure_stands_in_the_nomenclature() -> None:
    missing = [figure.key for figure in every_figure() if f"`{figure.key}`" not in NOMENCLATURE]
    assert not missing


def test_machines_find_the_keys_they_were_promised() -> None:
    promised = {
        *("loop_inductance", "loop_resistance", "ring_frequency", "peak_voltage", "overshoot", "loop_moment"),
        *("emission_margin", "feedback_noise"),
    }
    assert promised <= {figure.key for figure in every_figure()}


def test_a_scenario_without_edge_has_no_peak() -> None:
    keys = {figure.key for figure in known_figures(parse_scenario(BOARD))}
    assert "loop_inductance" in keys
    assert "peak_voltage" not in keys


def test_an_edge_brings_its_figures_into_the_tables() -> None:
    keys = [figure.key for figure in headline_figures(parse_scenario(BOARD + EDGE))]
    assert {"peak_voltage", "overshoot", "ring_frequency"} <= set(keys)


def test_a_misspelt_figure_is_refused_with_the_nearest() -> None:
    with pytest.raises(ScenarioError, match="budgets: unknown figure 'peak_voltag'; did you mean 'peak_voltage'"):
        figure_named("peak_voltag", parse_scenario(BOARD), where="budgets")


def test_a_figure_without_its_table_is_refused_with_the_table() -> None:
    with pytest.raises(ScenarioError, match=r"peak_voltage is not known of every variant.*\[switching\]"):
        figure_named("peak_voltage", parse_scenario(BOARD), where="budgets")


def test_the_field_needs_no_impedance_over_frequency() -> None:
    scenario = parse_scenario(BOARD)
    assert needs_of([figure_named("peak_field_above", scenario, where="test")], scenario) == frozenset()


def test_the_peak_needs_neither_views_nor_benefit_of_layers() -> None:
    scenario = parse_scenario(BOARD + EDGE)
    needs = needs_of([figure_named("peak_voltage", scenario, where="test")], scenario)
    assert needs == {Need.BROADBAND, Need.WHOLE_LOOP}


def test_what_several_figures_are_read_from_is_found_once(monkeypatch: pytest.MonkeyPatch) -> None:
    found: list[str] = []

    def find(scenario: object, result: object) -> float:
        found.append("once")
        return 2.0

    one = next(figure for figure in every_figure() if figure.key == "loop_inductance")
    figures = tuple(
        replace(one, key=key, read=lambda value, factor=factor: Reading(value=factor * value))
        for key, factor in (("first", 1.0), ("second", 3.0))
    )
    analysis: Analysis[float] = Analysis(key="test", asked=lambda scenario: True, find=find, figures=figures)
    monkeypatch.setattr("solver.study.figures_of_merit._home", lambda key: analysis)
    readings = read_figures(parse_scenario(BOARD), None, figures)  # type: ignore[arg-type]
    assert [reading.value for reading in readings.values()] == [2.0, 6.0]
    assert found == ["once"]


def test_ratios_of_what_is_not_resolved_are_none() -> None:
    figure: Figure[None] = Figure(
        key="x",
        symbol="x",
        title="x",
        shown=next(iter(every_figure())).shown,
        read=lambda found: Reading(value=0.0),
        change=Change.DECIBELS,
        floor=1e-3,
    )
    assert figure.decibels(0.0, 1e-9) == 0.0
    assert figure.decibels(1e-2, 0.0) == pytest.approx(20.0)
    assert math.isclose(figure.decibels(2.0, 1.0), 20 * math.log10(2))
