"""Loops that their layouts describe: their terms, and what was described."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from geometries.layout.laid_out import LaidOutLoop
from geometries.quantities import MM, NANO
from solver.loop.layout_loop import LayoutLoop
from solver.notation import numbers
from solver.report.loop_part import report_frequency
from solver.report.part import Part
from solver.report.tables import Table, columns, named, words_table
from solver.study.results import StudyResult

Row = tuple[str, str]


def laid_out_rows(loop: LaidOutLoop) -> tuple[Row, ...]:
    """Every piece of copper with its extent and height, every port, and the endless plane, as label and words."""
    return tuple(_rows(loop))


def _rows(loop: LaidOutLoop) -> Iterator[Row]:
    layout = loop.layout
    for sheet in layout.sheets:
        left, bottom, right, top = (f"{edge / MM:.4g}" for edge in sheet.outline.bounds)
        holes = f", {len(sheet.holes)} holes" if sheet.holes else ""
        yield (
            sheet.name,
            f"x = {left} to {right} mm, y = {bottom} to {top} mm, underside at {sheet.height / MM:.4g} mm, "
            f"{sheet.faces.value}{holes}",
        )
    for port in layout.ports:
        part = loop.part_at.get(port.name)
        yield f"port {port.name}", type(part).__name__.lower() if part is not None else "counts as nothing"
    if layout.vias:
        yield "vias", str(len(layout.vias))
    if layout.plane is not None:
        yield "endless plane", f"upper face at {layout.plane.height / MM:.4g} mm"


def _loops(study: StudyResult) -> list[tuple[str, LayoutLoop]] | None:
    return [(each.variant.name, each.layout_loop) for each in study.results if each.layout_loop is not None] or None


def _tables(study: StudyResult) -> Sequence[Table]:
    known = _loops(study) or []
    names = list(dict.fromkeys(term.name for _, loop in known for term in loop.terms))
    headings = (
        named(),
        *columns(("whole", "nH")),
        *columns(*((name, "nH") for name in names)),
        *columns(("moment lying", "mm²"), ("moment standing", "mm²")),
    )
    rows = [
        (
            name,
            numbers.with_uncertainty(loop.inductance, loop.uncertainty, NANO),
            *(_term(loop, each) for each in names),
            *(numbers.significant(each / MM**2, 3) for each in loop.lying_and_standing(loop.moment_vector)),
        )
        for name, loop in known
    ]
    return (words_table("", headings, rows, study.reference),)


def _term(loop: LayoutLoop, name: str) -> str:
    found = next((term for term in loop.terms if term.name == name), None)
    return "–" if found is None else numbers.with_uncertainty(found.amount, found.uncertainty, NANO)


def _sentences(study: StudyResult) -> Sequence[str]:
    sources = dict.fromkeys(
        f"{term.name.capitalize()}: {term.source}." for _, loop in _loops(study) or [] for term in loop.terms
    )
    return (
        "Inductance, resistance and moment come from the plan view alone; what only a section shows is not known of "
        "these loops: field along scan lines, line moment, what a trace beside them picks up.",
        *sources,
    )


LAYOUT_PART = Part(
    key="layouts",
    title="Layouts",
    shown=_loops,
    heading=lambda study: f"Loops on their layouts at {report_frequency(study)}",
    sentences=_sentences,
    tables=_tables,
    details=lambda study: [
        {"variant": name, "terms": loop.terms, "shares": loop.shares, "moment": loop.moment_vector}
        for name, loop in _loops(study) or []
    ],
)
"""Of a study with such loops."""
