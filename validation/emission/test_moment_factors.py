"""What the place of a small loop over a plane makes of its moment.

Sources: exact factors of a loop x off the middle of a strip of half-width b, (1 - x²/b²)^-3/2, and of a disc,
(2 - x²/b²)/2(1 - x²/b²)^3/2, at heights far below b [derived from the flow across a plate and across a disc]; the
sheet current of a perfect disc in a uniform field, (4/pi) H0 rho/sqrt(b² - rho²) (W. R. Smythe, *Static and Dynamic
Electricity*, from memory), whose field is summed here over circles; an integral equation for two coplanar strips,
solved here by point matching.
"""

import math

import numpy as np
import pytest
from scipy.special import ellipe, ellipk

from solver.formulas import disc_shielding, split_strip_shielding, strip_shielding

EXACT = "Exact factors of a loop off the middle of its plane"


@pytest.mark.parametrize("x", [0.25, 0.5, 0.75, 0.9])
def test_off_the_middle_of_a_strip(references, x: float) -> None:
    references.compare(
        found=strip_shielding(1e-4, 1.0, x) / strip_shielding(1e-4, 1.0),
        reference=(1 - x**2) ** -1.5,
        rtol=1e-4,
        source=EXACT,
        item=f"strip, x/b = {x}, h/b = 1e-4",
        unit="1",
        reason="(h/b)² of it at x/b = 0.9 and a little more",
        mark="derived",
    )


@pytest.mark.parametrize("x", [0.25, 0.5, 0.75, 0.9])
def test_off_the_middle_of_a_disc(references, x: float) -> None:
    references.compare(
        found=disc_shielding(1e-4, 1.0, x) / disc_shielding(1e-4, 1.0),
        reference=(2 - x**2) / (2 * (1 - x**2) ** 1.5),
        rtol=1e-4,
        source=EXACT,
        item=f"disc, x/b = {x}, h/b = 1e-4",
        unit="1",
        reason="(h/b)² of it at x/b = 0.9 and a little more",
        mark="derived",
    )


def circle_field_upright(radius, offset, height):
    """Field along the axis of a circle of 1 A at a point beside its axis [A/m]; J. C. Maxwell's elliptic integrals."""
    far, near = (radius + offset) ** 2 + height**2, (radius - offset) ** 2 + height**2
    m = 4 * radius * offset / far
    return (ellipk(m) + (radius**2 - offset**2 - height**2) / near * ellipe(m)) / (2 * math.pi * np.sqrt(far))


@pytest.mark.parametrize("offset", [0.0, 0.3, 0.7, 0.95, 1.05, 1.5])
@pytest.mark.parametrize("height", [0.05, 0.3, 1.0])
def test_disc_equals_the_field_of_its_sheet_current(offset: float, height: float) -> None:
    # rho = sin t takes the root away; the sum is exact to rounding for heights above the spacing of its points.
    nodes, weights = np.polynomial.legendre.leggauss(600)
    rho = np.sin((nodes + 1) * math.pi / 4)
    opposed = (4 / math.pi * rho * circle_field_upright(rho, offset, height) * weights).sum() * math.pi / 4
    assert disc_shielding(height, 1.0, offset) == pytest.approx(1 - opposed, abs=1e-9)


def two_strips_by_point_matching(height, b, a, x):
    """Field across two strips from a to b and -b to -a in a unit field: potential constant on each, no net current."""
    count = 400
    edges = (a + b) / 2 - (b - a) / 2 * np.cos(np.linspace(0, math.pi, count + 1))
    left, right = np.concatenate([-edges[:0:-1], edges[:-1]]), np.concatenate([-edges[-2::-1], edges[1:]])
    middle, size = (left + right) / 2, right - left

    def potential(u):  # integral of -ln|x - s|/2pi over each cell, u = x - s
        return np.where(u == 0, 0.0, u * np.log(np.abs(np.where(u == 0, 1.0, u))) - u) / (2 * math.pi)

    matrix = potential(middle[:, None] - right) - potential(middle[:, None] - left)
    member = np.stack([middle < 0, middle > 0], axis=1).astype(float)
    system = np.block([[matrix, -member], [(member * size[:, None]).T, np.zeros((2, 2))]])
    # Potential of a unit field: -x; current along the strips.
    current = np.linalg.solve(system, np.concatenate([middle, [0, 0]]))[:-2]
    up = (x - middle) / ((x - middle) ** 2 + height**2) / (2 * math.pi)
    return 1 + (current * size * up).sum()


@pytest.mark.parametrize(("height", "x"), [(0.02, 0.5), (0.02, 0.2), (0.02, 0.85), (0.1, 0.0), (0.1, 0.35), (0.3, 1.2)])
@pytest.mark.parametrize("gap", [0.01, 0.1, 0.4])
def test_strip_cut_in_two_equals_the_integral_equation(height: float, x: float, gap: float) -> None:
    expected = two_strips_by_point_matching(height, 1.0, gap, x)
    assert split_strip_shielding(height, 1.0, gap, x) == pytest.approx(expected, rel=5e-3, abs=1e-4)


@pytest.mark.parametrize("x", [0.3, 0.5, 0.7])
def test_a_half_far_from_the_other_is_a_strip_of_its_own(x: float) -> None:
    # Halves from 20 to 21: what the other half adds is its dipole, (width/distance)²/8 of the field, 3e-4.
    expected = strip_shielding(0.02, 0.5, x - 0.5)
    assert split_strip_shielding(0.02, 21.0, 20.0, 20.0 + x) == pytest.approx(expected, rel=2e-3, abs=0)
