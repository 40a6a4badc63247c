"""The report as one HTML page that needs no network: the decision first, then what it rests on."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from solver.notation import numbers
from solver.notation.labels import scenario_wording
from solver.report.loop_part import analysis_table, report_frequency
from solver.report.part import Drawing, Part
from solver.report.parts import shown_parts
from solver.report.tables import Table
from solver.study.basis import solved_basis
from solver.study.results import StudyResult
from solver.study.summary import Summary

_TEMPLATE = "report.html.j2"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConcernedWarning:
    """A warning with the variants it concerns; none named means the whole study."""

    code: str
    text: str
    variants: tuple[str, ...]


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
    return render_page(study, {part.key: tuple(part.drawings(study)) for part in shown_parts(study)})


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
    every = [each for part in drawings.values() for each in part]
    return page_template(_TEMPLATE).render(
        study=study,
        decision=_decision(study),
        loops="" if _decision(study) == study.decision else study.decision,
        text=numbers,
        words=scenario_wording(study.scenario),
        at=report_frequency(study),
        basis=solved_basis(study.results),
        pictures={each.name: data_address(each) for each in every},
        descriptions={each.name: each.description for each in every},
        sections=[_section(part, study, drawings[part.key]) for part in shown_parts(study)],
        warnings=numbered_warnings(study),
        missing=missing_variants(study),
    )


def _decision(study: StudyResult) -> str:
    """The sentence on top: that of the summary, if there is one."""
    summary = study.outcome(Summary)
    return study.decision if summary is None else summary.sentence


def _section(part: Part, study: StudyResult, drawings: Sequence[Drawing]) -> _Section:
    known = part.analysis is not None and any(figure in part.analysis.figures for figure in study.headlines)
    return _Section(
        key=part.key,
        title=part.title,
        heading=part.heading(study),
        sentences=[each for each in part.sentences(study) if each != _decision(study)],
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


def missing_variants(study: StudyResult) -> tuple[str, ...]:
    """Variants of the scenario that were not solved."""
    solved = {result.variant.name for result in study.results}
    return tuple(variant.name for variant in study.scenario.variants if variant.name not in solved)


def data_address(drawing: Drawing) -> str:
    """The drawing as an address that a page can hold in place of a file's."""
    encoded = base64.b64encode(drawing.svg.encode("utf-8")).decode("ascii")
    return f"data:image/svg+xml;base64,{encoded}"
