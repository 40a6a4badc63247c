"""Field of a circular loop, on its axis and off it, and of a Helmholtz pair.

Source: W. R. Smythe, *Static and Dynamic Electricity*, 3rd ed., McGraw-Hill 1968, section 7.10 (from memory [M]); the
field on the axis also S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, 3rd
ed., Wiley 1994, section 2.3 (from memory). The values on the axis were computed independently [exact].
"""

import math

import numpy as np
import pytest

from solver.formulas import MU_0, circle_axis_field, circle_field, coaxial_circles_mutual, helmholtz_pair_axis_field

# Computed independently, R = 2 mm: distance mm, flux density uT per ampere.
AXIS = [(0.0, 314.1592654), (0.5, 286.8510637), (1.0, 224.7940714), (2.0, 111.0720735), (5.0, 16.09321683)]
POINTS = [(1e-3, 0.5e-3), (2e-3, 0.2e-3), (5e-3, -3e-3), (0.05e-3, 2e-3), (1.99e-3, 0.0)]


@pytest.mark.parametrize(("distance", "reference"), AXIS)
def test_field_on_the_axis(distance: float, reference: float) -> None:
    # Ten digits.
    assert MU_0 * circle_axis_field(2e-3, distance * 1e-3) * 1e6 == pytest.approx(reference, rel=1e-9, abs=0.0)
    assert circle_field(2e-3, 0.0, distance * 1e-3)[1] == pytest.approx(
        circle_axis_field(2e-3, distance * 1e-3), rel=1e-14, abs=0.0
    )


@pytest.mark.parametrize(("x", "y"), POINTS)
def test_field_off_the_axis_against_the_law_of_biot_and_savart(x: float, y: float) -> None:
    # Equally spaced points on the circle: the error falls as exp(-n d/R), d/R = 5e-3 at the nearest point.
    angle = 2.0 * math.pi / 20_000 * np.arange(20_000)
    distance = np.sqrt((x - 2e-3 * np.cos(angle)) ** 2 + (2e-3 * np.sin(angle)) ** 2 + y**2)
    away = float(np.mean(2e-3 * y * np.cos(angle) / distance**3)) / 2.0
    along = float(np.mean(2e-3 * (2e-3 - x * np.cos(angle)) / distance**3)) / 2.0
    hx, hy = circle_field(2e-3, x, y)
    assert hx == pytest.approx(away, rel=1e-9, abs=1e-12)
    assert hy == pytest.approx(along, rel=1e-9, abs=0.0)


def test_flux_of_the_field_is_the_mutual_inductance() -> None:
    # 40 points across a circle of 1.5 mm, 0.5 mm above the loop: 1e-10 and better.
    nodes, weights = np.polynomial.legendre.leggauss(40)
    x = 0.75e-3 * (nodes + 1.0)
    along = np.array([circle_field(2e-3, float(place), 0.5e-3)[1] for place in x])
    flux = MU_0 * 2.0 * math.pi * float(np.sum(0.75e-3 * weights * x * along))
    assert flux == pytest.approx(coaxial_circles_mutual(2e-3, 1.5e-3, 0.5e-3), rel=1e-10, abs=0.0)


def test_helmholtz_pair_in_the_middle() -> None:
    # (4/5)^(3/2)/R = 0.7155417528/R.
    assert helmholtz_pair_axis_field(0.1, 0.0) == pytest.approx(7.155417528, rel=1e-9, abs=0.0)


def test_helmholtz_pair_falls_with_the_fourth_power() -> None:
    # 144/125 (z/R)^4; the next term is of order (z/R)^6, 1 % of it at z = R/10.
    drop = 1.0 - helmholtz_pair_axis_field(0.1, 0.01) / helmholtz_pair_axis_field(0.1, 0.0)
    assert drop == pytest.approx(1.152e-4, rel=2e-2, abs=0.0)
