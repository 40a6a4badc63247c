"""The switching edge of all variants of a study: waveforms from their solved circuits, set against the reference."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

from threadpoolctl import threadpool_limits

from geometries.operation.recovery import NoRecovery
from geometries.operation.ringing import SwitchKind
from geometries.operation.switching import Switching
from geometries.quantities import NANO
from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import DampedBranch, SeriesLoop, copper_alone
from solver.errors import NumberedWarning
from solver.notation import numbers
from solver.runs.processes import run_in_order
from solver.runs.workforce import Workforce
from solver.switching.circuit import as_built, beside_copper, equivalent_circuit, span_of_edges
from solver.switching.edge_peak import limit_excess
from solver.switching.influences import edge_needed, inductance_margin, influences, largest_inductance_of
from solver.switching.reading import Ring, ring_of
from solver.switching.results import SwitchingComparison, SwitchingReading, combined
from solver.switching.snubber import snubber_reading
from solver.switching.snubber_search import (
    LARGEST_QUALITY,
    USUAL_RATIOS,
    SnubberDesign,
    assess_snubber,
    design_snubber,
    quality_left,
    worst_peak,
)
from solver.switching.waveforms import waveform
from solver.variant.analysis import SolvedStudy
from solver.variant.edge_circuit import described_loop, drive, switched_loop, variant_loop
from solver.variant.edge_sources import COMMON_SOURCE, CURVE, DAMPING, EDGE_TIME
from solver.variant.figure import Reading
from solver.variant.needs import Need, Needs
from solver.variant.results import VariantResult

STATED, USUAL = "stated", "smallest usual one that lowers the worst peak"
SMALLEST = "smallest usual one that keeps the limit"
"""Purposes of a snubber."""

SWITCHING_NEEDS: Needs = frozenset({Need.BROADBAND, Need.WHOLE_LOOP})
"""What the loop of an edge is read from."""

_QUESTIONED = SwitchKind.GALLIUM_NITRIDE.qualities[2]
"""Quality factors above this are questioned: no channel in transition damps so little."""


def compare_switching(
    switching: Switching, results: Sequence[VariantResult], reference: str, *, workers: Workforce | int = 1
) -> SwitchingComparison:
    """Compute every variant's switching edge and compare it with the reference.

    Parameters
    ----------
    switching : Switching
        Edge, switch and limit.
    results : sequence of VariantResult
        Solved variants, the reference among them.
    reference : str
        Name of the variant that differences are against.
    workers : Workforce or int
        An open executor, or processes, in which variants are read side by side.

    Returns
    -------
    SwitchingComparison

    Raises
    ------
    SolutionError
        If the state equations of a loop cannot be decomposed.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import compare_switching, solve_variant
    >>> from solver.variant.needs import Need
    >>> scenario = read_builtin_scenario("garden-lamp")
    >>> result = solve_variant(scenario.variants[0], scenario.analysis, frozenset({Need.WHOLE_LOOP}))
    >>> comparison = compare_switching(scenario.switching, [result], "lamp")
    >>> f"{comparison.reading('lamp').built.peak.voltage:.1f} V"
    '50.8 V'
    """
    with threadpool_limits(1):  # many decompositions of small matrices, slowed down by threads
        most = largest_inductance_of(switching)
    readings = tuple(run_in_order(partial(_read, switching), results, workers=workers))
    return SwitchingComparison(
        switching=switching,
        reference=reference,
        readings=readings,
        largest_inductance=most,
        sentence=_sentence(switching, readings, most, reference),
    )


def switching_warnings(study: SolvedStudy) -> tuple[NumberedWarning, ...]:
    """Warnings that follow from the waveforms: rings beyond what the loops were solved for, rings hardly damped."""
    comparison = study.outcome(SwitchingComparison)
    if comparison is None:
        return ()
    beyond = [
        f"“{reading.name}” rings at {reading.plain.ring.frequency / 1e6:.0f} MHz"
        for reading, result in zip(comparison.readings, study.results, strict=True)
        if reading.plain.ring is not None and reading.plain.ring.frequency > result.loop.circuit.band[1]
    ]
    found = [_beyond_band(beyond)] if beyond else []
    return (*found, *_questioned_damping(comparison))


def _beyond_band(beyond: Sequence[str]) -> NumberedWarning:
    return NumberedWarning(
        code="W-RING-BAND",
        text=f"{', '.join(beyond)}, above the highest frequency that was solved: skin effect is left as it is there, "
        "so that damping is a little too low; raise the last of the frequencies",
    )


def _questioned_damping(comparison: SwitchingComparison) -> Iterator[NumberedWarning]:
    """Resistances that would let the ring go on longer than any board's does."""
    rings = [each.plain.ring for each in comparison.readings if each.plain.ring is not None]
    highest = max((ring.quality for ring in rings), default=0.0)
    if comparison.switching.switch_resistance is not None and highest > _QUESTIONED:
        yield NumberedWarning(
            code="W-DAMPING",
            text=f"the stated resistances give the ring a quality factor of {highest:.0f}; boards show 4 to "
            f"{_QUESTIONED:.0f} (common practice). A switch in transition damps far more than its R_DS(on): count the "
            'cycles on a similar board and write ringing = { cycles_to_half = ... }, or { switch = "silicon" }',
        )


