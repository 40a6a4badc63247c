"""A placement's loop as one closed ring over its ground layers: as large as they are, and endless.

Currents that are induced in a layer answer to all that flows over it. A port's way from terminal to terminal is not in
the field; here the parts are copper of the ring itself, and nothing is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.errors import GeometryError
from geometries.layout.layout import CopperSheet, EdgeTerminal, Faces, PlanLayout, RingPort
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import PlacedLoop
from geometries.section.outline import Polygon, Rectangle

RING = "ring"


@dataclass(frozen=True, slots=True, kw_only=True)
class RealPlanes:
    """Two layouts that differ in their ground layers alone.

    Parameters
    ----------
    real : PlanLayout
        Over the layers as large as they are, pieces of copper.
    endless : PlanLayout
        Over the uppermost of them, whole and endless.
    """

    real: PlanLayout
    endless: PlanLayout


def real_planes(name: str, placed: PlacedLoop, capacitor: int = 0) -> RealPlanes | None:
    """Both layouts of a placement whose ground layers have a length; none if they have not.

    Parameters
    ----------
    name : str
        For messages.
    placed : PlacedLoop
        With its capacitors beside the package, on its side.
    capacitor : int
        Which of them the ring runs through, the first is 0.

    Raises
    ------
    GeometryError
        If its copper and parts do not close a ring.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> real_planes("same side", read_builtin_scenario("greenhouse-vent").variants[0].placed) is None
    True
    """
    planes = placed.site.planes
    if not planes or not math.isfinite(planes[0].length):
        return None
    near = placement_plan(name, placed.lumped).near
    copper = near.sheets[0]
    ring = _ring(near, placed, f"C{capacitor + 1}")
    sheet = CopperSheet(
        name=RING,
        outline=_polygon(ring.exterior),
        holes=tuple(map(_polygon, ring.interiors)),
        height=copper.height,
        thickness=copper.thickness,
        material=copper.material,
        faces=Faces.BOTH,
    )
    inside = ShapelyPolygon(ring.interiors[0]).representative_point()
    port = RingPort(name="loop", sheet=RING, inside=(float(inside.x), float(inside.y)))
    layers = tuple(_layer(placed, index, ring) for index in range(len(planes)))
    return RealPlanes(
        real=PlanLayout(name=name, sheets=(sheet, *layers), ports=(port,)),
        endless=PlanLayout(name=name, sheets=(sheet,), ports=(port,), plane=near.plane),
    )


def _ring(near: PlanLayout, placed: PlacedLoop, capacitor: str) -> ShapelyPolygon:
    """Copper with a plate from pin to pin and one from land to land of a capacitor."""
    shapes: list[BaseGeometry] = [sheet.shape for sheet in near.sheets]
    for port in near.cut_ports:
        ends = port.terminals()
        pins = [end for end in ends if isinstance(end, EdgeTerminal)]
        if pins:
            across = [point[1] for pin in pins for point in (pin.start, pin.end)]
            edge = pins[0].start[0]
            shapes.append(shapely.box(edge - placed.placement.copper_width, min(across), edge, max(across)))
        elif port.name == capacitor:
            lands = [end.outline.shape for end in ends if not isinstance(end, EdgeTerminal)]
            shapes.append(shapely.union_all(lands).convex_hull)
    ring = shapely.union_all(shapes)
    if not isinstance(ring, ShapelyPolygon) or len(ring.interiors) != 1:
        raise GeometryError(
            f"the copper of {near.name!r} and its parts close no ring over a ground layer with a length"
        )
    return ring


def _layer(placed: PlacedLoop, index: int, ring: ShapelyPolygon) -> CopperSheet:
    plane, placement = placed.site.planes[index], placed.placement
    lower, upper = placed.site.stackup.heights(plane.layer)
    outer = placement.gap / 2 + placement.copper_width
    top = plane.width / 2 if math.isinf(plane.edge_distance) else outer + plane.edge_distance
    middle = (ring.bounds[0] + ring.bounds[2]) / 2
    return CopperSheet(
        name=plane.layer,
        outline=Rectangle(
            left=middle - plane.length / 2, right=middle + plane.length / 2, bottom=top - plane.width, top=top
        ),
        height=upper,
        thickness=upper - lower,
        material=placed.site.stackup.copper,
        faces=Faces.ONE,
    )


def _polygon(ring: shapely.LinearRing) -> Polygon:
    return Polygon(vertices=tuple((float(x), float(y)) for x, y in shapely.get_coordinates(ring)[:-1]))
