"""The switching edge: what the variants do at it, what limits and snubbers bring, and the input data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from geometries.operation.capacitance import ConstantCapacitance, TypicalCapacitance
from geometries.operation.gate_edge import GateResistor
from geometries.operation.recovery import RecoveredCharge, RecoveryCurrent
from geometries.operation.switching import EDGE_SPREAD, Switching
from geometries.quantities import MHZ, NANO, Quantity
from solver import figures
from solver.notation import numbers
from solver.report.part import Part, Sketch, outcome_of, sketch
from solver.report.tables import Table, columns, named, words_table
from solver.study.results import StudyResult
from solver.switching.figures import SWITCHING
from solver.switching.results import SwitchingComparison, SwitchingReading
from solver.switching.snubber import SnubberReading

Row = tuple[str, str]

COMMON_SOURCE_STEP = 0.1 * NANO
"""By which the sensitivity to the common-source inductance is told [H]."""

HEADINGS = (
    ("total L", "nH"),
    ("ring", "MHz"),
    ("Q", ""),
    ("peak", "V"),
    ("overshoot", "%"),
    ("settled", "ns"),
    ("L margin", "nH"),
    ("edge ≥", "ns"),
)
"""Of :func:`reading_cells`, with their units; the last two only with a voltage limit."""


def headings(comparison: SwitchingComparison) -> tuple[tuple[str, str], ...]:
    """The headings that a comparison has values for."""
    return HEADINGS if comparison.switching.voltage_limit is not None else HEADINGS[:-2]


def reading_cells(comparison: SwitchingComparison, reading: SwitchingReading) -> tuple[str, ...]:
    """One variant's numbers, one for each heading."""
    wave = reading.built
    ring = wave.ring
    cells = (
        numbers.significant(reading.total_inductance / NANO, 3),
        "none" if ring is None else numbers.with_uncertainty(ring.frequency, reading.frequency_error, MHZ),
        "–" if ring is None else numbers.with_uncertainty(ring.quality, reading.quality_error),
        numbers.with_uncertainty(wave.peak.voltage, reading.peak_error),
        numbers.fixed(100 * wave.overshoot, 0),
        numbers.significant(wave.settling / NANO, 2),
    )
    if reading.inductance_margin is None or reading.edge_needed is None:
        return cells
    spare, edge = reading.inductance_margin, reading.edge_needed
    return (
        *cells,
        "any" if math.isinf(spare.value) else numbers.with_uncertainty(spare.value, spare.uncertainty, NANO),
        "any" if edge.value == 0 else numbers.with_uncertainty(edge.value, edge.uncertainty, NANO),
    )


def input_rows(switching: Switching) -> list[Row]:
    """What was assumed of the switch, with a mark where a typical value stands for one that was not stated."""
    assumed = {key: ", typical (common practice)" for key in switching.assumed}
    tolerance = switching.tolerance
    rows = [
        ("input voltage", numbers.with_unit(switching.input_voltage, Quantity.VOLTAGE)),
        ("edge, 0 to 100 %, straight", _edge_words(switching)),
        (
            "output capacitance at the input voltage",
            numbers.with_unit(switching.capacitance_at_input, Quantity.CAPACITANCE)
            + _band(tolerance.output_capacitance),
        ),
        ("its curve", _curve_words(switching)),
        *_common_source_rows(switching),
        ("damping of the ring", _damping_words(switching)),
        ("recovered by the diode", _recovery_words(switching)),
        (
            "inductance beside the copper: packages, capacitor",
            f"{numbers.significant(switching.package_inductance / NANO, 3)} nH"
            + _band(tolerance.package_inductance)
            + assumed.get("package_inductance", ""),
        ),
    ]
    if switching.limit is not None:
        derated = f", derated to {100 * switching.derating:.3g} %" if switching.derating < 1 else ""
        rows.append(("voltage limit", f"{switching.limit}{derated}"))
    return rows


def _edge_words(switching: Switching) -> str:
    """Time of the edge, and how far it may be off."""
    estimate, tolerance = switching.edge_estimate, switching.tolerance.edge_time
    edge = numbers.with_unit(switching.full_edge, Quantity.TIME)
    if tolerance > 0:
        return edge + _band(tolerance)
    if estimate is None:
        return f"{edge} ± {100 * EDGE_SPREAD:.3g} %, typical spread (common practice)"
    ends = (numbers.with_unit(each, Quantity.TIME) for each in (estimate.shortest, estimate.longest))
    return f"{edge} ({' to '.join(ends)}), estimated from {estimate.source}"


def _common_source_rows(switching: Switching) -> list[Row]:
    """What gate loop and power loop share, and what more of it does to the edge."""
    gate = switching.gate
    if not isinstance(gate, GateResistor):
        return []
    shared, more = gate.common_source, gate.common_source.value + COMMON_SOURCE_STEP
    slower = replace(switching, gate=replace(gate, common_source_inductance=more)).full_edge - switching.full_edge
    ends = " to ".join(f"{end / NANO:.3g}" for end in (shared.least, shared.most))
    return [
        (
            "common-source inductance",
            f"{shared.value / NANO:.3g} nH ({ends} nH), {shared.source}; {COMMON_SOURCE_STEP / NANO:g} nH more makes "
            f"the edge {slower / NANO:.2g} ns slower",
        )
    ]


