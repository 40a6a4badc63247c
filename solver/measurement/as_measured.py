"""The loop as it was measured, at the switching edge: what its peak follows to, and what the limit asks of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from geometries.operation.capacitance import TypicalCapacitance
from geometries.operation.ringing import LEAST_QUALITY, Ringing
from geometries.operation.spans import Span
from geometries.operation.switching import Switching
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import SeriesLoop
from solver.measurement.ring_reading import Interval, RingReading
from solver.switching.circuit import edge_span, span_of_edges
from solver.switching.comparison import largest_inductance_of, total_inductance
from solver.switching.edge_peak import edge_peak
from solver.switching.influences import CURVE, with_curve
from solver.switching.results import Influence
from solver.switching.snubber_search import LARGEST_QUALITY, SnubberDesign, helpful_snubber, quality_left
from solver.variant.edge_circuit import damped, drive, switched_loop, variant_loop
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True)
class AsMeasured:
    """A loop of measured inductance, capacitance and damping.

    Parameters
    ----------
    inductance, capacitance, quality : float
        [H], [F] at the input voltage, [1].
    peak : float
        That follows for the scenario's edge, without snubber [V].
    influences : tuple of Influence
        What its uncertainty is made of.
    largest_inductance : float, optional
        That keeps the limit with this capacitance and damping [H]; none without limit.
    enough : tuple of str
        Variants of the study that are predicted to take away as much inductance as the limit asks.
    snubber : SnubberDesign, optional
        The smallest usual one that damps it and lowers the worst peak; none where it hardly rings.
    """

    inductance: float
    capacitance: float
    quality: float
    peak: float
    influences: tuple[Influence, ...]
    largest_inductance: float | None
    enough: tuple[str, ...]
    snubber: SnubberDesign | None

    @property
    def peak_error(self) -> float:
        """Uncertainty of the peak to both sides [V]."""
        return math.hypot(*(each.peak for each in self.influences))

    @property
    def too_much(self) -> float:
        """Inductance above the largest one that keeps the limit [H]; zero where it is kept or there is none."""
        return 0.0 if self.largest_inductance is None else max(0.0, self.inductance - self.largest_inductance)


def as_measured(
    switching: Switching, reading: RingReading, result: VariantResult, others: Sequence[VariantResult]
) -> AsMeasured:
    """Put what a ring says in place of what was described.

    Parameters
    ----------
    switching : Switching
        Edge, curve and limit; its curve is scaled to the measured capacitance.
    reading : RingReading
        Of the bench.
    result : VariantResult
        The variant that was measured.
    others : sequence of VariantResult
        Among which a change is looked for that takes away enough inductance.
    """
    quality = _quality(switching, reading, result)
    measured = _measured(switching, reading.capacitance.value, quality.value)
    circuit, edge = _circuit(measured, reading.inductance.value), drive(measured)
    most = largest_inductance_of(measured)
    needed = 0.0 if most is None else reading.inductance.value - most
    rings = quality_left(circuit, edge) > LARGEST_QUALITY
    return AsMeasured(
        inductance=reading.inductance.value,
        capacitance=reading.capacitance.value,
        quality=quality.value,
        peak=edge_peak(circuit, edge).voltage,
        influences=tuple(_influences(measured, reading, quality)),
        largest_inductance=most,
        enough=tuple(_enough(switching, result, others, needed)) if needed > 0 else (),
        snubber=helpful_snubber(circuit, span_of_edges(measured), measured.frequency) if rings else None,
    )


def _quality(switching: Switching, reading: RingReading, result: VariantResult) -> Span:
    """As it was read, or as it is predicted for the variant."""
    if reading.quality is not None:
        return reading.quality
    found = quality_left(switched_loop(switching, variant_loop(switching, result)), drive(switching))
    value = max(found, math.nextafter(LEAST_QUALITY, 1.0))
    ringing = switching.damping
    if ringing is None:
        return Span(value=value, least=value, most=value, source="predicted")
    return Span(value=value, least=min(value, ringing.least), most=max(value, ringing.most), source="predicted")


def _measured(switching: Switching, capacitance: float, quality: float) -> Switching:
    """The table with measured capacitance and damping in it."""
    scaled = switching.with_capacitance(capacitance / switching.capacitance_at_input)
    ringing = Ringing(quality=quality, least=quality, most=quality, source="measured")
    return replace(scaled, ringing=ringing, switch_resistance=None, capacitor_resistance=0.0, damping_resistance=0.0)


def _circuit(switching: Switching, inductance: float) -> NonlinearLoop:
    loop = SeriesLoop(resistance=0.0, inductance=inductance, capacitance=switching.capacitance_at_input)
    return switched_loop(switching, damped(switching, loop))


def _influences(switching: Switching, reading: RingReading, quality: Span) -> Iterator[Influence]:
    """Peak and ring at both ends of what was measured, and of the edge."""
    edge, nominal, inductance = drive(switching), reading.capacitance.value, reading.inductance

    def figures(table: Switching, of_inductance: float, duration: float) -> tuple[float, float]:
        circuit = _circuit(table, of_inductance)
        frequency = 1 / (2 * math.pi * math.sqrt(of_inductance * table.capacitance_at_input))
        return edge_peak(circuit, replace(edge, duration=duration)).voltage, frequency

    base = figures(switching, inductance.value, edge.duration)
    cases = (
        ("measured inductance", [figures(switching, each, edge.duration) for each in _ends(inductance)]),
        (
            "measured capacitance",
            [
                figures(switching.with_capacitance(each / nominal), inductance.value, edge.duration)
                for each in _ends(reading.capacitance)
            ],
        ),
        (
            "damping",
            [
                figures(_measured(switching, nominal, each), inductance.value, edge.duration)
                for each in (quality.least, quality.most)
            ],
        ),
        ("edge time", [figures(switching, inductance.value, each) for each in edge_span(switching)]),
    )
    for source, found in (
        *cases,
        *_curve_cases(switching, lambda table: figures(table, inductance.value, edge.duration)),
    ):
        peak, frequency = (max(abs(each[i] - base[i]) for each in found) for i in range(2))
        yield Influence(source=source, peak=peak, frequency=frequency)


def _curve_cases(
    switching: Switching, figures: Callable[[Switching], tuple[float, float]]
) -> Iterator[tuple[str, list[tuple[float, float]]]]:
    """Ends of typical curves, where one value alone is stated."""
    curve = switching.capacitance
    if isinstance(curve, TypicalCapacitance):
        yield CURVE, [figures(with_curve(switching, each)) for each in (curve.least, curve.most)]


def _ends(interval: Interval) -> tuple[float, float]:
    return interval.least, interval.most


def _enough(
    switching: Switching, result: VariantResult, others: Sequence[VariantResult], needed: float
) -> Iterator[str]:
    """Variants whose predicted loop has so much less inductance than the predicted one of what was measured."""
    edge = drive(switching)
    own = total_inductance(variant_loop(switching, result), edge)
    for other in others:
        if own - total_inductance(variant_loop(switching, other), edge) >= needed:
            yield other.variant.name
