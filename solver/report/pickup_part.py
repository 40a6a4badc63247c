"""What victims pick up: rows of the tables, findings on the rules of the trade, drawings, and a table file."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometries.operation.switching import Switching
from solver import figures
from solver.notation import numbers
from solver.pickup.results import BudgetDistance, NodeReading, PickupResult, VictimReading
from solver.report.file_names import file_names
from solver.report.part import Part, Sketch, sent_apart, sketch
from solver.report.tables import Record
from solver.section.results import CapacitanceMatrix
from solver.study.results import StudyResult
from solver.variant.pickup_figures import PICKUP
from solver.variant.pickup_uncertainty import PeakInfluence, combined_peak, peak_influences
from solver.variant.results import VariantResult

MILLIVOLT = 1e-3
PICOHENRY_PER_MM = 1e-9
FEMTOFARAD_PER_MM = 1e-12
PICO = 1e-12

_RULED_DISTANCE = 3e-3
_TELLING = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class PickupRow:
    """One victim of one variant, as the cells of the tables; `values` are what they are sorted by [V], [m]."""

    variant: str
    victim: str
    place: str
    run: str
    mutual: str
    capacitance: str
    impedance: str
    permittivity: str
    open_peak: str
    magnetic: str
    further: str
    electric: str
    peak: str
    percent: str
    rms: str
    mean: str
    distance: str
    over_budget: bool
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeRow:
    """The switch node of one variant, as the cells of the table."""

    variant: str
    total: str
    shares: str
    area: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PickupSection:
    """All that the section of the report holds."""

    causes: str
    rows: tuple[PickupRow, ...]
    parts: tuple[tuple[str, str, str, str], ...]
    nodes: tuple[NodeRow, ...]
    findings: tuple[str, ...]
    drawings: dict[str, str]
    further: bool


def pickup_section(study: StudyResult) -> PickupSection | None:
    """The section of the report; None if no variant has a victim."""
    affected = _affected(study)
    if not affected:
        return None
    drive = affected[0][1].pickup.drive
    divider = drive.divider
    others = "".join(
        f", the loop {loop.name} by {loop.current:g} A in {loop.edge * 1e9:g} ns"
        for loop in affected[0][1].pickup.further
    )
    forward = f", {_picofarad(divider.feed_forward)} across the upper one" if divider.feed_forward > 0 else ""
    causes = (
        f"The loop's current steps by {drive.current:g} A in {drive.rise_time * 1e9:g} ns and back in "
        f"{drive.fall_time * 1e9:g} ns, the switch node by {drive.voltage:g} V in {drive.voltage_rise_time * 1e9:g} ns "
        f"and {drive.voltage_fall_time * 1e9:g} ns{others}, at {numbers.frequency(drive.frequency)} and a duty of "
        f"{100 * drive.duty:.3g} %. The divider has {_ohms(divider.upper)} over {_ohms(divider.lower)}{forward}; the "
        f"pin has {_picofarad(divider.pin_capacitance)} and is regulated to {drive.reference_voltage:g} V."
    )
    slugs = file_names(result.variant.name for result in study.results)
    return PickupSection(
        causes=causes,
        rows=tuple(
            _row(study.scenario.switching, result, victim) for result, pickup in affected for victim in pickup.victims
        ),
        parts=tuple(
            row for result, pickup in affected for victim in pickup.victims for row in _part_rows(study, result, victim)
        ),
        nodes=tuple(
            _node_row(result, pickup.node, pickup.capacitance) for result, pickup in affected if pickup.node is not None
        ),
        findings=findings(study),
        drawings={result.variant.name: f"pickup-{slugs[result.variant.name]}" for result, _ in affected},
        further=any(pickup.pickup.further for _, pickup in affected),
    )


def _sketches(study: StudyResult) -> Iterator[Sketch]:
    affected = _affected(study)
    sentence = "Bars of the peak at the feedback pin, magnetic and electric part."
    yield sketch("pickup", sentence, figures.pickup_figure, study)
    if any(pickup.curves for _, pickup in affected):
        sentence = "Mutual inductance of loop and trace against the distance of the trace."
        yield sketch("pickup-distance", sentence, figures.distance_figure, study)
    slugs = file_names(result.variant.name for result in study.results)
    for result, _ in affected:
        sentence = f"Section of {result.variant.name} with victims and potential; waveform and spectrum at the pin."
        name = f"pickup-{slugs[result.variant.name]}"
        yield sent_apart(sketch(name, sentence, figures.pickup_levels_figure, result))


def _affected(study: StudyResult) -> list[tuple[VariantResult, PickupResult]]:
    return [(result, result.pickup) for result in study.results if result.pickup is not None]


def _influences(switching: Switching | None, result: VariantResult, each: VictimReading) -> tuple[PeakInfluence, ...]:
    """The parts of the uncertainty of a victim's peak."""
    if result.pickup is None:
        raise ValueError(f"variant {result.variant.name!r} has no victims")
    return peak_influences(switching, result, result.pickup, each.victim.name)


