"""Solve one variant: its sections at every frequency and in both limits, its surroundings, its ground layers."""

from __future__ import annotations

import math
import time
from collections.abc import Iterable

import numpy as np

from geometries.scenario import MAIN_SEGMENT, Analysis, BuildStep, Segment, Variant
from geometries.section import CrossSection, Role
from solver.accuracy import estimate_error
from solver.broadband import reduce_section
from solver.cautions import variant_cautions
from solver.errors import SolutionError, SolverError
from solver.extraction import (
    current_share,
    field_magnitude,
    line_moment,
    plane_net_inductance,
    sample_field_map,
)
from solver.fields import FieldSolution, assemble_section, solve_at_frequency
from solver.linear import one_thread
from solver.mesh import mesh_section
from solver.refinement import RefinedSection, refine_section
from solver.results import (
    CurrentShare,
    FieldLine,
    LayerWorth,
    MeshStatistics,
    PlaneInductance,
    SegmentResult,
    VariantResult,
)
from solver.tessellation import MeshSettings

_FINE_AIR = MeshSettings(growth=0.35)
"""Elements small enough between conductors and field lines for a field within about 1 %."""

_NARROWEST_BAND = 0.1
"""Lowest over highest frequency of a broadband model where a scenario asks for less."""

_FAR_FRACTION = 0.05
_FIELD_FLOOR = 1e-5
_LINE_POINTS = 301
_LINE_REACH = 10e-3
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
    try:
        with one_thread():
            return _solve_variant(variant, analysis, span or line_span([variant]))
    except SolverError as failure:
        raise type(failure)(f"variant {variant.name!r}: {failure}") from failure


def line_span(variants: Iterable[Variant]) -> tuple[float, float]:
    """Where field lines must run to pass the edges of the widest conductor of all variants [m]."""
    extents = [variant.section.extent for variant in variants]
    return min(extent[0] for extent in extents) - _LINE_REACH, max(extent[2] for extent in extents) + _LINE_REACH


def _solve_variant(variant: Variant, analysis: Analysis, span: tuple[float, float]) -> VariantResult:
    start = time.perf_counter()
    refined = _refine(variant.section, analysis)
    reported = solve_at_frequency(refined.system, analysis.report_frequency)
    lines = _field_lines(reported, variant, analysis, span)
    further = tuple(_solve_further(segment, analysis) for segment in variant.segments)
    return VariantResult(
        variant=variant,
        frequencies=np.array(analysis.frequencies),
        segments=(_segment_result(MAIN_SEGMENT, variant.length, refined, reported, analysis), *further),
        refinement=refined.steps,
        report_index=analysis.frequencies.index(analysis.report_frequency),
        shares=_shares(reported),
        lines=lines,
        moment=float(np.linalg.norm(line_moment(reported))),
        planes=_plane_inductances(reported),
        worth=_layer_worth(variant, analysis, span, _reading(reported, lines)),
        field_map=sample_field_map(reported, _map_window(variant)),
        statistics=MeshStatistics(
            triangles=int(refined.system.meshed.mesh.nelements),
            unknowns=int(refined.system.basis.N),
            seconds=time.perf_counter() - start,
        ),
        cautions=variant_cautions(variant, analysis),
    )


def _refine(section: CrossSection, analysis: Analysis) -> RefinedSection:
    return refine_section(
        section,
        highest_frequency=analysis.frequencies[-1],
        tolerance=analysis.tolerance,
        settings=_FINE_AIR,
    )


def _solve_further(segment: Segment, analysis: Analysis) -> SegmentResult:
    refined = _refine(segment.section, analysis)
    reported = solve_at_frequency(refined.system, analysis.report_frequency)
    return _segment_result(segment.name, segment.length, refined, reported, analysis)


