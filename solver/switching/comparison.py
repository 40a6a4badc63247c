"""The switching edge of all variants of a study: waveforms from their solved circuits, set against the reference."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from threadpoolctl import threadpool_limits

from geometries.operation.switching import Switching
from geometries.quantities import NANO
from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.series_loop import SeriesLoop, copper_alone, series_loop
from solver.loop.terms import CAPACITOR, PACKAGE
from solver.notation.warning import NumberedWarning
from solver.switching.limits import largest_inductance, peak_voltage, slowest_edge_needed
from solver.switching.reading import Ring, peak_of, ring_of, settling_time
from solver.switching.results import Influence, SwitchingComparison, SwitchingReading, Waveform
from solver.switching.snubber import USUAL_RATIO, SnubberReading, best_resistance, read_snubber, smallest_capacitance
from solver.variant.analysis import SolvedStudy
from solver.variant.needs import Need, Needs
from solver.variant.results import VariantResult

STATED, USUAL, SMALLEST = "stated", "usual: 3 × the switch's capacitance", "smallest that keeps the limit"
"""Purposes of a snubber."""

SWITCHING_NEEDS: Needs = frozenset({Need.BROADBAND, Need.WHOLE_LOOP})
"""What the loop of an edge is read from."""

_PERIODS_SHOWN = 12
_POINTS = 1200


def compare_switching(switching: Switching, results: Sequence[VariantResult], reference: str) -> SwitchingComparison:
    """Compute every variant's switching edge and compare it with the reference.

    Parameters
    ----------
    switching : Switching
        Edge, switch and limit.
    results : sequence of VariantResult
        Solved variants, the reference among them.
    reference : str
        Name of the variant that differences are against.

    Returns
    -------
    SwitchingComparison

    Raises
    ------
    SolutionError
        If the state equations of a loop cannot be decomposed.
    """
    edge, limit = drive(switching), switching.voltage_limit
    with threadpool_limits(1):  # many decompositions of small matrices, slowed down by threads
        most = (
            None
            if limit is None
            else largest_inductance(switching.series_resistance, switching.output_capacitance, edge, limit)
        )
        readings = tuple(_read(switching, result, most) for result in results)
    return SwitchingComparison(
        switching=switching,
        reference=reference,
        readings=readings,
        largest_inductance=most,
        sentence=_sentence(switching, readings, most, reference),
    )


def switching_warnings(study: SolvedStudy) -> tuple[NumberedWarning, ...]:
    """Warnings that follow from the waveforms: rings beyond what the loops were solved for."""
    comparison = study.outcome(SwitchingComparison)
    if comparison is None:
        return ()
    beyond = [
        f"“{reading.name}” rings at {reading.plain.ring.frequency / 1e6:.0f} MHz"
        for reading, result in zip(comparison.readings, study.results, strict=True)
        if reading.plain.ring is not None and reading.plain.ring.frequency > result.loop.circuit.band[1]
    ]
    if not beyond:
        return ()
    return (
        NumberedWarning(
            code="W-RING-BAND",
            text=f"{', '.join(beyond)}, above the highest frequency that was solved: skin effect is left as it is "
            "there, so that damping is a little too low; raise the last of the frequencies",
        ),
    )


def drive(switching: Switching) -> Edge:
    """The edge of a scenario, counted from 0 to 100 %."""
    return Edge(height=switching.input_voltage, duration=switching.full_edge)


def waveform(loop: SeriesLoop, edge: Edge) -> Waveform:
    """Waveform of a loop after an edge, and the numbers read off it."""
    response = edge_response(loop, edge)
    ring = ring_of(response)
    period = 2 * math.pi / loop.natural_frequency if ring is None else 1 / ring.frequency
    settling = settling_time(response)
    times = np.linspace(0.0, max(edge.duration + _PERIODS_SHOWN * period, 1.1 * settling), _POINTS)
    return Waveform(
        times=times,
        voltage=response.voltage(times),
        current=response.current(times),
        final=edge.height,
        peak=peak_of(response),
        ring=ring,
        settling=settling,
    )


def variant_loop(switching: Switching, result: VariantResult) -> SeriesLoop:
    """The loop of a solved variant, without snubber.

    The circuit of the loop of record, with the stated package where that is not in it already.
    """
    record = result.loop
    package = 0.0 if record.basis.holds_package else switching.package_inductance
    return series_loop(record.circuit, replace(switching, package_inductance=package))


def beside_copper(switching: Switching, result: VariantResult) -> float:
    """Inductance of package and capacitor: of a placement its own terms, else as the scenario states it [H]."""
    if result.whole_loop is None:
        return switching.package_inductance
    return sum(result.whole_loop.term(name).amount for name in (CAPACITOR, PACKAGE))


def as_built(switching: Switching, loop: SeriesLoop) -> SeriesLoop:
    """With the scenario's snubber, if it states one."""
    if switching.snubber is None:
        return loop
    capacitance = switching.snubber.capacitance
    return loop.with_snubber(_resistance(switching, loop, capacitance), capacitance)


