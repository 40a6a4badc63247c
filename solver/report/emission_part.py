"""Emission on the page, in files and on the terminal."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometries.operation.emission import Emission
from geometries.quantities import MHZ
from solver import figures
from solver.emission.figures import EMISSION
from solver.emission.results import EmissionComparison, EmissionPrediction, Margin
from solver.notation import numbers
from solver.report.part import Part, Sketch, outcome_of, sketch
from solver.report.tables import Record, Table, columns, named, words_table
from solver.study.results import StudyResult

_SQUARE_MILLIMETRE = 1e-6
_NO_AREA = 1e-15
_PICO = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class EmissionLine:
    """One variant in words, for the table of the page."""

    name: str
    lying: str
    upright: str
    added: str
    total: str
    moment_db: str
    level: str
    margin: str
    difference: str
    verdict: str
    cable_margin: str
    cable_place: str
    ground: str


def emission_lines(comparison: EmissionComparison) -> tuple[EmissionLine, ...]:
    """All variants in words.

    Parameters
    ----------
    comparison : EmissionComparison
        At least one variant.

    Returns
    -------
    tuple of EmissionLine
    """
    return tuple(_line(each, each.name == comparison.reference) for each in comparison.predictions)


def _line(each: EmissionPrediction, is_reference: bool) -> EmissionLine:
    moment, cable = each.moment, each.cable
    return EmissionLine(
        name=each.name,
        lying=_area(moment.lying),
        upright=_area(moment.upright),
        added=_area(moment.added),
        total=_area(moment.total),
        moment_db=numbers.decibel(each.moment_db),
        level=numbers.fixed(each.highest.level, 0),
        margin=numbers.fixed(each.closest.value, 0),
        difference="reference" if is_reference else _difference(each),
        verdict=each.verdict,
        cable_margin="" if cable is None else numbers.fixed(cable.closest.value, 0),
        cable_place="" if cable is None else _place(cable.closest),
        ground="" if cable is None else f"{cable.ground}, {numbers.significant(cable.ground_inductance / _PICO, 3)} pH",
    )


def _difference(each: EmissionPrediction) -> str:
    return f"{numbers.fixed(each.difference_db, 0, signed=True)} ± {numbers.fixed(each.difference_band, 1)}"


def _area(value: float) -> str:
    shown = value / _SQUARE_MILLIMETRE
    return numbers.significant(shown, 2) if shown >= 0.001 else "0"


def _place(margin: Margin) -> str:
    return f"{margin.frequency / MHZ:.0f} MHz, {margin.limit}"


def moments_over_frequency(comparison: EmissionComparison, report_frequency: float) -> str:
    """At which frequency a table's moments hold, and how far those of the lines differ from it."""
    first = comparison.predictions[0].frequencies
    known = [np.maximum(each.moments, _NO_AREA) for each in comparison.predictions]
    most = max(20 * math.log10(each.max() / each.min()) for each in known)
    lines = f"{numbers.frequency(float(first[0]))} to {numbers.frequency(float(first[-1]))}"
    return (
        f"Moments of the table are those at {numbers.frequency(report_frequency)}; every line takes its own. "
        f"From {lines} they differ by {numbers.fixed(most, 1)} dB at most."
    )


def emission_inputs(emission: Emission) -> tuple[tuple[str, str], ...]:
    """What was asked, as pairs of label and value with unit."""
    rows = [
        ("switched current", f"{emission.current:g} A, {numbers.frequency(emission.frequency)}"),
        ("edges, 0 to 100 %", f"{emission.rise_time * 1e9:.3g} and {emission.fall_time * 1e9:.3g} ns"),
        ("duty of the lines", f"{100 * emission.duty:.3g} %"),
        ("ring", "of the switching edge" if emission.switching is not None else "left out"),
        ("site", f"{emission.distance:g} m, {emission.site.value} (ground adds {_gain(emission)} dB)"),
        ("band", f"±{emission.band:g} dB"),
        (
            "component-body area",
            f"{numbers.length(emission.upright_height)} × {numbers.length(emission.upright_length)}",
        ),
    ]
    if emission.cable is not None:
        rows.append(("cable", f"{emission.cable.length:g} m, {numbers.length(emission.cable.diameter)} thick"))
    if emission.stray_capacitance:
        rows.append(("stray capacitance", f"{emission.stray_capacitance / _PICO:.3g} pF"))
    return tuple(rows)


def _gain(emission: Emission) -> str:
    return "6" if emission.site.gain == 2 else "0"


def emission_records(comparison: EmissionComparison) -> Iterator[Record]:
    """Lines of a table, the headings first: every line of every variant's spectrum."""
    yield (
        "variant",
        "frequency [Hz]",
        "loop, any duty [dBuV/m]",
        "loop, stated duty [dBuV/m]",
        "cable, upper bound [dBuV/m]",
        "tightest limit [dBuV/m]",
        "moment [m2]",
    )
    for each in comparison.predictions:
        cable = [""] * len(each.frequencies) if each.cable is None else each.cable.levels.tolist()
        columns_of_it = each.frequencies.tolist(), each.bound.tolist(), each.lines.tolist(), cable
        for *values, moment in zip(*columns_of_it, each.moments.tolist(), strict=True):
            yield each.name, *values, min(line.level(values[0]) for line in comparison.emission.limits), moment


_HEADINGS = columns(
    ("moment", "mm²"),
    ("highest line", "dBµV/m"),
    ("change", "dB"),
    ("margin", "dB"),
    ("at", "MHz"),
    ("margin of the cable's bound", "dB"),
)


def emission_table(comparison: EmissionComparison) -> Table:
    """Margins, differences, and what cables could do."""
    emission = comparison.emission
    title = f"Emission at {emission.distance:g} m, {emission.site.value}; loop alone ±{emission.band:g} dB"
    rows = [_cells(each, line) for each, line in zip(comparison.predictions, emission_lines(comparison), strict=True)]
    return words_table(title, (named(), *_HEADINGS), rows, comparison.reference)


def _cells(each: EmissionPrediction, line: EmissionLine) -> tuple[str, ...]:
    place = f"{each.closest.frequency / MHZ:.0f}"
    return line.name, line.total, line.level, line.difference, line.margin, place, line.cable_margin


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _View:
    """What the template shows."""

    comparison: EmissionComparison
    lines: tuple[EmissionLine, ...]
    inputs: tuple[tuple[str, str], ...]
    moments: str


def _view(study: StudyResult) -> _View | None:
    comparison = study.outcome(EmissionComparison)
    if comparison is None:
        return None
    return _View(
        comparison=comparison,
        lines=emission_lines(comparison),
        inputs=emission_inputs(comparison.emission),
        moments=moments_over_frequency(comparison, study.scenario.analysis.report_frequency),
    )


def _comparison(study: StudyResult) -> EmissionComparison:
    return outcome_of(study, EmissionComparison)


def _files(study: StudyResult) -> Mapping[str, Iterable[Record]]:
    return {"emission.csv": emission_records(_comparison(study))}


def _sketches(study: StudyResult) -> Sequence[Sketch]:
    sentence = "Levels of all variants over frequency against the limits, and upper bounds of their cables."
    return (sketch("emission", sentence, figures.emission_figure, _comparison(study)),)


EMISSION_PART = Part(
    key="emission",
    title="Emission",
    shown=_view,
    heading=lambda study: "Emission",
    sentences=lambda study: (_comparison(study).sentence,),
    analysis=EMISSION,
    template="emission.html.j2",
    tables=lambda study: (emission_table(_comparison(study)),),
    files=_files,
    sketches=_sketches,
    details=_comparison,
)
