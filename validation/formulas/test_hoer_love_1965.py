"""Partial inductances of rectangular bars.

Source: C. Hoer, C. Love, "Exact inductance equations for rectangular conductors with applications to more complicated
geometries", Journal of Research of the National Bureau of Standards 69C (1965) 127-137 (closed form from memory [M]).
The numbers were computed independently from the closed form with multiple precision [exact]; two checks here need no
source: direct quadrature of the mutual, and bars far apart against filaments.
"""

import itertools
import math

import numpy as np
import pytest

from solver.formulas import MU_0, Bar, Rectangle, bars_partial_inductance, filaments_partial_mutual
from solver.formulas.bars import FAR

# Computed independently [exact]: length, width, thickness in um; nH.
SELF = [
    (10000, 1000, 35, 6.986382224),
    (5000, 2000, 35, 2.218239892),
    (1000, 500, 35, 0.3949204592),
    (20000, 250, 18, 22.03218494),
    (10000, 1000, 1000, 5.704253589),
]

# Two bars of 10 x 1 x 0.035 mm: offsets across, up and along in mm; nH.
MUTUAL = [
    (0.0, 0.2, 0.0, 6.065620525),
    (2.0, 0.0, 0.0, 3.028372228),
    (0.0, 1.5, 0.0, 3.410870333),
    (3.0, 0.2, 4.0, 2.036879685),
]


def bar(length: float, width: float, thickness: float, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Bar:
    section = Rectangle(left=x, bottom=y, width=width, height=thickness)
    return Bar(section=section, start=z, length=length)


@pytest.mark.parametrize(("length", "width", "thickness", "reference"), SELF)
def test_self_inductance(length: int, width: int, thickness: int, reference: float) -> None:
    # Ten digits; the 64 terms cancel to one part in 1e8 for the thinnest bar, and double precision leaves 3e-8.
    one = bar(length * 1e-6, width * 1e-6, thickness * 1e-6)
    assert bars_partial_inductance(one, one) * 1e9 == pytest.approx(reference, rel=5e-8, abs=0.0)


@pytest.mark.parametrize(("across", "up", "along", "reference"), MUTUAL)
def test_mutual_inductance(across: float, up: float, along: float, reference: float) -> None:
    one = bar(10e-3, 1e-3, 35e-6)
    other = bar(10e-3, 1e-3, 35e-6, across * 1e-3, up * 1e-3, along * 1e-3)
    assert bars_partial_inductance(one, other) * 1e9 == pytest.approx(reference, rel=1e-8, abs=0.0)


def test_mutual_is_the_mean_over_filaments() -> None:
    # Gauss points over both sections; the filament formula is exact along the bars. Smooth: seven digits with 6 points.
    one, other = bar(4e-3, 1e-3, 0.5e-3), bar(3e-3, 0.8e-3, 0.3e-3, 2e-3, 1e-3, -1e-3)
    points, weights = np.polynomial.legendre.leggauss(6)
    points, weights = (points + 1) / 2, weights / 2
    total = 0.0
    for i, k, m, n in itertools.product(range(6), repeat=4):
        dx = 2e-3 + 0.8e-3 * points[m] - 1e-3 * points[i]
        dy = 1e-3 + 0.3e-3 * points[n] - 0.5e-3 * points[k]
        share = weights[i] * weights[k] * weights[m] * weights[n]
        total += share * filaments_partial_mutual(4e-3, 3e-3, -1e-3, math.hypot(dx, dy))
    assert bars_partial_inductance(one, other) == pytest.approx(total, rel=1e-7, abs=0.0)


def test_sum_and_quadrature_agree_where_one_takes_over_from_the_other() -> None:
    one, distance = bar(4e-3, 1e-3, 0.5e-3), 1e-3 + FAR * 1e-3
    near = bars_partial_inductance(one, bar(4e-3, 1e-3, 0.5e-3, distance * (1 - 1e-9)))
    far = bars_partial_inductance(one, bar(4e-3, 1e-3, 0.5e-3, distance * (1 + 1e-9)))
    assert far == pytest.approx(near, rel=1e-7, abs=0.0)


def test_bars_far_apart_act_on_each_other_as_points_of_current() -> None:
    # (length/distance)^2 / 12 = 2e-4 is left out of the point value.
    one, other = bar(1e-3, 1e-3, 1e-3), bar(1e-3, 1e-3, 1e-3, 20e-3)
    point = MU_0 / (4 * math.pi) * 1e-6 / 20e-3
    assert bars_partial_inductance(one, other) == pytest.approx(point, rel=3e-4, abs=0.0)