def _resistance(switching: Switching, loop: SeriesLoop, capacitance: float) -> float:
    """Resistance of the scenario's snubber, searched if it states none [ohm]."""
    stated = None if switching.snubber is None else switching.snubber.resistance
    return best_resistance(loop, capacitance, drive(switching)) if stated is None else stated


def _read(switching: Switching, result: VariantResult, most: float | None) -> SwitchingReading:
    edge, limit = drive(switching), switching.voltage_limit
    loop = variant_loop(switching, result)
    built = as_built(switching, loop)
    plain = waveform(loop, edge)
    frequency = _ringing(loop, plain.ring)
    series = loop.series_impedance(frequency)
    total = series.imag / (2 * math.pi * frequency)
    alone = ring_of(edge_response(copper_alone(loop, switching), edge))
    return SwitchingReading(
        name=result.variant.name,
        plain=plain,
        damped=None if built.snubber is None else waveform(built, edge),
        copper_inductance=total - beside_copper(switching, result),
        copper_resistance=series.real - switching.series_resistance,
        total_inductance=total,
        quality_of_copper=None if alone is None else alone.quality,
        influences=tuple(influences(switching, result, built)),
        inductance_margin=None if most is None else most - total,
        edge_needed=None if limit is None else slowest_edge_needed(built, edge, limit),
        snubbers=tuple(_snubbers(switching, loop, built)),
    )


def _ringing(loop: SeriesLoop, ring: Ring | None) -> float:
    """Frequency of the ring, or of the undamped loop where nothing rings [Hz]."""
    return loop.natural_frequency / (2 * math.pi) if ring is None else ring.frequency


def total_inductance(loop: SeriesLoop, edge: Edge) -> float:
    """Inductance of a loop without snubber at its ring, package included [H]."""
    frequency = _ringing(loop, ring_of(edge_response(loop, edge)))
    return loop.series_impedance(frequency).imag / (2 * math.pi * frequency)


def _snubbers(switching: Switching, loop: SeriesLoop, built: SeriesLoop) -> Iterator[SnubberReading]:
    """The stated one, or the usual one; and the smallest that keeps the limit, where it is not kept."""
    edge, limit = drive(switching), switching.voltage_limit
    if built.snubber is not None:
        own = built.snubber
        yield read_snubber(loop, own.resistance, own.capacitance, edge, switching.frequency, STATED)
    else:
        usual = USUAL_RATIO * loop.capacitance
        resistance = best_resistance(loop, usual, edge)
        yield read_snubber(loop, resistance, usual, edge, switching.frequency, USUAL)
    if limit is None or peak_voltage(built, edge) <= limit:
        return
    least = smallest_capacitance(loop, edge, limit)
    if least is not None:
        resistance = best_resistance(loop, least, edge)
        yield read_snubber(loop, resistance, least, edge, switching.frequency, SMALLEST)


