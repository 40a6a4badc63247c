"""Solve one variant: its sections at every frequency and in both limits, its surroundings, its ground layers."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from geometries.layout.laid_out import LaidOutLoop
from geometries.layout.placements import ELECTRODE_HEIGHT, dimensions
from geometries.section.analysis import Analysis
from geometries.section.coupled_loops import SwitchedLoops
from geometries.section.section import MAIN_SEGMENT, Role, View
from geometries.study.scenario import BuildStep, Variant, scan_span
from solver.errors import SolverError, memory_failures_reported
from solver.loop.layout_loop import layout_loop
from solver.loop.moments import layout_over, own_moments
from solver.loop.section_loop import SectionLoop, SectionValues, section_loop
from solver.loop.terms import WholeLoop
from solver.loop.whole_loop import whole_loop
from solver.notation.decibels import decibels
from solver.pickup.pin import NO_RINGS
from solver.pickup.results import PickupResult
from solver.pickup.solve import evaluate_pickup, solve_pickup
from solver.section.axisymmetric import solve_axisymmetric
from solver.section.axisymmetric_results import AxisymmetricResult
from solver.section.boundary_layers import MeshSettings
from solver.section.extraction import (
    current_share,
    moment_magnitude,
    plane_net_inductance,
    plane_peak_inductance,
    sample_field_map,
)
from solver.section.field_scan import FIELD_FLOOR, far_distance, field_scans, nearest_scan
from solver.section.fields import FieldSolution, solve_at_frequency
from solver.section.linear_solver import one_thread
from solver.section.refinement import COPPER_ONLY, RefinedSection, assemble_on
from solver.section.results import CurrentShare, FieldScan, LayerBenefit, MeshStatistics, PlaneInductance, SegmentResult
from solver.section.solve import ReportedSection, moment_parts, refine, segment_result, solve_reported
from solver.variant.couplings import LoopCouplings
from solver.variant.edge_circuit import edge_rings
from solver.variant.moments import MomentParts, parts_of_loop, parts_on_layout
from solver.variant.needs import EVERYTHING, Need, Needs
from solver.variant.results import VariantResult
from solver.variant.skin_curves import Floats, middle_of, skin_curves
from solver.variant.warnings import variant_warnings

_MAP_MARGIN = 4e-3
_MAP_FRACTION = 0.3

_CLOSE_MOMENT, _CLOSE_GROUND = 0.05, 0.3
"""What lines between frequencies may miss of a moment and of a ground's inductance [dB]: a cable is known to ±10 dB."""


def solve_variant(
    variant: Variant, analysis: Analysis, needs: Needs = EVERYTHING, span: tuple[float, float] | None = None
) -> VariantResult:
    """Solve one variant, as far as it is asked for: the one chain of comparison, sweep and tolerance.

    Parameters
    ----------
    variant : Variant
        What to solve.
    analysis : Analysis
        Frequencies and scan lines.
    needs : frozenset of Need
        What is wanted beside the section's field at the report frequency and its limits; what a variant does not have
        is left out without a word.
    span : tuple of float, optional
        From where to where the scan lines run at least [m]; they always pass the variant's own conductors.

    Returns
    -------
    VariantResult

    Raises
    ------
    SolverError
        If the section cannot be meshed or the solution is not to be trusted; the message names the variant.

    Examples
    --------
    >>> from geometries import Analysis, Plane, SameLayerLoop, Variant, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> plane = Plane(layer="L2", tie="capacitor end", width=0.04)
    >>> section = cross_section("board", named_stackup("4L-7628"), loop, [plane])
    >>> analysis = Analysis(frequencies=(1e8,), report_frequency=1e8, heights_above=(3e-3,), heights_below=(3e-3,))
    >>> result = solve_variant(Variant(name="board", note="", section=section, length=8e-3), analysis)
    >>> f"{result.loop.inductance * 1e9:.2f} nH, {result.loop.basis.value}"
    '1.10 nH, section × length, ends not included'
    """
    own = scan_span([variant])
    reach = own if span is None else (min(span[0], own[0]), max(span[1], own[1]))
    with _named_failures(variant), one_thread():
        return _solve_variant(variant, analysis, needs, reach)


