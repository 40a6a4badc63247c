"""The loop as it was measured: a variant whose inductance, capacitance and damping drive every consequence."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from geometries.operation.ringing import LEAST_QUALITY, Ringing
from geometries.operation.spans import Span
from geometries.operation.switching import Switching
from geometries.study.scenario import Scenario
from solver.emission.figures import EMISSION
from solver.measurement.ring_reading import Interval, RingReading
from solver.switching.comparison import compare_switching, total_inductance
from solver.switching.figures import SWITCHING
from solver.switching.results import Influence, SwitchingReading
from solver.switching.snubber_search import quality_left
from solver.variant.analysis import Analysis
from solver.variant.edge_circuit import drive, switched_loop, variant_loop, with_pickup
from solver.variant.figure import Figure, Reading
from solver.variant.pickup_figures import PICKUP
from solver.variant.results import VariantResult

_MOST_RELATIVE = 0.9
"""Relative uncertainty that a capacitance is given at most."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Consequence:
    """A figure of merit of the variant as it was predicted, and as its loop was measured."""

    key: str
    title: str
    unit: str
    scale: float
    predicted: Reading
    measured: Reading


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AsMeasured:
    """A loop of measured inductance, capacitance and damping, and all that follows.

    Parameters
    ----------
    inductance, capacitance, quality : float
        [H], [F] at the input voltage, [1].
    edge : SwitchingReading
        At the scenario's edge, without snubber, with snubbers for it.
    largest_inductance : Reading, optional
        That keeps the limit with this capacitance and damping [H]; none without limit.
    enough : tuple of str
        Variants of the study that are predicted to take away as much inductance as the limit asks.
    consequences : tuple of Consequence
        Peak and ring, pick-up, emission: predicted and as measured.
    """

    inductance: float
    capacitance: float
    quality: float
    edge: SwitchingReading
    largest_inductance: Reading | None
    enough: tuple[str, ...]
    consequences: tuple[Consequence, ...]

    @property
    def peak(self) -> float:
        """That follows for the scenario's edge, without snubber [V]."""
        return self.edge.plain.peak.voltage

    @property
    def peak_error(self) -> float:
        """Uncertainty of the peak to both sides [V]."""
        return self.edge.peak_error

    @property
    def influences(self) -> tuple[Influence, ...]:
        """What that is made of."""
        return self.edge.influences

    @property
    def too_much(self) -> float:
        """Inductance above the largest one that keeps the limit [H]; zero where it is kept or there is none."""
        return 0.0 if self.largest_inductance is None else max(0.0, self.inductance - self.largest_inductance.value)


def as_measured(
    switching: Switching,
    reading: RingReading,
    result: VariantResult,
    others: Sequence[VariantResult],
    scenario: Scenario | None = None,
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
    scenario : Scenario, optional
        Whose further analyses are asked for: pick-up and emission.
    """
    quality = _quality(switching, reading, result)
    table, variant = _measured(switching, reading, quality), _variant(result, reading)
    compared = compare_switching(table, [variant], variant.variant.name)
    most = compared.largest_inductance
    needed = 0.0 if most is None else reading.inductance.value - most.value
    return AsMeasured(
        inductance=reading.inductance.value,
        capacitance=reading.capacitance.value,
        quality=quality.value,
        edge=compared.readings[0],
        largest_inductance=most,
        enough=tuple(_enough(switching, result, others, needed)) if needed > 0 else (),
        consequences=() if scenario is None else tuple(_consequences(scenario, table, result, variant)),
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


def _measured(switching: Switching, reading: RingReading, quality: Span) -> Switching:
    """The table with measured capacitance and damping in it; a snubber that is on the board is in what was measured."""
    scaled = switching.with_capacitance(reading.capacitance.value / switching.capacitance_at_input)
    return replace(
        scaled,
        ringing=Ringing(quality=quality.value, least=quality.least, most=quality.most, source="measured"),
        switch_resistance=None,
        capacitor_resistance=0.0,
        damping_resistance=0.0,
        snubber=None,
        tolerance=replace(switching.tolerance, output_capacitance=_relative(reading.capacitance)),
    )


def _variant(result: VariantResult, reading: RingReading) -> VariantResult:
    """The variant with the measured loop for its loop of record."""
    inductance = reading.inductance
    return replace(result, measured=result.loop.as_measured(inductance.value, inductance.half_width))


def _relative(interval: Interval) -> float:
    """Half-width over the value, less than one [1]."""
    return min(interval.half_width / interval.value, _MOST_RELATIVE)


def _consequences(
    scenario: Scenario, measured: Switching, result: VariantResult, variant: VariantResult
) -> Iterator[Consequence]:
    """Headline figures of edge, pick-up and emission, as predicted and as measured."""
    emission = scenario.emission
    tables = (measured,) if emission is None else (measured, replace(emission, switching=measured))
    asked, heard = scenario.asking(*tables), with_pickup(measured, variant)
    analyses: tuple[Analysis[Any], ...] = (SWITCHING, EMISSION, PICKUP)
    for analysis in analyses:
        if analysis.asked(scenario) and (analysis is not PICKUP or result.pickup is not None):
            predicted, found = analysis.find(scenario, result), analysis.find(asked, heard)
            yield from (
                _consequence(figure, figure.read(predicted), figure.read(found))
                for figure in analysis.figures
                if figure.headline and figure.known(scenario)
            )


def _consequence(figure: Figure[Any], predicted: Reading, measured: Reading) -> Consequence:
    return Consequence(
        key=figure.key,
        title=figure.title,
        unit=figure.unit,
        scale=figure.scale,
        predicted=predicted,
        measured=measured,
    )


def _enough(
    switching: Switching, result: VariantResult, others: Sequence[VariantResult], needed: float
) -> Iterator[str]:
    """Variants whose predicted loop has so much less inductance than the predicted one of what was measured."""
    edge = drive(switching)
    own = total_inductance(variant_loop(switching, result), edge)
    for other in others:
        if own - total_inductance(variant_loop(switching, other), edge) >= needed:
            yield other.variant.name