def influences(switching: Switching, result: VariantResult, built: SeriesLoop) -> Iterator[Influence]:
    """Peak and ring at both ends of every uncertainty, against the nominal ones; the snubber stays as it is."""
    given, record = switching.tolerance, result.loop
    nominal = _peak_and_frequency(built, drive(switching))

    def influence(source: str, ends: Sequence[tuple[Switching, float]]) -> Influence:
        changes = []
        for changed, more in ends:
            loop = replace(variant_loop(changed, result).with_more_inductance(more), snubber=built.snubber)
            found = _peak_and_frequency(loop, drive(changed))
            changes.append([abs(now - before) for now, before in zip(found, nominal, strict=True)])
        peak, frequency = np.max(changes, axis=0)
        return Influence(source=source, peak=float(peak), frequency=float(frequency))

    whole = record.basis.holds_package
    source = "terms of the whole loop" if whole else "mesh error of the loop inductance"
    error = record.inductance_uncertainty
    yield influence(source, [(switching, -error), (switching, error)])
    for name, tolerance, keys in (
        ("edge time", given.edge_time, ("edge_time",)),
        ("output capacitance", given.output_capacitance, ("output_capacitance",)),
        ("stated resistance", given.resistance, ("switch_resistance", "capacitor_resistance", "damping_resistance")),
        ("package inductance", 0.0 if whole else given.package_inductance, ("package_inductance",)),
    ):
        if tolerance > 0:
            ends = [(_scaled(switching, keys, 1 + sign * tolerance), 0.0) for sign in (-1, 1)]
            yield influence(name, ends)


def _scaled(switching: Switching, keys: Sequence[str], factor: float) -> Switching:
    changed = {key: getattr(switching, key) * factor for key in keys}
    return replace(switching, **changed)


def _peak_and_frequency(loop: SeriesLoop, edge: Edge) -> tuple[float, float]:
    response = edge_response(loop, edge)
    ring = ring_of(response)
    return peak_of(response).voltage, 0.0 if ring is None else ring.frequency


def _sentence(switching: Switching, readings: Sequence[SwitchingReading], most: float | None, reference: str) -> str:
    """The least peak against the reference, and what the limit asks for."""
    best = min(readings, key=lambda each: each.built.peak.voltage)
    first = f"“{best.name}” peaks least, at {_volts(best)}"
    base = next((each for each in readings if each.name == reference), best)
    if base is not best:
        first += f", against {_volts(base)} of “{reference}”"
    rings = best.built.ring
    first += "." if rings is None else f"; it rings at {rings.frequency / 1e6:.0f} MHz."
    return " ".join(filter(None, (first, _limit_sentence(switching, readings, most))))


def _limit_sentence(switching: Switching, readings: Sequence[SwitchingReading], most: float | None) -> str:
    limit = switching.voltage_limit
    if limit is None or most is None:
        return ""
    kept = [each for each in readings if each.built.peak.voltage <= limit]
    names = ", ".join(f"“{each.name}”" for each in kept)
    who = f"{names} {'keeps' if len(kept) == 1 else 'keep'}" if kept else "No variant keeps"
    if kept and len(kept) == len(readings) > 1:
        who = "All variants keep"
    close = [f"“{each.name}”" for each in readings if abs(each.built.peak.voltage - limit) <= each.peak_error]
    doubt = f" Within its uncertainty of the limit: {', '.join(close)}." if close else ""
    if not math.isfinite(most):
        return f"{who} the limit of {limit:.3g} V.{doubt}"
    return (
        f"{who} the limit of {limit:.3g} V, which asks for {most / NANO:.2f} nH in the whole loop at most, package "
        f"included{' and without snubber' if switching.snubber is not None else ''}.{doubt}"
    )


def _volts(reading: SwitchingReading) -> str:
    error = f" ± {reading.peak_error:.1f}" if reading.peak_error >= 0.05 else ""
    return f"{reading.built.peak.voltage:.1f}{error} V"