def _curve_words(switching: Switching) -> str:
    """How the capacitance changes with the voltage, in numbers."""
    curve, volts = switching.capacitance, switching.input_voltage
    charge = f"{numbers.with_unit(curve.charge(volts), Quantity.CHARGE)} up to the input voltage"
    if isinstance(curve, ConstantCapacitance):
        return f"constant, as stated; {charge}"
    if isinstance(curve, TypicalCapacitance):
        least, most = curve.ratios
        return (
            f"not stated: typical ones have {least:g} to {most:g} times as much at 0 V (common practice); the middle "
            f"one takes {charge}"
        )
    return f"{numbers.with_unit(curve.at(0.0), Quantity.CAPACITANCE)} at 0 V; {charge}"


def _damping_words(switching: Switching) -> str:
    """Quality factor with its span, or the stated resistances."""
    ringing, tolerance = switching.damping, switching.tolerance
    if ringing is None:
        stated = numbers.with_unit(switching.series_resistance, Quantity.RESISTANCE)
        return f"{stated} of switch, capacitor and added damping{_band(tolerance.resistance)}"
    added = numbers.with_unit(switching.damping_resistance, Quantity.RESISTANCE)
    beside = f"; {added} added" if switching.damping_resistance > 0 else ""
    return f"Q {ringing.quality:.3g} ({ringing.least:.3g} to {ringing.most:.3g}), {ringing.source}{beside}"


def _recovery_words(switching: Switching) -> str:
    recovery = switching.recovery
    if isinstance(recovery, RecoveredCharge):
        return f"{numbers.with_unit(recovery.charge, Quantity.CHARGE)}, abruptly"
    if isinstance(recovery, RecoveryCurrent):
        return f"{recovery.current:.3g} A, abruptly"
    return (
        "nothing, as stated" if recovery.stated else "not stated: nothing is assumed; state it where a diode conducts"
    )


def _band(fraction: float) -> str:
    return f" ± {100 * fraction:.3g} %" if fraction > 0 else ""


SNUBBER_COLUMNS = (
    named("which"),
    *columns(
        ("R", ""),
        ("C", ""),
        ("next preferred values", ""),
        ("peak", ""),
        ("worst peak over the edge's span", ""),
        ("peak for a step", ""),
        ("Q left", ""),
        ("loss C V² f", ""),
    ),
)
"""Of :func:`snubber_cells`."""


def snubber_cells(snubber: SnubberReading) -> tuple[str, ...]:
    """Purpose, elements, what is left of peak and ring, loss."""
    return (
        snubber.purpose,
        numbers.with_unit(snubber.resistance, Quantity.RESISTANCE),
        numbers.with_unit(snubber.capacitance, Quantity.CAPACITANCE),
        f"{numbers.with_unit(snubber.standard[0], Quantity.RESISTANCE)}, "
        + numbers.with_unit(snubber.standard[1], Quantity.CAPACITANCE),
        f"{numbers.with_uncertainty(snubber.peak, snubber.peak_error)} V",
        f"{numbers.significant(snubber.worst_peak, 3)} V",
        f"{numbers.significant(snubber.step_peak, 3)} V",
        "no ring" if snubber.quality is None else numbers.significant(snubber.quality, 2),
        "–" if snubber.loss is None else numbers.milliwatt(snubber.loss),
    )


def largest_inductance_words(comparison: SwitchingComparison) -> str:
    """The largest inductance that keeps the limit, in a sentence; empty without limit."""
    most, limit = comparison.largest_inductance, comparison.switching.limit
    if most is None or limit is None:
        return ""
    if math.isinf(most.value):
        return f"No inductance exceeds {limit} with the stated damping."
    return (
        f"With the stated damping alone and no snubber, {limit} is kept up to "
        f"{numbers.with_uncertainty(most.value, most.uncertainty, NANO)} nH in the whole loop, package included."
    )


def _table(title: str, comparison: SwitchingComparison) -> Table:
    rows = [(each.name, *reading_cells(comparison, each)) for each in comparison.readings]
    return words_table(title, (named(), *columns(*headings(comparison))), rows, comparison.reference)


def switching_table(comparison: SwitchingComparison) -> Table:
    """All variants at the edge: the whole inductance that rings, peak, settling, and margins to the limit."""
    switching = comparison.switching
    edge = numbers.with_unit(switching.full_edge, Quantity.TIME)
    height = numbers.with_unit(switching.input_voltage, Quantity.VOLTAGE)
    return _table(f"Switching edge: {height} in {edge} (0 to 100 %)", comparison)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _View:
    """What the template shows."""

    comparison: SwitchingComparison
    largest: str
    inputs: list[Row]

    def cells(self, snubber: SnubberReading) -> tuple[str, ...]:
        """A snubber in words."""
        return snubber_cells(snubber)


def _view(study: StudyResult) -> _View | None:
    comparison = study.outcome(SwitchingComparison)
    if comparison is None:
        return None
    words = largest_inductance_words(comparison)
    return _View(comparison=comparison, largest=words, inputs=input_rows(comparison.switching))


def _comparison(study: StudyResult) -> SwitchingComparison:
    return outcome_of(study, SwitchingComparison)


def _sketches(study: StudyResult) -> Sequence[Sketch]:
    sentence = "Voltage at the switch of all variants after the edge, with the limit, and their peaks."
    return (sketch("waveforms", sentence, figures.waveform_figure, _comparison(study)),)


SWITCHING_PART = Part(
    key="switching",
    title="Switching edge",
    shown=_view,
    heading=lambda study: "At the switching edge",
    sentences=lambda study: (_comparison(study).sentence,),
    analysis=SWITCHING,
    template="switching.html.j2",
    tables=lambda study: (switching_table(_comparison(study)),),
    sketches=_sketches,
    details=_comparison,
)
