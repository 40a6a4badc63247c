"""What a placement adds to its main section: the vias through the board and the copper on its far side."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.layout.placements import FarSide, PlacedLoop
from geometries.section.outline import Circle, Rectangle
from geometries.section.section import CrossSection, Region, Role


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedStretch:
    """A further segment of the loop: its section and its length along the current [m]."""

    name: str
    section: CrossSection
    length: float


def placement_stretches(placed: PlacedLoop) -> tuple[PlacedStretch, ...]:
    """Stretches beyond the main section; only a far side has some."""
    placement = placed.placement
    if not isinstance(placement, FarSide):
        return ()
    stackup = placed.site.stackup
    depth = stackup.heights(placed.site.first)[0] - stackup.heights(placed.site.last)[1]
    return (
        PlacedStretch(name="vias through the board", section=_via_section(placed, placement), length=depth),
        PlacedStretch(name="far side", section=_far_section(placed, placement), length=placement.far_length),
    )


def _via_section(placed: PlacedLoop, placement: FarSide) -> CrossSection:
    """The rows of vias cut across: in at one side of the gap, back at the other."""
    pitch = placement.copper_width / placement.via_count
    regions = []
    for role, sign in ((Role.GO, 1.0), (Role.RETURN, -1.0)):
        for number in range(placement.via_count):
            x = sign * (placement.gap / 2 + (number + 0.5) * pitch)
            circle = Circle(centre=(x, 0.0), radius=placement.via.drill / 2)
            regions.append(
                Region(
                    name=f"{role.value} via {number + 1}",
                    outline=circle,
                    role=role,
                    material=placed.site.stackup.copper,
                )
            )
    return CrossSection(name="vias through the board", regions=tuple(regions))


def _far_section(placed: PlacedLoop, placement: FarSide) -> CrossSection:
    """Input copper beside ground copper on the far side, under the lowest ground layer if there is one."""
    stackup = placed.site.stackup
    bottom, top = stackup.heights(placed.site.last)
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    spans = {Role.GO: (-outer, -inner), Role.RETURN: (inner, outer)}
    regions = [
        Region(
            name=role.value,
            outline=Rectangle(left=left, right=right, bottom=bottom, top=top),
            role=role,
            material=stackup.copper,
        )
        for role, (left, right) in spans.items()
    ]
    for plane in placed.site.planes[-1:]:
        low, high = stackup.heights(plane.layer)
        half = plane.width / 2
        regions.append(
            Region(
                name=plane.layer,
                outline=Rectangle(left=-half, right=half, bottom=low, top=high),
                role=plane.tie.role,
                material=stackup.copper,
                tie=plane.tie,
            )
        )
    return CrossSection(name="far side", regions=tuple(regions))
