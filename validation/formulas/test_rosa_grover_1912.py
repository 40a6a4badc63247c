"""Geometric mean distances and the direct-current inductance of bars.

Source: E. B. Rosa, F. W. Grover, "Formulas and tables for the calculation of mutual and self-inductance",
Bulletin of the Bureau of Standards 8 (1912) 1-237, S169, after J. C. Maxwell, *Treatise*, arts. 691-692 (from
memory [M]). Published: mean radius of a square 0.44705 of its side, of a straight line exp(-3/2) = 0.22313 of
its length, of any rectangle about 0.2235 of the sum of its sides. The loop values were computed independently
[exact]; an integral equation at 0 Hz agreed with them to 1e-7.
"""

import math

import numpy as np
import pytest

from solver.formulas import Rectangle, bars_dc_inductance, bars_dc_resistance, mean_log_distance

COPPER = 5.8e7

# Computed independently [exact]: trace width (35 um thick), gap, plane width and thickness in m; L' nH/m, R'
# ohm/m.
LOOPS = [
    (1e-3, 200e-6, 10e-3, 35e-6, 405.1734014, 0.5418719212),
    (2e-3, 100e-6, 10e-3, 18e-6, 259.0931189, 0.3420908593),
    (2e-3, 1500e-6, 20e-3, 35e-6, 471.6941396, 0.2709359606),
    (1e-3, 200e-6, 1e-3, 35e-6, 215.7467115, 0.9852216749),
]


def mean_radius(width: float, height: float) -> float:
    rectangle = Rectangle(left=0.0, bottom=0.0, width=width, height=height)
    return math.exp(mean_log_distance(rectangle, rectangle))


def test_mean_radius_of_a_square() -> None:
    # Published 0.44705, five digits.
    assert mean_radius(1.0, 1.0) == pytest.approx(0.44705, rel=1.2e-5, abs=0.0)
    # Computed independently [exact]: 0.447049156, nine digits.
    assert mean_radius(2e-3, 2e-3) == pytest.approx(0.447049156 * 2e-3, rel=2e-9, abs=0.0)


def test_mean_radius_of_a_thin_strip_is_that_of_a_line() -> None:
    # exp(-3/2) of the width; thickness 1e-3 of the width adds pi/3 of that to the logarithm, 1e-3.
    assert mean_radius(1.0, 1e-3) == pytest.approx(math.exp(-1.5), rel=1.2e-3, abs=0.0)


@pytest.mark.parametrize("ratio", [0.02, 0.1, 0.3, 1.0])
def test_mean_radius_of_any_rectangle(ratio: float) -> None:
    # Published rule 0.2235 (w + t) [M]; exact values lie between 0.22313 and 0.22369, 0.17 % apart from it.
    assert mean_radius(1.0, ratio) == pytest.approx(0.2235 * (1.0 + ratio), rel=1.7e-3, abs=0.0)


@pytest.mark.parametrize(("width", "gap", "plane", "thickness", "inductance", "resistance"), LOOPS)
def test_trace_over_plane(
    width: float, gap: float, plane: float, thickness: float, inductance: float, resistance: float
) -> None:
    go = Rectangle(left=-0.5 * width, bottom=gap, width=width, height=35e-6)
    back = Rectangle(left=-0.5 * plane, bottom=-thickness, width=plane, height=thickness)
    # Ten digits, less what rounding takes in double precision from mean logarithms of thin sections (1e-10).
    assert bars_dc_inductance(go, back) * 1e9 == pytest.approx(inductance, rel=2e-9, abs=0.0)
    assert bars_dc_resistance(go, back, COPPER) == pytest.approx(resistance, rel=1e-9, abs=0.0)


def test_mean_distance_against_quadrature() -> None:
    first = Rectangle(left=0.0, bottom=0.0, width=1.0, height=0.3)
    second = Rectangle(left=0.4, bottom=0.8, width=2.0, height=0.5)
    nodes, weights = np.polynomial.legendre.leggauss(24)
    nodes, weights = 0.5 * (nodes + 1.0), 0.5 * weights
    x = (second.left + second.width * nodes)[:, None] - (first.left + first.width * nodes)
    y = (second.bottom + second.height * nodes)[:, None] - (first.bottom + first.height * nodes)
    pairs = np.outer(weights, weights).ravel()
    mean = pairs @ (0.5 * np.log(x.ravel()[:, None] ** 2 + y.ravel() ** 2)) @ pairs
    # Gauss-Legendre over separate sections converges below rounding; absolute since a logarithm may be near
    # zero.
    assert mean_log_distance(first, second) == pytest.approx(mean, abs=1e-12)
    assert mean_log_distance(second, first) == pytest.approx(mean, abs=1e-12)


def test_mean_distance_of_squares_is_that_of_their_centres() -> None:
    # Squares have no quadrupole: the rest is of order (side/distance)^4 = 1e-4 times 1/60.
    first = Rectangle(left=0.0, bottom=0.0, width=1.0, height=1.0)
    second = Rectangle(left=6.0, bottom=8.0, width=1.0, height=1.0)
    assert mean_log_distance(first, second) == pytest.approx(math.log(10.0), abs=2e-6)
