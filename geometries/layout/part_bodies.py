"""Metal of parts that bridge copper: flat strips at a height over it, soldered to the copper at both ends."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometries.errors import GeometryError
from geometries.layout.layout import (
    CopperSheet,
    EdgeTerminal,
    Faces,
    PadTerminal,
    PlaneTerminal,
    PlanLayout,
    Port,
    RingPort,
    Side,
    Terminal,
)
from geometries.quantities import MM
from geometries.section.outline import Polygon

BODY = "body of "
"""Start of the names of sheets that are a part, not copper."""

FAR_END = ", far end"
"""End of the name of the port at the second end of such a part."""

SOLDER = 0.1 * MM
"""Length of a terminal along the body's current [m]."""

_FLAT = 0.05 * MM
"""A strip narrower or shorter than this leads no current [m]."""


def part_body(name: str, lands: Sequence[BaseGeometry], height: float) -> CopperSheet:
    """A part's metal as a flat strip from the middle of one land to that of the other, as wide as the narrower one.

    Raises
    ------
    GeometryError
        If no strip leads from one to the other, for instance between two stretches of one straight edge.

    Examples
    --------
    >>> import shapely
    >>> body = part_body("C1", [shapely.box(x, 0.0, x + 1e-3, 2e-3) for x in (0.0, 3e-3)], 0.2e-3)
    >>> round(body.shape.area * 1e6, 6), body.name
    (6.0, 'body of C1')
    """
    start, stop = (np.array([land.centroid.x, land.centroid.y]) for land in lands)
    length = float(np.linalg.norm(stop - start))
    along = (stop - start) / max(length, _FLAT)
    left = np.array([-along[1], along[0]])
    half = min(np.ptp(shapely.get_coordinates(land) @ left) for land in lands) / 2
    if min(length, half) < _FLAT:
        raise GeometryError(
            f"no flat conductor leads from one end of {name!r} to the other: its terminals lie along one line or over "
            "each other; give it two pads that face each other"
        )
    corners = (start + half * left, start - half * left, stop - half * left, stop + half * left)
    outline = Polygon(vertices=tuple((float(x), float(y)) for x, y in corners))
    return CopperSheet(name=BODY + name, outline=outline, height=height, faces=Faces.BOTH)


def body_ends(body: CopperSheet) -> tuple[EdgeTerminal, EdgeTerminal]:
    """Where the current passes a strip of :func:`part_body`: at its first land and at its second."""
    first, second, third, fourth = body.outline.vertices
    start = EdgeTerminal(sheet=body.name, start=first, end=second)
    return start, EdgeTerminal(sheet=body.name, start=third, end=fourth)


def with_body(layout: PlanLayout, port: str, height: float) -> PlanLayout:
    """The layout with the part of a port as a conductor at a height over the copper that it stands on [m].

    The port then closes the short ways between copper and metal.

    Examples
    --------
    >>> from geometries import MM, CopperSheet, EdgeTerminal, PlanLayout, Port, Rectangle
    >>> horseshoe = ((0, 0), (5, 0), (5, 4), (0, 4), (0, 3), (4, 3), (4, 1), (0, 1))
    >>> copper = CopperSheet(
    ...     name="top", height=0.0, outline=Polygon(vertices=tuple((x * MM, y * MM) for x, y in horseshoe))
    ... )
    >>> lands = [Rectangle(left=0.2e-3, right=0.8e-3, bottom=y, top=y + 0.6e-3) for y in (0.2e-3, 3.2e-3)]
    >>> pads = [PadTerminal(sheet="top", outline=land) for land in lands]
    >>> layout = PlanLayout(name="loop", sheets=(copper,), ports=(Port(name="C1", entry=pads[0], leave=pads[1]),))
    >>> [port.name for port in with_body(layout, "C1", 0.2 * MM).ports]
    ['C1, far end', 'C1']
    """
    ports: list[Port | RingPort] = []
    sheets = layout.sheets
    for each in layout.ports:
        if isinstance(each, Port) and each.name == port:
            stands = layout.level(each.leave)
            lower = isinstance(each.leave, PadTerminal) and each.leave.side is Side.LOWER
            level = stands - height if lower else stands + height
            body = part_body(port, [_land(port, each.leave), _land(port, each.entry)], level)
            start, stop = body_ends(body)
            ports += [
                Port(name=port + FAR_END, entry=start, leave=_soldered(each.leave, start), spread=each.spread),
                Port(name=port, entry=_soldered(each.entry, stop), leave=stop, spread=each.spread),
            ]
            sheets = (*sheets, body)
        else:
            ports.append(each)
    return replace(layout, sheets=sheets, ports=tuple(ports))


def _land(port: str, terminal: Terminal | PlaneTerminal) -> BaseGeometry:
    if isinstance(terminal, PlaneTerminal):
        raise GeometryError(f"port {port!r} ends on the endless plane; a part that is a flat conductor ends on copper")
    return terminal.line if isinstance(terminal, EdgeTerminal) else terminal.outline.shape


def _soldered(terminal: Terminal | PlaneTerminal, end: EdgeTerminal) -> Terminal | PlaneTerminal:
    """Of a pad the narrow strip under a body's end, so that the current keeps no way that is left out of the field.

    Over ground layers that counts: the currents induced in them answer to what flows over them, and to nothing else.
    """
    if not isinstance(terminal, PadTerminal):
        return terminal
    strip = end.line.buffer(SOLDER / 2, cap_style="flat").intersection(terminal.outline.shape)
    corners = shapely.get_coordinates(strip)[:-1]
    return replace(terminal, outline=Polygon(vertices=tuple((float(x), float(y)) for x, y in corners)))


def with_bodies_raised(layout: PlanLayout, rise: float, bodies: Collection[str] = ()) -> PlanLayout:
    """The layout with the parts' metal farther away from the copper that they stand on [m]; of all, or of some."""
    below = min(sheet.height for sheet in layout.sheets)
    sheets = tuple(
        replace(sheet, height=sheet.height + (-rise if sheet.height == below else rise))
        if sheet.name.startswith(BODY) and (not bodies or sheet.name in bodies)
        else sheet
        for sheet in layout.sheets
    )
    return replace(layout, sheets=sheets)