def _read(switching: Switching, result: VariantResult) -> SwitchingReading:
    with threadpool_limits(1):
        return _reading(switching, result)


def _reading(switching: Switching, result: VariantResult) -> SwitchingReading:
    edge, limit = drive(switching), switching.limit
    loop = variant_loop(switching, result)
    built = as_built(switching, loop)
    circuit, as_it_is = switched_loop(switching, loop), switched_loop(switching, built)
    plain = waveform(circuit, edge)
    frequency = _ringing(loop, plain.ring)
    series = loop.series_impedance(frequency)
    total = series.imag / (2 * math.pi * frequency)
    copper = copper_alone(described_loop(switching, result), switching)
    alone = ring_of(edge_response(copper, edge))
    return SwitchingReading(
        name=result.variant.name,
        plain=plain,
        damped=None if built.snubber is None else waveform(as_it_is, edge),
        copper_inductance=total - beside_copper(switching, result),
        copper_resistance=copper.series_impedance(frequency).real,
        total_inductance=total,
        quality_of_copper=None if alone is None else alone.quality,
        influences=tuple(influences(switching, result, built.snubber)),
        inductance_margin=inductance_margin(switching, result, total),
        edge_needed=edge_needed(switching, result, built.snubber),
        excess=None if limit is None else limit_excess(as_it_is, edge, limit),
        snubbers=tuple(
            snubber_reading(design, purpose, _peak_error(switching, result, design))
            for purpose, design in _snubbers(switching, circuit, built)
        ),
    )


def _ringing(loop: SeriesLoop, ring: Ring | None) -> float:
    """Frequency of the ring, or of the undamped loop where nothing rings [Hz]."""
    return loop.natural_frequency / (2 * math.pi) if ring is None else ring.frequency


def total_inductance(loop: SeriesLoop, edge: Edge) -> float:
    """Inductance of a loop without snubber at its ring, package included [H]."""
    frequency = _ringing(loop, ring_of(edge_response(loop, edge)))
    return loop.series_impedance(frequency).imag / (2 * math.pi * frequency)


def _peak_error(switching: Switching, result: VariantResult, design: SnubberDesign) -> float:
    """Uncertainty of the peak with a snubber [V]."""
    branch = DampedBranch(resistance=design.resistance, capacitance=design.capacitance)
    return combined(influences(switching, result, branch)).peak


def _snubbers(switching: Switching, circuit: NonlinearLoop, built: SeriesLoop) -> Iterator[tuple[str, SnubberDesign]]:
    """The stated one, or a usual one that helps; and the smallest usual one that keeps the limit, where none does."""
    edges, own = span_of_edges(switching), built.snubber
    without = worst_peak(circuit, edges)
    if own is not None:
        stated = assess_snubber(circuit, own.resistance, own.capacitance, edges, switching.frequency)
        yield STATED, stated
    if quality_left(circuit, edges[0]) <= LARGEST_QUALITY:
        return
    exceeded = _exceeds(switching, circuit, built)
    helps, keeps = _proposed(switching, circuit, without, own is None, exceeded)
    if helps is not None:
        yield USUAL, helps
    if keeps is not None and keeps is not helps:
        yield SMALLEST, keeps


