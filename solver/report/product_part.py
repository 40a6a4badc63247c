"""All sources of the product together: on the page, in files and on the terminal."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometries.operation.emission import Emission
from geometries.operation.sites import BoardAxis
from geometries.quantities import MHZ
from solver import figures
from solver.emission.dipole import DipoleKind, DipoleMoment
from solver.emission.product_results import Measure, ProductComparison, ProductPrediction, SourceLine
from solver.emission.results import EmissionComparison
from solver.emission.sources import gain_curve
from solver.emission.total import Leader, SpreadChange
from solver.notation import numbers
from solver.report.part import Part, Sketch, outcome_of, sketch
from solver.report.tables import Column, Record, Table, columns, named, words_table
from solver.study.results import StudyResult

_AXES = {BoardAxis.NORMAL: "flat", BoardAxis.ACROSS: "on edge, across up", BoardAxis.ALONG: "on edge, along up"}
"""How a board stands, by the axis that points up."""


_SHOWN = tuple(each * MHZ for each in (0.15, 0.5, 1, 5, 10, 30, 50, 100, 144, 216, 300, 500, 1000, 3000, 6000))
"""Frequencies of the site's gain, as far as lines are looked at [Hz]."""

_LOOP = DipoleMoment(kind=DipoleKind.MAGNETIC, across=0, along=0, normal=1, band=0.0, source="a small loop")


def source_table(product: ProductComparison) -> Table:
    """Highest line of every source and of the sum, with their bands; who leads; the margin of the sum."""
    names = [line.name for line in product.predictions[0].lines]
    headings = (
        named(),
        *columns(*((name, "dBµV/m") for name in names), ("at", "MHz"), ("in phase", "dBµV/m"), ("margin", "dB")),
        Column(name="led by", words=True),
    )
    rows = [_source_row(each) for each in product.predictions]
    return words_table("Highest line of every source", headings, rows, product.reference)


def change_table(product: ProductComparison) -> Table:
    """What each variant brings against the reference: change of the highest line of every source and of the sum."""
    others = [each for each in product.predictions if each.name != product.reference]
    names = [change.name for change in product.predictions[0].changes]
    headings = (named(), *columns(*((name, "dB") for name in names)))
    rows = [(each.name, *map(_change, each.changes)) for each in others]
    return words_table(f"Change of the highest line against “{product.reference}”", headings, rows)


def measure_table(product: ProductComparison) -> Table:
    """What single changes bring to the sum of the least emitting board."""
    rows = [(each.name, _change(each)) for each in product.measures]
    title = f"What one change brings to the highest line of the sum of “{product.least.name}”"
    return words_table(title, (named("change"), *columns(("sum", "dB"))), rows)


def gain_table(product: ProductComparison) -> Table:
    """What the site adds to the loop's field in free space, by how the board stands."""
    axes = [axis for axis, _ in product.predictions[0].gains]
    headings = (named(), *columns(("at", "MHz"), *((_AXES[axis], "dB") for axis in axes)))
    rows = [
        (each.name, _megahertz(each.sum_line), *(numbers.fixed(gain, 1, signed=True) for _, gain in each.gains))
        for each in product.predictions
        if each.gains
    ]
    title = "Site: gain over the loop's field in free space, at the highest line of the sum"
    return words_table(title, headings, rows, product.reference)


def site_table(emission: Emission) -> Table:
    """What the site adds to a small loop's field in free space, by frequency and by how it stands in the room."""
    low, high = emission.spectrum
    shown = np.array([each for each in _SHOWN if low <= each <= high])
    gains = [gain_curve(emission.measuring_site, _LOOP, shown, axis) for axis in (BoardAxis.NORMAL, BoardAxis.ACROSS)]
    rows = [
        (f"{each / MHZ:.0f}", *(numbers.fixed(20 * math.log10(gain), 1, signed=True) for gain in pair))
        for each, *pair in zip(shown, *gains, strict=True)
    ]
    headings = columns(("frequency", "MHz"), ("loop lies", "dB"), ("loop stands", "dB"))
    title = "Site: gain over the field in free space, of a loop that lies on the table and of one that stands"
    return words_table(title, headings, rows)


