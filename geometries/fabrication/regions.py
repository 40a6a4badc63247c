"""Regions: outlines filled, cut-in holes included."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.quantities import MM
from geometries.section.outline import Point

_AREA_AGREES = 1e-6
"""Relative difference between the area of the filled outline and the shoelace formula that rounding may cause."""


def shoelace_area(contour: list[Point]) -> float:
    """Area inside a contour by the shoelace formula [m²]; a cut-in counts as taken away.

    Examples
    --------
    >>> shoelace_area([(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)])
    2.0
    """
    points = np.array(contour) - contour[0]
    x, y = points.T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


def region_shape(contours: list[list[Point]]) -> tuple[BaseGeometry, str]:
    """All contours filled, and a remark if one of them crosses itself, so that its area is a matter of reading."""
    filled = [_filled(contour) for contour in contours]
    shape = filled[0][0] if len(filled) == 1 else shapely.union_all([piece for piece, _ in filled])
    return shape, next((remark for _, remark in filled if remark), "")


def _filled(contour: list[Point]) -> tuple[BaseGeometry, str]:
    outline: BaseGeometry = ShapelyPolygon(contour)
    if outline.is_valid:
        return outline, ""
    cleaned, area = outline.buffer(0), shoelace_area(contour)
    if abs(cleaned.area - area) <= _AREA_AGREES * area:
        return cleaned, ""
    rebuilt = shapely.make_valid(outline)
    where = f"x = {contour[0][0] / MM:.4g} mm, y = {contour[0][1] / MM:.4g} mm"
    remark = f"a region that begins at {where} crosses itself: {area / MM**2:.6g} mm² by its outline"
    return shapely.union_all([part for part in shapely.get_parts(rebuilt) if part.area > 0]), (
        f"{remark}, {rebuilt.area / MM**2:.6g} mm² as filled"
    )
