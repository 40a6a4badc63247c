"""Five studies of built-in scenarios: the rule of the trade each looks into, what it finds, and its drawing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from geometries.board.materials import COPPER
from geometries.quantities import MM, NANO, UM
from solver.figures import Curve, Figure, Panel, comparison_figure, curves_figure, frequency_figure
from solver.formulas import skin_depth
from solver.notation import numbers
from solver.notation.labels import listed
from solver.section.axisymmetric_results import AxisymmetricResult
from solver.study.results import StudyResult
from solver.variant.results import VariantResult

_NOTHING = 0.01
"""Changes below this fraction are called no difference; board houses vary by ten times as much (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What a study shows: one sentence with its numbers, and what becomes of the rule."""

    sentence: str
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GalleryStudy:
    """One study of the gallery.

    Parameters
    ----------
    name : str
        Built-in scenario, and the picture's name.
    rule : str
        Rule of the trade.
    source : str
        Where the rule is from.
    find : function of StudyResult
        Its finding.
    draw : function of StudyResult
        Its picture.
    """

    name: str
    rule: str
    source: str
    find: Callable[[StudyResult], Finding]
    draw: Callable[[StudyResult], Figure]


def _named(study: StudyResult, name: str) -> VariantResult:
    return next(result for result in study.results if result.variant.name == name)


def _round(result: VariantResult) -> AxisymmetricResult:
    if result.axisymmetric_view is None:
        raise ValueError(f"variant {result.variant.name!r} was not solved in the axisymmetric view")
    return result.axisymmetric_view


def _moment_db(result: VariantResult) -> float:
    seen = _round(result)
    return float(seen.moment_db[seen.report_index])


def _at(result: VariantResult, frequency: float) -> float:
    """Loop inductance at one of the study's frequencies [H]."""
    return float(result.section_inductances[result.frequencies.tolist().index(frequency)])


def _change(before: float, after: float) -> str:
    return f"{numbers.percent(after / before - 1)} %"


def _henry(value: float) -> str:
    return f"{numbers.significant(value / NANO, 3)} nH"


def _series(study: StudyResult) -> dict[str, list[VariantResult]]:
    """Variants by what their names begin with, up to the comma."""
    found: dict[str, list[VariantResult]] = {}
    for result in study.results:
        found.setdefault(result.variant.name.partition(",")[0], []).append(result)
    return found


def _depth(result: VariantResult) -> float:
    """From the loop's copper down to the first plane [m]."""
    section = result.variant.own_section
    return section.region("go").outline.bounds[1] - section.region("L2").outline.bounds[3]


def _overhang(result: VariantResult) -> float:
    """From the loop's outer edge to the plane's [m]."""
    section = result.variant.own_section
    loop = max(section.region(name).outline.bounds[2] for name in ("go", "return"))
    return section.region("L2").outline.bounds[2] - loop


def _slot(result: VariantResult) -> float:
    """Width of the slot in the plane, or length of the stretch over it [m]."""
    if result.variant.segments:
        return result.variant.segments[0].length
    pieces = sorted(
        region.outline.bounds[::2] for region in result.variant.own_section.regions if region.name.startswith("L2")
    )
    return pieces[1][0] - pieces[0][1] if len(pieces) > 1 else 0.0


# --- depth of the first plane against number of planes


def find_depth(study: StudyResult) -> Finding:
    """What moving one plane up does, and what more planes below it add."""
    bare, deep, near, more = (_named(study, name) for name in ("no plane", "L5 only", "L2 only", "L2, L3 and L5"))
    extra = abs(more.section_inductance / near.section_inductance - 1)
    sentence = (
        f"Brought up from {numbers.length(_first_plane(deep))} to "
        f"{numbers.length(_first_plane(near))} below the loop, a "
        f"single plane lowers the inductance from {_henry(deep.section_inductance)} to "
        f"{_henry(near.section_inductance)} "
        f"({_change(deep.section_inductance, near.section_inductance)}; without a plane it is "
        f"{_henry(bare.section_inductance)}), and two more planes below that one change it by {_at_most(extra)}; the "
        f"moment falls by {-_moment_db(deep):.0f} dB with the deep plane, {-_moment_db(near):.0f} dB with the near one "
        f"and {-_moment_db(more):.0f} dB with all three."
    )
    return Finding(sentence=sentence, verdict=_confirmed(extra < _NOTHING))


def _first_plane(result: VariantResult) -> float:
    """Depth of the uppermost plane below the loop's copper [m]."""
    section = result.variant.own_section
    tops = [region.outline.bounds[3] for region in section.regions if region.name.startswith("L")]
    return section.region("go").outline.bounds[1] - max(tops)


def _at_most(fraction: float) -> str:
    return "less than 0.1 %" if abs(fraction) < 1e-3 else f"{100 * abs(fraction):.1f} %"


def _confirmed(holds: bool) -> str:
    return "confirmed" if holds else "not confirmed"


# --- copper weight against frequency

_SLOW, _FAST = 1e6, 1e7


def find_copper(study: StudyResult) -> Finding:
    """What the plane's thickness does below, at and above the frequency at which it is half a skin depth thick."""
    bare, *planes = study.results
    thin, middle, thick = planes
    spread = _at(thin, _FAST) / _at(thick, _FAST) - 1
    depth = skin_depth(_SLOW, COPPER.conductivity)
    corners = [_round(result).corner for result in planes]
    sentence = (
        f"At {numbers.frequency(_SLOW)}, where a skin depth is {numbers.significant(depth / UM, 2)} µm, a plane of "
        f"{_thickness(middle)} already takes "
        f"{100 * (1 - _at(middle, _SLOW) / _at(bare, _SLOW)):.0f} % of the "
        f"inductance away, and at {numbers.frequency(_FAST)} planes of {_thickness(thin)} and {_thickness(thick)} "
        f"differ "
        f"by {_at_most(spread)}; what counts is the shielding corner frequency, in the axisymmetric view "
        f"{_listed(corners)} for {_thickness(thin)}, {_thickness(middle)} and {_thickness(thick)}."
    )
    shielded = _at(middle, _SLOW) < 0.5 * _at(bare, _SLOW)
    return Finding(
        sentence=sentence,
        verdict="refuted for the inductance" if shielded and abs(spread) < 0.05 else "not refuted",
    )


def _thickness(result: VariantResult) -> str:
    """Of the plane, in words."""
    _, bottom, _, top = result.variant.own_section.region("L2").outline.bounds
    return numbers.length(round(top - bottom, 9))


def _listed(frequencies: list[float | None]) -> str:
    words = [numbers.frequency(each) if each is not None else "none in the band" for each in frequencies]
    return listed(words)


# --- how far the plane reaches past the loop


def find_overhang(study: StudyResult) -> Finding:
    """What a wider plane does to the inductance, and what to the moment."""
    flush, wide = (_named(study, name) for name in ("as wide as the loop", "30 mm past the loop"))
    little = _named(study, "1 mm past the loop")
    flush_change, little_change = (each.section_inductance / wide.section_inductance - 1 for each in (flush, little))
    sentence = (
        f"Over a plane no wider than itself the loop has {100 * flush_change:.1f} % more inductance, and over one that "
        f"reaches 1 mm past it {100 * little_change:.1f} % more, than over one that reaches 30 mm past it; but the "
        f"moment, which is what reaches far, falls by {-_moment_db(flush):.0f} dB, {-_moment_db(little):.0f} dB and "
        f"{-_moment_db(wide):.0f} dB with these planes."
    )
    small = flush_change < 0.05
    gained = _moment_db(wide) < _moment_db(flush) - 6
    return Finding(
        sentence=sentence,
        verdict="refuted for the inductance beyond a millimetre or so, confirmed for what reaches far"
        if small and gained
        else "not decided",
    )


def draw_overhang(study: StudyResult) -> Figure:
    """Inductance against the widest plane, moment and field below against no plane."""
    wide = _named(study, study.scenario.reference).section_inductance
    rise = [(_overhang(each), 100 * (each.section_inductance / wide - 1)) for each in study.results]
    moment = [(_overhang(each), _moment_db(each)) for each in study.results]
    below = [(_overhang(each), float(_round(each).below_db[_round(each).report_index])) for each in study.results]
    return curves_figure(
        study.scenario.title,
        f"at {numbers.frequency(study.scenario.analysis.report_frequency)}, plane 0.20 mm below the loop, tied at one "
        "end; inductance: section × length; moment and field: axisymmetric view against the same ring without a plane",
        "plane beyond the loop's edge",
        (
            Panel(
                label="inductance against the\nwidest plane, %",
                curves=(Curve(label="section view", points=tuple(rise)),),
            ),
            Panel(
                label="against no plane, dB",
                curves=(
                    Curve(label="moment", points=tuple(moment)),
                    Curve(label="largest |H| 3 mm below the board", points=tuple(below)),
                ),
            ),
        ),
        linear_below=0.5 * MM,
    )


# --- a slot in the plane


def find_slot(study: StudyResult) -> Finding:
    """What a slot of one and of four millimetres does at three places."""
    rises = {}
    for name, results in _series(study).items():
        ordered = sorted(results, key=_slot)
        rises[name] = {
            round(_slot(each) / MM, 3): each.section_inductance / ordered[0].section_inductance for each in ordered
        }
    gap, strip, across = (rises[name] for name in ("along the gap", "under the strip", "across the loop"))
    sentence = (
        f"A slot of 1 mm raises the inductance by {_rise(gap[1.0])} along the gap between go and return, by "
        f"{_rise(strip[1.0])} under the middle of a strip that returns in the plane, and by up to {_rise(across[1.0])} "
        f"right across the loop; one of 4 mm by {_rise(gap[4.0])}, {_rise(strip[4.0])} and up to {_rise(across[4.0])}."
    )
    worst, best = max(strip[1.0], across[1.0]), gap[1.0]
    return Finding(
        sentence=sentence,
        verdict="confirmed under the current and across it, not for a narrow slot along the gap"
        if worst > 1.1 and best < 1 + _NOTHING
        else "not decided",
    )


def _rise(ratio: float) -> str:
    return f"{100 * (ratio - 1):.{1 if ratio < 1.1 else 0}f} %"


def draw_slot(study: StudyResult) -> Figure:
    """Inductance over slot width at three places, against the same loop without a slot."""
    curves = []
    for name, results in _series(study).items():
        ordered = sorted(results, key=_slot)
        whole = ordered[0].section_inductance
        points = tuple((_slot(each), each.section_inductance / whole) for each in ordered)
        curves.append(Curve(label=name, points=points))
    return curves_figure(
        study.scenario.title,
        f"at {numbers.frequency(study.scenario.analysis.report_frequency)}, plane 0.20 mm below the loop; across the "
        "loop: plane missing for that length, an upper estimate, as currents in the plane pass round the slot's ends",
        "width of the slot",
        (Panel(label="inductance against that without a slot", curves=tuple(curves), logarithmic=True),),
        linear_below=0.5 * MM,
    )


# --- tied at one end, at both ends, or return on the next layer


def find_stitching(study: StudyResult) -> Finding:
    """What ties at both ends do, and whether a return on the next layer does more."""
    board = "4L-7628"
    one_end, both_ends, strip = (
        _named(study, f"{name}, {board}").section_inductance
        for name in ("plane tied at one end", "plane tied at both ends", "return on the next layer")
    )
    depth = numbers.length(_depth(_named(study, f"plane tied at both ends, {board}")))
    sentence = (
        f"With a plane {depth} down, tying it to the return at both ends of the loop, not at one, lowers the "
        f"inductance from {_henry(one_end)} to {_henry(both_ends)} ({_change(one_end, both_ends)}), and a return "
        f"on that layer instead gives {_henry(strip)}: what counts is that the plane may carry the return."
    )
    same = abs(both_ends / strip - 1) < 0.05
    return Finding(
        sentence=sentence,
        verdict="confirmed against a plane tied at one end, refuted against one tied at both"
        if same and strip < 0.8 * one_end
        else "not decided",
    )


def draw_stitching(study: StudyResult) -> Figure:
    """Inductance over the plane's depth, three ways of return."""
    curves = [
        Curve(label=name, points=tuple((_depth(each), each.section_inductance / NANO) for each in results))
        for name, results in _series(study).items()
    ]
    return curves_figure(
        study.scenario.title,
        f"at {numbers.frequency(study.scenario.analysis.report_frequency)}; section × length, ends not included",
        "depth of the plane below the loop",
        (Panel(label="loop inductance, nH", curves=tuple(curves), logarithmic=True),),
    )


STUDIES = (
    GalleryStudy(
        name="gallery-depth",
        rule="The depth of the first plane counts more than the number of planes.",
        source="common practice; D. Reusch, J. Strydom, IEEE Transactions on Power Electronics 29 (2014) 2008-2015 "
        "(from memory)",
        find=find_depth,
        draw=comparison_figure,
    ),
    GalleryStudy(
        name="gallery-copper",
        rule="A plane must be thicker than a skin depth, so heavier copper shields better.",
        source="common practice",
        find=find_copper,
        draw=frequency_figure,
    ),
    GalleryStudy(
        name="gallery-overhang",
        rule="The bigger the plane, the better.",
        source="common practice",
        find=find_overhang,
        draw=draw_overhang,
    ),
    GalleryStudy(
        name="gallery-slot",
        rule="No slot under the loop.",
        source="common practice; M. I. Montrose, IEEE EMC Symposium 1996 (from memory)",
        find=find_slot,
        draw=draw_slot,
    ),
    GalleryStudy(
        name="gallery-stitching",
        rule="A return on the next layer beats one on the same layer.",
        source="common practice; D. Reusch, J. Strydom, IEEE Transactions on Power Electronics 29 (2014) 2008-2015 "
        "(from memory). That a plane helps even unconnected: R. F. German, H. W. Ott, C. R. Paul, IEEE EMC Symposium "
        "1990, 284 (from memory)",
        find=find_stitching,
        draw=draw_stitching,
    ),
)
"""In the order of the page."""
