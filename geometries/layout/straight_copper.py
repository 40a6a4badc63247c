"""Straight copper of a loop from end to end, and the rows of vias at its ends: what all plans of sections take."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from geometries.board.parts import via_type
from geometries.board.stackup import Stackup
from geometries.layout.layout import CopperSheet, Faces, MirrorPlane, Via
from geometries.section.loops import Loop, Plane, cross_section, tie_row
from geometries.section.outline import Rectangle
from geometries.section.section import CrossSection

SWITCH, CAPACITOR = "switch", "capacitor"
GO, RETURN = "go", "return"

PLATING = via_type("standard").plating

_ENDLESS = 10
"""Width of a ground layer that counts as endless, in widths and thicknesses of all beside it."""

Box = tuple[float, float, float, float]

SAME = 1e-9
"""Heights closer than this are the same [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightCopper:
    """Loop and board; `boxes` are go and return copper in section."""

    name: str
    stackup: Stackup
    loop: Loop
    planes: tuple[Plane, ...]
    boxes: tuple[Box, Box]

    @classmethod
    def of(cls, name: str, stackup: Stackup, loop: Loop, planes: Sequence[Plane]) -> StraightCopper:
        """Of a loop with upright side walls."""
        upright = replace(loop, sidewall_angle=0.0)
        bare = cross_section(name, stackup, upright)
        boxes = bare.region(GO).outline.bounds, bare.region(RETURN).outline.bounds
        return cls(name=name, stackup=stackup, loop=upright, planes=tuple(planes), boxes=boxes)

    @property
    def between(self) -> tuple[Plane, ...]:
        """Ground layers that lie between go and return copper, or in place of the lower of them."""
        floor = self.lower[1] - SAME
        return tuple(plane for plane in self.planes if self.stackup.heights(plane.layer)[0] >= floor)

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


def ties_of_return(draft: StraightCopper, plane: Plane | None, back: Box, inset: float) -> tuple[Via, ...]:
    """The rows of vias from the return copper down to its ground layer, so many diameters from either end."""
    if plane is None or not plane.tie.carries_return:
        return ()
    places, radius = via_row(plane, draft.loop, back)
    x = inset * 2 * radius
    return tuple(
        Via(
            name=f"tie {number} at the {end}",
            centre=(middle, (back[0] + back[2]) / 2 + place),
            radius=radius,
            upper=RETURN,
            wall=min(PLATING, radius),
            material=draft.stackup.copper,
        )
        for end, middle in ((SWITCH, x), (CAPACITOR, draft.loop.length - x))
        for number, place in enumerate(places, start=1)
    )


def via_row(plane: Plane, loop: Loop, copper: Box) -> tuple[tuple[float, ...], float]:
    """Where the vias that tie a plane stand across the copper, from its middle, and their radius; inside its edges."""
    row, half = tie_row(plane, loop), (copper[2] - copper[0]) / 2
    if row is None:
        return (), 0.0
    radius = min(row.drill / 2, half / 2)
    outer = min((row.count - 1) * row.pitch / 2, half - 1.2 * radius)
    steps = range(row.count)
    return tuple(0.0 if row.count == 1 else outer * (2 * step / (row.count - 1) - 1) for step in steps), radius
