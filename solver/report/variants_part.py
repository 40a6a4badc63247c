"""Every variant by itself: its section, key numbers and current distribution; and what was solved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometries.board.stackup import Stackup
from geometries.section.section import Region, Role, View
from solver import figures
from solver.notation import numbers
from solver.notation.labels import wording
from solver.report.figure_tables import value_words
from solver.report.file_names import file_names
from solver.report.layout_part import laid_out_rows
from solver.report.loop_part import report_frequency
from solver.report.part import Part, Sketch, sent_apart, sketch
from solver.study.results import StudyResult
from solver.variant.results import VariantResult

Row = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class VariantView:
    """One variant as its template shows it: its result, its drawings' names, and pairs of label and value."""

    result: VariantResult
    pictures: tuple[str, ...]
    figures: tuple[Row, ...]


def section_names(study: StudyResult) -> dict[str, str]:
    """Name of the drawing of each solved variant: of its section, or of its plan where its layout describes it."""
    slugs = file_names(result.variant.name for result in study.results)
    plans = {result.variant.name for result in study.results if result.layout_loop is not None}
    return {name: f"{'plan' if name in plans else 'section'}-{slug}" for name, slug in slugs.items()}


def _views(study: StudyResult) -> tuple[VariantView, ...]:
    names = section_names(study)
    return tuple(
        VariantView(
            result=result,
            pictures=(names[result.variant.name], *_above(names[result.variant.name], result)),
            figures=_figures(study, result.variant.name),
        )
        for result in study.results
    )


def _above(section: str, result: VariantResult) -> tuple[str, ...]:
    """Name of the drawing from above of a loop of several sections, which goes with that of its main section."""
    return (section.replace("section", "along", 1),) if result.variant.stretches else ()


def _figures(study: StudyResult, name: str) -> tuple[Row, ...]:
    return tuple(
        (figure.title, f"{value_words(figure, study.reading(name, figure.key))} {figure.unit}".removesuffix(" 1"))
        for figure in study.figures
    )


def _sections(study: StudyResult) -> Sequence[Sketch]:
    names = section_names(study)
    return [sent_apart(each) for result in study.results for each in _sketches(names[result.variant.name], result)]


def _sketches(section: str, result: VariantResult) -> list[Sketch]:
    name = result.variant.name
    if result.layout_loop is not None:
        words = f"{name} from above: how densely the current flows over its copper, for one ampere."
        return [sketch(section, words, figures.plan_figure, result.layout_loop.driven)]
    return [
        sketch(section, f"Cross-section of {name} with flux lines and current density.", _section, result),
        *(
            sketch(each, f"{name} from above: its sections along the loop.", figures.stretches_figure, result.variant)
            for each in _above(section, result)
        ),
    ]


def _section(result: VariantResult) -> figures.Figure:
    if result.variant.view is View.SECTION:
        return figures.section_figure(result)
    frequency = float(result.frequencies[result.report_index])
    return figures.axisymmetric_section_figure(
        result.variant.own_section, result.sampled_field, result.variant.name, frequency
    )


VARIANTS = Part(
    key="variants",
    title="Variants",
    shown=_views,
    heading=lambda study: f"The variants at {report_frequency(study)}",
    template="variants.html.j2",
    sketches=_sections,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class InputView:
    """What was solved: drawings of the stackups by name, and every variant's dimensions."""

    stacks: tuple[str, ...]
    results: tuple[tuple[VariantResult, tuple[Row, ...]], ...]
    tolerance: float
    text: str


def stackups(study: StudyResult) -> tuple[Stackup, ...]:
    """The stackups of the solved variants, each once, in order of appearance."""
    found: dict[str, Stackup] = {}
    for result in study.results:
        for stackup in result.variant.stackups:
            found.setdefault(stackup.name, stackup)
    return tuple(found.values())


def _stack_names(study: StudyResult) -> dict[str, str]:
    return {name: f"stack-{slug}" for name, slug in file_names(each.name for each in stackups(study)).items()}


def _stacks(study: StudyResult) -> Sequence[Sketch]:
    names = _stack_names(study)
    return [
        sent_apart(
            sketch(
                names[stackup.name], f"Stackup {stackup.name} to scale, with all layers.", figures.stack_figure, stackup
            )
        )
        for stackup in stackups(study)
    ]


def _inputs(study: StudyResult) -> InputView:
    return InputView(
        stacks=tuple(_stack_names(study).values()),
        results=tuple((result, dimensions(result)) for result in study.results),
        tolerance=study.scenario.analysis.tolerance,
        text=study.scenario.text,
    )


INPUTS = Part(
    key="inputs",
    title="Inputs",
    shown=_inputs,
    heading=lambda study: "Inputs",
    template="inputs.html.j2",
    sketches=_stacks,
)


def dimensions(result: VariantResult) -> tuple[Row, ...]:
    """What was solved, as pairs of label and value with unit: every conductor's place, and the length."""
    variant = result.variant
    if variant.laid_out is not None:
        return laid_out_rows(variant.laid_out)
    rows = [
        (f"{region.name} ({_role(region)})", _place(region, variant.view)) for region in variant.own_section.regions
    ]
    if variant.view is View.AXISYMMETRIC:
        return (*rows, ("axisymmetric about", "r = 0 mm; one whole turn"))
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
