"""Partial inductances of straight conductors.

Source: E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau of Standards 4
(1908) 301-344 (formulas from memory [M]). The numbers were computed independently from the formulas.
"""

import pytest

from solver.formulas import (
    Bar,
    Rectangle,
    bars_partial_inductance,
    filaments_partial_mutual,
    rosa_bar_partial_inductance,
    round_bar_surface_partial_inductance,
    round_bar_uniform_partial_inductance,
)

# Length, width, thickness in um; nH.
BARS = [
    (10000, 1000, 35, 6.968926194),
    (5000, 2000, 35, 2.183053774),
    (1000, 500, 35, 0.3876416425),
    (20000, 250, 18, 22.03457061),
    (10000, 1000, 1000, 5.694570186),
]

# Length, radius in um; surface current, uniform current in pH.
AXISYMMETRIC = [
    (200, 100, 33.02405946, 43.02405946),
    (360, 150, 67.8795297, 85.8795297),
    (500, 150, 117.4865821, 142.4865821),
    (1000, 150, 346.9315737, 396.9315737),
    (1600, 150, 688.5842995, 768.5842995),
]


@pytest.mark.parametrize(("length", "width", "thickness", "expected"), BARS)
def test_rectangular_bar(length: int, width: int, thickness: int, expected: float) -> None:
    found = rosa_bar_partial_inductance(length * 1e-6, width * 1e-6, thickness * 1e-6)
    assert found * 1e9 == pytest.approx(expected, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("length", "radius", "surface", "uniform"), AXISYMMETRIC)
def test_round_bar(length: int, radius: int, surface: float, uniform: float) -> None:
    sizes = length * 1e-6, radius * 1e-6
    assert round_bar_surface_partial_inductance(*sizes) * 1e12 == pytest.approx(surface, rel=1e-9, abs=0.0)
    assert round_bar_uniform_partial_inductance(*sizes) * 1e12 == pytest.approx(uniform, rel=1e-9, abs=0.0)


def test_equal_parallel_filaments() -> None:
    assert filaments_partial_mutual(10e-3, 10e-3, 0.0, 1e-3) * 1e9 == pytest.approx(4.186470776, rel=1e-9, abs=0.0)


def test_two_filaments_on_one_line_are_the_limit_of_two_close_by() -> None:
    # The distance enters as its square over lengths squared: 1e-12.
    near = filaments_partial_mutual(2e-3, 3e-3, 2.5e-3, 1e-9)
    assert filaments_partial_mutual(2e-3, 3e-3, 2.5e-3, 0.0) == pytest.approx(near, rel=1e-8, abs=0.0)


@pytest.mark.parametrize(("length", "within"), [(10.0, 0.003), (2.0, 0.02), (1.0, 0.05)])
def test_bar_formula_is_as_near_to_the_exact_value_as_its_range_says(length: float, within: float) -> None:
    # A bar of w + t = 1; thin, where the formula is worst.
    section = Rectangle(left=0.0, bottom=0.0, width=0.965, height=0.035)
    exact = bars_partial_inductance(*2 * (Bar(section=section, start=0.0, length=length),))
    assert rosa_bar_partial_inductance(length, 0.965, 0.035) == pytest.approx(exact, rel=within, abs=0.0)
