"""Outlines of conductors in a plane: rectangle, polygon, circle, ring. All lengths in metres."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry
from shapely.validation import explain_validity

from geometries.errors import GeometryError

Point = tuple[float, float]

_ARC_SEGMENTS = 64
"""Segments per quarter circle in the overlap test (radius error 8e-5)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectangle:
    """An upright rectangle from (left, bottom) to (right, top) [m].

    Parameters
    ----------
    left, right, bottom, top : float
        Its sides [m]; right of left, top above bottom.

    Examples
    --------
    >>> from geometries import Rectangle
    >>> Rectangle(left=0.0, right=3e-3, bottom=0.0, top=35e-6).bounds
    (0.0, 0.0, 0.003, 3.5e-05)
    """

    left: float
    bottom: float
    right: float
    top: float

    def __post_init__(self) -> None:
        if not (self.right > self.left and self.top > self.bottom):
            raise GeometryError(
                f"rectangle from ({self.left:g}, {self.bottom:g}) to ({self.right:g}, {self.top:g}) m has no area; "
                "its width and its height must be above zero"
            )

    @property
    def vertices(self) -> tuple[Point, ...]:
        """Corners counter-clockwise from the lower left."""
        return (
            (self.left, self.bottom),
            (self.right, self.bottom),
            (self.right, self.top),
            (self.left, self.top),
        )

    @property
    def area(self) -> float:
        """Enclosed area [m²]."""
        return (self.right - self.left) * (self.top - self.bottom)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) [m]."""
        return self.left, self.bottom, self.right, self.top

    @property
    def shape(self) -> BaseGeometry:
        """The outline as a shapely polygon."""
        return _polygon(self.vertices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Polygon:
    """A simple polygon.

    Parameters
    ----------
    vertices : tuple of (x, y)
        Corners [m], at least three, first not repeated; either sense of rotation.

    Raises
    ------
    GeometryError
        If the outline crosses itself or has no area.

    Examples
    --------
    >>> from geometries import Polygon
    >>> Polygon(vertices=((0.0, 0.0), (2e-3, 0.0), (0.0, 1e-3))).bounds
    (0.0, 0.0, 0.002, 0.001)
    """

    vertices: tuple[Point, ...]

    def __post_init__(self) -> None:
        if len(self.vertices) < 3:
            raise GeometryError(f"a polygon needs at least three vertices, not {len(self.vertices)}")
        shape = _polygon(self.vertices)
        if not shape.is_valid or shape.area <= 0:
            raise GeometryError(f"polygon is not a simple outline with an area: {explain_validity(shape)} (in m)")
        if not shape.exterior.is_ccw:
            object.__setattr__(self, "vertices", tuple(reversed(self.vertices)))

    @property
    def area(self) -> float:
        """Enclosed area [m²]."""
        return float(_polygon(self.vertices).area)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) [m]."""
        left, bottom, right, top = _polygon(self.vertices).bounds
        return left, bottom, right, top

    @property
    def shape(self) -> BaseGeometry:
        """The outline as a shapely polygon."""
        return _polygon(self.vertices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A full circle of `radius` around `centre` [m].

    Parameters
    ----------
    centre : (x, y)
        Its middle [m].
    radius : float
        [m], > 0.

    Examples
    --------
    >>> from geometries import Circle
    >>> Circle(centre=(0.0, 0.0), radius=1e-3).bounds
    (-0.001, -0.001, 0.001, 0.001)
    """

    centre: Point
    radius: float

    def __post_init__(self) -> None:
        if not self.radius > 0:
            raise GeometryError(f"circle has radius {self.radius:g} m; it must be above zero")

    @property
    def area(self) -> float:
        """Enclosed area [m²]."""
        return math.pi * self.radius**2

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) [m]."""
        return _square_around(self.centre, self.radius)

    @property
    def shape(self) -> BaseGeometry:
        """The outline as a shapely polygon (fine enough for overlap tests and drawings)."""
        return _disc(self.centre, self.radius)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """The area between two concentric circles [m], for instance the shell of a coaxial line.

    Parameters
    ----------
    centre : (x, y)
        Its middle [m].
    inner_radius, outer_radius : float
        [m], 0 < inner < outer.

    Examples
    --------
    >>> from geometries import Ring
    >>> Ring(centre=(0.0, 0.0), inner_radius=1.75e-3, outer_radius=2e-3).bounds
    (-0.002, -0.002, 0.002, 0.002)
    """

    centre: Point
    inner_radius: float
    outer_radius: float

    def __post_init__(self) -> None:
        if not 0 < self.inner_radius < self.outer_radius:
            raise GeometryError(
                f"ring has radii {self.inner_radius:g} and {self.outer_radius:g} m; "
                "they must satisfy 0 < inner radius < outer radius"
            )

    @property
    def area(self) -> float:
        """Enclosed area [m²]."""
        return math.pi * (self.outer_radius**2 - self.inner_radius**2)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) [m]."""
        return _square_around(self.centre, self.outer_radius)

    @property
    def shape(self) -> BaseGeometry:
        """The outline as a shapely polygon with a hole."""
        return _annulus(self.centre, self.inner_radius, self.outer_radius)


@lru_cache(maxsize=256)
def _polygon(vertices: tuple[Point, ...]) -> ShapelyPolygon:
    return ShapelyPolygon(vertices)


@lru_cache(maxsize=64)
def _disc(centre: Point, radius: float) -> BaseGeometry:
    return ShapelyPoint(centre).buffer(radius, quad_segs=_ARC_SEGMENTS)


@lru_cache(maxsize=64)
def _annulus(centre: Point, inner_radius: float, outer_radius: float) -> BaseGeometry:
    return _disc(centre, outer_radius).difference(_disc(centre, inner_radius))


Outline = Rectangle | Polygon | Circle | Ring


def _square_around(centre: Point, radius: float) -> tuple[float, float, float, float]:
    x, y = centre
    return x - radius, y - radius, x + radius, y + radius
