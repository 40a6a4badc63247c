"""Solve the variants of a scenario side by side and set them against the reference."""

from __future__ import annotations

import math
import os
import time
from collections.abc import Iterable, Iterator
from functools import partial
from importlib.metadata import version

import numpy as np

from geometries.scenario import Analysis, BuildStep, Scenario, Variant
from geometries.section import CrossSection, Role
from solver.accuracy import estimate_error
from solver.cautions import study_cautions, variant_cautions
from solver.decision import decide
from solver.extraction import (
    current_share,
    field_magnitude,
    line_moment,
    plane_net_inductance,
    sample_field_map,
)
from solver.fields import FieldSolution, assemble_section, solve_at_frequency
from solver.mesh import mesh_section
from solver.pool import run_side_by_side
from solver.refinement import refine_section
from solver.results import (
    ComparisonRow,
    CurrentShare,
    FieldLine,
    LayerWorth,
    MeshStatistics,
    PlaneInductance,
    StudyResult,
    VariantResult,
)
from solver.tessellation import MeshSettings

_FINE_AIR = MeshSettings(growth=0.35)
"""Elements small enough between conductors and field lines for a field within about 1 %."""

_LINE_POINTS = 301
_LINE_REACH = 10e-3
_MAP_MARGIN = 4e-3
_MAP_FRACTION = 0.3


def solve_variant(variant: Variant, analysis: Analysis) -> VariantResult:
    """Solve one variant at every frequency of the analysis and at both limits.

    Parameters
    ----------
    variant : Variant
        What to solve.
    analysis : Analysis
        Frequencies and field lines.

    Returns
    -------
    VariantResult

    Raises
    ------
    SolverError
        If the section cannot be meshed or the solution is not to be trusted.
    """
    start = time.perf_counter()
    refined = refine_section(
        variant.section,
        highest_frequency=analysis.frequencies[-1],
        tolerance=analysis.tolerance,
        settings=_FINE_AIR,
    )
    system = refined.system
    resistance, inductance = [], []
    for frequency in analysis.frequencies:
        field = solve_at_frequency(system, frequency)
        resistance.append(field.resistance_per_length)
        inductance.append(field.inductance_per_length)
        if frequency == analysis.report_frequency:
            reported = field
    worth = _layer_worth(variant, analysis)
    error = estimate_error(reported)
    return VariantResult(
        variant=variant,
        frequencies=np.array(analysis.frequencies),
        resistance=np.array(resistance),
        inductance=np.array(inductance),
        dc_resistance=refined.static.resistance_per_length,
        dc_bracket=refined.dc_bracket,
        perfect_bracket=refined.perfect_bracket,
        refinement=refined.steps,
        report_index=analysis.frequencies.index(analysis.report_frequency),
        inductance_error=error.inductance,
        resistance_error=error.resistance,
        shares=_shares(reported),
        lines=_field_lines(reported, variant, analysis),
        moment=float(np.linalg.norm(line_moment(reported))),
        planes=_plane_inductances(reported),
        worth=worth,
        field_map=sample_field_map(reported, _map_window(variant)),
        statistics=MeshStatistics(
            triangles=int(system.meshed.mesh.nelements),
            unknowns=int(system.basis.N),
            seconds=time.perf_counter() - start,
        ),
        cautions=variant_cautions(variant, analysis),
    )


def solve_variants(scenario: Scenario, *, workers: int | None = None) -> Iterator[VariantResult]:
    """Solve all variants in parallel processes and hand each over as it is done.

    Parameters
    ----------
    scenario : Scenario
        What to solve.
    workers : int, optional
        Processes; as many as there are processors, and no more than variants, if not given.

    Yields
    ------
    VariantResult
        In the order in which they are finished.

    Raises
    ------
    SolverError
        As soon as one variant fails.
    """
    count = min(workers or os.cpu_count() or 1, len(scenario.variants))
    yield from run_side_by_side(partial(solve_variant, analysis=scenario.analysis), scenario.variants, workers=count)


def conclude(scenario: Scenario, results: Iterable[VariantResult]) -> StudyResult:
    """Set the solved variants against the reference and draw the conclusion.

    Parameters
    ----------
    scenario : Scenario
        What was asked.
    results : iterable of VariantResult
        Solved variants in any order; at least one.

    Returns
    -------
    StudyResult
        If the reference was not solved (an interrupted study), the first solved variant stands in for it.
    """
    order = [variant.name for variant in scenario.variants]
    ordered = tuple(sorted(results, key=lambda result: order.index(result.variant.name)))
    reference = next((each for each in ordered if each.variant.name == scenario.reference), ordered[0])
    rows = tuple(_compare(result, reference) for result in ordered)
    return StudyResult(
        scenario=scenario,
        results=ordered,
        rows=rows,
        decision=decide(scenario, rows, reference.variant.name),
        cautions=study_cautions(scenario),
        versions=tuple((name, version(name)) for name in ("copperfield", "gmsh", "scikit-fem", "numpy", "scipy")),
    )


