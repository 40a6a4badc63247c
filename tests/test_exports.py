"""The exported circuits hold the loop of record: read back at the report frequency, they have its inductance."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from geometries.files.reading import builtin_scenario_names, read_builtin_scenario
from geometries.section.section import MAIN_SEGMENT
from geometries.study.scenario import Variant
from solver.report.circuits import exported_circuit
from solver.study.figures_of_merit import known_figures, read_figures
from solver.study.results import StudyResult
from solver.variant.results import VariantResult


def exported_inductance(result: VariantResult, study: StudyResult) -> float:
    frequency = study.scenario.analysis.report_frequency
    impedance = exported_circuit(result, study.scenario).network.impedance(frequency)[0, 0]
    return float(impedance.imag) / (2 * math.pi * frequency)


def figure_of(result: VariantResult, study: StudyResult) -> float:
    figures = [figure for figure in known_figures(study.scenario) if figure.key == "loop_inductance"]
    return read_figures(study.scenario, result, figures)["loop_inductance"].value


def made_for(variant: Variant, study: StudyResult, placed_study: StudyResult) -> VariantResult:
    """By hand, without a solver: every stretch of the variant with the same values per length."""
    made = study.results[0]
    stretches = [(MAIN_SEGMENT, variant.length), *((each.name, each.length) for each in variant.segments)]
    segments = tuple(replace(made.segments[0], name=name, length=length) for name, length in stretches)
    whole = placed_study.results[0].whole_loop if variant.placed is not None else None
    return replace(made, variant=variant, segments=segments, whole_loop=whole)


DESCRIBED_BY_SECTIONS = [
    name
    for name in builtin_scenario_names()
    if all(each.laid_out is None for each in read_builtin_scenario(name).variants)
]


@pytest.mark.parametrize("name", DESCRIBED_BY_SECTIONS)
def test_every_variant_exports_the_inductance_that_its_figure_says(
    name: str, study: StudyResult, placed_study: StudyResult
) -> None:
    for variant in read_builtin_scenario(name).variants:
        result = made_for(variant, study, placed_study)
        assert exported_inductance(result, study) == pytest.approx(figure_of(result, study), rel=1e-9, abs=0)


@pytest.mark.parametrize("index", [0, 1])
def test_a_placement_exports_its_whole_loop(index: int, placed_study: StudyResult) -> None:
    result = placed_study.results[index]
    assert exported_inductance(result, placed_study) == pytest.approx(result.whole_loop.inductance, rel=1e-9, abs=0)
    assert exported_inductance(result, placed_study) == pytest.approx(figure_of(result, placed_study), rel=1e-9, abs=0)
