"""Every command says the same: a compared variant, a sweep's point, a tolerance's centre and the exported circuit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import pytest

from geometries.files.reading import builtin_scenario_names, builtin_text, describe
from geometries.operation.budgets import read_budgets
from geometries.quantities import write_quantity
from geometries.study.build import build_scenario
from geometries.study.described_variation import SweepKeyTable, SweepTable, ToleranceTable
from geometries.study.description import Description
from geometries.study.fingerprint import computed_from
from geometries.study.keys import find_key, value_at
from geometries.study.scenario import Scenario, scan_span, without_steps
from geometries.study.sweep import build_sweep, sweep_points, sweep_scenario
from geometries.study.tolerance import build_tolerance, tolerance_scenario
from solver.study.budgets import check_budgets
from solver.study.figures_of_merit import figure_named, known_figures, needs_of
from solver.study.points import solve_point
from solver.study.results import StudyResult
from solver.study.study import conclude, figure_needs, solve_variants
from solver.switching.results import SwitchingComparison
from solver.variant.figure import Reading

KEY = "copper.temperature"
SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The reference of a built-in scenario alone, meshed coarsely: what is compared does not depend on it."""

    description: Description
    scenario: Scenario

    @property
    def keys(self) -> tuple[str, ...]:
        return tuple(figure.key for figure in known_figures(self.scenario))


@cache
def asked(name: str) -> Asked:
    described = describe(builtin_text(name), where=name)
    reference = described.reference or described.variant[0].name
    alone = tuple(variant for variant in described.variant if variant.name == reference)
    analysis = replace(described.analysis, tolerance=2e-2)
    description = replace(described, variant=alone, analysis=analysis, measurement=None)
    return Asked(description=description, scenario=build_scenario(description))


@cache
def compared(name: str) -> StudyResult:
    scenario = asked(name).scenario
    return conclude(scenario, solve_variants(scenario, needs=figure_needs(scenario), workers=1))


SOLVED: dict[object, Mapping[str, Reading]] = {}
"""Points by what their numbers depend on: that of a sweep is the centre of a tolerance if both describe the same."""


def solved(scenario: Scenario, name: str) -> Mapping[str, Reading]:
    inputs = (name, computed_from(scenario))
    if inputs not in SOLVED:
        point = solve_point(scenario, asked(name).keys, scan_span(asked(name).scenario.variants))
        SOLVED[inputs] = point.readings
    return SOLVED[inputs]


def assert_same(found: Mapping[str, Reading], name: str) -> None:
    expected = compared(name).readings[0]
    assert found.keys() == expected.keys()
    for key, reading in expected.items():
        for value, other in ((reading.value, found[key].value), (reading.uncertainty, found[key].uncertainty)):
            assert math.isclose(value, other, rel_tol=SAME) or (math.isnan(value) and math.isnan(other)), key


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_a_point_of_a_sweep_is_the_compared_variant(name: str) -> None:
    described = asked(name).description
    nominal = value_at(described, find_key(described, KEY).steps)
    values = (f"{nominal!r} degC", f"{(nominal or 0.0) + 60!r} degC")
    table = SweepTable(vary=(SweepKeyTable(key=KEY, values=values),))
    sweep = build_sweep(asked(name).scenario, replace(described, sweep=table))
    assert_same(solved(sweep_scenario(sweep, next(sweep_points(sweep))), name), name)


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_the_centre_of_a_tolerance_is_the_compared_variant(name: str) -> None:
    table = ToleranceTable(keys={KEY: "40 K"})
    tolerance = build_tolerance(asked(name).scenario, replace(asked(name).description, tolerance=table))
    assert_same(solved(tolerance_scenario(tolerance, tolerance.variants[0], (0.0,)), name), name)


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_the_exported_circuit_has_the_inductance_of_the_table(name: str) -> None:
    study = compared(name)
    frequency = study.scenario.analysis.report_frequency
    found = study.results[0].loop.circuit.impedance(frequency)[0, 0]
    assert found.imag / (2 * math.pi * frequency) == pytest.approx(study.readings[0]["loop_inductance"].value, rel=SAME)
    assert found.real == pytest.approx(study.readings[0]["loop_resistance"].value, rel=SAME)


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_a_page_shows_the_figures_of_every_other_command(name: str) -> None:
    """With everything that a page shows solved; the peak's parts on the page make the ± of the figure."""
    scenario = asked(name).scenario
    page = conclude(scenario, solve_variants(scenario, workers=1))
    assert_same(page.readings[0], name)
    edge, shown = page.outcome(SwitchingComparison), page.readings[0]
    for reading in () if edge is None else edge.readings:
        assert reading.built.peak.voltage == pytest.approx(shown["peak_voltage"].value, rel=SAME)
        assert reading.peak_error == pytest.approx(shown["peak_voltage"].uncertainty, rel=SAME)
        assert reading.frequency_error == pytest.approx(shown["ring_frequency"].uncertainty, rel=SAME)


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_a_check_judges_the_compared_variant_by_the_same_uncertainty(name: str) -> None:
    """A check solves what its budgets limit and nothing else."""
    key = "peak_voltage" if "peak_voltage" in asked(name).keys else "loop_inductance"
    reading, figure = compared(name).readings[0][key], figure_named(key, asked(name).scenario, where="test")
    scenario = without_steps(asked(name).scenario)
    results = list(solve_variants(scenario, needs=needs_of((figure,), scenario), workers=1))
    for part, kept in ((0.5, False), (1.5, True)):
        limit = write_quantity(reading.value + part * reading.uncertainty, figure.quantity)
        budgets = read_budgets({key: limit, "decide": "worst"})
        (check,) = check_budgets(replace(scenario, budgets=budgets), results).checks
        assert check.reading.value == pytest.approx(reading.value, rel=SAME)
        assert check.reading.uncertainty == pytest.approx(reading.uncertainty, rel=SAME)
        assert check.kept is kept


def test_a_placement_sweeps_its_whole_loop() -> None:
    described = asked("greenhouse-vent").description
    table = SweepTable(vary=(SweepKeyTable(key="placement.distance", values=("0.6 mm", "1.2 mm")),))
    sweep = build_sweep(asked("greenhouse-vent").scenario, replace(described, sweep=table))
    near, far = (solved(sweep_scenario(sweep, point), "greenhouse-vent") for point in sweep_points(sweep))
    loop, section = (far[key].value / near[key].value - 1 for key in ("loop_inductance", "section_inductance"))
    assert 0 < loop < section
