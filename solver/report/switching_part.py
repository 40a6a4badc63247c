"""The switching edge: what the variants do at it, what limits and snubbers bring, and the input data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from geometries.operation.switching import Switching
from geometries.quantities import MHZ, NANO, Quantity
from solver import figures
from solver.notation import numbers
from solver.report.part import Drawing, Part, drawing, outcome_of
from solver.report.tables import Table, columns, named, words_table
from solver.study.results import StudyResult
from solver.switching.figures import SWITCHING
from solver.switching.results import SwitchingComparison, SwitchingReading
from solver.switching.snubber import SnubberReading

Row = tuple[str, str]

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
        "none" if ring is None else numbers.banded(ring.frequency, reading.frequency_error, MHZ),
        "–" if ring is None else numbers.significant(ring.quality, 2),
        numbers.banded(wave.peak.voltage, reading.peak_error, 1.0),
        numbers.fixed(100 * wave.overshoot, 0),
        numbers.significant(wave.settling / NANO, 2),
    )
    if reading.inductance_margin is None or reading.edge_needed is None:
        return cells
    spare = reading.inductance_margin
    return (
        *cells,
        "any" if math.isinf(spare) else numbers.fixed(spare / NANO, 2, signed=True),
        "any" if reading.edge_needed == 0 else numbers.significant(reading.edge_needed / NANO, 2),
    )


def input_rows(switching: Switching) -> list[Row]:
    """What was assumed of the switch, with a mark where a typical value stands for one that was not stated."""
    assumed = {key: ", typical (common practice)" for key in switching.assumed}
    tolerance = switching.tolerance
    edge = numbers.with_unit(switching.full_edge, Quantity.TIME)
    rows = [
        ("input voltage", numbers.with_unit(switching.input_voltage, Quantity.VOLTAGE)),
        ("edge, 0 to 100 %, straight", edge + _band(tolerance.edge_time)),
        (
            "output capacitance, effective at the input voltage",
            numbers.with_unit(switching.output_capacitance, Quantity.CAPACITANCE) + _band(tolerance.output_capacitance),
        ),
        (
            "resistance of switch and capacitor, added damping",
            numbers.with_unit(switching.series_resistance, Quantity.RESISTANCE) + _band(tolerance.resistance),
        ),
        (
            "inductance beside the copper: packages, capacitor",
            f"{numbers.significant(switching.package_inductance / NANO, 3)} nH"
            + _band(tolerance.package_inductance)
            + assumed.get("package_inductance", ""),
        ),
    ]
    if switching.voltage_limit is not None and switching.voltage_rating is not None:
        limit = numbers.with_unit(switching.voltage_limit, Quantity.VOLTAGE)
        rating = numbers.with_unit(switching.voltage_rating, Quantity.VOLTAGE)
        derating = f"{100 * switching.derating:.3g} %{assumed.get('derating', '')}"
        rows.append(("voltage limit", f"{limit}: {derating} of {rating}"))
    return rows


def _band(fraction: float) -> str:
    return f" ± {100 * fraction:.3g} %" if fraction > 0 else ""


def snubber_cells(snubber: SnubberReading) -> tuple[str, ...]:
    """Purpose, elements, what is left of peak and ring, loss."""
    return (
        snubber.purpose,
        numbers.with_unit(snubber.resistance, Quantity.RESISTANCE),
        numbers.with_unit(snubber.capacitance, Quantity.CAPACITANCE),
        f"{numbers.significant(snubber.peak, 3)} V",
        "no ring" if snubber.quality is None else numbers.significant(snubber.quality, 2),
        "–" if snubber.loss is None else numbers.milliwatt(snubber.loss),
    )


def largest_inductance_words(comparison: SwitchingComparison) -> str:
    """The largest inductance that keeps the limit, in a sentence; empty without limit."""
    most, limit = comparison.largest_inductance, comparison.switching.voltage_limit
    if most is None or limit is None:
        return ""
    if math.isinf(most):
        return f"No inductance reaches {limit:.3g} V with the stated resistance."
    return (
        f"With the stated resistance alone, constant elements and no snubber, {limit:.3g} V is kept up to "
        f"{numbers.significant(most / NANO, 3)} nH in the whole loop, package included."
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


def _drawings(study: StudyResult) -> Sequence[Drawing]:
    sentence = "Voltage at the switch of all variants after the edge, with the limit, and their peaks."
    return (drawing("waveforms", sentence, figures.waveform_figure(_comparison(study))),)


SWITCHING_PART = Part(
    key="switching",
    title="Switching edge",
    shown=_view,
    heading=lambda study: "At the switching edge",
    sentences=lambda study: (_comparison(study).sentence,),
    analysis=SWITCHING,
    template="switching.html.j2",
    tables=lambda study: (switching_table(_comparison(study)),),
    drawings=_drawings,
    details=_comparison,
)
