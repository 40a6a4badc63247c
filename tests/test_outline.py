import math

import pytest

from geometries.errors import GeometryError
from geometries.section.outline import Circle, Polygon, Rectangle, Ring


def test_a_rectangle_needs_width_and_height():
    with pytest.raises(GeometryError, match="no area"):
        Rectangle(left=0, right=1, bottom=1, top=1)


def test_a_polygon_is_turned_counter_clockwise():
    clockwise = Polygon(vertices=((0, 0), (0, 1), (1, 1), (1, 0)))
    assert clockwise.vertices == ((1, 0), (1, 1), (0, 1), (0, 0))


def test_a_polygon_that_crosses_itself_is_refused():
    with pytest.raises(GeometryError, match="not a simple outline"):
        Polygon(vertices=((0, 0), (1, 1), (1, 0), (0, 1)))


def test_two_vertices_make_no_polygon():
    with pytest.raises(GeometryError, match="at least three"):
        Polygon(vertices=((0, 0), (1, 1)))


def test_a_circle_needs_a_radius():
    with pytest.raises(GeometryError, match="above zero"):
        Circle(centre=(0, 0), radius=0)


def test_ring_radii_must_be_ordered():
    with pytest.raises(GeometryError, match="inner radius < outer radius"):
        Ring(centre=(0, 0), inner_radius=2, outer_radius=1)


@pytest.mark.parametrize(
    ("outline", "area"),
    [
        (Rectangle(left=-1, right=1, bottom=0, top=3), 6),
        (Polygon(vertices=((0, 0), (2, 0), (0, 2))), 2),
        (Circle(centre=(1, 1), radius=2), 4 * math.pi),
        (Ring(centre=(0, 0), inner_radius=1, outer_radius=2), 3 * math.pi),
    ],
)
def test_areas_and_shapes_agree(outline, area):
    assert outline.area == pytest.approx(area, rel=1e-12)
    assert outline.shape.area == pytest.approx(area, rel=5e-4)
    assert outline.shape.bounds == pytest.approx(outline.bounds, rel=1e-3)
