"""Two short lists for the bench and the drawing board: what to draw, and what to probe, of the variant to be built."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations

import shapely

from geometries.layout.laid_out import bare_copper
from geometries.layout.layout import PlanLayout
from geometries.layout.placement_copper import placement_plan
from geometries.layout.section_plan import Walls
from geometries.quantities import MHZ, Quantity
from geometries.section.section import CrossSection, Role
from solver.emission.product_results import ProductPrediction
from solver.emission.results import EmissionComparison, EmissionPrediction
from solver.notation import numbers
from solver.report.first_page import CAUTIONS
from solver.report.part import Part
from solver.report.pickup_part import where_it_may_go
from solver.report.product_part import leader_words
from solver.report.tables import Column, Table, words_table
from solver.study.results import StudyResult
from solver.study.summary import Summary
from solver.switching.results import SwitchingComparison, SwitchingReading
from solver.variant.results import VariantResult

Row = tuple[str, str]

_BANDWIDTHS = 3.0
"""Bandwidth of a probe over the ring's frequency from which on it shows the peak within some 5 % (common practice)."""

_LOADS = 3.0
"""Added capacitance, over the switch's own, that shifts the ring well for a second reading (common practice)."""

_TIES = {Role.RETURN: "tied to the return at both ends of the loop"}


def variant_to_build(study: StudyResult) -> VariantResult:
    """The recommended variant, or the reference where nothing is recommended."""
    summary = study.outcome(Summary)
    wanted = study.reference if summary is None else summary.choice
    return next((each for each in study.results if each.variant.name == wanted), study.results[0])


def drawing_rows(study: StudyResult) -> tuple[Row, ...]:
    """Dimensions, lands, ties, vias and distances of traces of the variant to be built."""
    return (*_copper_rows(variant_to_build(study)), *(("traces", each) for each in where_it_may_go(study)))


def _copper_rows(result: VariantResult) -> Iterator[Row]:
    variant = result.variant
    if variant.placed is not None:
        placement = variant.placed.placement
        yield "distance of the nearest capacitor from the pins", numbers.length(placement.distance)
        for layout in placement_plan(variant.name, variant.placed).layouts:
            yield from _sheets(layout)
        drill = numbers.length(placement.via.drill)
        yield "vias", f"{placement.via_count} along the ground copper, {drill} drill" if placement.via_count else "none"
    elif variant.laid_out is not None:
        yield from _sheets(variant.laid_out.layout)
    elif variant.plan is not None:
        yield "length of the loop between switch and capacitor", numbers.length(variant.plan.length)
        yield from _sheets(variant.plan.near)
        yield "lands of switch and capacitor along the loop", numbers.length(variant.plan.land)
        yield from (("vias at either end", _row_of_vias(each)) for each in variant.plan.walls)
    else:
        yield "length along the current", numbers.length(variant.length)
    if variant.section is not None:
        yield from _layers(variant.section, _lengths_of_layers(result))


def _sheets(layout: PlanLayout) -> Iterator[Row]:
    for sheet in bare_copper(layout):
        left, bottom, right, top = sheet.outline.bounds
        voids = f", {len(sheet.holes)} voids" if sheet.holes else ""
        yield f"copper “{sheet.name}”", f"{numbers.length(right - left)} × {numbers.length(top - bottom)}{voids}"
    yield from _gaps(layout)


def _gaps(layout: PlanLayout) -> Iterator[Row]:
    """Between every two pieces of copper on one layer."""
    for one, other in combinations(bare_copper(layout), 2):
        if one.height == other.height:
            yield f"gap of “{one.name}” and “{other.name}”", numbers.length(one.shape.distance(other.shape))


def _row_of_vias(walls: Walls) -> str:
    if len(walls.places) < 2:
        return f"as wide as the copper, over {numbers.length(walls.high - walls.low)}"
    pitch = (walls.places[-1] - walls.places[0]) / (len(walls.places) - 1)
    return f"{len(walls.places)}, {numbers.length(2 * walls.radius)} wide, {numbers.length(pitch)} apart"


def _lengths_of_layers(result: VariantResult) -> dict[str, float]:
    """Of ground layers that have one [m]."""
    if result.real_layers is None:
        return {}
    planes = result.real_layers.planes
    bounds = {name: shapely.total_bounds([each.shape for each in planes.pieces(name)]) for name in planes.layers}
    return {name: float(right - left) for name, (left, _, right, _) in bounds.items()}