def _part_rows(study: StudyResult, result: VariantResult, each: VictimReading) -> Iterator[tuple[str, str, str, str]]:
    """Variant and victim, source, kind, and what it does to the peak."""
    name = f"{result.variant.name}, {each.victim.name}"
    for part in _influences(study.scenario.switching, result, each):
        yield name, part.source, part.kind.value, _millivolts(part.peak)
        name = ""


def _row(switching: Switching | None, result: VariantResult, each: VictimReading) -> PickupRow:
    pickup = result.pickup
    if pickup is None:
        raise ValueError(f"variant {result.variant.name!r} has no victims")
    drive, signal = pickup.pickup.drive, each.signal
    return PickupRow(
        variant=result.variant.name,
        victim=each.victim.name,
        place=_place(each),
        run=each.victim.run.value,
        mutual=_with_error(abs(_mutual(result, each)), each.mutual_error, PICOHENRY_PER_MM),
        capacitance=_with_error(each.node_capacitance, each.node_capacitance_error, FEMTOFARAD_PER_MM),
        impedance=f"{each.line.impedance:.1f}",
        permittivity=f"{each.line.effective_permittivity:.2f}",
        open_peak=_millivolts(each.open_peak),
        magnetic=_millivolts(signal.magnetic_peak),
        further=", ".join(f"{name} {_millivolts(peak)}" for name, peak in signal.further_peaks) or "–",
        electric=_millivolts(signal.electric_peak),
        peak=_with_error(signal.peak, combined_peak(_influences(switching, result, each)), MILLIVOLT),
        percent=numbers.significant(100 * signal.peak / drive.reference_voltage, 2),
        rms=_millivolts(signal.rms),
        mean=_millivolts(signal.mean),
        distance=_distance(each),
        over_budget=signal.peak > drive.budget,
        values=(
            each.open_peak,
            signal.magnetic_peak,
            signal.electric_peak,
            signal.peak,
            signal.rms,
            signal.mean,
            min(each.budget_distances[0].distance, 1.0) if each.budget_distances else 0.0,
        ),
    )


def _mutual(result: VariantResult, each: VictimReading) -> float:
    """Mutual inductance per length at the report frequency [H/m]."""
    return float(each.mutual_inductance[result.report_index])


def _place(each: VictimReading) -> str:
    trace = each.victim.trace
    run = f"run of {numbers.length(each.victim.length)}, return in {each.victim.reference}"
    if trace is None:
        return f"conductor {each.victim.conductor}; {run}"
    return f"{trace.layer}, {numbers.length(trace.width)} wide, {numbers.length(trace.distance)} from the loop; {run}"


def _distance(each: VictimReading) -> str:
    """On its own layer."""
    if not each.budget_distances:
        return "–"
    found = each.budget_distances[0]
    if found.distance == 0:
        return "anywhere"
    if math.isinf(found.distance):
        return f"not within {numbers.length(float(f'{found.farthest:.3g}'))}"
    return numbers.length(float(f"{found.distance:.2g}"))


def where_it_may_go(study: StudyResult) -> tuple[str, ...]:
    """Layer and distance at which every victim keeps the budget, in a sentence; nothing without budget."""
    affected = _affected(study)
    placed = [
        f"{_whose(result, pickup, each)}: {'; '.join(map(_place_words, each.budget_distances))}"
        for result, pickup in affected
        for each in pickup.victims
        if each.budget_distances
    ]
    if not placed:
        return ()
    budget = numbers.significant(affected[0][1].pickup.drive.budget / MILLIVOLT, 3)
    return (f"Where the trace may go to keep {budget} mV at the pin. {'. '.join(placed)}.",)


