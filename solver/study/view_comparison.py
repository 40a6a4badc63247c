"""Section view and axisymmetric view of the same variants side by side: where they agree, and where they cannot."""

from __future__ import annotations

from collections.abc import Sequence

from geometries.section.section import View
from solver.notation.decibels import decibels
from solver.section.axisymmetric_results import AxisymmetricResult
from solver.study.view_rows import AxisymmetricRow, SideBySide, ViewComparison
from solver.variant.analysis import Analysis
from solver.variant.results import VariantResult

_MOMENT_FLOOR = {View.SECTION: 1e-9, View.AXISYMMETRIC: 1e-13}
"""Line moments [m] and axial moments [m²] below these are rounding."""


def compare_views(results: Sequence[VariantResult], reference: str) -> ViewComparison | None:
    """Set the axisymmetric view of all variants beside their section view.

    Parameters
    ----------
    results : sequence of VariantResult
        Solved variants, at least one.
    reference : str
        Name of the one that changes are against; the first with an axisymmetric view takes its place if it has none.

    Returns
    -------
    RoundComparison or None
        None if no variant has an axisymmetric view and none says why.
    """
    seen = [(result, result.axisymmetric_view) for result in results if result.axisymmetric_view is not None]
    without = tuple(
        (each.variant.name, each.variant.no_axisymmetric_view) for each in results if each.variant.no_axisymmetric_view
    )
    if not seen:
        return ViewComparison(reference="", rows=(), pairs=(), without=without, sentences=()) if without else None
    base = next((pair for pair in seen if pair[0].variant.name == reference), seen[0])
    rows = tuple(_row(result, view) for result, view in seen)
    pairs = tuple(_pair(*each, *base) for each in seen if each[0].variant.view is View.SECTION)
    name = base[0].variant.name
    return ViewComparison(
        reference=name,
        rows=rows,
        pairs=pairs,
        without=without,
        sentences=_both_views(pairs, name) if pairs else _discs(rows),
    )


VIEWS: Analysis[None] = Analysis(
    key="views",
    asked=lambda scenario: True,
    find=lambda scenario, result: None,
    compare=lambda study, _workers: compare_views(study.results, study.reference),
)
"""Always asked for; says nothing where no variant has an axisymmetric view."""


def _row(result: VariantResult, view: AxisymmetricResult) -> AxisymmetricRow:
    return AxisymmetricRow(
        name=result.variant.name,
        radius=view.loop.radius,
        mapping=view.loop.mapping,
        inductance=view.inductance,
        inductance_error=view.inductance_error,
        moment=view.moment,
        shielding=view.shielding,
    )


def _pair(
    result: VariantResult, view: AxisymmetricResult, base: VariantResult, base_view: AxisymmetricResult
) -> SideBySide:
    return SideBySide(
        name=result.variant.name,
        section_inductance=result.section_inductance,
        section_error=result.section_inductance_error,
        axisymmetric_inductance=view.inductance,
        axisymmetric_error=view.inductance_error,
        section_change=result.section_inductance / base.section_inductance - 1,
        axisymmetric_change=view.inductance / base_view.inductance - 1,
        section_moment_db=decibels(result.moment, base.moment, _MOMENT_FLOOR[View.SECTION]),
        axisymmetric_moment_db=decibels(view.moment, base_view.moment, _MOMENT_FLOOR[View.AXISYMMETRIC]),
        tied=result.variant.own_section.ground_carries_return,
        left_out=_left_out_of(result, view),
    )


def _left_out_of(result: VariantResult, view: AxisymmetricResult) -> str:
    stretches = ", ".join(segment.name for segment in result.variant.segments)
    return "; ".join(filter(None, (view.loop.left_out, f"the stretches {stretches}" if stretches else "")))


def _both_views(pairs: tuple[SideBySide, ...], reference: str) -> tuple[str, ...]:
    others = [pair for pair in pairs if pair.name != reference]
    free = [pair for pair in others if not pair.tied and not pair.left_out]
    return tuple(
        filter(
            None,
            (
                _where_they_agree(free, reference),
                _tied_at_both_ends([pair for pair in others if pair.tied]),
                _left_out([pair for pair in others if pair.left_out]),
                _stray_field(free or others, reference),
                _absolute(pairs),
            ),
        )
    )


