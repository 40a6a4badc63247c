"""Figures of the loop itself: inductance and resistance of the loop of record, its section, its field."""

from __future__ import annotations

import math
from collections.abc import Callable

from geometries.section.section import View
from geometries.study.scenario import Scenario
from solver.section.field_scan import FIELD_FLOOR, nearest_scan
from solver.variant.analysis import Analysis
from solver.variant.figure import (
    FIELD_PER_AMPERE,
    MILLIMETRE,
    MILLIOHM,
    NANOHENRY,
    NANOHENRY_PER_MM,
    NUMBER,
    OHM_PER_METRE,
    SQUARE_MILLIMETRE,
    Change,
    Figure,
    Reading,
    Sense,
)
from solver.variant.needs import Need, Needs
from solver.variant.results import VariantResult

UNKNOWN = Reading(value=math.nan)
"""Of what a variant does not have."""

_LOOP: Needs = frozenset({Need.BROADBAND, Need.WHOLE_LOOP})
_NOTHING_MORE: Needs = frozenset()


def _sectioned(scenario: Scenario) -> bool:
    """Whether a variant has a section; what only a section shows is not known of layouts."""
    return any(variant.section is not None for variant in scenario.variants)


def _view(view: View) -> Callable[[Scenario], bool]:
    return lambda scenario: _sectioned(scenario) and scenario.variants[0].view is view


def _middle(limits: tuple[float, float]) -> Reading:
    """The middle of two bounds, and half of the distance between them."""
    return Reading(value=sum(limits) / 2, uncertainty=(limits[1] - limits[0]) / 2)


def _inductance(result: VariantResult) -> Reading:
    loop = result.loop
    return Reading(value=loop.inductance, uncertainty=loop.inductance_uncertainty)


def _resistance(result: VariantResult) -> Reading:
    loop = result.loop
    return Reading(value=loop.resistance, uncertainty=loop.resistance_uncertainty)


def _quality(result: VariantResult) -> Reading:
    """Reactance over resistance of the loop of record at the report frequency."""
    loop = result.loop
    value = 2 * math.pi * float(result.frequencies[result.report_index]) * loop.inductance / loop.resistance
    parts = loop.inductance_uncertainty / loop.inductance, loop.resistance_uncertainty / loop.resistance
    return Reading(value=value, uncertainty=value * math.hypot(*parts))


def _main_section(result: VariantResult, quantity: str) -> Reading:
    """Inductance or resistance per length of the main section at the report frequency."""
    if not result.segments:
        return UNKNOWN
    main = result.segments[0]
    value = float(getattr(main, quantity)[result.report_index, 0, 0])
    return Reading(value=value, uncertainty=getattr(main, f"{quantity}_error") * value)


def _peak(side: str) -> Figure[VariantResult]:
    return Figure(
        key=f"peak_field_{side}",
        symbol=f"H {side}",
        title=f"peak |H| {side}",
        shown=FIELD_PER_AMPERE,
        read=lambda result: _peak_field(result, side),
        needs=_NOTHING_MORE,
        change=Change.DECIBELS,
        floor=FIELD_FLOOR,
        headline=True,
        known=_sectioned,
    )


def _peak_field(result: VariantResult, side: str) -> Reading:
    if not result.lines:
        return UNKNOWN
    scan = nearest_scan(result.lines, side)
    return Reading(value=scan.peak, uncertainty=scan.peak_error)


def _line_moment(result: VariantResult) -> Reading:
    if not result.segments:
        return UNKNOWN
    error = result.variant.section_share * result.segments[0].moment_error
    return Reading(value=result.moment, uncertainty=error)


def _loop_moment(result: VariantResult) -> Reading:
    """Line moment times length of all segments; of a turn its own, of a layout that of its copper [m²].

    What the plan view's ends and bodies change of the first is in its uncertainty.
    """
    whole = math.hypot(result.moment_parts.lying, result.moment_parts.standing)
    if result.layout_loop is not None:
        return Reading(value=whole, uncertainty=result.layout_loop.moment_error)
    value = math.fsum(math.hypot(*each.moment_parts) * each.length for each in result.segments)
    mesh = math.fsum(each.moment_error * each.length for each in result.segments)
    return Reading(value=value, uncertainty=math.hypot(mesh, 0.0 if result.planned_loop is None else whole - value))


PEAKS = {side: _peak(side) for side in ("above", "below")}
"""Largest field on the nearest scan line, by its side."""

LOOP: Analysis[VariantResult] = Analysis(
    key="loop",
    asked=lambda scenario: True,
    find=lambda scenario, result: result,
    figures=(
        Figure(
            key="loop_inductance",
            symbol="L",
            title="loop inductance",
            shown=NANOHENRY,
            read=_inductance,
            needs=_LOOP,
            headline=True,
        ),
        Figure(
            key="loop_resistance",
            symbol="R",
            title="loop resistance",
            shown=MILLIOHM,
            read=_resistance,
            needs=_LOOP,
            headline=True,
        ),
        *PEAKS.values(),
        Figure(
            key="line_moment",
            symbol="m′",
            title="line moment",
            shown=MILLIMETRE,
            read=_line_moment,
            needs=_NOTHING_MORE,
            change=Change.DECIBELS,
            floor=1e-9,
            headline=True,
            known=_view(View.SECTION),
        ),
        Figure(
            key="loop_moment",
            symbol="m",
            title="loop moment",
            shown=SQUARE_MILLIMETRE,
            read=_loop_moment,
            needs=_LOOP,
            change=Change.DECIBELS,
            floor=1e-13,
            headline=True,
        ),
        Figure(
            key="loop_quality",
            symbol="ωL/R",
            title="quality factor of the loop",
            shown=NUMBER,
            read=_quality,
            needs=_LOOP,
            sense=Sense.NEITHER,
        ),
        Figure(
            key="section_dc_inductance",
            symbol="L DC",
            title="inductance at DC, section alone",
            shown=NANOHENRY,
            read=lambda result: _middle(result.dc_limits),
            needs=_NOTHING_MORE,
            known=_sectioned,
        ),
        Figure(
            key="section_dc_resistance",
            symbol="R DC",
            title="resistance at DC, section alone",
            shown=MILLIOHM,
            read=lambda result: Reading(value=result.section_dc_resistance),
            needs=_NOTHING_MORE,
            known=_sectioned,
        ),
        Figure(
            key="section_perfect_inductance",
            symbol="L∞",
            title="inductance of perfect conductors, section alone",
            shown=NANOHENRY,
            read=lambda result: _middle(result.perfect_limits),
            needs=_NOTHING_MORE,
            known=_sectioned,
        ),
        Figure(
            key="inductance_per_length",
            symbol="L′",
            title="inductance per length of the main section",
            shown=NANOHENRY_PER_MM,
            read=lambda result: _main_section(result, "inductance"),
            known=_view(View.SECTION),
        ),
        Figure(
            key="resistance_per_length",
            symbol="R′",
            title="resistance per length of the main section",
            shown=OHM_PER_METRE,
            read=lambda result: _main_section(result, "resistance"),
            known=_view(View.SECTION),
        ),
        Figure(
            key="section_inductance",
            symbol="L sect.",
            title="section × length",
            shown=NANOHENRY,
            read=lambda result: Reading(value=result.section_inductance, uncertainty=result.section_inductance_error),
            sense=Sense.NEITHER,
            known=lambda scenario: any(variant.placed is not None for variant in scenario.variants),
        ),
    ),
)
"""Always asked for."""
