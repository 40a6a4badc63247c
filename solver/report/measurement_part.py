"""What was measured, beside its prediction."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from geometries.quantities import NANO, Quantity
from solver import figures
from solver.measurement.as_measured import Consequence
from solver.measurement.results import InductancePart, MeasurementResult, PairReading
from solver.notation import numbers
from solver.report.part import Part, Sketch, outcome_of, sketch
from solver.report.switching_part import SNUBBER_COLUMNS, snubber_cells
from solver.report.tables import Column, Table, named, words_table
from solver.study.results import StudyResult
from solver.variant.figure import Reading

_PICO = 1e-12
_SHOWN = 0.005 * NANO
Row = tuple[str, str]


def comparison_rows(pair: PairReading) -> list[tuple[str, str, str]]:
    """What was measured, or follows of it, beside what was predicted."""
    predicted, error = (
        sum(part.value for part in pair.parts[:-1]),
        math.hypot(*(part.error for part in pair.parts[:-1])),
    )
    stated = pair.stated_capacitance
    rows = [
        (
            "inductance of the whole loop",
            f"{numbers.with_uncertainty(pair.inductance, pair.inductance_error, NANO)} nH",
            f"{numbers.with_uncertainty(predicted, error, NANO)} nH",
        ),
        (
            "capacitance of the switch node",
            f"{numbers.with_uncertainty(pair.capacitance, pair.capacitance_error, _PICO)} pF",
            "–" if stated is None else f"{numbers.with_unit(stated, Quantity.CAPACITANCE)}, stated",
        ),
    ]
    peak, loop = pair.ring.peak, pair.as_measured
    consequences = () if loop is None else loop.consequences
    if peak is not None:
        measured = f"{peak.value:.3g} V ({peak.least:.3g} to {peak.most:.3g} V)"
        known = (_words(each.predicted, each) for each in consequences if each.key == "peak_voltage")
        rows.append(("peak at the switch, from the screen", measured, next(known, "–")))
    return [*rows, *map(_consequence_row, consequences)]


def _consequence_row(each: Consequence) -> tuple[str, str, str]:
    return f"{each.title}, as measured", _words(each.measured, each), _words(each.predicted, each)


def _words(reading: Reading, shown: Consequence) -> str:
    return f"{numbers.with_uncertainty(reading.value, reading.uncertainty, shown.scale)} {shown.unit}"


def influence_rows(pair: PairReading) -> list[tuple[str, str, str]]:
    """What the interval of the inductance is made of: every input at both ends of its span."""
    shown = [each for each in pair.ring.inductance.influences if max(abs(each.at_least), abs(each.at_most)) >= _SHOWN]
    return [(each.source, _change(each.at_least), _change(each.at_most)) for each in shown]


def _change(value: float) -> str:
    return f"{numbers.fixed(value / NANO, 2, signed=True)} nH"


def part_rows(parts: tuple[InductancePart, ...]) -> list[Row]:
    """An inductance by its parts, the one that is not explained last."""
    return [(part.name, f"{numbers.with_uncertainty(part.value, part.error, NANO)} nH") for part in parts]


def measurement_tables(measurement: MeasurementResult) -> tuple[Table, ...]:
    """Tables of what was measured."""
    return tuple(_tables(measurement))


def _tables(measurement: MeasurementResult) -> Iterator[Table]:
    pair, impedance = measurement.pair, measurement.impedance
    if pair is not None:
        sides = (named(""), Column(name="measured"), Column(name="predicted"))
        yield words_table("measured against predicted", sides, comparison_rows(pair))
        yield from _snubbers(pair)
        yield _rows_table("the measured inductance by its parts", part_rows(pair.parts))
        ends = (named("input"), Column(name="at its least"), Column(name="at its most"))
        yield words_table("what the interval of the inductance is made of", ends, influence_rows(pair))
    if impedance is not None:
        at = numbers.frequency(impedance.compared_at)
        yield _rows_table(f"from {impedance.name} at {at}", part_rows(impedance.parts))


def _snubbers(pair: PairReading) -> Iterator[Table]:
    """For the loop as measured; its characteristic impedance where nothing is known of the edge."""
    loop = pair.as_measured
    if loop is None:
        usual = [("resistance √(L/C)", numbers.with_unit(pair.usual_resistance, Quantity.RESISTANCE))]
        yield _rows_table("a snubber for the loop as measured, of 3 to 4 times its capacitance", usual)
    elif loop.edge.snubbers:
        yield words_table("snubbers for the loop as measured", SNUBBER_COLUMNS, map(snubber_cells, loop.edge.snubbers))


def _rows_table(title: str, rows: list[Row]) -> Table:
    return words_table(title, (named(""), Column(name="")), rows)


def _measurement(study: StudyResult) -> MeasurementResult:
    return outcome_of(study, MeasurementResult)


def _sketches(study: StudyResult) -> Sequence[Sketch]:
    measurement, sketches = _measurement(study), []
    if measurement.impedance is not None:
        sentence = "Measured inductance and resistance over frequency, over the predicted ones."
        data = (measurement.impedance, measurement.variant)
        sketches.append(sketch("measurement-impedance", sentence, figures.impedance_figure, *data))
    if measurement.spectrum is not None:
        sentence = "Measured levels over frequency, over the predicted bound of the loop alone."
        levels = (measurement.spectrum, measurement.variant)
        sketches.append(sketch("measurement-spectrum", sentence, figures.spectrum_figure, *levels))
    return sketches


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
    sketches=_sketches,
    details=_measurement,
)
