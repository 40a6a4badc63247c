"""The whole loops of placements: their terms, what to change first, and where the section ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometries.quantities import NANO
from solver import figures
from solver.loop.terms import SectionRule, Sensitivity, WholeLoop
from solver.notation import numbers
from solver.report.loop_part import report_frequency
from solver.report.part import Part, Sketch, sketch
from solver.study.results import StudyResult


def rule_sentence(rule: SectionRule) -> str:
    """How far section times length is off, in a sentence."""
    side = "low" if rule.off < 0 else "high"
    return (
        f"Section × length gives {numbers.nanohenry(rule.section)} nH for the copper and vias of "
        f"this loop, the plan view "
        f"{numbers.nanohenry(rule.plan)} nH: section × length is {abs(100 * rule.off):.0f} % {side} here."
    )


def pair_sentence(loop: WholeLoop) -> str:
    """Both facts about a mirrored pair, and what is left of the second where the shares are uneven."""
    pair = loop.pair
    if pair is None:
        return ""
    return (
        f"In parallel the two sides have {numbers.nanohenry(pair.pair)} nH, "
        f"one alone {numbers.nanohenry(pair.single)} nH "
        f"({pair.pair / pair.single:.2f} of it): that is paralleling, and any second capacitor beside the first would "
        f"bring much of it. Symmetry does another thing: the magnetic moments of the two sides, as they lie on the "
        f"board, are opposite, and of {_moment(pair.single_moment)} mm² for one side alone "
        f"{_left(pair.pair_moment, pair.single_moment)} at the shares found here and "
        f"{_left(pair.uneven_moment, pair.single_moment)} if the sides share as 55 to 45. The upright part, "
        f"{_moment(pair.upright_moment)} mm² from bodies over their copper, is the same on both sides and stays."
    )


def peaks_sentence(loop: WholeLoop) -> str:
    """Where several capacitors exchange charge among themselves."""
    peaks = loop.bank.anti_resonances()
    if not peaks:
        return "none: what the capacitors exchange is damped"
    return ", ".join(
        f"{numbers.frequency(each.frequency)} (Q {numbers.significant(each.quality, 2)})" for each in peaks
    )


def first_change(loop: WholeLoop) -> str:
    """The dimension with the steepest derivative, and that of which ten per cent bring most."""
    if not loop.sensitivities:
        return "no dimension could be varied"
    steepest, largest = loop.sensitivities[0], loop.by_tenth[0]
    tenth = abs(steepest.derivative) * 1e-4 / NANO
    return (
        f"{_words(steepest)}: 0.1 mm {_way(steepest)} of it takes off {tenth:.3f} nH; by ten per cent: "
        f"{_words(largest)}, {_way(largest)} of it takes off {abs(largest.per_tenth) / NANO:.3f} nH"
    )


def _words(change: Sensitivity) -> str:
    return change.dimension.replace("_", " ")


def _way(change: Sensitivity) -> str:
    """In which direction it takes off inductance."""
    return "less" if change.derivative > 0 else "more"


def _moment(value: float) -> str:
    return numbers.significant(value * 1e6, 3)


def _left(value: float, whole: float) -> str:
    part = value / whole
    return "less than 0.1 % is left" if part < 1e-3 else f"{100 * part:.0f} % is left"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlacementView:
    """One placement as its template shows it."""

    name: str
    loop: WholeLoop
    check: SectionRule
    first_change: str
    check_words: str
    pair_words: str
    peaks: str


def _views(study: StudyResult) -> tuple[PlacementView, ...] | None:
    """Placements, the smallest loop first."""
    found = [
        PlacementView(
            name=each.variant.name,
            loop=each.whole_loop,
            check=each.section_check,
            first_change=first_change(each.whole_loop),
            check_words=rule_sentence(each.section_check),
            pair_words=pair_sentence(each.whole_loop),
            peaks=peaks_sentence(each.whole_loop),
        )
        for each in study.results
        if each.whole_loop is not None and each.section_check is not None
    ]
    return tuple(sorted(found, key=lambda view: view.loop.inductance)) or None


def _sketches(study: StudyResult) -> Sequence[Sketch]:
    return (
        sketch(
            "whole-loop", "The whole loop of every placement, its terms in one bar.", figures.whole_loop_figure, study
        ),
        sketch("placements", "Every placement seen from above, to one scale.", figures.placements_figure, study),
        sketch(
            "sensitivity",
            "Change of the whole loop per millimetre of each dimension.",
            figures.sensitivity_figure,
            study,
        ),
    )


def _details(study: StudyResult) -> object:
    return [
        {
            "variant": each.variant.name,
            "whole_loop": each.whole_loop,
            "section_check": each.section_check,
            "anti_resonances_Hz": [peak.frequency for peak in each.whole_loop.bank.anti_resonances()],
            "series_resonances_Hz": [peak.frequency for peak in each.whole_loop.bank.series_resonances()],
        }
        for each in study.results
        if each.whole_loop is not None
    ]


WHOLE_LOOP_PART = Part(
    key="whole-loop",
    title="Whole loop",
    shown=_views,
    heading=lambda study: f"The whole loop at {report_frequency(study)}",
    template="whole_loop.html.j2",
    sketches=_sketches,
    details=_details,
)
