"""The report as one HTML page that needs no network: the decision first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from solver.notation import numbers
from solver.notation.labels import wording
from solver.report.first_page import decision_of, study_first_page
from solver.report.loop_part import analysis_table, report_frequency
from solver.report.part import Drawing, Part, all_drawn
from solver.report.parts import WAYS, shown_parts
from solver.report.tables import Table
from solver.runs.workforce import Workforce
from solver.study.basis import solved_basis
from solver.study.results import StudyResult

_TEMPLATE = "report.html.j2"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConcernedWarning:
    """A warning with the variants it concerns; none named means the whole study."""

    code: str
    text: str
    variants: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _ShownWay:
    """A way into the report with the parts that have something to show."""

    number: int
    key: str
    title: str
    offers: str
    sections: Sequence[_Section]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Section:
    """A part as the page shows it."""

    key: str
    title: str
    heading: str
    sentences: Sequence[str]
    figures: Table | None
    template: str
    tables: Sequence[Table]
    drawings: Sequence[str]
    shown: Any


def render_report(study: StudyResult) -> str:
    """The page of a study with its own drawings; see :func:`render_page`."""
    return render_page(study, report_drawings(study))


def report_drawings(
    study: StudyResult, *, png: bool = False, workers: Workforce | int = 1
) -> dict[str, tuple[Drawing, ...]]:
    """All drawings of a study's report, as SVG and, if asked for, PNG, by the key of the part that they belong to."""
    asked = {part.key: tuple(part.sketches(study)) for part in shown_parts(study)}
    made = all_drawn([each for part in asked.values() for each in part], png=png, workers=workers)
    return {key: tuple(made[each.name] for each in part) for key, part in asked.items()}


def render_page(study: StudyResult, drawings: dict[str, tuple[Drawing, ...]]) -> str:
    """The page of a study.

    Parameters
    ----------
    study : StudyResult
        Finished or interrupted, with at least one solved variant.
    drawings : mapping
        Of every part shown, by its key (see :func:`solver.report.parts.shown_parts`).

    Returns
    -------
    str
        One HTML page with everything inside it.
    """
    first = study_first_page(study)
    every = [each for part in drawings.values() for each in part]
    return page_template(_TEMPLATE).render(
        first=first,
        title=first.question,
        issued=first.issued,
        study=study,
        loops="" if decision_of(study) == study.decision else study.decision,
        text=numbers,
        words=wording(study.scenario.view),
        at=report_frequency(study),
        basis=solved_basis(study.results),
        pictures={each.name: each.address for each in every},
        descriptions={each.name: each.description for each in every},
        ways=list(_ways(study, drawings)),
        warnings=numbered_warnings(study),
    )


def render_hand_out(study: StudyResult) -> str:
    """The first page of a study's report alone."""
    first = study_first_page(study)
    return page_template("hand_out.html.j2").render(first=first, title=first.question, issued=first.issued)


def _ways(study: StudyResult, drawings: dict[str, tuple[Drawing, ...]]) -> Iterator[_ShownWay]:
    """The ways, numbered, each with its parts that have something to show."""
    shown = shown_parts(study)
    found = [(way, [part for part in way.parts if part in shown]) for way in WAYS]
    for number, (way, parts) in enumerate((pair for pair in found if pair[1]), start=1):
        sections = [_section(part, study, drawings[part.key]) for part in parts]
        yield _ShownWay(number=number, key=way.key, title=way.title, offers=way.offers, sections=sections)


def _section(part: Part, study: StudyResult, drawings: Sequence[Drawing]) -> _Section:
    known = part.analysis is not None and any(figure in part.analysis.figures for figure in study.headlines)
    return _Section(
        key=part.key,
        title=part.title,
        heading=part.heading(study),
        sentences=[each for each in part.sentences(study) if each != decision_of(study)],
        figures=analysis_table(study, part.analysis) if part.analysis is not None and known else None,
        template=part.template,
        tables=part.tables(study),
        drawings=[each.name for each in drawings],
        shown=part.shown(study),
    )


def page_template(name: str) -> Template:
    """A template of this package; whatever it is given is escaped, and nothing may be missing."""
    environment = Environment(
        loader=PackageLoader("solver.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["css_string"] = css_string
    return environment.get_template(name)


def numbered_warnings(study: StudyResult) -> tuple[ConcernedWarning, ...]:
    """All warnings, each wording once, with the variants it concerns."""
    concerned: dict[tuple[str, str], list[str]] = {(each.code, each.text): [] for each in study.warnings}
    for result in study.results:
        for each in result.warnings:
            concerned.setdefault((each.code, each.text), []).append(result.variant.name)
    return tuple(
        ConcernedWarning(code=code, text=words, variants=tuple(names)) for (code, words), names in concerned.items()
    )


def css_string(text: str) -> Markup:
    r"""A text as the inside of a string of a style sheet: every sign that is not a letter or a digit by its number.

    Examples
    --------
    >>> str(css_string('a "b" </style>'))
    'a \\22 b\\22  \\3c \\2f style\\3e '
    """
    return Markup("".join(each if each.isalnum() or each == " " else f"\\{ord(each):x} " for each in text))
