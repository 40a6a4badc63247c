"""From the section of a straight loop to its copper seen from above: its length, its lands, its ends.

x runs along the loop from the switch at 0 to the capacitor at its length, y across it as the section's x does. Switch
and capacitor are ports without a length: over the gap between two lands, or from copper to copper below it over the
whole width. What they bridge is not copper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from geometries.board.parts import via_type
from geometries.board.stackup import Stackup
from geometries.errors import GeometryError
from geometries.layout.layout import CopperSheet, EdgeTerminal, Faces, MirrorPlane, PlanLayout, Port, Via
from geometries.quantities import Quantity, write_quantity
from geometries.section.loops import Loop, Plane, SameLayerLoop, cross_section, tie_row
from geometries.section.outline import Rectangle
from geometries.section.section import CrossSection

SWITCH, CAPACITOR = "switch", "capacitor"
GO, RETURN = "go", "return"

LONGER = 1.01
"""Factor by which lands are lengthened to see what they do."""

_PLATING = via_type("standard").plating

_ENDLESS = 10
"""Width of a ground layer that counts as endless, in widths and thicknesses of all beside it."""

Box = tuple[float, float, float, float]


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
        Ground layers, from the top; they count as whole and endless, and what lies under one of them as shielded.

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
    upright = replace(loop, sidewall_angle=0.0)
    bare = cross_section(name, stackup, upright)
    boxes = bare.region(GO).outline.bounds, bare.region(RETURN).outline.bounds
    draft = _Draft(name=name, stackup=stackup, loop=upright, planes=tuple(planes), boxes=boxes)
    if isinstance(upright, SameLayerLoop):
        return _beside(draft, upright)
    between = [plane for plane in draft.planes if stackup.heights(plane.layer)[0] >= draft.lower[1] - _SAME]
    return _over_planes(draft, between) if between else _below(draft)


_SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draft:
    """Loop and board, and what all plans take from them; `boxes` are go and return copper in section."""

    name: str
    stackup: Stackup
    loop: Loop
    planes: tuple[Plane, ...]
    boxes: tuple[Box, Box]

    @property
    def lower(self) -> Box:
        """The lower of the two."""
        return min(self.boxes, key=lambda box: box[1])

    @property
    def upper(self) -> Box:
        """The upper of the two."""
        return max(self.boxes, key=lambda box: box[1])

    def sheet(self, name: str, box: Box, ends: float = 0.0) -> CopperSheet:
        """Copper from end to end and so far beyond both."""
        left, bottom, right, top = box
        return CopperSheet(
            name=name,
            outline=Rectangle(left=-ends, right=self.loop.length + ends, bottom=left, top=right),
            height=bottom,
            thickness=top - bottom,
            material=self.stackup.copper,
            faces=Faces.JOINED,
        )

    def mirror(self, plane: Plane, *, upside_down: bool = False) -> MirrorPlane:
        """A ground layer as an endless plane."""
        bottom, top = self.stackup.heights(plane.layer)
        return MirrorPlane(height=-bottom if upside_down else top, material=self.stackup.copper, thickness=top - bottom)

    def section(self, planes: Sequence[Plane]) -> CrossSection:
        """The loop over some of its ground layers, whole and as good as endless."""
        across = max(box[2] for box in self.boxes) - min(box[0] for box in self.boxes)
        width = 2 * _ENDLESS * (across + self.stackup.thickness)
        whole = [replace(plane, width=width, edge_distance=math.inf, slots=()) for plane in planes]
        return cross_section(self.name, self.stackup, self.loop, whole)


def _beside(draft: _Draft, loop: SameLayerLoop) -> SectionPlan:
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


def _side_by_side(draft: _Draft, land: float) -> PlanLayout:
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
        vias=_ties(draft, plane, back, 0.0),
        plane=None if plane is None else draft.mirror(plane),
    )


def _on_edge(sheet: str, y: float, middle: float, land: float) -> EdgeTerminal:
    return EdgeTerminal(sheet=sheet, start=(middle - land / 2, y), end=(middle + land / 2, y))


def _below(draft: _Draft) -> SectionPlan:
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
        vias=_ties(draft, plane, back, 1.0),
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


def _over_planes(draft: _Draft, between: Sequence[Plane]) -> SectionPlan:
    """The upper copper over a ground layer that carries the return, or that parts it from the lower copper."""
    upper, lower = draft.upper, draft.lower
    first, last = draft.mirror(between[0]), draft.mirror(between[-1], upside_down=True)
    near = _strip(draft, GO, upper, first)
    tied = next((plane for plane in between if plane.tie.carries_return), None)
    places, radius = _row(tied, draft.loop, upper) if tied is not None else ((0.0,), (upper[2] - upper[0]) / 4)
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


def _strip(draft: _Draft, name: str, box: Box, plane: MirrorPlane) -> PlanLayout:
    """One strip over a ground layer that leads its current back; its port is what the walls at its ends lead to."""
    half = (box[2] - box[0]) / 2
    port = Port(name=SWITCH, entry=_across(name, 0.0, half), leave=_across(name, draft.loop.length, half))
    return PlanLayout(name=draft.name, sheets=(draft.sheet(name, box),), ports=(port,), plane=plane)


def _across(sheet: str, x: float, half: float) -> EdgeTerminal:
    return EdgeTerminal(sheet=sheet, start=(x, -half), end=(x, half))


def _with_walls(
    draft: _Draft, near: PlanLayout, far: PlanLayout | None, walls: tuple[Walls, ...], planes: Sequence[Plane]
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


def _ties(draft: _Draft, plane: Plane | None, back: Box, inset: float) -> tuple[Via, ...]:
    """The rows of vias from the return copper down to its ground layer, so many diameters from either end."""
    if plane is None or not plane.tie.carries_return:
        return ()
    places, radius = _row(plane, draft.loop, back)
    x = inset * 2 * radius
    return tuple(
        Via(
            name=f"tie {number} at the {end}",
            centre=(middle, (back[0] + back[2]) / 2 + place),
            radius=radius,
            upper=RETURN,
            wall=min(_PLATING, radius),
            material=draft.stackup.copper,
        )
        for end, middle in ((SWITCH, x), (CAPACITOR, draft.loop.length - x))
        for number, place in enumerate(places, start=1)
    )


def _row(plane: Plane, loop: Loop, copper: Box) -> tuple[tuple[float, ...], float]:
    """Where the vias that tie a plane stand across the copper, from its middle, and their radius; inside its edges."""
    row, half = tie_row(plane, loop), (copper[2] - copper[0]) / 2
    if row is None:
        return (), 0.0
    radius = min(row.drill / 2, half / 2)
    outer = min((row.count - 1) * row.pitch / 2, half - 1.2 * radius)
    steps = range(row.count)
    return tuple(0.0 if row.count == 1 else outer * (2 * step / (row.count - 1) - 1) for step in steps), radius
