"""Numbered warnings: where a result must not be believed further than it goes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from geometries.layout.layout import PlanLayout
from geometries.section.analysis import Analysis
from geometries.section.section import Role, View
from geometries.study.scenario import Variant
from solver.constants import SPEED_OF_LIGHT
from solver.errors import NumberedWarning
from solver.notation.labels import listed

_QUASI_STATIC_FRACTION = 20
_SAME = 1e-3
"""Relative difference within which two statements of one value agree."""

_FR4_PERMITTIVITY = 4.4


def variant_warnings(variant: Variant, analysis: Analysis) -> tuple[NumberedWarning, ...]:
    """Warnings that follow from one variant's dimensions."""
    warnings: list[NumberedWarning] = []
    if variant.view is View.AXISYMMETRIC:
        driven = [region.outline.bounds[2] for region in variant.own_section.regions if region.role is Role.GO]
        return _too_long(2 * math.pi * max(driven), analysis)
    if variant.laid_out is not None:
        return (*_of_layout(variant.laid_out.layout), *_too_long(variant.laid_out.size, analysis))
    span = _loop_span(variant)
    length = variant.whole_length
    if length < 2 * span and variant.placed is None and variant.plan is None:
        warnings.append(
            NumberedWarning(
                code="W-SHORT-LOOP",
                text=f"the loop is {length * 1e3:.3g} mm long and {span * 1e3:.3g} mm wide: where a loop is "
                "shorter than twice its width, its ends are no small part of it; a user-defined section has no plan "
                "that tells how much they add or take off",
            )
        )
    others = (*_long_runs(variant), *_two_currents(variant), *_ties(variant), *_too_long(max(length, span), analysis))
    return (*warnings, *others)


def _of_layout(layout: PlanLayout) -> Iterator[NumberedWarning]:
    """Vias that close no path, and what is left out of a plane that is described as endless."""
    if layout.idle_vias:
        yield NumberedWarning(
            code="W-ONE-END",
            text=f"vias that carry nothing: {listed([repr(each) for each in layout.idle_vias])}; nothing of the loop's "
            "current returns through copper that is tied to the loop at one place only",
        )
    if layout.plane is not None:
        yield NumberedWarning(
            code="W-ENDLESS",
            text="the ground layer is taken as whole and endless: inductance and moment leave out its edges, slots and "
            "clearances; describe it as a piece of copper to have them",
        )


def _ties(variant: Variant) -> Iterator[NumberedWarning]:
    """Ground layers through which nothing of the loop's current returns, and those that nobody builds."""
    section = variant.own_section
    idle = [region for region in map(section.region, section.ground_layers) if region.role is Role.FLOATING]
    one_end = list(dict.fromkeys(f"{each.group} ({each.tie.value})" for each in idle if each.tie.has_vias))
    if one_end:
        yield NumberedWarning(
            code="W-ONE-END",
            text=f"tied at one end only: {listed(one_end)}; nothing of the loop's current returns through a layer "
            "whose vias close no path, and the vias of one end count for nothing",
        )
    nowhere = list(dict.fromkeys(section.region(name).group for name in section.untied_layers))
    if nowhere:
        yield NumberedWarning(
            code="W-UNTIED",
            text=f"tied nowhere: {listed(nowhere)}; a study that is never recommended, because a converter's ground "
            "carries the load current and is tied somewhere",
        )


def _long_runs(variant: Variant) -> tuple[NumberedWarning, ...]:
    """Victims that run on where the loop has ended, and what no pick-up at a pin says."""
    if variant.pickup is None:
        return ()
    longer = [victim for victim in variant.pickup.victims if victim.length > variant.length * (1 + 1e-9)]
    runs = tuple(
        NumberedWarning(
            code="W-RUN",
            text=f"the run of victim {victim.name!r} is {victim.length * 1e3:.3g} mm long, the loop "
            f"{variant.length * 1e3:.3g} mm: it counts along the loop, which is exact for a run that goes on far "
            "beyond both ends and too much for a shorter one",
        )
        for victim in longer
    )
    detection = NumberedWarning(
        code="W-DETECTION",
        text="pick-up at a pin is that of a linear circuit: how an input turns fast pick-up into a shift of its mean "
        "is not modelled and can decide below the peaks shown",
    )
    return (*runs, detection)


def _two_currents(variant: Variant) -> tuple[NumberedWarning, ...]:
    """A main loop that switches one current by its own table and another by that of the pick-up."""
    if variant.pickup is None or variant.switched is None:
        return ()
    main, drive = variant.switched.loops[0], variant.pickup.drive
    pairs = ((main.current, drive.current), (main.edge, drive.rise_time))
    if all(math.isclose(one, other, rel_tol=_SAME) for one, other in pairs):
        return ()
    return (
        NumberedWarning(
            code="W-TWO-CURRENTS",
            text=f"by [switched.{main.name}] the loop switches {main.current:g} A in {main.edge:g} s, by [pickup] "
            f"{drive.current:g} A in {drive.rise_time:g} s: the voltages between loops follow from the first, those at "
            "the pin from the second; write the same in both",
        ),
    )


def _too_long(size: float, analysis: Analysis) -> tuple[NumberedWarning, ...]:
    """A loop that is no longer short against the wavelength."""
    highest = analysis.frequencies[-1]
    limit = SPEED_OF_LIGHT / _FR4_PERMITTIVITY**0.5 / (_QUASI_STATIC_FRACTION * size)
    if highest <= limit:
        return ()
    return (
        NumberedWarning(
            code="W-QUASI-STATIC",
            text=f"above {limit / 1e6:.3g} MHz the loop is longer than a twentieth of a wavelength in board "
            "material; values above that frequency leave out displacement current",
        ),
    )


def _loop_span(variant: Variant) -> float:
    """Distance over the go copper and the return copper beside it [m]."""
    go = [region.outline.bounds for region in variant.own_section.regions if region.role is Role.GO]
    width = max(box[2] for box in go) - min(box[0] for box in go)
    beside = [
        region.outline.bounds
        for region in variant.own_section.regions
        if region.role is Role.RETURN and region.outline.bounds[2] - region.outline.bounds[0] <= 3 * width
    ]
    boxes = go + beside
    across = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    upright = max(box[3] for box in boxes) - min(box[1] for box in boxes)
    return max(across, upright)