def _layers(section: CrossSection, lengths: Mapping[str, float]) -> Iterator[Row]:
    go = [each.outline.bounds for each in section.regions if each.role is Role.GO]
    for name in section.ground_layers:
        region = section.region(name)
        left, _, right, top = region.outline.bounds
        depth = min((box[1] - top for box in go if box[1] > top), default=math.nan)
        below = f"{numbers.length(depth)} under the loop, " if math.isfinite(depth) else ""
        tie = _TIES.get(region.role, f"tied {region.tie.value}" if region.tie.has_vias else "tied nowhere: a study")
        long = [f"{numbers.length(each)} long, " for layer, each in lengths.items() if name.split()[0] == layer]
        yield f"ground layer {name}", f"{below}{numbers.length(right - left)} wide, {''.join(long)}{tie}"


def bench_rows(study: StudyResult) -> tuple[Row, ...]:
    """What to probe, with what, and what to expect of the variant to be built."""
    name = variant_to_build(study).variant.name
    switching, emission = study.outcome(SwitchingComparison), study.outcome(EmissionComparison)
    rows: list[Row] = []
    if switching is not None:
        reading = next(each for each in switching.readings if each.name == name)
        rows += _edge_rows(switching, reading)
    if emission is not None:
        rows += _level_rows(next(each for each in emission.predictions if each.name == name))
        if emission.product is not None:
            rows += _source_rows(next(each for each in emission.product.predictions if each.name == name))
    return tuple(rows)


def _edge_rows(switching: SwitchingComparison, reading: SwitchingReading) -> Iterator[Row]:
    wave, limit = reading.built, switching.switching.limit
    allowed = "" if limit is None else f"; allowed {limit}"
    peak = numbers.with_uncertainty(wave.peak.voltage, reading.peak_error)
    yield "probe the switch node at the switch, ground on its own terminal", f"expect a peak of {peak} V{allowed}"
    if wave.ring is None:
        yield "ring", "none expected"
        return
    ring = wave.ring.frequency
    frequency = numbers.with_uncertainty(ring, reading.frequency_error, MHZ)
    quality = numbers.with_uncertainty(wave.ring.quality, reading.quality_error)
    yield "ring", f"expect {frequency} MHz, quality factor {quality}"
    yield "probe and oscilloscope", f"bandwidth of {numbers.frequency(_BANDWIDTHS * ring)} or more (common practice)"
    added = numbers.with_unit(_LOADS * switching.switching.capacitance_at_input, Quantity.CAPACITANCE)
    yield "second reading, for the loop's inductance", f"some {added} added across the switch (common practice)"


def _level_rows(prediction: EmissionPrediction) -> Iterator[Row]:
    closest, cable = prediction.closest, prediction.cable
    yield (
        "antenna: loop alone",
        f"{numbers.fixed(closest.level, 0)} dBµV/m at {numbers.frequency(closest.frequency)}, "
        f"{numbers.fixed(closest.value, 0, signed=True)} dB to {closest.limit}",
    )
    if cable is not None:
        allowed = f"{numbers.significant(cable.allowed_current * 1e6, 2)} µA"
        place = numbers.frequency(cable.allowed_frequency)
        yield "current clamp on the cable", f"at most {allowed} common mode, root mean square, at {place}"


def _source_rows(prediction: ProductPrediction) -> Iterator[Row]:
    line = prediction.sum_line
    level = f"{numbers.whole_decibels(line.highest.level, line.band)} dBµV/m"
    yield "antenna: all sources", f"expect {level} at {numbers.frequency(line.highest.frequency)}"
    yield "which source leads", leader_words(prediction.leaders)


def _listed(
    key: str,
    title: str,
    about: str,
    rows_of: Callable[[StudyResult], tuple[Row, ...]],
    sentences: Sequence[str] = (),
) -> Part:
    def table(study: StudyResult) -> Table:
        return words_table("", (Column(name=about, words=True), Column(name="", words=True)), rows_of(study))

    return Part(
        key=key,
        title=title,
        shown=lambda study: rows_of(study) or None,
        heading=lambda study: f"{title}: “{variant_to_build(study).variant.name}”",
        sentences=lambda study: sentences,
        tables=lambda study: (table(study),),
    )


DRAWING_LIST = _listed("drawing-list", "The layouter's list", "what", drawing_rows)
BENCH_LIST = _listed("bench-list", "The bench's list", "where", bench_rows, CAUTIONS[1:])
