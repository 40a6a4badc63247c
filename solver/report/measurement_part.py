"""What was measured, beside its prediction."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from geometries.quantities import NANO, Quantity
from solver import figures
from solver.measurement.results import DamperProposal, InductancePart, MeasurementResult, PairReading
from solver.notation import numbers
from solver.report.part import Drawing, Part, drawing, outcome_of
from solver.report.tables import Column, Table, named, words_table
from solver.study.results import StudyResult

_PICO = 1e-12
_SHOWN = 0.005 * NANO
Row = tuple[str, str]


def pair_rows(pair: PairReading) -> list[Row]:
    """Capacitance and inductance of a pair of ring frequencies, with the parts of the inductance."""
    rows = [
        (
            "capacitance of the switch node",
            f"{numbers.with_uncertainty(pair.capacitance, pair.capacitance_error, _PICO)} pF",
        )
    ]
    if pair.stated_capacitance is not None:
        rows.append(("the scenario states", numbers.with_unit(pair.stated_capacitance, Quantity.CAPACITANCE)))
    rows.append(
        ("inductance of the whole loop", f"{numbers.with_uncertainty(pair.inductance, pair.inductance_error, NANO)} nH")
    )
    return [*rows, *part_rows(pair.parts), *_peak_rows(pair)]


def _peak_rows(pair: PairReading) -> list[Row]:
    """Measured peak with what the probe leaves out, and the peak that follows of the loop as measured."""
    rows, loop, peak = [], pair.as_measured, pair.ring.peak
    if peak is not None:
        rows.append(("measured peak, at the switch", f"{peak.value:.3g} V ({peak.least:.3g} to {peak.most:.3g} V)"))
    if loop is not None:
        rows.append(("peak of the loop as measured", f"{numbers.with_uncertainty(loop.peak, loop.peak_error)} V"))
    return rows


def influence_rows(pair: PairReading) -> list[tuple[str, str, str]]:
    """What the interval of the inductance is made of: every input at both ends of its span."""
    shown = [each for each in pair.ring.inductance.influences if max(abs(each.at_least), abs(each.at_most)) >= _SHOWN]
    return [(each.source, _change(each.at_least), _change(each.at_most)) for each in shown]


def _change(value: float) -> str:
    return f"{numbers.fixed(value / NANO, 2, signed=True)} nH"


def part_rows(parts: tuple[InductancePart, ...]) -> list[Row]:
    """An inductance by its parts, the one that is not explained last."""
    return [(part.name, f"{numbers.with_uncertainty(part.value, part.error, NANO)} nH") for part in parts]


def proposal_row(proposal: DamperProposal) -> tuple[str, str, str, str]:
    """Capacitance, usual and searched resistance, and loss; a dash for what is not computed."""
    searched, loss = proposal.searched_resistance, proposal.loss
    return (
        numbers.with_unit(proposal.capacitance, Quantity.CAPACITANCE),
        numbers.with_unit(proposal.resistance, Quantity.RESISTANCE),
        "–" if searched is None else numbers.with_unit(searched, Quantity.RESISTANCE),
        "–" if loss is None else numbers.milliwatt(loss),
    )


PROPOSAL_HEADINGS = ("snubber capacitance", "resistance √(L/C)", "least overshoot by search", "loss C V² f")
"""Of :func:`proposal_row`."""


def measurement_tables(measurement: MeasurementResult) -> tuple[Table, ...]:
    """Tables of what was measured."""
    return tuple(_tables(measurement))


def _tables(measurement: MeasurementResult) -> Iterator[Table]:
    pair, impedance = measurement.pair, measurement.impedance
    if pair is not None:
        yield _rows_table("from the ring", pair_rows(pair))
        ends = (named("input"), Column(name="at its least"), Column(name="at its most"))
        yield words_table("what the interval of the inductance is made of", ends, influence_rows(pair))
        headings = [Column(name=heading) for heading in PROPOSAL_HEADINGS]
        yield words_table("snubbers for the loop as measured", headings, map(proposal_row, pair.proposals))
    if impedance is not None:
        at = numbers.frequency(impedance.compared_at)
        yield _rows_table(f"from {impedance.name} at {at}", part_rows(impedance.parts))


def _rows_table(title: str, rows: list[Row]) -> Table:
    return words_table(title, (named(""), Column(name="")), rows)


def _measurement(study: StudyResult) -> MeasurementResult:
    return outcome_of(study, MeasurementResult)


def _drawings(study: StudyResult) -> Sequence[Drawing]:
    measurement, drawings = _measurement(study), []
    if measurement.impedance is not None:
        sentence = "Measured inductance and resistance over frequency, over the predicted ones."
        figure = figures.impedance_figure(measurement.impedance, measurement.variant)
        drawings.append(drawing("measurement-impedance", sentence, figure))
    if measurement.spectrum is not None:
        sentence = "Measured levels over frequency, over the predicted bound of the loop alone."
        figure = figures.spectrum_figure(measurement.spectrum, measurement.variant)
        drawings.append(drawing("measurement-spectrum", sentence, figure))
    return drawings


MEASUREMENT_PART = Part(
    key="measurement",
    title="Measurement",
    shown=lambda study: study.outcome(MeasurementResult),
    heading=lambda study: f"Measurement of {_measurement(study).variant}",
    sentences=lambda study: (
        _measurement(study).sentence,
        "Switch node and input capacitor can hold dangerous voltage: measure only as a qualified person and by the "
        "local rules.",
    ),
    tables=lambda study: measurement_tables(_measurement(study)),
    drawings=_drawings,
    details=_measurement,
)
