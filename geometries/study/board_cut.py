"""A board's own cross-section along a line, as a variant for the section view.

Copper is cut as it stands on every layer. The supply's on the parts' layer goes out, ground's there comes back; ground
of other layers comes back too if vias tie it inside the window, else nothing; all other copper carries no net current.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import LineString

from geometries.drawn.ends import LoopEnds
from geometries.drawn.errors import BoardError
from geometries.drawn.window import LoopWindow
from geometries.fabrication.board import Board
from geometries.quantities import MM, UM
from geometries.section.loops import dielectric_bands
from geometries.section.outline import Point, Rectangle
from geometries.section.section import CrossSection, Region, Role
from geometries.study.scenario import BuildStep, Variant

Line = tuple[Point, Point]

_BEYOND = 5 * MM
"""A proposed line runs so far beyond the loop's hull."""
_NARROWEST = 50 * UM
"""Copper and gaps along the line below this are left out [m]."""


def proposed_line(ends: LoopEnds) -> Line:
    """Across the current midway between the switches and the first capacitor, beyond the loop on both sides [m]."""
    capacitor = ends.area_of(ends.capacitors[:1]).centroid
    switches = ends.area_of(set(ends.joints) - set(ends.capacitors)).centroid
    start, stop = np.array([capacitor.x, capacitor.y]), np.array([switches.x, switches.y])
    middle, along = (start + stop) / 2, (stop - start) / np.linalg.norm(stop - start)
    across = np.array([-along[1], along[0]])
    reach = np.abs((shapely.get_coordinates(ends.hull) - middle) @ across).max() + _BEYOND
    one, other = middle - reach * across, middle + reach * across
    return (float(one[0]), float(one[1])), (float(other[0]), float(other[1]))


def section_cut(board: Board, ends: LoopEnds, window: LoopWindow, line: Line | None = None) -> Variant:
    """The section of a board along a line, with its ground layers one by one.

    Parameters
    ----------
    board, ends, window
        The board, a loop of it, and the copper that is solved with that.
    line : two points, optional
        [m]; :func:`proposed_line` if none is given.

    Raises
    ------
    BoardError
        If the line does not cut both the supply's and ground's copper on the parts' layer.
    """
    line = line or proposed_line(ends)
    tied = any(barrel.hole.net == ends.ground_net for barrel in window.copper.barrels)
    regions = list(_regions(board, ends, line, Role.RETURN if tied else Role.FLOATING))
    roles = {
        region.role for region in regions if region.name.endswith(f"L{ends.layer}") or f"L{ends.layer} " in region.name
    }
    if not {Role.GO, Role.RETURN} <= roles:
        raise BoardError(
            f"the line from ({line[0][0] / MM:.4g}, {line[0][1] / MM:.4g}) to ({line[1][0] / MM:.4g}, "
            f"{line[1][1] / MM:.4g}) mm does not cut both nets of {ends.name} on L{ends.layer}; draw it across the gap "
            "between its supply and its ground"
        )
    layers = [layer.name for layer in board.layers if layer.number != ends.layer]
    grounds = [name for name in layers if any(_is_plane(region, ends, name) for region in regions)]
    kept = [
        [region for region in regions if not _of_any(region, ends, grounds[count:])]
        for count in range(len(grounds) + 1)
    ]
    sections = [_section(board, ends, some) for some in kept]
    steps = [BuildStep(layer=layer, section=section) for layer, section in zip(["", *grounds], sections, strict=True)]
    return Variant(
        name=f"{board.name}: {ends.name}, cut",
        note="the board's own copper along a line",
        section=sections[-1],
        length=_length(ends),
        stackups=(board.stack.stackup,),
        steps=tuple(steps) if grounds else (),
    )


def _length(ends: LoopEnds) -> float:
    capacitor = ends.area_of(ends.capacitors[:1])
    return float(capacitor.centroid.distance(ends.area_of(set(ends.joints) - set(ends.capacitors)).centroid))


def _section(board: Board, ends: LoopEnds, regions: list[Region]) -> CrossSection:
    return CrossSection(
        name=f"{board.name}: {ends.name}", regions=tuple(regions), bands=dielectric_bands(board.stack.stackup)
    )


def _is_plane(region: Region, ends: LoopEnds, layer: str) -> bool:
    return region.name.startswith(f"{ends.ground_net} {layer}")


def _of_any(region: Region, ends: LoopEnds, layers: list[str]) -> bool:
    return any(_is_plane(region, ends, layer) for layer in layers)


def _regions(board: Board, ends: LoopEnds, line: Line, ground: Role) -> Iterator[Region]:
    supplies = {joint.net for name in ends.capacitors for joint in ends.joints[name]} - {ends.ground_net}
    for layer in board.layers:
        bottom, top = board.stack.stackup.heights(layer.name)
        here = layer.number == ends.layer
        for net, copper in layer.nets.items():
            role = Role.FLOATING
            if net == ends.ground_net:
                role = Role.RETURN if here else ground
            elif here and net in supplies:
                role = Role.GO
            for number, (left, right) in enumerate(_spans(copper, line), start=1):
                yield Region(
                    name=f"{net or 'no net'} {layer.name}" + (f" ({number})" if number > 1 else ""),
                    outline=Rectangle(left=left, right=right, bottom=bottom, top=top),
                    role=role,
                    material=board.stack.stackup.copper,
                )


def _spans(copper: shapely.Geometry, line: Line) -> list[tuple[float, float]]:
    """Where a line cuts copper, counted from the line's middle [m]; narrow gaps are bridged, narrow copper left out."""
    start, stop = np.array(line)
    along = (stop - start) / np.linalg.norm(stop - start)
    found: list[tuple[float, float]] = []
    for part in shapely.get_parts(LineString(line).intersection(copper)):
        ends = (shapely.get_coordinates(part) - (start + stop) / 2) @ along
        if len(ends) > 1:
            found.append((float(ends.min()), float(ends.max())))
    joined: list[tuple[float, float]] = []
    for left, right in sorted(found):
        if joined and left - joined[-1][1] < _NARROWEST:
            joined[-1] = joined[-1][0], right
        else:
            joined.append((left, right))
    return [(left, right) for left, right in joined if right - left > _NARROWEST]
