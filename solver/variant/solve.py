"""Solve one variant: its sections at every frequency and in both limits, its surroundings, its ground layers."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from geometries.layout.placements import PlacedLoop
from geometries.section.coupled_loops import SwitchedLoops
from geometries.section.section import Role, View
from geometries.study.scenario import MAIN_SEGMENT, Analysis, BuildStep, Segment, Variant
from solver.axisymmetric.results import AxisymmetricResult
from solver.axisymmetric.solve import solve_axisymmetric
from solver.errors import SolverError, memory_failures_reported
from solver.loop.couplings import LoopCouplings
from solver.loop.whole_loop import whole_loop, with_section
from solver.notation.decibels import decibels
from solver.pickup.solve import solve_pickup
from solver.section.extraction import (
    current_share,
    moment_magnitude,
    plane_net_inductance,
    plane_peak_inductance,
    sample_field_map,
)
from solver.section.field_scan import far_distance, field_scans, nearest_scan, scan_span
from solver.section.fields import FieldSolution, assemble_section, solve_at_frequency
from solver.section.linear_solver import one_thread
from solver.section.mesh import mesh_section
from solver.section.refinement import RefinedSection
from solver.section.results import CurrentShare, FieldScan, LayerBenefit, MeshStatistics, PlaneInductance, SegmentResult
from solver.section.solve import air_settings, refine, segment_result
from solver.variant.results import VariantResult
from solver.variant.warnings import variant_warnings

_MAP_MARGIN = 4e-3
_MAP_FRACTION = 0.3


def solve_variant(variant: Variant, analysis: Analysis, span: tuple[float, float] | None = None) -> VariantResult:
    """Solve one variant at every frequency of the analysis and at both limits.

    Parameters
    ----------
    variant : Variant
        What to solve.
    analysis : Analysis
        Frequencies and field lines.
    span : tuple of float, optional
        From where to where the field lines run [m]; past the variant's own conductors if not given.

    Returns
    -------
    VariantResult

    Raises
    ------
    SolverError
        If the section cannot be meshed or the solution is not to be trusted; the message names the variant.
    """
    with _named_failures(variant), one_thread():
        return _solve_variant(variant, analysis, span or scan_span([variant]))


def solve_axisymmetric_view(variant: Variant, analysis: Analysis, span: tuple[float, float]) -> AxisymmetricResult:
    """The round view of a variant alone.

    Parameters
    ----------
    variant : Variant
        One with a round counterpart.
    analysis : Analysis
        Frequencies and field lines.
    span : tuple of float
        From where to where the field lines of the study run [m].

    Raises
    ------
    ValueError
        If the variant has no round counterpart.
    SolverError
        As for :func:`solve_variant`.
    """
    if variant.axisymmetric_loop is None:
        raise ValueError(f"variant {variant.name!r} has no round counterpart")
    with _named_failures(variant), one_thread():
        return solve_axisymmetric(variant.axisymmetric_loop, analysis, variant.surfaces, max(map(abs, span)))


@contextmanager
def _named_failures(variant: Variant) -> Iterator[None]:
    try:
        with memory_failures_reported():
            yield
    except SolverError as failure:
        raise type(failure)(f"variant {variant.name!r}: {failure}") from failure


def _solve_variant(variant: Variant, analysis: Analysis, span: tuple[float, float]) -> VariantResult:
    start = time.perf_counter()
    refined = refine(variant.section, analysis, far_distance=_far_distance(variant, analysis, span))
    reported = solve_at_frequency(refined.system, analysis.report_frequency)
    lines = field_scans(reported, variant.surfaces, analysis, span)
    further = tuple(_solve_further(segment, analysis) for segment in variant.segments)
    result = VariantResult(
        variant=variant,
        frequencies=np.array(analysis.frequencies),
        segments=(segment_result(MAIN_SEGMENT, variant.length, refined, reported, analysis), *further),
        refinement=refined.steps,
        report_index=analysis.frequencies.index(analysis.report_frequency),
        shares=_shares(reported),
        lines=lines,
        moment=moment_magnitude(reported),
        planes=_plane_inductances(reported),
        benefit=_layer_benefit(variant, analysis, span, _reading(reported, lines)),
        field_map=sample_field_map(reported, _map_window(variant)),
        statistics=MeshStatistics(
            triangles=int(refined.system.meshed.mesh.nelements),
            unknowns=int(refined.system.basis.N),
            seconds=time.perf_counter() - start,
        ),
        warnings=variant_warnings(variant, analysis),
        axisymmetric_view=_axisymmetric_view(variant, analysis, span, refined),
        pickup=None if variant.pickup is None else solve_pickup(variant.pickup, analysis),
    )
    if variant.switched is not None:
        result = replace(result, couplings=_couplings(variant.switched, analysis))
    return result if variant.placed is None else _with_whole_loop(result, variant.placed, analysis.report_frequency)


def _far_distance(variant: Variant, analysis: Analysis, span: tuple[float, float]) -> float:
    return far_distance(analysis, span, variant.view)


def _couplings(switched: SwitchedLoops, analysis: Analysis) -> LoopCouplings:
    field = solve_at_frequency(refine(switched.section, analysis).system, analysis.report_frequency)
    return LoopCouplings(switched=switched, inductance_per_length=field.inductance_per_length)


def _with_whole_loop(result: VariantResult, placed: PlacedLoop, frequency: float) -> VariantResult:
    assembled = whole_loop(result.variant.name, placed, frequency)
    return replace(result, whole_loop=with_section(assembled, result.loop_inductance))


def _solve_further(segment: Segment, analysis: Analysis) -> SegmentResult:
    refined = refine(segment.section, analysis)
    reported = solve_at_frequency(refined.system, analysis.report_frequency)
    return segment_result(segment.name, segment.length, refined, reported, analysis)


def _axisymmetric_view(
    variant: Variant, analysis: Analysis, span: tuple[float, float], refined: RefinedSection
) -> AxisymmetricResult | None:
    """Of a variant that is round itself, on the mesh that it has already."""
    if variant.axisymmetric_loop is None:
        return None
    own = refined if variant.view is View.AXISYMMETRIC else None
    return solve_axisymmetric(variant.axisymmetric_loop, analysis, variant.surfaces, max(map(abs, span)), refined=own)


def _shares(field: FieldSolution) -> tuple[CurrentShare, ...]:
    return tuple(
        CurrentShare(region=region.name, role=region.role.value, share=current_share(field, region.name))
        for region in field.system.meshed.section.regions
    )


def _plane_inductances(field: FieldSolution) -> tuple[PlaneInductance, ...]:
    """Of the lowest ground layers, and of the return copper if none of them carries the return: what drives cables."""
    section = field.system.meshed.section
    if section.view is View.AXISYMMETRIC:
        return ()
    ground = [section.region(name) for name in section.ground_layers]
    lowest = min((region.outline.bounds[1] for region in ground), default=0.0)
    shown = [region for region in ground if region.outline.bounds[1] == lowest]
    if not any(region.role is Role.RETURN for region in ground):
        shown += [region for region in section.regions if region.group == section.loops[0].return_group]
    return tuple(
        PlaneInductance(
            region=region.name,
            value=plane_net_inductance(field, region.name),
            peak=plane_peak_inductance(field, region.name),
        )
        for region in shown
    )


def _map_window(variant: Variant) -> tuple[float, float, float, float]:
    left, _, right, _ = variant.section.extent
    top, bottom = variant.surfaces
    margin = max(_MAP_MARGIN, _MAP_FRACTION * (right - left))
    return left - margin, bottom - margin, right + margin, top + margin


_Reading = tuple[float, float, float]
"""Inductance per length, and peak field on the nearest lines above and below."""


def _layer_benefit(
    variant: Variant, analysis: Analysis, span: tuple[float, float], complete: _Reading
) -> tuple[LayerBenefit, ...]:
    """Solve the section with one more ground layer each time, from the top; the last step is the variant itself."""
    if not variant.steps:
        return ()
    readings = [_read_step(step, variant, analysis, span) for step in variant.steps[:-1]]
    return tuple(
        LayerBenefit(
            layer=step.layer,
            inductance_before=before[0],
            inductance_after=after[0],
            above_db=decibels(after[1], before[1]),
            below_db=decibels(after[2], before[2]),
        )
        for step, before, after in zip(variant.steps[1:], readings, [*readings[1:], complete], strict=True)
    )


def _read_step(step: BuildStep, variant: Variant, analysis: Analysis, span: tuple[float, float]) -> _Reading:
    frequency = analysis.report_frequency
    settings = air_settings(_far_distance(variant, analysis, span))
    meshed = mesh_section(step.section, highest_frequency=frequency, settings=settings)
    field = solve_at_frequency(assemble_section(meshed), frequency)
    return _reading(field, field_scans(field, variant.surfaces, analysis, span))


def _reading(field: FieldSolution, lines: tuple[FieldScan, ...]) -> _Reading:
    return (
        float(field.inductance_per_length[0, 0]),
        nearest_scan(lines, "above").peak,
        nearest_scan(lines, "below").peak,
    )