def solve_axisymmetric_view(variant: Variant, analysis: Analysis, span: tuple[float, float]) -> AxisymmetricResult:
    """The axisymmetric view of a variant alone.

    Parameters
    ----------
    variant : Variant
        One with an axisymmetric counterpart.
    analysis : Analysis
        Frequencies and scan lines.
    span : tuple of float
        From where to where the scan lines of the study run [m].

    Raises
    ------
    ValueError
        If the variant has no axisymmetric counterpart.
    SolverError
        As for :func:`solve_variant`.
    """
    if variant.axisymmetric_loop is None:
        raise ValueError(f"variant {variant.name!r} has no axisymmetric counterpart")
    with _named_failures(variant), one_thread():
        return solve_axisymmetric(variant.axisymmetric_loop, analysis, variant.surfaces, max(map(abs, span)))


@contextmanager
def _named_failures(variant: Variant) -> Iterator[None]:
    try:
        with memory_failures_reported():
            yield
    except SolverError as failure:
        raise type(failure)(f"variant {variant.name!r}: {failure}") from failure


def _solve_variant(variant: Variant, analysis: Analysis, needs: Needs, span: tuple[float, float]) -> VariantResult:
    if variant.laid_out is not None:
        return _solve_layout(variant, variant.laid_out, analysis, needs)
    start = time.perf_counter()
    refined = refine(variant.own_section, analysis, far_distance=_far_distance(variant, analysis, span))
    rings = _rings_asked(variant, needs)
    asked = needs | {Need.WHOLE_LOOP} if rings else needs
    ends = variant.plan is not None and Need.WHOLE_LOOP in asked
    radiated = variant.radiated if Need.MOMENT in needs else None
    broadband = rings or ends or radiated is not None or Need.BROADBAND in needs
    lowest = None if radiated is None else radiated[0]
    solved = [
        solve_reported(each, analysis, broadband=broadband, lowest=lowest)
        for each in (refined, *(refine(segment.section, analysis) for segment in variant.segments))
    ]
    reported, share = solved[0].field, variant.section_share
    lines = field_scans(reported, variant.surfaces, analysis, span, lower=solved[0].lower, length=variant.whole_length)
    result = VariantResult(
        variant=variant,
        frequencies=np.array(analysis.frequencies),
        segments=_segments(variant, solved, analysis),
        refinement=refined.steps,
        report_index=analysis.frequencies.index(analysis.report_frequency),
        shares=_shares(reported),
        lines=tuple(line.of_share(share) for line in lines),
        moment=share * moment_magnitude(reported),
        planes=_plane_inductances(reported),
        benefit=_layer_benefit(variant, analysis, span, refined.settings, _reading(reported, lines))
        if Need.BENEFIT in needs
        else (),
        field_map=sample_field_map(reported, _map_window(variant)).of_share(share) if Need.FIELD_MAP in needs else None,
        statistics=MeshStatistics(
            triangles=int(refined.system.meshed.mesh.nelements),
            unknowns=int(refined.system.basis.N),
            seconds=time.perf_counter() - start,
        ),
        warnings=variant_warnings(variant, analysis),
        axisymmetric_view=_axisymmetric_view(variant, analysis, span, refined) if Need.AXISYMMETRIC in needs else None,
        whole_loop=_whole_loop(variant, analysis, asked),
        couplings=_couplings(variant.switched, analysis) if Need.COUPLINGS in needs else None,
    )
    result = replace(result, section_loop=_section_loop(result, analysis, asked))
    if radiated is not None:
        result = _over_emission(result, solved, radiated, analysis)
    return replace(result, pickup=_pickup(result, analysis, needs))