def _segment_result(
    name: str, length: float, refined: RefinedSection, reported: FieldSolution, analysis: Analysis
) -> SegmentResult:
    """Values per length of one section at every frequency and in both limits."""
    highest = analysis.frequencies[-1]
    lowest = min(analysis.frequencies[0], highest * _NARROWEST_BAND)
    model = reduce_section(refined.static, refined.perfect, lowest=lowest, highest=highest)
    impedance = np.array([model.impedance(frequency) for frequency in analysis.frequencies])
    omega = 2 * math.pi * np.array(analysis.frequencies)
    error = estimate_error(reported)
    return SegmentResult(
        name=name,
        length=length,
        model=model,
        resistance=impedance.real,
        inductance=impedance.imag / omega[:, None, None],
        dc_resistance=refined.static.resistance_per_length,
        dc_bracket=refined.dc_bracket,
        perfect_bracket=refined.perfect_bracket,
        inductance_error=error.inductance,
        resistance_error=error.resistance,
    )


def _shares(field: FieldSolution) -> tuple[CurrentShare, ...]:
    return tuple(
        CurrentShare(region=region.name, role=region.role.value, share=current_share(field, region.name))
        for region in field.system.meshed.section.regions
    )


def _plane_inductances(field: FieldSolution) -> tuple[PlaneInductance, ...]:
    """Of the lowest conductors wider than the go copper: what lies beyond them is what drives cables."""
    section = field.system.meshed.section
    widest = max((_width(section, region.name) for region in section.regions if region.role is Role.GO), default=0.0)
    wide = [
        region
        for region in section.regions
        if region.role in (Role.RETURN, Role.FLOATING) and _width(section, region.name) > widest
    ]
    lowest = min((region.outline.bounds[1] for region in wide), default=0.0)
    return tuple(
        PlaneInductance(region=region.name, value=plane_net_inductance(field, region.name))
        for region in wide
        if region.outline.bounds[1] == lowest
    )


def _width(section: CrossSection, name: str) -> float:
    left, _, right, _ = section.region(name).outline.bounds
    return right - left


def _field_lines(
    field: FieldSolution, variant: Variant, analysis: Analysis, span: tuple[float, float]
) -> tuple[FieldLine, ...]:
    """Field along the lines above and below the board."""
    top, bottom = variant.surfaces
    farthest = max(analysis.heights_above[-1], analysis.heights_below[-1], span[1] - span[0])
    if farthest > _FAR_FRACTION * field.system.meshed.far_radius:
        raise SolutionError(
            f"a field line lies {farthest:.3g} m from a section whose field is computed to "
            f"{field.system.meshed.far_radius:.3g} m; that far it would be off by more than 1 %: choose heights below "
            f"{_FAR_FRACTION * field.system.meshed.far_radius:.2g} m"
        )
    x = np.linspace(*span, _LINE_POINTS)
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


_Reading = tuple[float, float, float]
"""Inductance per length, and peak field on the nearest lines above and below."""


def _layer_worth(
    variant: Variant, analysis: Analysis, span: tuple[float, float], complete: _Reading
) -> tuple[LayerWorth, ...]:
    """Solve the section with one more ground layer each time, from the top; the last step is the variant itself."""
    if not variant.steps:
        return ()
    readings = [_read_step(step, variant, analysis, span) for step in variant.steps[:-1]]
    return tuple(
        LayerWorth(
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
    meshed = mesh_section(step.section, highest_frequency=frequency, settings=_FINE_AIR)
    field = solve_at_frequency(assemble_section(meshed), frequency)
    return _reading(field, _field_lines(field, variant, analysis, span))


def _reading(field: FieldSolution, lines: tuple[FieldLine, ...]) -> _Reading:
    return (
        float(field.inductance_per_length[0, 0]),
        nearest_line(lines, "above").peak,
        nearest_line(lines, "below").peak,
    )


def nearest_line(lines: Iterable[FieldLine], side: str) -> FieldLine:
    """The field line closest to the board on one side of it."""
    return min((line for line in lines if line.side == side), key=lambda line: line.distance)


def decibels(value: float, reference: float) -> float:
    """Ratio of two field quantities in decibels, 20 lg(value / reference).

    Values below 1e-5 A/m per A, which the solution does not resolve, count as that.
    """
    return 20 * math.log10(max(value, _FIELD_FLOOR) / max(reference, _FIELD_FLOOR))