def run_study(scenario: Scenario, *, workers: int | None = None) -> StudyResult:
    """Solve all variants of a scenario and conclude.

    Parameters
    ----------
    scenario : Scenario
        What to solve.
    workers : int, optional
        Processes to use.

    Returns
    -------
    StudyResult

    Raises
    ------
    SolverError
        If a variant cannot be solved.
    """
    return conclude(scenario, solve_variants(scenario, workers=workers))


def _shares(field: FieldSolution) -> tuple[CurrentShare, ...]:
    return tuple(
        CurrentShare(region=region.name, role=region.role.value, share=current_share(field, region.name))
        for region in field.system.meshed.section.regions
    )


def _plane_inductances(field: FieldSolution) -> tuple[PlaneInductance, ...]:
    section = field.system.meshed.section
    widest = max(_width(section, region.name) for region in section.regions if region.role is Role.GO)
    return tuple(
        PlaneInductance(region=region.name, value=plane_net_inductance(field, region.name))
        for region in section.regions
        if region.role in (Role.RETURN, Role.FLOATING) and _width(section, region.name) > widest
    )


def _width(section: CrossSection, name: str) -> float:
    left, _, right, _ = section.region(name).outline.bounds
    return right - left


def _field_lines(field: FieldSolution, variant: Variant, analysis: Analysis) -> tuple[FieldLine, ...]:
    """Field along the lines above and below the board, past the edges of the widest conductor."""
    top, bottom = variant.surfaces
    left, _, right, _ = variant.section.extent
    x = np.linspace(left - _LINE_REACH, right + _LINE_REACH, _LINE_POINTS)
    places = [("above", distance, top + distance) for distance in analysis.heights_above]
    places += [("below", distance, bottom - distance) for distance in analysis.heights_below]
    return tuple(
        FieldLine(
            side=side,
            distance=distance,
            x=x,
            magnitude=field_magnitude(field, np.column_stack([x, np.full_like(x, y)])),
        )
        for side, distance, y in places
    )


def _map_window(variant: Variant) -> tuple[float, float, float, float]:
    left, _, right, _ = variant.section.extent
    top, bottom = variant.surfaces
    margin = max(_MAP_MARGIN, _MAP_FRACTION * (right - left))
    return left - margin, bottom - margin, right + margin, top + margin


def _layer_worth(variant: Variant, analysis: Analysis) -> tuple[LayerWorth, ...]:
    """Solve the section with one more ground layer each time, from the top."""
    if not variant.steps:
        return ()
    solved = [_solve_step(step, variant, analysis) for step in variant.steps]
    return tuple(
        LayerWorth(
            layer=step.layer,
            inductance_before=before[0],
            inductance_after=after[0],
            above_db=decibels(after[1], before[1]),
            below_db=decibels(after[2], before[2]),
        )
        for step, before, after in zip(variant.steps[1:], solved, solved[1:], strict=False)
    )


def _solve_step(step: BuildStep, variant: Variant, analysis: Analysis) -> tuple[float, float, float]:
    """Inductance per length and peak field on the nearest lines above and below."""
    frequency = analysis.report_frequency
    field = solve_at_frequency(
        assemble_section(mesh_section(step.section, highest_frequency=frequency, settings=_FINE_AIR)), frequency
    )
    lines = _field_lines(field, variant, analysis)
    return (
        float(field.inductance_per_length[0, 0]),
        nearest_line(lines, "above").peak,
        nearest_line(lines, "below").peak,
    )


def nearest_line(lines: Iterable[FieldLine], side: str) -> FieldLine:
    """The field line closest to the board on one side of it."""
    return min((line for line in lines if line.side == side), key=lambda line: line.distance)


def decibels(value: float, reference: float) -> float:
    """Ratio of two field quantities in decibels, 20 lg(value / reference)."""
    return 20 * math.log10(value / reference)


def _compare(result: VariantResult, reference: VariantResult) -> ComparisonRow:
    above, below = nearest_line(result.lines, "above"), nearest_line(result.lines, "below")
    reference_above, reference_below = (
        nearest_line(reference.lines, "above"),
        nearest_line(reference.lines, "below"),
    )
    return ComparisonRow(
        name=result.variant.name,
        inductance=result.loop_inductance,
        inductance_error=result.inductance_error * result.loop_inductance,
        resistance=result.loop_resistance,
        change=result.loop_inductance - reference.loop_inductance,
        change_fraction=result.loop_inductance / reference.loop_inductance - 1,
        above_db=decibels(above.peak, reference_above.peak),
        below_db=decibels(below.peak, reference_below.peak),
        moment_db=decibels(result.moment, reference.moment),
    )
