"""The report as one HTML page that needs no network: the decision first, then what it rests on."""

from __future__ import annotations

import base64
from dataclasses import dataclass

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from geometries.section.section import Region, Role, View
from solver.notation import numbers
from solver.notation.labels import scenario_wording, wording
from solver.report import (
    axisymmetric_section,
    check,
    emission_section,
    measurement_section,
    summary_section,
    switching_section,
)
from solver.report.couplings_section import coupled_variants
from solver.report.drawings import Drawing, axisymmetric_section_names, draw_study, section_names, stack_names, stackups
from solver.report.pickup_section import pickup_section
from solver.report.whole_loop_section import first_change, pair_sentence, peaks_sentence, ranked_loops, rule_sentence
from solver.study.results import StudyResult, reference_name
from solver.variant.results import VariantResult

_TEMPLATE = "report.html.j2"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConcernedWarning:
    """A caution with the variants it concerns; none named means the whole study."""

    code: str
    text: str
    variants: tuple[str, ...]


def render_report(study: StudyResult) -> str:
    """Render the report of a study.

    Parameters
    ----------
    study : StudyResult
        Finished or interrupted, with at least one solved variant.

    Returns
    -------
    str
        One HTML page with everything inside it.
    """
    return render_page(study, draw_study(study))


def render_page(study: StudyResult, drawings: tuple[Drawing, ...]) -> str:
    """Render the page with drawings that are already made (see :func:`solver.report.drawings.draw_study`)."""
    return page_template(_TEMPLATE).render(
        study=study,
        text=numbers,
        words=scenario_wording(study.scenario),
        at=numbers.frequency(study.scenario.analysis.report_frequency),
        reference=reference_name(study),
        pictures={drawing.name: data_address(drawing) for drawing in drawings},
        descriptions={drawing.name: drawing.description for drawing in drawings},
        sections=section_names(study),
        round=axisymmetric_section,
        axisymmetric_sections=axisymmetric_section_names(study),
        stackups=stackups(study),
        stacks=stack_names(study),
        warnings=numbered_warnings(study),
        missing=missing_variants(study),
        dimensions=dimensions,
        switching=switching_section,
        emission=emission_section,
        measurement=measurement_section,
        budgets=check,
        summary=summary_section,
        pickup=pickup_section(study),
        coupled=coupled_variants(study),
        whole_loops=ranked_loops(study),
        rule_sentence=rule_sentence,
        pair_sentence=pair_sentence,
        peaks_sentence=peaks_sentence,
        first_change=first_change,
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
    """All cautions, each wording once, with the variants it concerns."""
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


def dimensions(result: VariantResult) -> tuple[tuple[str, str], ...]:
    """What was solved, as pairs of label and value with unit: every conductor's place, and the length."""
    variant = result.variant
    rows = [(f"{region.name} ({_role(region)})", _place(region, variant.view)) for region in variant.section.regions]
    if variant.view is View.AXISYMMETRIC:
        return (*rows, ("turned about the axis", "r = 0 mm; one whole turn"))
    return (*rows, ("length along the current", numbers.length(variant.length)))


def _role(region: Region) -> str:
    return "in the return" if region.role is Role.RETURN else region.role.value


def _place(region: Region, view: View) -> str:
    left, bottom, right, top = region.outline.bounds
    words = wording(view)
    return (
        f"{numbers.length(right - left)} wide, {numbers.length(top - bottom)} thick, from {words.position_sign} = "
        f"{numbers.length(left)} to {numbers.length(right)}, underside at {words.height_sign} = "
        f"{numbers.length(bottom)}"
    )


def data_address(drawing: Drawing) -> str:
    """The drawing as an address that a page can hold in place of a file's."""
    encoded = base64.b64encode(drawing.svg.encode("utf-8")).decode("ascii")
    return f"data:image/svg+xml;base64,{encoded}"
