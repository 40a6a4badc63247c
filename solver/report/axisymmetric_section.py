"""The round view in tables, files, documents and drawings: the same numbers everywhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.quantities import MM, NANO
from geometries.section.section import View
from solver.axisymmetric.results import Shielding
from solver.figures import AxisymmetricCurve
from solver.notation import numbers
from solver.study.results import StudyResult
from solver.study.view_rows import AxisymmetricRow, SideBySide, ViewComparison

Document = dict[str, Any]

SHIELDING_HEADINGS = (
    "inductance against the ring alone [dB]",
    "peak H above against the ring alone [dB]",
    "peak H below against the ring alone [dB]",
    "moment against the ring alone [dB]",
    "transparent below [Hz]",
)
"""Headings of what discs shield, in files."""

_PAIR_HEADINGS = (
    "section inductance [nH]",
    "section change [%]",
    "round change [%]",
    "line moment change [dB]",
    "moment along the axis change [dB]",
    "mapping",
    "left out of the round view",
)
_SQUARE_MM = MM**2
_BOTH_VIEWS = (
    *("L\nsection\n[nH]", "L\nround\n[nH]", "change\nsection\n[%]", "change\nround\n[%]"),
    *("moment\nsection\n[dB]", "moment\nround\n[dB]"),
)
_SHIELDING = ("ring\nradius", "L\n[dB]", "H above\n[dB]", "H below\n[dB]", "moment\n[dB]", "transparent\nbelow")


def axisymmetric_curves(study: StudyResult) -> tuple[AxisymmetricCurve, ...]:
    """Every different round view of a study, named by all variants that share it."""
    curves: dict[int, AxisymmetricCurve] = {}
    for number, result in enumerate(study.results):
        if result.axisymmetric_view is not None:
            surfaces = result.variant.surfaces
            fresh = AxisymmetricCurve(names=(), view=result.axisymmetric_view, surfaces=surfaces, number=number)
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


def axisymmetric_tables(study: StudyResult) -> tuple[Table, ...]:
    """Tables for the terminal: both views side by side, and what the discs shield."""
    views = study.axisymmetric_views
    if views is None or not views.rows:
        return ()
    at = numbers.frequency(study.scenario.analysis.report_frequency)
    tables = []
    if views.pairs:
        title = f"Both views at {at}, against {views.reference}"
        tables.append(_table(title, _BOTH_VIEWS, [(pair.name, *pair_cells(pair)) for pair in views.pairs]))
    title = f"Round view at {at}, against the same ring alone"
    tables.append(_table(title, _SHIELDING, [(row.name, *shielding_cells(row)) for row in views.rows]))
    return tuple(tables)


def _table(title: str, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    table = Table(title=title, title_justify="left", box=SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    table.add_column(Text("variant"), overflow="fold", min_width=14)
    for heading in headings:
        table.add_column(Text(heading), justify="right", no_wrap=True)
    for row in rows:
        table.add_row(*map(Text, row))
    return table


def pair_cells(pair: SideBySide) -> tuple[str, ...]:
    """Both inductances [nH], both changes [%] and both moments [dB] of one variant."""
    return (
        numbers.nanohenry(pair.section_inductance, pair.section_error),
        numbers.nanohenry(pair.axisymmetric_inductance, pair.axisymmetric_error),
        numbers.percent(pair.section_change),
        numbers.percent(pair.axisymmetric_change),
        numbers.decibel(pair.section_moment_db),
        numbers.decibel(pair.axisymmetric_moment_db),
    )


def shielding_cells(row: AxisymmetricRow) -> tuple[str, ...]:
    """Radius of the ring, what its discs take off [dB], and the frequency below which they are transparent."""
    shielding = row.shielding
    return (
        numbers.length(row.radius),
        numbers.decibel(shielding.inductance_db),
        numbers.decibel(shielding.above_db),
        numbers.decibel(shielding.below_db),
        numbers.decibel(shielding.moment_db),
        corner(shielding),
    )


def corner(shielding: Shielding) -> str:
    """Transparency corner with its unit, or a dash."""
    return "–" if shielding.corner is None else numbers.frequency(shielding.corner)


def view_records(study: StudyResult) -> Iterator[Sequence[object]]:
    """Lines of a table of both views at the report frequency, the headings first."""
    views = study.axisymmetric_views
    yield (
        "variant",
        "report frequency [Hz]",
        "ring radius [mm]",
        "round inductance [nH]",
        "mesh error of round inductance [nH]",
        "moment along the axis [mm²]",
        *SHIELDING_HEADINGS,
        *(_PAIR_HEADINGS if views is not None and views.pairs else ()),
    )
    if views is None:
        return
    pairs = {pair.name: pair for pair in views.pairs}
    for row in views.rows:
        yield (
            row.name,
            study.scenario.analysis.report_frequency,
            row.radius / MM,
            row.inductance / NANO,
            row.inductance_error / NANO,
            row.moment / _SQUARE_MM,
            *shielding_record(row.shielding),
            *(_pair_record(pairs[row.name], row) if row.name in pairs else ()),
        )


def shielding_record(shielding: Shielding | None) -> tuple[object, ...]:
    """Numbers under :data:`SHIELDING_HEADINGS`; empty ones where there is none."""
    if shielding is None:
        return ("",) * len(SHIELDING_HEADINGS)
    return (
        shielding.inductance_db,
        shielding.above_db,
        shielding.below_db,
        shielding.moment_db,
        "" if shielding.corner is None else shielding.corner,
    )


def _pair_record(pair: SideBySide, row: AxisymmetricRow) -> tuple[object, ...]:
    return (
        pair.section_inductance / NANO,
        100 * pair.section_change,
        100 * pair.axisymmetric_change,
        pair.section_moment_db,
        pair.axisymmetric_moment_db,
        row.mapping,
        pair.left_out,
    )


def shielding_records(study: StudyResult) -> Iterator[Sequence[object]]:
    """Lines of a table of shielding over frequency, the headings first."""
    yield "variant", "frequency [Hz]", "inductance [dB]", "peak H above [dB]", "peak H below [dB]", "moment [dB]"
    for result in study.results:
        view = result.axisymmetric_view
        if view is not None:
            columns = (view.frequencies, view.inductance_db, view.above_db, view.below_db, view.moment_db)
            yield from ((result.variant.name, *map(float, line)) for line in zip(*columns, strict=True))


def axis_records(study: StudyResult) -> Iterator[Sequence[object]]:
    """Lines of a table of the field on the axis, the headings first."""
    yield "variant", "z [mm]", "H on the axis [A/m per A]", "H on the axis of the ring alone [A/m per A]"
    for result in study.results:
        view = result.axisymmetric_view
        if view is not None:
            values = (view.reading.axis / MM, np.abs(view.reading.axis_field), np.abs(view.alone.axis_field))
            yield from ((result.variant.name, *map(float, line)) for line in zip(*values, strict=True))


def axisymmetric_document(study: StudyResult) -> Document | None:
    """The round view as plain values; None if there is none."""
    views = study.axisymmetric_views
    if views is None:
        return None
    pairs = {pair.name: pair for pair in views.pairs}
    return {
        "reference": views.reference,
        "findings": list(views.sentences),
        "variants": [
            {**_row_document(row), **_pair_document(pairs.get(row.name)), **_over_frequency(study, row.name)}
            for row in views.rows
        ],
        "without": [{"variant": name, "reason": reason} for name, reason in views.without],
    }


def _row_document(row: AxisymmetricRow) -> Document:
    return {
        "variant": row.name,
        "ring_radius_m": row.radius,
        "mapping": row.mapping,
        "inductance_H": row.inductance,
        "inductance_mesh_error_H": row.inductance_error,
        "axial_moment_A_m2_per_A": row.moment,
        **shielding_document(row.shielding),
    }


def shielding_document(shielding: Shielding) -> Document:
    """What discs take off the ring alone, as plain values."""
    return {
        "against_ring_alone": {
            "inductance_dB": shielding.inductance_db,
            "peak_field_above_dB": shielding.above_db,
            "peak_field_below_dB": shielding.below_db,
            "moment_dB": shielding.moment_db,
        },
        "transparent_below_Hz": shielding.corner,
    }


def _pair_document(pair: SideBySide | None) -> Document:
    if pair is None:
        return {}
    return {
        "section_loop_inductance_H": pair.section_inductance,
        "section_change_fraction_1": pair.section_change,
        "round_change_fraction_1": pair.axisymmetric_change,
        "section_line_moment_change_dB": pair.section_moment_db,
        "round_axial_moment_change_dB": pair.axisymmetric_moment_db,
        "ground_tied_to_return": pair.tied,
        "left_out": pair.left_out,
    }


def _over_frequency(study: StudyResult, name: str) -> Document:
    view = next(result.axisymmetric_view for result in study.results if result.variant.name == name)
    if view is None:
        raise ValueError(f"variant {name!r} has no round view")
    return {
        "over_frequency": {
            "frequency_Hz": view.frequencies.tolist(),
            "inductance_H": view.reading.inductance.tolist(),
            "inductance_of_ring_alone_H": view.alone.inductance.tolist(),
            "inductance_dB": view.inductance_db.tolist(),
            "peak_field_above_dB": view.above_db.tolist(),
            "peak_field_below_dB": view.below_db.tolist(),
            "moment_dB": view.moment_db.tolist(),
        }
    }


def axisymmetric_heading(study: StudyResult) -> str:
    """Title of the round view's part of a report."""
    at = numbers.frequency(study.scenario.analysis.report_frequency)
    if study.scenario.variants[0].view is View.AXISYMMETRIC:
        return f"What the discs shield at {at}"
    return f"Section view and round view at {at}"