def _where_they_agree(free: Sequence[SideBySide], reference: str) -> str:
    """How far apart the changes of inductance are that both views can show."""
    if not free:
        return ""
    most = max(free, key=lambda pair: abs(pair.section_change - pair.axisymmetric_change))
    apart = 100 * abs(most.section_change - most.axisymmetric_change)
    return (
        f"Where they agree: the change of inductance against “{reference}” that a stackup brings differs "
        f"between the two views by at most {apart:.2g} percentage points (“{most.name}”: "
        f"{_percent(most.section_change)} in the section view, {_percent(most.axisymmetric_change)} in the "
        f"axisymmetric view)."
    )


def _tied_at_both_ends(tied: Sequence[SideBySide]) -> str:
    if not tied:
        return ""
    most = max(tied, key=lambda pair: abs(pair.section_change - pair.axisymmetric_change))
    return (
        "Where they cannot: a plane tied at both ends carries part of the return, which the section view shows; a disc "
        "carries induced current only, whatever it is tied to, so that the axisymmetric view shows the same plane tied "
        f"at one end (“{most.name}”: {_percent(most.section_change)} against {_percent(most.axisymmetric_change)})."
    )


def _left_out(pairs: Sequence[SideBySide]) -> str:
    if not pairs:
        return ""
    listed = "; ".join(f"“{pair.name}”: {pair.left_out}" for pair in pairs)
    return f"Left out of the axisymmetric view, so that only the section view counts there: {listed}."


def _stray_field(pairs: Sequence[SideBySide], reference: str) -> str:
    """The section's loop never closes: what it says of field and moment is that of an endless pair."""
    if not pairs:
        return ""
    most = max(pairs, key=lambda pair: abs(pair.section_moment_db - pair.axisymmetric_moment_db))
    return (
        "Stray field and moment differ by nature: the section's loop never closes, a ring does, and only the moment "
        f"of a closed loop reaches far. Against “{reference}”, “{most.name}” has "
        f"{_decibels(most.section_moment_db)} of line moment in the section view and "
        f"{_decibels(most.axisymmetric_moment_db)} of moment in the axisymmetric view."
    )


def _absolute(pairs: Sequence[SideBySide]) -> str:
    ratios = [pair.axisymmetric_inductance / pair.section_inductance - 1 for pair in pairs if not pair.tied] or [
        pair.axisymmetric_inductance / pair.section_inductance - 1 for pair in pairs
    ]
    low, high = _percent(min(ratios)), _percent(max(ratios))
    span = low if low == high else f"{low} to {high}"
    return (
        f"The inductances themselves are not the same quantity: that of the ring is {span} against section × length, "
        "which leaves out the ends; compare variants within one view."
    )


def _discs(rows: Sequence[AxisymmetricRow]) -> tuple[str, ...]:
    """What the discs of axisymmetric variants shield."""
    best = min(rows, key=lambda row: row.shielding.moment_db)
    shielding = best.shielding
    if shielding.moment_db > -0.05:
        return ("No variant has discs that take anything off the ring's moment.",)
    sentence = (
        f"Against the ring alone, the discs of “{best.name}” change the moment by {_decibels(shielding.moment_db)}, "
        f"the inductance by {_decibels(shielding.inductance_db)}, and the field by {_decibels(shielding.above_db)} "
        f"above and {_decibels(shielding.below_db)} below the board."
    )
    if shielding.corner is None:
        return (sentence,)
    return (
        sentence,
        f"Below {_frequency(shielding.corner)} they become transparent (half of their effect on inductance).",
    )


def _percent(fraction: float) -> str:
    return f"{100 * fraction:+.1f} %".replace("-", "−")


def _decibels(value: float) -> str:
    return f"{value:+.1f} dB".replace("-", "−")


def _frequency(value: float) -> str:
    return f"{value / 1e6:.3g} MHz" if value >= 1e6 else f"{value / 1e3:.3g} kHz"
