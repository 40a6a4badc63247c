"""A placement's loop as closed copper over its ground layers: as large as they are, and endless.

The package is a plate from pin to pin, cut in its middle; a capacitor is a plate from land to land.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from geometries.layout.ground_layers import (
    Drive,
    GroundLayer,
    Post,
    RealPlanes,
    copper_with_plates,
    ground_layers,
    have_lengths,
    over_layers,
    over_mirror,
    standing,
    upside_down,
)
from geometries.layout.layout import CopperSheet, EdgeTerminal, PlanLayout, Port
from geometries.layout.placement_copper import GROUND, SWITCH, PlacementPlan, placement_plan
from geometries.layout.placements import MirroredPair, PlacedLoop, ReturnBelow

COPPER = "copper"
"""Name of a side's copper, of its pieces with their numbers."""

_MOST_OF_PACKAGE = 0.4
"""Part of a package with pins on both sides that the plate at each of them takes at most."""


def real_planes(name: str, placed: PlacedLoop, capacitor: int = 0) -> RealPlanes | None:
    """Both layouts of a placement whose ground layers have a length; none if they have not.

    Parameters
    ----------
    name : str
        For messages.
    placed : PlacedLoop
        Any.
    capacitor : int
        Which of its capacitors closes the loop, the first is 0; of a mirrored pair both do, each its own side.

    Raises
    ------
    GeometryError
        If a layer is tied where it has no copper, or a slot leaves nothing to bond its sides.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> real_planes("same side", read_builtin_scenario("greenhouse-vent").variants[0].placed) is None
    True
    """
    if not have_lengths(placed.site.planes):
        return None
    plan = placement_plan(name, placed.lumped)
    chosen = [SWITCH, f"C{capacitor + 1}"]
    if isinstance(placed.placement, MirroredPair):
        chosen = [port.name for port in plan.near.cut_ports]
    if plan.far is not None:
        return _through(name, placed, plan, plan.far, chosen)
    side = _closed(plan.near, placed, chosen, SWITCH)
    tied = tuple(plane.layer for plane in placed.site.planes if plane.tie.carries_return)
    vias = standing(side.sheets, plan.near.vias)
    return RealPlanes(
        real=over_layers(
            name, side.sheets, side.drives, _layers(placed, side.sheets), [Post(via=via, tied=tied) for via in vias]
        ),
        layers=_names(placed),
        endless=(over_mirror(name, side.sheets, side.drives, plan.near.plane, vias),),
        alone=None if isinstance(placed.placement, ReturnBelow) else over_mirror(name, side.sheets, side.drives, None),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Closed:
    """Copper of one side with its parts as plates, and where it is driven."""

    sheets: tuple[CopperSheet, ...]
    drives: tuple[Drive, ...]


def _through(name: str, placed: PlacedLoop, plan: PlacementPlan, beyond: PlanLayout, parts: list[str]) -> RealPlanes:
    """The capacitor on the far side: the vias' ground ties every layer that is tied at all, their input passes all."""
    near, far = _closed(plan.near, placed, parts, SWITCH), _closed(beyond, placed, parts, parts[-1])
    whole = upside_down(_closed(beyond, placed, parts, None).sheets)
    sheets = (*near.sheets, *(replace(each, name=f"{each.name}, far side") for each in whole))
    ties = tuple(plane.layer for plane in placed.site.planes if plane.tie.has_vias)
    ends = standing(near.sheets, plan.near.vias, sheets[len(near.sheets) :])
    posts = [
        Post(via=via, tied=ties if drawn.upper == GROUND else ())
        for via, drawn in zip(ends, plan.near.vias, strict=True)
    ]
    return RealPlanes(
        real=over_layers(name, sheets, near.drives, _layers(placed, sheets), posts),
        layers=_names(placed),
        endless=tuple(
            over_mirror(view.name, side.sheets, side.drives, view.plane, standing(side.sheets, view.vias))
            for view, side in ((plan.near, near), (beyond, far))
        ),
        alone=over_mirror(name, sheets, near.drives, None, ends),
        passage=plan.passage,
    )


def _names(placed: PlacedLoop) -> tuple[str, ...]:
    return tuple(plane.layer for plane in placed.site.planes)


def _layers(placed: PlacedLoop, sheets: Sequence[CopperSheet]) -> tuple[GroundLayer, ...]:
    """The section's left lies towards y, and its middle is that of the gap, or of the go copper over its return."""
    bounds = shapely.total_bounds([sheet.shape for sheet in sheets])
    middle = (placed.placement.gap + placed.placement.copper_width) / 2
    return ground_layers(
        placed.site.stackup,
        placed.loop,
        placed.site.planes,
        ends=(float(bounds[0]), float(bounds[2])),
        across=(middle if isinstance(placed.placement, ReturnBelow) else 0.0, -1.0),
    )


def _closed(layout: PlanLayout, placed: PlacedLoop, parts: Sequence[str], driven: str | None) -> _Closed:
    """With the plates of some parts, cut at those whose name begins with that of the driven one."""
    found = [(port.name, *_plate(layout, placed, port)) for port in layout.cut_ports if port.name in parts]
    drives = tuple(
        Drive.across(name, (plate.centroid.x, 0.0), (0.0, 1.0), half)
        for name, plate, half in found
        if driven is not None and name.startswith(driven)
    )
    shapes = [sheet.shape for sheet in layout.sheets] + [plate for _, plate, _ in found]
    return _Closed(sheets=copper_with_plates(replace(layout.sheets[0], name=COPPER), shapes, drives), drives=drives)


def _plate(layout: PlanLayout, placed: PlacedLoop, port: Port) -> tuple[BaseGeometry, float]:
    """From end to end of a part, and half of its width along the board's x."""
    ends = port.terminals()
    pins = [end for end in ends if isinstance(end, EdgeTerminal)]
    if not pins:
        lands = shapely.union_all([end.outline.shape for end in ends if not isinstance(end, EdgeTerminal)])
        return lands.convex_hull, (lands.bounds[2] - lands.bounds[0]) / 2
    placement, edge = placed.placement, pins[0].start[0]
    across = [point[1] for pin in pins for point in (pin.start, pin.end)]
    reach = placement.copper_width
    if isinstance(placement, MirroredPair):
        reach = min(reach, _MOST_OF_PACKAGE * placement.part_width)
    inwards = edge - reach if layout.sheet(pins[0].sheet).shape.centroid.x > edge else edge + reach
    return shapely.box(min(edge, inwards), min(across), max(edge, inwards), max(across)), reach / 2
