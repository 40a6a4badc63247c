"""The loops themselves: comparison, ground layers, frequency, scan lines, and what else is known of each loop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, product
from typing import Any

from geometries.quantities import MM, NANO
from solver import figures
from solver.notation import numbers
from solver.notation.labels import wording
from solver.report.figure_tables import FigureRow, brief_table, figure_records, figure_table
from solver.report.part import Part, Sketch, sketch
from solver.report.tables import Cell, Record, Table, columns, named, words_table
from solver.study.basis import solved_basis
from solver.study.results import StudyResult
from solver.variant.analysis import Analysis
from solver.variant.loop_figures import LOOP
from solver.variant.results import VariantResult


def report_frequency(study: StudyResult) -> str:
    """The report frequency with its unit."""
    return numbers.frequency(study.scenario.analysis.report_frequency)


def variant_rows(study: StudyResult) -> tuple[FigureRow, ...]:
    """Readings of every variant behind its name."""
    return tuple(
        FigureRow(labels=(Cell(text=result.variant.name),), readings=readings)
        for result, readings in zip(study.results, study.readings, strict=True)
    )


def reference_row(study: StudyResult) -> FigureRow:
    """Readings of the reference."""
    return next(row for row in variant_rows(study) if row.labels[0].text == study.reference)


def analysis_table(study: StudyResult, analysis: Analysis[Any]) -> Table:
    """Headline figures of an analysis for all variants, on a page."""
    shown = [figure for figure in study.headlines if figure in analysis.figures]
    return with_unsolved(
        study, figure_table(_title(study), (named(),), variant_rows(study), shown, reference_row(study))
    )


def brief_analysis_table(study: StudyResult, analysis: Analysis[Any]) -> Table:
    """The same for the terminal."""
    shown = [figure for figure in study.headlines if figure in analysis.figures]
    return with_unsolved(
        study, brief_table(_title(study), (named(),), variant_rows(study), shown, reference_row(study))
    )


def with_unsolved(study: StudyResult, table: Table) -> Table:
    """A row for every variant that could not be solved as well; its reason in full is a warning."""
    empty = (Cell(text="–"),) * (len(table.columns) - 1)
    rows = ((Cell(text=f"{each.name} (not solved)"), *empty) for each in study.unsolved)
    return replace(table, rows=(*table.rows, *rows))


def _title(study: StudyResult) -> str:
    return f"At {report_frequency(study)}; loop values: {solved_basis(study.results)}"


def _comparison_files(study: StudyResult) -> Mapping[str, Iterable[Record]]:
    solved = figure_records(
        (named(), named("loop values"), *columns(("report frequency", "Hz"))),
        [_described(row, result) for row, result in zip(variant_rows(study), study.results, strict=True)],
        study.figures,
        reference_row(study),
    )
    unsolved = ([each.name, f"not solved: {each.reason}"] for each in study.unsolved)
    return {"comparison.csv": chain(solved, unsolved)}


def _described(row: FigureRow, result: VariantResult) -> FigureRow:
    frequency = float(result.frequencies[result.report_index])
    labels = (*row.labels, Cell(text=result.basis.value), Cell(text="", value=frequency))
    return FigureRow(labels=labels, readings=row.readings)


def _comparison_sketches(study: StudyResult) -> Sequence[Sketch]:
    sentence = "Bars of loop inductance, and of the field above and below the board."
    return (sketch("comparison", sentence, figures.comparison_figure, study),)


COMPARISON = Part(
    key="comparison",
    title="Comparison",
    shown=lambda study: study,
    heading=lambda study: f"Comparison at {report_frequency(study)}",
    analysis=LOOP,
    template="comparison.html.j2",
    files=_comparison_files,
    sketches=_comparison_sketches,
)


def _layers(study: StudyResult) -> StudyResult | None:
    return study if any(result.benefit for result in study.results) else None


def _gains(study: StudyResult) -> Iterator[str]:
    """What all layers with a length take off a loop with its ends."""
    for result in study.results:
        real = result.real_layers
        if real is None or real.alone is None:
            continue
        left, alone = (numbers.significant(each / NANO, 3) for each in (real.inductance, real.alone))
        yield (
            f"“{result.variant.name}”: with their edges, slots and clearances the layers leave {left} nH of the "
            f"{alone} nH that the closed loop has without them, its parts as plates."
        )


BENEFIT = Part(
    key="ground-layers",
    title="Ground layers",
    shown=_layers,
    heading=lambda study: "Benefit of each ground layer",
    sentences=lambda study: (
        "The ground layers of each variant are added one after the other, from the top of the board.",
        *_gains(study),
    ),
    sketches=lambda study: (
        sketch(
            "benefit", "Change of inductance and field that each ground layer brings.", figures.benefit_figure, study
        ),
    ),
)


def _impedance(study: StudyResult) -> Iterator[Record]:
    words = wording(study.scenario.view)
    yield (
        *("variant", "segment", "loop", "coupled loop", "frequency [Hz]"),
        words.heading("resistance", "Ohm"),
        words.heading("inductance", "H"),
        words.heading("± resistance", "Ohm"),
        words.heading("± inductance", "H"),
    )
    for result in study.results:
        loops = result.variant.loop_names
        places = product(range(len(result.frequencies)), range(len(loops)), range(len(loops)))
        for segment, (index, row, column) in product(result.segments, places):
            yield (
                *(result.variant.name, segment.name, loops[row], loops[column]),
                float(result.frequencies[index]),
                float(segment.resistance[index, row, column]),
                float(segment.inductance[index, row, column]),
                float(segment.resistance_errors[index, row, column]),
                float(segment.inductance_errors[index, row, column]),
            )


FREQUENCY = Part(
    key="frequency",
    title="Frequency",
    shown=lambda study: study,
    heading=lambda study: "Over frequency",
    files=lambda study: {"impedance.csv": _impedance(study)},
    sketches=lambda study: (
        sketch(
            "frequency",
            "Loop inductance and loop resistance of all variants over frequency.",
            figures.frequency_figure,
            study,
        ),
    ),
)


def _scan_lines(study: StudyResult) -> StudyResult | None:
    return study if any(result.lines for result in study.results) else None


def _scans(study: StudyResult) -> Iterator[Record]:
    sign = wording(study.scenario.view).position_sign
    yield "variant", "side", "distance from board [mm]", f"{sign} [mm]", "H [A/m per A]"
    for result in study.results:
        for line in result.lines:
            for x, magnitude in zip(line.x, line.magnitude, strict=True):
                yield result.variant.name, line.side, line.distance / MM, float(x) / MM, float(magnitude)


FIELD = Part(
    key="field",
    title="Field",
    shown=_scan_lines,
    heading=lambda study: "Along the scan lines",
    files=lambda study: {"field_scans.csv": _scans(study)},
    sketches=lambda study: (
        sketch(
            "field-scans",
            "Field strength of all variants along lines above and below the board.",
            figures.field_scan_figure,
            study,
        ),
    ),
)

_OF_SECTIONS = columns(("section × length", "nH"), ("axisymmetric ring", "nH"))
_LIMITS = columns(("at DC", "nH"), ("perfect conductors", "nH"), ("R at DC", "mΩ"))


def checks_table(study: StudyResult) -> Table:
    """What is known of every loop beside its loop of record: other views, and the limits that enclose it."""
    sections = _OF_SECTIONS if wording(study.scenario.view).per_metre else ()
    headings = (named(), *columns(("loop of record", "nH")), *sections, *_LIMITS)
    rows = [(result.variant.name, *_check_cells(result)) for result in study.results]
    return words_table("", headings, rows, study.reference)


def _check_cells(result: VariantResult) -> tuple[str, ...]:
    loop = result.loop
    record = f"{numbers.with_uncertainty(loop.inductance, loop.inductance_uncertainty, NANO)} ({loop.basis.briefly})"
    if not result.segments:
        return record, *("–",) * len(_OF_SECTIONS + _LIMITS)
    return (
        record,
        *_other_views(result),
        numbers.bracket(result.dc_limits),
        numbers.bracket(result.perfect_limits),
        numbers.milliohm(result.section_dc_resistance),
    )


def _other_views(result: VariantResult) -> tuple[str, ...]:
    """Section times length and the ring of a loop that is not axisymmetric itself."""
    if not wording(result.variant.view).per_metre:
        return ()
    ring = result.axisymmetric_view
    return (
        numbers.with_uncertainty(result.section_inductance, result.section_inductance_error, NANO) + _off(result),
        "–" if ring is None else numbers.with_uncertainty(ring.inductance, ring.inductance_error, NANO),
    )


def _off(result: VariantResult) -> str:
    check = result.section_check
    return "" if check is None else f" ({numbers.percent(check.off)} % against copper and vias)"


CHECKS = Part(
    key="checks",
    title="Checks",
    shown=lambda study: checks_table(study),
    heading=lambda study: f"Checks of the loop of record at {report_frequency(study)}",
    template="checks.html.j2",
)
