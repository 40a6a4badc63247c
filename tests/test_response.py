"""Quadratic surfaces through solved points."""

import numpy as np
import pytest

from solver.study.response_surface import design_points, extreme_corners, largest_deviation, lay_surface


def quadratic(point: tuple[float, ...]) -> float:
    x, y, z = point
    return 5.0 + 2 * x - y + 0.5 * x**2 + 0.25 * y**2 + 0.75 * x * y - 0.125 * y * z


def solved(count: int, function) -> dict[tuple[float, ...], float]:
    return {point: function(point) for point in design_points(count)}


def test_a_quadratic_function_is_met_exactly_everywhere() -> None:
    response = lay_surface(solved(3, quadratic), 3)
    points = np.random.default_rng(7).uniform(-1, 1, (50, 3))
    assert response.values(points) == pytest.approx([quadratic(tuple(p)) for p in points], rel=1e-12)


def test_there_are_as_many_points_as_coefficients() -> None:
    assert [len(design_points(n)) for n in (1, 2, 5)] == [3, 6, 21]


def test_the_lowest_and_the_highest_corner_are_found() -> None:
    response = lay_surface(solved(3, quadratic), 3)
    corners = {c: quadratic(c) for c in [(x, y, z) for x in (-1.0, 1) for y in (-1.0, 1) for z in (-1.0, 1)]}
    lowest, highest = extreme_corners(response)
    assert corners[lowest] == min(corners.values())
    assert corners[highest] == max(corners.values())


def test_what_does_nothing_stays_at_zero_in_the_worst_corners() -> None:
    response = lay_surface(solved(2, lambda p: 1.0 + p[1]), 2)
    assert extreme_corners(response) == ((0.0, -1.0), (0.0, 1.0))


def test_what_the_surface_leaves_out_is_measured() -> None:
    response = lay_surface(solved(2, lambda p: 1.0 + p[0] + 0.1 * p[0] ** 3 + 0.2 * p[0] ** 2 * p[1]), 2)
    point = (0.5, -1.0)
    truth = 1.0 + 0.5 + 0.1 * 0.125 - 0.2 * 0.25
    surface = 1.0 + 1.1 * 0.5 + 0.2 * 0.5 * -1.0
    assert largest_deviation(response, {point: truth}, [point]) == pytest.approx(abs(truth - surface), rel=1e-12)


def test_nothing_measured_is_no_deviation() -> None:
    assert largest_deviation(lay_surface(solved(1, lambda p: p[0]), 1), {}, []) == 0.0