def _whose(result: VariantResult, pickup: PickupResult, each: VictimReading) -> str:
    alone = len(pickup.victims) == 1
    return f"“{result.variant.name}”" if alone else f"“{result.variant.name}”, {each.victim.name}"


def _place_words(found: BudgetDistance) -> str:
    if found.distance == 0:
        return f"{found.layer} anywhere beside the loop"
    if math.isinf(found.distance):
        return f"{found.layer} nowhere within {numbers.length(float(f'{found.farthest:.3g}'))}"
    return f"{found.layer} from {numbers.length(float(f'{found.distance:.2g}'))} on"


def _node_row(result: VariantResult, node: NodeReading, matrix: CapacitanceMatrix) -> NodeRow:
    largest = sorted(node.shares, key=lambda share: -share[1])
    shown = [f"{name} {numbers.significant(100 * value / node.total, 2)} %" for name, value in largest if value > 0]
    return NodeRow(
        variant=result.variant.name,
        total=numbers.significant(node.total / FEMTOFARAD_PER_MM / 1e3, 3),
        shares=", ".join(shown[:4]),
        area=f"{numbers.length(node.width)} × {numbers.length(node.length)}: {_picofarad(node.area_total)}",
    )


def findings(study: StudyResult) -> tuple[str, ...]:
    """What the victims show about the rules of the trade, one sentence each."""
    affected = _affected(study)
    found = [
        _depth_against_distance(study, affected),
        *_below_the_plane(affected),
        _width(affected),
        _node(affected),
        _run(affected),
    ]
    return tuple(sentence for sentence in found if sentence)


def _depth_against_distance(study: StudyResult, affected: list[tuple[VariantResult, PickupResult]]) -> str:
    """Rule: keep the feedback trace some millimetres away."""
    there = []
    for result, pickup in affected:
        trace = pickup.victims[0].victim.trace
        for curve in pickup.curves:
            reaches = len(curve.distance) > 1 and curve.distance[0] <= _RULED_DISTANCE <= curve.distance[-1]
            if trace is not None and curve.layer == trace.layer and reaches:
                value = float(np.interp(_RULED_DISTANCE, curve.distance, curve.mutual))
                there.append((value, f"{result.variant.name}, {curve.layer}"))
    if len(there) < 2 or max(there)[0] < _TELLING * min(there)[0]:
        return ""
    (least, best), (most, worst) = min(there), max(there)
    return (
        f"Rule of the trade “keep the feedback trace {numbers.length(_RULED_DISTANCE)} away”: at that distance a trace "
        f"picks up {_picohenries(most)} ({worst}) or {_picohenries(least)} ({best}); a distance says nothing without "
        "the depth of the ground and the layer of the trace."
    )


def _below_the_plane(affected: list[tuple[VariantResult, PickupResult]]) -> Iterator[str]:
    """Rule: route the feedback trace below the ground plane."""
    for result, pickup in affected:
        section = pickup.pickup.section
        loop = min(region.outline.bounds[1] for region in section.regions if region.group == section.loops[0].go_group)
        for each in pickup.victims:
            plane = min(r.outline.bounds[1] for r in section.regions if r.group == each.victim.reference)
            top = max(r.outline.bounds[3] for r in section.regions if r.group == each.victim.conductor)
            if top <= plane < loop:
                low, high = (abs(float(each.mutual_inductance[index])) for index in (0, result.report_index))
                yield (
                    f"Rule “route it below the ground”: {each.victim.name} of {result.variant.name} picks up "
                    f"{_picohenries(high)} at {numbers.frequency(float(result.frequencies[result.report_index]))}, and "
                    f"{_picohenries(low)} at {numbers.frequency(float(result.frequencies[0]))}, "
                    f"where the ground is more "
                    "transparent: it holds for edges and ringing, less for the ripple."
                )


def _width(affected: list[tuple[VariantResult, PickupResult]]) -> str:
    """Rule: a thin trace picks up less."""
    for result, pickup in affected:
        for each in pickup.victims:
            wider = each.wider
            if wider is not None:
                electric = (
                    f", and {numbers.significant(wider.capacitance_ratio, 3)} times as much electrically"
                    if wider.capacitance_ratio > 0
                    else ""
                )
                return (
                    f"Rule “a thin trace picks up less”: {wider.factor:g} times as wide about the same middle, "
                    f"{each.victim.name} of {result.variant.name} picks up "
                    f"{numbers.significant(wider.mutual_ratio, 3)} times as much magnetically{electric}."
                )
    return ""