def _segments(variant: Variant, solved: Sequence[ReportedSection], analysis: Analysis) -> tuple[SegmentResult, ...]:
    """Of the variant's own stretch and of its further ones."""
    stretches = [(MAIN_SEGMENT, variant.length), *((each.name, each.length) for each in variant.segments)]
    return tuple(
        segment_result(name, length, each, analysis) for (name, length), each in zip(stretches, solved, strict=True)
    )


def _solve_layout(variant: Variant, laid_out: LaidOutLoop, analysis: Analysis, needs: Needs) -> VariantResult:
    """A loop that its layout describes: all that is known of it comes from its plan."""
    loop = layout_loop(laid_out, analysis.frequencies, analysis.report_frequency)
    result = VariantResult(
        variant=variant,
        frequencies=np.array(analysis.frequencies),
        report_index=analysis.frequencies.index(analysis.report_frequency),
        statistics=MeshStatistics(
            triangles=sum(len(sheet.triangles) for sheet in loop.driven.sheets),
            unknowns=loop.driven.unknowns,
            seconds=loop.seconds,
        ),
        warnings=variant_warnings(variant, analysis),
        layout_loop=loop,
    )
    radiated = variant.radiated if Need.MOMENT in needs else None
    return result if radiated is None else _over_emission(result, [], radiated, analysis)


def _far_distance(variant: Variant, analysis: Analysis, span: tuple[float, float]) -> float:
    return far_distance(analysis, span, variant.view)


def _rings_asked(variant: Variant, needs: Needs) -> bool:
    """Whether victims are solved that the ring of an edge drives."""
    return variant.pickup is not None and variant.switching is not None and Need.PICKUP in needs


def _pickup(result: VariantResult, analysis: Analysis, needs: Needs) -> PickupResult | None:
    victims = result.variant.pickup
    if victims is None or Need.PICKUP not in needs:
        return None
    rings = NO_RINGS if result.variant.switching is None else edge_rings(result.variant.switching, result)
    return (solve_pickup if Need.SPACING in needs else evaluate_pickup)(victims, analysis, rings)


def _couplings(switched: SwitchedLoops | None, analysis: Analysis) -> LoopCouplings | None:
    if switched is None:
        return None
    field = solve_at_frequency(refine(switched.section, analysis).system, analysis.report_frequency)
    return LoopCouplings(switched=switched, inductance_per_length=field.inductance_per_length)


def _whole_loop(variant: Variant, analysis: Analysis, needs: Needs) -> WholeLoop | None:
    if variant.placed is None or Need.WHOLE_LOOP not in needs:
        return None
    lengths = dimensions(variant.placed)  # the capacitor's uncertainty rests on that of its electrodes' height
    vary = lengths if Need.SENSITIVITY in needs else tuple(each for each in lengths if each.name == ELECTRODE_HEIGHT)
    return whole_loop(variant.name, variant.placed, analysis.report_frequency, vary=vary)


def _section_loop(result: VariantResult, analysis: Analysis, needs: Needs) -> SectionLoop | None:
    plan = result.variant.plan
    if plan is None or Need.WHOLE_LOOP not in needs:
        return None
    frequency = analysis.report_frequency
    planned = solve_at_frequency(assemble_on(plan.section, frequency, COPPER_ONLY), frequency)
    values = SectionValues(
        own=result.section_inductance,
        error=result.section_inductance_error,
        planned=plan.length * float(planned.inductance_per_length[0, 0]),
        more_resistance=result.section_resistance - plan.length * float(planned.resistance_per_length[0, 0]),
    )
    return section_loop(plan, frequency, values)


