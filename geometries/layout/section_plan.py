"""From the section of a straight loop to its copper seen from above: its length, its lands, its ends.

x runs along the loop from the switch at 0 to the capacitor at its length, y across it as the section's x does. Switch
and capacitor are ports without a length: over the gap between two lands, or from copper to copper below it over the
whole width. What they bridge is not copper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from geometries.board.stackup import Stackup
from geometries.errors import GeometryError
from geometries.layout.ground_layers import RealPlanes, have_lengths
from geometries.layout.layout import EdgeTerminal, MirrorPlane, PlanLayout, Port
from geometries.layout.real_sections import over_real_planes
from geometries.layout.straight_copper import (
    CAPACITOR,
    GO,
    RETURN,
    SWITCH,
    Box,
    StraightCopper,
    ties_of_return,
    via_row,
)
from geometries.quantities import Quantity, write_quantity
from geometries.section.loops import Loop, Plane, SameLayerLoop
from geometries.section.section import CrossSection

LONGER = 1.01
"""Factor by which lands are lengthened to see what they do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Vertical copper at both ends of a loop, from `low` to `high`, `apart` from each other [m].

    A row of vias across the loop stands at `places`; a full-width wall is one of a quarter of its width as `radius`.
    `mirror` is the height of the ground layer that they stand on, none where they join two strips; of two ground layers
    between which they pass, `passing` is true: their images make them endless.
    """

    places: tuple[float, ...]
    radius: float
    low: float
    high: float
    apart: float
    mirror: float | None = None
    passing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionPlan:
    """What a straight loop looks like from above.

    Parameters
    ----------
    near : PlanLayout
        Go and return copper over the uppermost ground layer; the go copper alone where that layer parts the two.
    far : PlanLayout, optional
        The return copper under the lowest ground layer between, upside down, where that layer floats.
    walls : tuple of Walls
        Vertical copper at both ends.
    length : float
        Of the loop [m].
    section : CrossSection
        What the layouts are in section: upright copper, the ground layers whole and as good as endless.
    land : float
        Length of the lands along the loop [m].
    longer : PlanLayout, optional
        The near side with lands longer by the factor ``LONGER``, where their length is an assumption.
    real : RealPlanes, optional
        The loop closed, over its ground layers as large as they are, where these have a length.

    Examples
    --------
    >>> from geometries import MM, Plane, SameLayerLoop, named_stackup, section_plan
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> plane = Plane(layer="L2", tie="capacitor end", width=40 * MM)
    >>> plan = section_plan("loop", named_stackup("4L-7628"), loop, [plane])
    >>> [port.name for port in plan.near.ports], plan.land
    (['switch', 'capacitor'], 0.001)
    """

    near: PlanLayout
    far: PlanLayout | None
    walls: tuple[Walls, ...]
    length: float
    section: CrossSection
    land: float
    longer: PlanLayout | None
    real: RealPlanes | None = None


def section_plan(name: str, stackup: Stackup, loop: Loop, planes: Sequence[Plane] = ()) -> SectionPlan:
    """The plan of a straight loop on its board.

    Parameters
    ----------
    name : str
        For messages.
    stackup : Stackup
        With the loop's copper thickness on its layers.
    loop : SameLayerLoop, NextLayerLoop or ThroughBoardLoop
        Go and return copper.
    planes : sequence of Plane
        Ground layers, from the top; they count as whole and endless, and what lies under one of them as shielded. Of
        those with a length the plan has a second one beside it.

    Returns
    -------
    SectionPlan

    Raises
    ------
    GeometryError
        If copper, terminals or vias meet where they must not.

    Examples
    --------
    >>> from geometries import MM, NextLayerLoop, named_stackup, section_plan
    >>> plan = section_plan("loop", named_stackup("2L-1.6"), NextLayerLoop(width=3 * MM, length=8 * MM))
    >>> [sheet.name for sheet in plan.near.sheets], round(plan.walls[0].high - plan.walls[0].low, 6)
    (['go', 'return'], 0.00153)
    """
    draft = StraightCopper.of(name, stackup, loop, planes)
    plan = _plan(draft)
    return replace(plan, real=over_real_planes(draft, plan.land)) if have_lengths(planes) else plan


def _plan(draft: StraightCopper) -> SectionPlan:
    if isinstance(draft.loop, SameLayerLoop):
        return _beside(draft, draft.loop)
    return _over_planes(draft, draft.between) if draft.between else _below(draft)


def _beside(draft: StraightCopper, loop: SameLayerLoop) -> SectionPlan:
    """Go and return copper on one layer, over the uppermost ground layer if there is one."""
    land = loop.land or min(max(loop.gap, _LEAST_LAND), loop.length / 2)
    if not LONGER * land < loop.length:
        raise GeometryError(
            f"lands {write_quantity(land, Quantity.LENGTH)} long do not fit on a loop "
            f"{write_quantity(loop.length, Quantity.LENGTH)} long, at whose ends their middles lie: shorten the key "
            "land of [loop], or lengthen the loop"
        )
    return SectionPlan(
        near=_side_by_side(draft, land),
        far=None,
        walls=(),
        length=loop.length,
        section=draft.section(draft.planes[:1]),
        land=land,
        longer=None if loop.land else _side_by_side(draft, LONGER * land),
    )


_LEAST_LAND = 0.5e-3
"""Shortest land that is assumed [m]."""


def _side_by_side(draft: StraightCopper, land: float) -> PlanLayout:
    go, back = draft.boxes
    plane = draft.planes[0] if draft.planes else None
    ports = [
        Port(name=name, entry=_on_edge(entry, edge, x, land), leave=_on_edge(leave, other, x, land))
        for name, x, (entry, edge), (leave, other) in (
            (SWITCH, 0.0, (GO, go[2]), (RETURN, back[0])),
            (CAPACITOR, draft.loop.length, (RETURN, back[0]), (GO, go[2])),
        )
    ]
    return PlanLayout(
        name=draft.name,
        sheets=(draft.sheet(GO, go, land / 2), draft.sheet(RETURN, back, land / 2)),
        ports=tuple(ports),
        vias=ties_of_return(draft, plane, back, 0.0),
        plane=None if plane is None else draft.mirror(plane),
    )


def _on_edge(sheet: str, y: float, middle: float, land: float) -> EdgeTerminal:
    return EdgeTerminal(sheet=sheet, start=(middle - land / 2, y), end=(middle + land / 2, y))


def _below(draft: StraightCopper) -> SectionPlan:
    """Go and return copper over each other, with no ground layer between."""
    go, back = draft.boxes
    half = min(go[2] - go[0], back[2] - back[0]) / 2
    length = draft.loop.length
    plane = draft.planes[0] if draft.planes else None
    ports = (
        Port(name=SWITCH, entry=_across(GO, 0.0, half), leave=_across(RETURN, 0.0, half)),
        Port(name=CAPACITOR, entry=_across(RETURN, length, half), leave=_across(GO, length, half)),
    )
    mirror = None if plane is None else draft.mirror(plane)
    near = PlanLayout(
        name=draft.name,
        sheets=(draft.sheet(GO, go), draft.sheet(RETURN, back)),
        ports=ports,
        vias=ties_of_return(draft, plane, back, 1.0),
        plane=mirror,
    )
    walls = Walls(
        places=(0.0,),
        radius=half / 2,
        low=draft.lower[3],
        high=draft.upper[1],
        apart=length,
        mirror=None if mirror is None else mirror.height,
    )
    return _with_walls(draft, near, None, (walls,), draft.planes[:1])


def _over_planes(draft: StraightCopper, between: Sequence[Plane]) -> SectionPlan:
    """The upper copper over a ground layer that carries the return, or that parts it from the lower copper."""
    upper, lower = draft.upper, draft.lower
    first, last = draft.mirror(between[0]), draft.mirror(between[-1], upside_down=True)
    near = _strip(draft, GO, upper, first)
    tied = next((plane for plane in between if plane.tie.carries_return), None)
    places, radius = via_row(tied, draft.loop, upper) if tied is not None else ((0.0,), (upper[2] - upper[0]) / 4)
    walls = Walls(
        places=places,
        radius=radius,
        low=first.height,
        high=upper[1],
        apart=draft.loop.length,
        mirror=first.height,
    )
    if tied is not None:
        down = replace(walls, low=draft.mirror(tied).height, high=first.height, passing=True)
        return _with_walls(draft, near, None, (walls, down), between[: between.index(tied) + 1])
    turned = (lower[0], -lower[3], lower[2], -lower[1])
    narrower = min(walls.radius, (lower[2] - lower[0]) / 4)
    passage = replace(walls, radius=narrower, low=-last.height, high=first.height, passing=True)
    under = replace(walls, radius=narrower, low=lower[3], high=-last.height, mirror=-last.height)
    return _with_walls(draft, near, _strip(draft, RETURN, turned, last), (walls, passage, under), between)


def _strip(draft: StraightCopper, name: str, box: Box, plane: MirrorPlane) -> PlanLayout:
    """One strip over a ground layer that leads its current back; its port is what the walls at its ends lead to."""
    half = (box[2] - box[0]) / 2
    port = Port(name=SWITCH, entry=_across(name, 0.0, half), leave=_across(name, draft.loop.length, half))
    return PlanLayout(name=draft.name, sheets=(draft.sheet(name, box),), ports=(port,), plane=plane)


def _across(sheet: str, x: float, half: float) -> EdgeTerminal:
    return EdgeTerminal(sheet=sheet, start=(x, -half), end=(x, half))


def _with_walls(
    draft: StraightCopper, near: PlanLayout, far: PlanLayout | None, walls: tuple[Walls, ...], planes: Sequence[Plane]
) -> SectionPlan:
    return SectionPlan(
        near=near,
        far=far,
        walls=tuple(wall for wall in walls if wall.high > wall.low),
        length=draft.loop.length,
        section=draft.section(planes),
        land=0.0,
        longer=None,
    )
