"""The axisymmetric view: what discs shield, and the same loop in both views."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometries.quantities import MHZ, MM, NANO
from geometries.section.section import View
from solver import figures
from solver.notation import numbers
from solver.report.loop_part import report_frequency
from solver.report.part import Part, Sketch, outcome_of, sent_apart, sketch
from solver.report.tables import Cell, Record, Table, columns, named, records
from solver.report.variants_part import section_names
from solver.study.results import StudyResult
from solver.study.view_rows import AxisymmetricRow, SideBySide, ViewComparison
from solver.variant.shielding_figures import SHIELDING

"""Headings of what discs shield, in files."""


def axisymmetric_curves(study: StudyResult) -> tuple[figures.AxisymmetricCurve, ...]:
    """Every different axisymmetric view of a study, named by all variants that share it."""
    curves: dict[int, figures.AxisymmetricCurve] = {}
    for number, result in enumerate(study.results):
        if result.axisymmetric_view is not None:
            surfaces = result.variant.surfaces
            fresh = figures.AxisymmetricCurve(names=(), view=result.axisymmetric_view, surfaces=surfaces, number=number)
            known = curves.get(id(result.axisymmetric_view.reading), fresh)
            curves[id(result.axisymmetric_view.reading)] = replace(known, names=(*known.names, result.variant.name))
    return tuple(curves.values())


def mappings(views: ViewComparison) -> tuple[tuple[str, str], ...]:
    """Every way in which a rectangular loop was mapped to a ring, behind the variants that it concerns."""
    found: dict[str, list[str]] = {}
    for row in views.rows:
        if row.mapping:
            found.setdefault(row.mapping, []).append(row.name)
    if len(found) == 1:
        return (("all variants", next(iter(found))),)
    return tuple(("; ".join(names), mapping) for mapping, names in found.items())


def shielding_records(study: StudyResult) -> Iterator[Record]:
    """Lines of a table of shielding over frequency, the headings first."""
    yield "variant", "frequency [Hz]", "inductance [dB]", "peak H above [dB]", "peak H below [dB]", "moment [dB]"
    for result in study.results:
        view = result.axisymmetric_view
        if view is not None:
            columns = (view.frequencies, view.inductance_db, view.above_db, view.below_db, view.moment_db)
            yield from ((result.variant.name, *map(float, line)) for line in zip(*columns, strict=True))


def axis_records(study: StudyResult) -> Iterator[Record]:
    """Lines of a table of the field on the axis, the headings first."""
    strength = "H on the axis"
    yield (
        *("variant", "z [mm]", f"{strength} [A/m per A]", f"± {strength} [A/m per A]"),
        f"{strength} of the ring alone [A/m per A]",
    )
    for result in study.results:
        view = result.axisymmetric_view
        if view is not None:
            own, alone = view.reading, view.alone
            values = (own.axis / MM, np.abs(own.axis_field), own.axis_error, np.abs(alone.axis_field))
            yield from ((result.variant.name, *map(float, line)) for line in zip(*values, strict=True))


_PAIR_HEADINGS = columns(
    ("L, section", "nH"),
    ("L, axisymmetric", "nH"),
    ("ΔL, section", "%"),
    ("ΔL, axisymmetric", "%"),
    ("Δ line moment, section", "dB"),
    ("Δ moment along the axis", "dB"),
)
_RING_HEADINGS = columns(
    ("ring radius", "mm"),
    ("L against the ring alone", "dB"),
    ("H above", "dB"),
    ("H below", "dB"),
    ("moment", "dB"),
    ("shielding corner frequency", "MHz"),
)


def pair_table(views: ViewComparison, at: str) -> Table:
    """The same loops in both views."""
    rows = tuple((Cell(text=pair.name), *_pair_cells(pair)) for pair in views.pairs)
    title = f"Both views at {at}, against {views.reference}"
    return Table(title=title, columns=(named(), *_PAIR_HEADINGS), rows=rows, marked=views.reference)


def _pair_cells(pair: SideBySide) -> tuple[Cell, ...]:
    inductances = (
        (pair.section_inductance, pair.section_error),
        (pair.axisymmetric_inductance, pair.axisymmetric_error),
    )
    changes = pair.section_change, pair.axisymmetric_change
    return (
        *(Cell(text=numbers.nanohenry(value, error), value=value / NANO) for value, error in inductances),
        *(Cell(text=numbers.percent(change), value=100 * change) for change in changes),
        *(_decibel(value) for value in (pair.section_moment_db, pair.axisymmetric_moment_db)),
    )


def ring_table(views: ViewComparison, at: str) -> Table:
    """What the discs of every variant shield, against the same ring alone."""
    rows = tuple((Cell(text=row.name), *_ring_cells(row)) for row in views.rows)
    title = f"Axisymmetric view at {at}, against the same ring alone"
    return Table(title=title, columns=(named(), *_RING_HEADINGS), rows=rows)


def _ring_cells(row: AxisymmetricRow) -> tuple[Cell, ...]:
    shielding = row.shielding
    levels = shielding.inductance_db, shielding.above_db, shielding.below_db, shielding.moment_db
    corner = None if shielding.corner is None else shielding.corner / MHZ
    return (
        Cell(text=numbers.significant(row.radius / MM, 4), value=row.radius / MM),
        *map(_decibel, levels),
        Cell(text="–") if corner is None else Cell(text=numbers.significant(corner, 3), value=corner),
    )


def _decibel(value: float) -> Cell:
    return Cell(text=numbers.decibel(value), value=value)


def _tables(study: StudyResult) -> tuple[Table, ...]:
    views, at = outcome_of(study, ViewComparison), report_frequency(study)
    pairs = (pair_table(views, at),) if views.pairs else ()
    return (*pairs, ring_table(views, at)) if views.rows else pairs


def _sentences(study: StudyResult) -> tuple[str, ...]:
    views = outcome_of(study, ViewComparison)
    without = (f"“{name}” has no axisymmetric view: {reason}." for name, reason in views.without)
    return (*views.sentences, *without)


def _heading(study: StudyResult) -> str:
    at = report_frequency(study)
    if study.scenario.variants[0].view is View.AXISYMMETRIC:
        return f"What the discs shield at {at}"
    return f"Section view and axisymmetric view at {at}"


def _files(study: StudyResult) -> Mapping[str, Iterable[Record]]:
    if not outcome_of(study, ViewComparison).rows:
        return {}
    names = ("both_views.csv", "axisymmetric_view.csv") if len(_tables(study)) > 1 else ("axisymmetric_view.csv",)
    tables = {name: records(table) for name, table in zip(names, _tables(study), strict=True)}
    return {**tables, "shielding.csv": shielding_records(study), "axis.csv": axis_records(study)}


def ring_names(study: StudyResult) -> tuple[str, ...]:
    """Names of the drawings of the axisymmetric views of variants that are not axisymmetric themselves."""
    names = section_names(study)
    return tuple(names[curve.names[0]].replace("section", "axisymmetric", 1) for curve in _twins(study))


def _twins(study: StudyResult) -> tuple[figures.AxisymmetricCurve, ...]:
    """Axisymmetric views that stand beside a section view."""
    return axisymmetric_curves(study) if study.scenario.variants[0].view is View.SECTION else ()


def _sketches(study: StudyResult) -> Iterator[Sketch]:
    """Shielding, field on the axis, and the axisymmetric view of every variant that is not axisymmetric itself."""
    curves, frequency = axisymmetric_curves(study), study.scenario.analysis.report_frequency
    shielded = [curve for curve in curves if curve.has_discs]
    if shielded:
        sentence = "Inductance, moment and field against the ring alone, over frequency."
        yield sketch("shielding", sentence, figures.shielding_figure, shielded)
    if curves:
        sentence = "Field strength on the axis, with discs and of the ring alone."
        yield sketch("axis", sentence, figures.axis_figure, curves, frequency)
    for name, curve in zip(ring_names(study), _twins(study), strict=True):
        section, field_map = curve.view.loop.section, curve.view.reading.field_map
        words, make = f"Axisymmetric view of {curve.name}, cut through its axis.", figures.axisymmetric_section_figure
        yield sent_apart(sketch(name, words, make, section, field_map, curve.name, frequency))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _View:
    """What the template shows."""

    views: ViewComparison
    mappings: tuple[tuple[str, str], ...]
    names: tuple[str, ...]


def _view(study: StudyResult) -> _View | None:
    views = study.outcome(ViewComparison)
    return None if views is None else _View(views=views, mappings=mappings(views), names=ring_names(study))


def _details(study: StudyResult) -> object:
    views = outcome_of(study, ViewComparison)
    seen = [(each.variant.name, each.axisymmetric_view) for each in study.results]
    return {
        "comparison": views,
        "over_frequency": [
            {
                "variant": name,
                "frequencies": view.frequencies,
                "inductance": view.reading.inductance,
                "inductance_of_ring_alone": view.alone.inductance,
                "inductance_db": view.inductance_db,
                "peak_field_above_db": view.above_db,
                "peak_field_below_db": view.below_db,
                "moment_db": view.moment_db,
            }
            for name, view in seen
            if view is not None
        ],
    }


VIEWS_PART = Part(
    key="axisymmetric-view",
    title="Axisymmetric view",
    shown=_view,
    heading=_heading,
    sentences=_sentences,
    analysis=SHIELDING,
    template="views.html.j2",
    tables=_tables,
    files=_files,
    sketches=lambda study: tuple(_sketches(study)),
    details=_details,
)
