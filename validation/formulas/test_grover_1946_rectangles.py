"""Rectangular loops of round wire, alone, in pairs and over a plane.

Source: F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, p. 60 (rectangle of round wire) and ch. 10 (two
equal parallel rectangles); also F. E. Terman, *Radio Engineers' Handbook*, McGraw-Hill 1943 (from memory [M]). The
numbers were computed independently: the formulas, the mutuals by Neumann's integral (quadrature) and images.
"""

import math

import pytest

from solver.formulas import (
    MU_0,
    Rectangle,
    bars_rectangle_inductance,
    filaments_partial_mutual,
    flat_rectangles_mutual,
    rectangle_over_plane_inductance,
    rectangle_surface_inductance,
    rectangle_uniform_inductance,
    round_bar_uniform_partial_inductance,
    upright_rectangle_inductance,
)

# Sides and radius in um; uniform, surface current, sum of partial inductances with uniform current, nH.
LOOPS = [
    (10000, 5000, 100, 22.1109162, 20.6109162, 22.1906162),
    (5000, 2000, 250, 5.39747118, 4.69747118, 5.59310265),
    (20000, 20000, 500, 50.6378658, 46.6378658, 51.035366),
]

# Height in mm, nH: 10 x 5 mm loop, radius 0.1 mm.
OVER_PLANE = [(0.2, 7.99430602), (0.5, 12.9947893), (1.5, 17.8821954), (1e6, 20.6109162)]

# Length, height, radius in um; nH.
UPRIGHT = [
    (5000, 200, 50, 2.1396491),
    (5000, 360, 100, 2.0649823),
    (5000, 1500, 100, 4.5690671),
    (10000, 1500, 250, 5.6318114),
]


@pytest.mark.parametrize(("length", "width", "radius", "uniform", "surface", "partial"), LOOPS)
def test_loop_of_round_wire(
    length: int, width: int, radius: int, uniform: float, surface: float, partial: float
) -> None:
    a, b, r = length * 1e-6, width * 1e-6, radius * 1e-6
    assert rectangle_uniform_inductance(a, b, r) * 1e9 == pytest.approx(uniform, rel=1e-8, abs=0.0)
    assert rectangle_surface_inductance(a, b, r) * 1e9 == pytest.approx(surface, rel=1e-8, abs=0.0)


@pytest.mark.parametrize(("length", "width", "radius", "uniform", "surface", "partial"), LOOPS)
def test_sum_of_partial_inductances_differs_by_what_the_formula_drops(
    length: int, width: int, radius: int, uniform: float, surface: float, partial: float
) -> None:
    a, b, r = length * 1e-6, width * 1e-6, radius * 1e-6
    own = round_bar_uniform_partial_inductance(a, r) + round_bar_uniform_partial_inductance(b, r)
    between = filaments_partial_mutual(a, a, 0.0, b) + filaments_partial_mutual(b, b, 0.0, a)
    total = 2 * (own - between)
    assert total * 1e9 == pytest.approx(partial, rel=1e-8, abs=0.0)
    # 2 mu0 r / pi, less terms of the square of r over a side.
    assert total - rectangle_uniform_inductance(a, b, r) == pytest.approx(2 * MU_0 * r / math.pi, rel=0.03, abs=0.0)


@pytest.mark.parametrize(("height", "expected"), OVER_PLANE)
def test_loop_lying_over_a_plane(height: float, expected: float) -> None:
    found = rectangle_over_plane_inductance(10e-3, 5e-3, 0.1e-3, height * 1e-3)
    assert found * 1e9 == pytest.approx(expected, rel=1e-8, abs=0.0)


@pytest.mark.parametrize(("length", "height", "radius", "expected"), UPRIGHT)
def test_loop_standing_on_a_plane(length: int, height: int, radius: int, expected: float) -> None:
    found = upright_rectangle_inductance(length * 1e-6, height * 1e-6, radius * 1e-6)
    assert found * 1e9 == pytest.approx(expected, rel=1e-7, abs=0.0)


@pytest.mark.parametrize(
    ("height", "expected"), [(math.inf, -0.0772705379), (0.2e-3, -0.00174200658), (1.5e-3, -0.054840665)]
)
def test_mutual_of_two_flat_loops_side_by_side(height: float, expected: float) -> None:
    # 5 x 2 mm and, 3 mm beside its short side, 4 x 6 mm, middles in line; the plane by the second loop's image.
    source = Rectangle(left=0.0, bottom=0.0, width=5e-3, height=2e-3)
    victim = Rectangle(left=8e-3, bottom=-2e-3, width=4e-3, height=6e-3)
    found = flat_rectangles_mutual(source, victim, 0.0)
    if math.isfinite(height):
        found -= flat_rectangles_mutual(source, victim, 2 * height)
    # Nine digits; the plane cancels two of them.
    assert found * 1e9 == pytest.approx(expected, rel=1e-7, abs=0.0)


def test_narrow_bars_tend_to_round_wire_of_their_mean_distance() -> None:
    # A square bar of side s has the geometric mean radius 0.44705 s, a round wire exp(-1/4) r: 0.2 % left at s = b/100.
    side = 50e-6
    radius = 0.44704916 * side * math.exp(0.25)
    found = bars_rectangle_inductance(10e-3, 5e-3, side, side)
    assert found == pytest.approx(rectangle_uniform_inductance(10e-3, 5e-3, radius), rel=2e-3, abs=0.0)