def _proposed(
    switching: Switching, circuit: NonlinearLoop, without: float, help_asked: bool, exceeded: bool
) -> tuple[SnubberDesign | None, SnubberDesign | None]:
    """The smallest usual snubber that lowers the worst peak, and that keeps an exceeded limit, as far as asked for."""
    helps = keeps = None
    for design in _usual_designs(switching, circuit):
        if help_asked and helps is None and design.worst_peak < without:
            helps = design
        if exceeded and keeps is None and switching.limit is not None and design.peak <= switching.limit.level:
            keeps = design
        if (helps is not None or not help_asked) and (keeps is not None or not exceeded):
            break
    return helps, keeps


def _exceeds(switching: Switching, circuit: NonlinearLoop, built: SeriesLoop) -> bool:
    """Whether the loop as built exceeds the limit."""
    if switching.limit is None:
        return False
    return limit_excess(switched_loop(switching, built), drive(switching), switching.limit) > 0


def _usual_designs(switching: Switching, circuit: NonlinearLoop) -> Iterator[SnubberDesign]:
    """Snubbers of the usual sizes: resistors searched with constant capacitance, then solved with the switch's own."""
    edges, height = span_of_edges(switching), switching.input_voltage
    equivalent = equivalent_circuit(circuit, height)
    for ratio in USUAL_RATIOS:
        capacitance = ratio * circuit.capacitance.at(height)
        found = design_snubber(equivalent, capacitance, edges)
        yield assess_snubber(circuit, found.resistance, capacitance, edges, switching.frequency, found.quality_bound)


def _sentence(switching: Switching, readings: Sequence[SwitchingReading], most: Reading | None, reference: str) -> str:
    """The least peak against the reference, and what the limit asks for."""
    best = min(readings, key=lambda each: each.built.peak.voltage)
    first = f"“{best.name}” peaks least, at {_volts(best)}"
    base = next((each for each in readings if each.name == reference), best)
    if base is not best:
        first += f", against {_volts(base)} of “{reference}”"
    rings = best.built.ring
    first += "." if rings is None else f"; it rings at {rings.frequency / 1e6:.0f} MHz."
    return " ".join(filter(None, (first, _limit_sentence(switching, readings, most), _next_number(switching, best))))


def _next_number(switching: Switching, reading: SwitchingReading) -> str:
    """Which number would narrow the peak most, where it can be looked up or counted."""
    largest = max(reading.influences, key=lambda each: each.peak, default=None)
    if largest is None or largest.peak < 0.05:
        return ""
    asked = {
        CURVE: "the switch's output capacitance near 0 V, or points of its curve, from the data sheet",
        DAMPING: "the cycles in which the ring of a similar board falls to half",
        EDGE_TIME: "the edge's time and tolerance, measured or from the gate drive",
        COMMON_SOURCE: "the inductance that gate loop and power loop share",
    }.get(largest.source)
    if asked is None:
        return ""
    missing = " Nothing is said of recovery: none is assumed." if _recovery_assumed(switching) else ""
    return f"What would narrow the peak most: {asked} (now ± {largest.peak:.1f} V).{missing}"


def _recovery_assumed(switching: Switching) -> bool:
    return isinstance(switching.recovery, NoRecovery) and not switching.recovery.stated


def _limit_sentence(switching: Switching, readings: Sequence[SwitchingReading], most: Reading | None) -> str:
    limit = switching.limit
    if limit is None or most is None:
        return ""
    kept = [each for each in readings if each.excess is not None and each.excess <= 0]
    names = ", ".join(f"“{each.name}”" for each in kept)
    who = f"{names} {'keeps' if len(kept) == 1 else 'keep'}" if kept else "No variant keeps"
    if kept and len(kept) == len(readings) > 1:
        who = "All variants keep"
    close = [f"“{each.name}”" for each in readings if abs(each.built.peak.voltage - limit.highest) <= each.peak_error]
    doubt = f" Within its uncertainty of the limit: {', '.join(close)}." if close else ""
    if not math.isfinite(most.value):
        return f"{who} the limit of {limit}.{doubt}"
    return (
        f"{who} the limit of {limit}, which asks for {_nanohenry(most)} in the whole loop at most, package "
        f"included{' and without snubber' if switching.snubber is not None else ''}.{doubt}"
    )


def _nanohenry(inductance: Reading) -> str:
    return f"{numbers.with_uncertainty(inductance.value, inductance.uncertainty, NANO)} nH"


def _volts(reading: SwitchingReading) -> str:
    return f"{numbers.with_uncertainty(reading.built.peak.voltage, reading.peak_error)} V"