def product_records(product: ProductComparison) -> Iterator[Record]:
    """Lines of a table, the headings first: every source and the sum over frequency."""
    names = [source.name for source in product.predictions[0].total.sources]
    levels = [f"{name} [dBuV/m]" for name in (*names, "sum", "sum in phase")]
    yield "variant", "frequency [Hz]", *levels, "band of the sum [dB]"
    for each in product.predictions:
        total = each.total
        held = [*(source.levels for source in total.sources), total.levels, total.ceiling, total.bands]
        for values in zip(total.frequencies.tolist(), *(series.tolist() for series in held), strict=True):
            yield each.name, *values


def leader_words(leaders: Sequence[Leader]) -> str:
    """Which source leads over which frequencies, in words.

    Examples
    --------
    >>> leader_words([Leader(start=30e6, stop=67e6, name="cable", decided=False)])
    '30 to 67 MHz: cable (within the bands)'
    """
    return "; ".join(f"{each.start / MHZ:.0f} to {each.stop / MHZ:.0f} MHz: {_leader(each)}" for each in leaders)


def _leader(leader: Leader) -> str:
    return leader.name if leader.decided else f"{leader.name} (within the bands)"


def _source_row(each: ProductPrediction) -> tuple[str, ...]:
    return (
        each.name,
        *(numbers.whole_decibels(line.highest.level, line.band) for line in each.lines),
        _megahertz(each.sum_line),
        numbers.fixed(each.ceiling, 0),
        numbers.whole_decibels(each.margin.value, each.margin_band, signed=True),
        _leader(each.leader),
    )


def _change(change: SpreadChange | Measure) -> str:
    return numbers.whole_decibels(change.change, change.band, signed=True)


def _megahertz(line: SourceLine) -> str:
    return f"{line.highest.frequency / MHZ:.0f}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _View:
    """What the template shows: who leads over frequency, by variant."""

    product: ProductComparison
    leaders: tuple[tuple[str, str], ...]


def _emission(study: StudyResult) -> EmissionComparison | None:
    return study.outcome(EmissionComparison)


def _product(study: StudyResult) -> ProductComparison:
    emission = _emission(study)
    if emission is None or emission.product is None:
        raise ValueError("the study has no sum of sources; show its part only where it has one")
    return emission.product


def _view(study: StudyResult) -> _View | None:
    emission = _emission(study)
    if emission is None or emission.product is None:
        return None
    leaders = tuple((each.name, leader_words(each.leaders)) for each in emission.product.predictions)
    return _View(product=emission.product, leaders=leaders)


def _tables(study: StudyResult) -> Sequence[Table]:
    product = _product(study)
    several = len(product.predictions) > 1
    changes = [change_table(product)] if several else []
    emission = outcome_of(study, EmissionComparison).emission
    return (source_table(product), *changes, measure_table(product), gain_table(product), site_table(emission))


def _files(study: StudyResult) -> Mapping[str, Iterable[Record]]:
    return {"emission-sources.csv": product_records(_product(study))}


def _sketches(study: StudyResult) -> Sequence[Sketch]:
    emission = _emission(study)
    if emission is None:
        return ()
    sentence = (
        "Loop, switch node, cable and their sum over frequency against the limits, for the reference and the least."
    )
    return (sketch("emission-sources", sentence, figures.product_figure, emission),)


PRODUCT_PART = Part(
    key="product",
    title="All sources",
    shown=_view,
    heading=lambda study: "Emission: loop, switch node and cable together",
    sentences=lambda study: (_product(study).sentence,),
    template="product.html.j2",
    tables=_tables,
    files=_files,
    sketches=_sketches,
)
