"""The quality factor of the loop: reactance over resistance, by hand."""

from __future__ import annotations

import math

import pytest

from solver.study.figures_of_merit import figure_named, read_figures
from solver.study.results import StudyResult


def test_quality_is_reactance_over_resistance(study: StudyResult) -> None:
    figure = figure_named("loop_quality", study.scenario, where="test")
    result = study.results[0]
    reading = read_figures(study.scenario, result, [figure])["loop_quality"]
    reactance = 2 * math.pi * study.scenario.analysis.report_frequency * result.loop.inductance
    assert reading.value == pytest.approx(reactance / result.loop.resistance, rel=1e-12)
    assert 0 < reading.uncertainty < reading.value