def _node(affected: list[tuple[VariantResult, PickupResult]]) -> str:
    """Rule: cut the plane out under the switch node, for its capacitance."""
    areas = [(pickup.node.area_total, result.variant.name) for result, pickup in affected if pickup.node is not None]
    if not areas:
        return ""
    least, most = min(areas), max(areas)
    change = "" if most[0] < _TELLING * least[0] else f", {_picofarad(least[0])} in {least[1]}"
    return (
        f"Rule “ground under the switch node adds capacitance”: its copper has {_picofarad(most[0])} to all other "
        f"copper in {most[1]}{change}; the output capacitance of the switches is 100 to 1000 pF (common practice)."
    )


def _run(affected: list[tuple[VariantResult, PickupResult]]) -> str:
    """What of the emf reaches the pin."""
    ratios = [
        (each.signal.magnetic_peak / each.open_peak, each.victim.run.value)
        for _, pickup in affected
        for each in pickup.victims
        if each.open_peak > 0
    ]
    if not ratios:
        return ""
    runs = dict.fromkeys(run for _, run in ratios)
    parts = []
    for run in runs:
        own = [100 * ratio for ratio, other in ratios if other == run]
        span = f"{min(own):.0f}" if max(own) - min(own) < 1 else f"{min(own):.0f} to {max(own):.0f}"
        parts.append(f"{span} % on a run {'on the ' if run == 'sense side' else 'from '}{run}")
    forward = affected[0][1].pickup.drive.divider.feed_forward
    why = "the feed-forward capacitor passes edges" if forward > 0 else "without a feed-forward capacitor"
    return f"Of the emf's peak the pin sees {' and '.join(parts)} ({why})."


def _millivolts(value: float) -> str:
    return "below 0.001" if abs(value) < 1e-6 else numbers.significant(value / MILLIVOLT, 3)


def _picohenries(value: float) -> str:
    return f"{numbers.significant(value / PICOHENRY_PER_MM, 2)} pH/mm"


def _picofarad(value: float) -> str:
    return f"{numbers.significant(value / PICO, 3)} pF"


def _ohms(value: float) -> str:
    return f"{value / 1e3:g} kΩ" if value >= 1e3 else f"{value:g} Ω"


def _with_error(value: float, error: float, unit: float) -> str:
    """A dash for what is not there."""
    return "–" if value == 0 else numbers.with_uncertainty(value, error, unit)


def pickup_records(study: StudyResult) -> Iterator[Record]:
    """One row per victim and frequency of the study, with the values at the pin repeated."""
    yield (
        *("variant", "victim", "run", "frequency [Hz]", "mutual inductance [pH/mm]", "mutual resistance [Ohm/m]"),
        *("capacitance to switch node [fF/mm]", "emf peak [mV]", "magnetic peak at pin [mV]"),
        *(
            "electric peak at pin [mV]",
            "peak of further loops at pin [mV]",
            "peak at pin [mV]",
            "peak at pin [% of reference]",
            "mean at pin [mV]",
        ),
    )
    for result, pickup in _affected(study):
        for each in pickup.victims:
            signal = each.signal
            further = sum(peak for _, peak in signal.further_peaks)
            peaks = each.open_peak, signal.magnetic_peak, signal.electric_peak, further, signal.peak
            for index, frequency in enumerate(result.frequencies):
                yield (
                    *(result.variant.name, each.victim.name, each.victim.run.value, float(frequency)),
                    float(each.mutual_inductance[index]) / PICOHENRY_PER_MM,
                    float(each.mutual_resistance[index]),
                    each.node_capacitance / FEMTOFARAD_PER_MM,
                    *(peak / MILLIVOLT for peak in peaks),
                    100 * each.signal.peak / pickup.pickup.drive.reference_voltage,
                    each.signal.mean / MILLIVOLT,
                )


PICKUP_PART = Part(
    key="pickup",
    title="Pick-up",
    shown=pickup_section,
    heading=lambda study: "What the feedback trace picks up",
    sentences=where_it_may_go,
    analysis=PICKUP,
    template="pickup.html.j2",
    files=lambda study: {"pickup.csv": pickup_records(study)},
    sketches=lambda study: tuple(_sketches(study)),
    details=lambda study: {result.variant.name: pickup for result, pickup in _affected(study)},
)
