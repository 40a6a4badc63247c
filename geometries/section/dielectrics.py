"""The dielectrics of a board round given conductors, as the electric view sees them.

- Each laminate is a flat band. The board reaches ten times its thickness beyond the outermost conductor on both sides,
  where its edge no longer matters to what lies between them.
- Where an inner copper layer has no copper, the neighbouring laminate with the lower permittivity fills the gap: it is
  resin that flows in, and resin has a lower permittivity than the glass it carries.
- A dielectric above the first or below the last copper layer is solder mask. It follows the surface: on the laminate,
  on the copper and on its side walls it has the same thickness.
"""

from __future__ import annotations

from collections.abc import Iterable

import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.section.outline import Polygon, Rectangle
from geometries.section.section import Dielectric, Region

_OVERHANG = 10.0
"""How far the board reaches beyond the outermost conductor, in thicknesses of it."""

_Surface = tuple[CopperLayer | DielectricLayer, float, float]


def board_dielectrics(stackup: Stackup, regions: Iterable[Region]) -> tuple[Dielectric, ...]:
    """Laminates, resin between inner copper, and solder mask of a board round its conductors.

    Parameters
    ----------
    stackup : Stackup
        The board.
    regions : iterable of Region
        All conductors on it.

    Returns
    -------
    tuple of Dielectric
        From top to bottom.
    """
    regions = tuple(regions)
    reach = _OVERHANG * stackup.thickness
    left = min(region.outline.bounds[0] for region in regions) - reach
    right = max(region.outline.bounds[2] for region in regions) + reach
    surfaces = stackup.surfaces()
    parts = []
    for number, (layer, lower, upper) in enumerate(surfaces):
        above, below = surfaces[:number][-1:], surfaces[number + 1 :][:1]
        if isinstance(layer, CopperLayer):
            if layer.name not in (stackup.copper_names[0], stackup.copper_names[-1]):
                parts.append(_band(_filling(above, below), left, right, lower, upper))
        elif not above and below and isinstance(below[0][0], CopperLayer):
            parts.append(_mask(layer, regions, (left, right), below[0][1], upward=True))
        elif above and not below and isinstance(above[0][0], CopperLayer):
            parts.append(_mask(layer, regions, (left, right), above[0][2], upward=False))
        else:
            parts.append(_band(layer, left, right, lower, upper))
    return tuple(parts)


def _filling(above: tuple[_Surface, ...], below: tuple[_Surface, ...]) -> DielectricLayer:
    """What fills the gaps of an inner copper layer: the laminate above or below it."""
    neighbours = [layer for layer, *_ in (*above, *below) if isinstance(layer, DielectricLayer)]
    return min(neighbours, key=lambda layer: layer.relative_permittivity)


def _band(layer: DielectricLayer, left: float, right: float, bottom: float, top: float) -> Dielectric:
    outline = Rectangle(left=left, right=right, bottom=bottom, top=top)
    return Dielectric(name=layer.name, outline=outline, relative_permittivity=layer.relative_permittivity)


def _mask(
    layer: DielectricLayer, regions: tuple[Region, ...], span: tuple[float, float], laminate: float, *, upward: bool
) -> Dielectric:
    """A coat of even thickness on the laminate's surface and the copper that stands on it."""
    left, right = span
    side, way = (1, 1.0) if upward else (3, -1.0)
    standing = [region.outline for region in regions if region.outline.bounds[side] == laminate]
    tallest = max([0.0, *(outline.bounds[3] - outline.bounds[1] for outline in standing)])
    flat = _between(left, right, laminate, laminate + way * layer.thickness)
    open_side = _between(left, right, laminate, laminate + way * (tallest + 2 * layer.thickness))
    coats = [outline.shape.buffer(layer.thickness, join_style="mitre") for outline in standing]
    shape = shapely.union_all([flat, *(coat.intersection(open_side) for coat in coats)])
    corners = tuple((float(x), float(y)) for x, y in shapely.get_coordinates(shapely.get_exterior_ring(shape))[:-1])
    return Dielectric(
        name=layer.name, outline=Polygon(vertices=corners), relative_permittivity=layer.relative_permittivity
    )


def _between(left: float, right: float, first: float, second: float) -> BaseGeometry:
    return box(left, min(first, second), right, max(first, second))
