"""The loop of a bare section as closed copper over its ground layers: as large as they are, and endless.

On one layer plates on its lands close it; over each other its copper is joined by full-width walls, or by a row of vias
at each end where ground layers lie between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from geometries.layout.ground_layers import (
    Drive,
    GroundLayer,
    Post,
    RealPlanes,
    ViaPassage,
    copper_with_plates,
    ground_layers,
    over_layers,
    over_mirror,
    standing,
    upside_down,
)
from geometries.layout.layout import CopperSheet, PlanLayout, Via, Wall
from geometries.layout.straight_copper import (
    CAPACITOR,
    GO,
    PLATING,
    RETURN,
    SWITCH,
    StraightCopper,
    ties_of_return,
    via_row,
)
from geometries.section.loops import Plane, SameLayerLoop, loop_layers
from geometries.section.section import Tie


def over_real_planes(draft: StraightCopper, land: float) -> RealPlanes:
    """Both layouts.

    Parameters
    ----------
    draft : StraightCopper
        With ground layers, each of which has a length.
    land : float
        Length of the lands of a loop on one layer [m].

    Raises
    ------
    GeometryError
        If a layer is tied where it has no copper, or a slot leaves nothing to bond its sides.
    """
    if isinstance(draft.loop, SameLayerLoop):
        return _beside(draft, land)
    return _through(draft) if draft.between else _below(draft)


def _layers(draft: StraightCopper, ends: float) -> tuple[GroundLayer, ...]:
    return ground_layers(draft.stackup, draft.loop, draft.planes, (-ends, draft.loop.length + ends))


def _names(draft: StraightCopper) -> tuple[str, ...]:
    return tuple(plane.layer for plane in draft.planes)


def _tied(draft: StraightCopper) -> tuple[str, ...]:
    return tuple(plane.layer for plane in draft.planes if plane.tie.carries_return)


def _on_one_side(
    draft: StraightCopper,
    sheets: Sequence[CopperSheet],
    drive: Drive,
    vias: Sequence[Via],
    ends: float,
    walls: Sequence[Wall] = (),
) -> RealPlanes:
    """All layers below all copper."""
    posts = [Post(via=via, tied=_tied(draft)) for via in vias]
    return RealPlanes(
        real=over_layers(draft.name, sheets, [drive], _layers(draft, ends), posts, walls),
        layers=_names(draft),
        endless=(over_mirror(draft.name, sheets, [drive], draft.mirror(draft.planes[0]), (*walls, *vias)),),
        alone=over_mirror(draft.name, sheets, [drive], None, walls),
    )


def _carrying(draft: StraightCopper) -> Plane | None:
    return next((plane for plane in draft.planes if plane.tie.carries_return), None)


def _beside(draft: StraightCopper, land: float) -> RealPlanes:
    """Go and return copper with a plate at either end, of which the switch's is cut."""
    go, back = draft.boxes
    strips = draft.sheet(GO, go, land / 2), draft.sheet(RETURN, back, land / 2)
    plates = [shapely.box(x - land / 2, go[2], x + land / 2, back[0]) for x in (0.0, draft.loop.length)]
    drive = Drive.across(SWITCH, (0.0, (go[2] + back[0]) / 2), (0.0, -1.0), land / 2)
    sheets = copper_with_plates(strips[0], [*(each.shape for each in strips), *plates], [drive])
    vias = standing(sheets, ties_of_return(draft, _carrying(draft), back, 0.0))
    return _on_one_side(draft, sheets, drive, vias, land / 2)


def _cut_strip(draft: StraightCopper, strip: CopperSheet) -> tuple[tuple[CopperSheet, ...], Drive]:
    """A strip, cut in its middle."""
    _, low, _, high = strip.outline.bounds
    drive = Drive.across(SWITCH, (draft.loop.length / 2, (low + high) / 2), (1.0, 0.0), (high - low) / 2)
    return copper_with_plates(strip, [strip.shape], [drive]), drive


def _below(draft: StraightCopper) -> RealPlanes:
    """Go and return copper over each other, walls at their ends."""
    halves, drive = _cut_strip(draft, draft.sheet(GO, draft.boxes[0]))
    back = draft.sheet(RETURN, draft.boxes[1])
    half = min(box[2] - box[0] for box in draft.boxes) / 2
    upper = halves if draft.boxes[0][1] > draft.boxes[1][1] else (back, back)
    lower = (back, back) if upper is halves else halves
    walls = [
        Wall(
            name=f"wall at the {end}",
            start=(x, -half),
            end=(x, half),
            upper=top.name,
            lower=bottom.name,
            wall=PLATING,
            material=draft.stackup.copper,
        )
        for end, x, top, bottom in zip((SWITCH, CAPACITOR), (0.0, draft.loop.length), upper, lower, strict=True)
    ]
    vias = ties_of_return(draft, _carrying(draft), draft.boxes[1], 1.0)
    return _on_one_side(draft, (*halves, back), drive, vias, 0.0, walls)


def _through(draft: StraightCopper) -> RealPlanes:
    """Copper over layers that lead its current back or that its vias pass on their way to the copper below them."""
    carrying = _carrying(draft)
    row = carrying or replace(draft.planes[0], tie=Tie.BOTH_ENDS, vias=None)
    places, radius = via_row(row, draft.loop, min(draft.boxes, key=lambda box: box[2] - box[0]))
    ends = 2 * radius
    halves, drive = _cut_strip(draft, draft.sheet(GO, draft.boxes[0], ends))
    vias = [
        Via(
            name=f"via {number} at the {end}",
            centre=(x, place),
            radius=radius,
            upper=GO,
            wall=min(PLATING, radius),
            material=draft.stackup.copper,
        )
        for end, x in ((SWITCH, 0.0), (CAPACITOR, draft.loop.length))
        for number, place in enumerate(places, start=1)
    ]
    taken = loop_layers(draft.stackup, draft.loop)[1] in _tied(draft)
    back = () if taken else (draft.sheet(RETURN, draft.boxes[1], ends),)
    posts = [Post(via=via, tied=_tied(draft)) for via in standing(halves, vias, back)]
    first = draft.mirror(draft.between[0])
    near = over_mirror(draft.name, halves, [drive], first, standing(halves, vias))
    last = carrying or draft.between[-1]
    far: tuple[PlanLayout, ...] = ()
    if carrying is None:
        turned, across = _cut_strip(draft, *upside_down([draft.sheet(RETURN, draft.boxes[1], ends)]))
        mirror = draft.mirror(last, upside_down=True)
        far = (over_mirror(draft.name, turned, [across], mirror, standing(turned, vias)),)
    floor = draft.stackup.heights(last.layer)[0 if carrying is None else 1]
    return RealPlanes(
        real=over_layers(draft.name, (*halves, *back), [drive], _layers(draft, ends), posts),
        layers=_names(draft),
        endless=(near, *far),
        alone=over_mirror(draft.name, (*halves, *back), [drive], None, standing(halves, vias, back)) if back else None,
        passage=ViaPassage(
            height=first.height - floor,
            radius=radius,
            positions=tuple(via.centre for via in vias),
            senses=tuple(1 if via.centre[0] else -1 for via in vias),
        ),
    )
