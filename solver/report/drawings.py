"""All drawings of a study, each with its file name and a description for those who cannot see it."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.board.stackup import Stackup
from geometries.section.section import View
from solver.figures import (
    AxisymmetricCurve,
    Figure,
    axis_figure,
    axisymmetric_section_figure,
    benefit_figure,
    comparison_figure,
    cost_figure,
    emission_figure,
    field_scan_figure,
    figure_svg,
    frequency_figure,
    impedance_figure,
    placements_figure,
    section_figure,
    sensitivity_figure,
    shielding_figure,
    spectrum_figure,
    stack_figure,
    waveform_figure,
    whole_loop_figure,
)
from solver.report.axisymmetric_section import axisymmetric_curves
from solver.report.file_names import file_names
from solver.report.pickup_section import pickup_figures
from solver.study.results import StudyResult
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawing:
    """A figure, the name of its files without suffix, and what it shows in one sentence."""

    name: str
    description: str
    figure: Figure
    svg: str


def draw_study(study: StudyResult) -> tuple[Drawing, ...]:
    """Draw everything a report shows.

    Parameters
    ----------
    study : StudyResult
        At least one solved variant.

    Returns
    -------
    tuple of Drawing
        ``comparison``, ``frequency``, ``emission``, ``field-lines`` and ``worth`` as far as there is something to show,
        then one ``section-...`` per variant, ``shielding``, ``axis`` and ``round-...`` of round views, and one
        ``stack-...`` per construction.
    """
    drawings = [
        _drawing(
            "comparison",
            "Bars of loop inductance, and of the field above and below the board.",
            comparison_figure(study),
        ),
        _drawing(
            "frequency",
            "Loop inductance and loop resistance of all variants over frequency.",
            frequency_figure(study),
        ),
    ]
    if study.emission is not None:
        sentence = "Levels of all variants over frequency against the limits, and upper bounds of their cables."
        drawings.append(_drawing("emission", sentence, emission_figure(study.emission)))
    if any(result.lines for result in study.results):
        sentence = "Field strength of all variants along lines above and below the board."
        drawings.append(_drawing("field-lines", sentence, field_scan_figure(study)))
    if any(result.benefit for result in study.results):
        sentence = "Change of inductance and field that each ground layer brings."
        drawings.append(_drawing("benefit", sentence, benefit_figure(study)))
    heard = [_drawing(*each) for each in pickup_figures(study)]
    return (
        *drawings,
        *_placements(study),
        *_cost(study),
        *_switching(study),
        *_measurement(study),
        *heard,
        *_sections(study),
        *_axisymmetric_views(study),
        *_stacks(study),
    )


def section_names(study: StudyResult) -> dict[str, str]:
    """Name of the section drawing of each solved variant."""
    slugs = file_names(result.variant.name for result in study.results)
    return {name: f"section-{slug}" for name, slug in slugs.items()}


def stackups(study: StudyResult) -> tuple[Stackup, ...]:
    """The constructions of the solved variants, each once, in order of appearance."""
    found: dict[str, Stackup] = {}
    for result in study.results:
        for stackup in result.variant.stackups:
            found.setdefault(stackup.name, stackup)
    return tuple(found.values())


def stack_names(study: StudyResult) -> dict[str, str]:
    """Name of the drawing of each construction."""
    return {name: f"stack-{slug}" for name, slug in file_names(each.name for each in stackups(study)).items()}


def _drawing(name: str, description: str, figure: Figure) -> Drawing:
    return Drawing(name=name, description=description, figure=figure, svg=figure_svg(figure))


def _cost(study: StudyResult) -> list[Drawing]:
    if study.summary is None or len(study.summary.priced) < 2:
        return []
    return [_drawing("cost", "Price per board of all variants against their margins.", cost_figure(study.summary))]


def _switching(study: StudyResult) -> list[Drawing]:
    if study.switching is None:
        return []
    sentence = "Voltage at the switch of all variants after the edge, with the limit, and their peaks."
    return [_drawing("waveforms", sentence, waveform_figure(study.switching))]


def _measurement(study: StudyResult) -> list[Drawing]:
    if study.measurement is None:
        return []
    drawings = []
    if study.measurement.impedance is not None:
        sentence = "Measured inductance and resistance over frequency, over the predicted ones."
        figure = impedance_figure(study.measurement.impedance, study.measurement.variant)
        drawings.append(_drawing("bench-impedance", sentence, figure))
    if study.measurement.spectrum is not None:
        sentence = "Measured levels over frequency, over the predicted bound of the loop alone."
        figure = spectrum_figure(study.measurement.spectrum, study.measurement.variant)
        drawings.append(_drawing("bench-spectrum", sentence, figure))
    return drawings


def _placements(study: StudyResult) -> list[Drawing]:
    if all(result.whole_loop is None for result in study.results):
        return []
    return [
        _drawing("whole-loop", "The whole loop of every placement, its terms in one bar.", whole_loop_figure(study)),
        _drawing("placements", "Every placement seen from above, to one scale.", placements_figure(study)),
        _drawing(
            "sensitivity", "Change of the whole loop per millimetre of each dimension.", sensitivity_figure(study)
        ),
    ]


def _sections(study: StudyResult) -> list[Drawing]:
    names = section_names(study)
    return [
        _drawing(
            names[result.variant.name],
            f"Cross-section of {result.variant.name} with flux lines and current density.",
            _section(result),
        )
        for result in study.results
    ]


def _section(result: VariantResult) -> Figure:
    if result.variant.view is View.SECTION:
        return section_figure(result)
    frequency = float(result.frequencies[result.report_index])
    return axisymmetric_section_figure(result.variant.section, result.sampled_field, result.variant.name, frequency)


def axisymmetric_section_names(study: StudyResult) -> tuple[str, ...]:
    """Names of the drawings of the round views of variants that are not round themselves."""
    names = section_names(study)
    return tuple(names[curve.names[0]].replace("section", "round", 1) for curve in _twins(study))


def _twins(study: StudyResult) -> tuple[AxisymmetricCurve, ...]:
    """Round views that stand beside a section view."""
    return axisymmetric_curves(study) if study.scenario.variants[0].view is View.SECTION else ()


def _axisymmetric_views(study: StudyResult) -> list[Drawing]:
    """Shielding, field on the axis, and the round view of every variant that is not round itself."""
    curves, frequency = axisymmetric_curves(study), study.scenario.analysis.report_frequency
    drawings = []
    shielded = [curve for curve in curves if curve.has_discs]
    if shielded:
        sentence = "Inductance, moment and field against the ring alone, over frequency."
        drawings.append(_drawing("shielding", sentence, shielding_figure(shielded)))
    if curves:
        sentence = "Field strength on the axis, with discs and of the ring alone."
        drawings.append(_drawing("axis", sentence, axis_figure(curves, frequency)))
    for name, curve in zip(axisymmetric_section_names(study), _twins(study), strict=True):
        section, field_map = curve.view.loop.section, curve.view.reading.field_map
        figure = axisymmetric_section_figure(section, field_map, curve.name, frequency)
        drawings.append(_drawing(name, f"Round view of {curve.name}, cut through its axis.", figure))
    return drawings


def _stacks(study: StudyResult) -> list[Drawing]:
    names = stack_names(study)
    return [
        _drawing(
            names[stackup.name],
            f"Construction {stackup.name} to scale, with all layers.",
            stack_figure(stackup),
        )
        for stackup in stackups(study)
    ]