def _over_emission(
    result: VariantResult, stretches: Sequence[ReportedSection], radiated: tuple[float, float], analysis: Analysis
) -> VariantResult:
    """With its moment and what of it drives cables from the first frequency of an emission to the highest of a mesh."""
    highest = min(radiated[1], analysis.frequencies[-1])
    lowest = min(radiated[0], highest / 2)
    report = analysis.report_frequency
    between = report if lowest < report < highest else middle_of(lowest, highest)

    def solve(frequencies: Sequence[float]) -> list[tuple[Floats, Floats]]:
        if result.layout_loop is not None:
            return [
                (_areas(parts_on_layout(result.layout_loop, moment)), np.array([drop]))
                for moment, drop in layout_over(result.layout_loop, frequencies)
            ]
        return list(_sections_over(result, stretches, frequencies))

    moments, ground = skin_curves(solve, [lowest, between, highest], (_CLOSE_MOMENT, _CLOSE_GROUND))
    return replace(result, moments=moments, ground_inductances=None if result.ground is None else ground)


def _sections_over(
    result: VariantResult, stretches: Sequence[ReportedSection], frequencies: Sequence[float]
) -> Iterator[tuple[Floats, Floats]]:
    """What lies and stands of the moment [m²] and the ground's inductance [H] of a variant with a section."""
    planned, section, ground = result.whole_loop or result.section_loop, result.variant.section, result.ground
    carried = section is not None and section.ground_carries_return
    own = [None] * len(frequencies) if planned is None else own_moments(planned, frequencies)
    for moment, frequency in zip(own, frequencies, strict=True):
        parts = parts_of_loop(moment, _line_moments(result, stretches, frequency), carried)
        drop = 0.0 if ground is None else plane_peak_inductance(stretches[0].at(frequency), ground[0]) * result.length
        yield _areas(result.over_real_layers(parts)), np.array([drop])


def _areas(parts: MomentParts) -> Floats:
    return np.array([parts.lying, parts.standing])


def _line_moments(
    result: VariantResult, stretches: Sequence[ReportedSection], frequency: float
) -> list[tuple[float, MomentParts]]:
    """Length and line moment of every stretch at a frequency."""
    found = [moment_parts(each.at(frequency)) for each in stretches]
    return [
        (segment.length, MomentParts(lying=lying, standing=standing, left=left))
        for segment, (lying, standing, left) in zip(result.segments, found, strict=True)
    ]


def _axisymmetric_view(
    variant: Variant, analysis: Analysis, span: tuple[float, float], refined: RefinedSection
) -> AxisymmetricResult | None:
    """Of a variant that is axisymmetric itself, on the mesh that it has already."""
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
    left, _, right, _ = variant.own_section.extent
    top, bottom = variant.surfaces
    margin = max(_MAP_MARGIN, _MAP_FRACTION * (right - left))
    return left - margin, bottom - margin, right + margin, top + margin


_Reading = tuple[float, float, float]
"""Inductance per length, and peak field on the nearest lines above and below."""


def _layer_benefit(
    variant: Variant, analysis: Analysis, span: tuple[float, float], settings: MeshSettings, complete: _Reading
) -> tuple[LayerBenefit, ...]:
    """Solve the section with one more ground layer each time, from the top; the last step is the variant itself.

    All are meshed as the variant is, so that what their meshes miss is alike.
    """
    if not variant.steps:
        return ()
    readings = [_read_step(step, variant, analysis, span, settings) for step in variant.steps[:-1]]
    return tuple(
        LayerBenefit(
            layer=step.layer,
            inductance_before=before[0],
            inductance_after=after[0],
            above_db=decibels(after[1], before[1], FIELD_FLOOR),
            below_db=decibels(after[2], before[2], FIELD_FLOOR),
        )
        for step, before, after in zip(variant.steps[1:], readings, [*readings[1:], complete], strict=True)
    )


def _read_step(
    step: BuildStep, variant: Variant, analysis: Analysis, span: tuple[float, float], settings: MeshSettings
) -> _Reading:
    field = solve_at_frequency(assemble_on(step.section, analysis.frequencies[-1], settings), analysis.report_frequency)
    return _reading(field, field_scans(field, variant.surfaces, analysis, span))


def _reading(field: FieldSolution, lines: tuple[FieldScan, ...]) -> _Reading:
    return (
        float(field.inductance[0, 0]),
        nearest_scan(lines, "above").peak,
        nearest_scan(lines, "below").peak,
    )
