"""Mutual inductance of coaxial circles.

Sources: J. C. Maxwell, *A Treatise on Electricity and Magnetism*, art. 701 (from memory); NIST Digital
Library of Mathematical Functions, section 19.34, eq. 19.34.5 (checked against the text [V]). Numbers computed
independently from both forms, which agreed to 1e-15.
"""

import pytest
from scipy.special import elliprd, elliprf

from solver.formulas import coaxial_circles_mutual

# Computed independently [V]: radii and distance m, mutual inductance nH.
CIRCLES = [
    (0.002, 0.002, 0.0002, 6.005752607),
    (0.002, 0.002, 0.001, 2.225221787),
    (0.002, 0.002, 0.003, 0.5055196155),
    (0.002, 0.001, 0.0005, 0.9593293994),
    (0.25, 0.25, 0.01, 1036.664849),
    (0.25, 0.2, 0.1, 248.787359),
    (0.1, 0.1, 0.1, 49.40784631),
]


@pytest.mark.parametrize(("first", "second", "distance", "mutual"), CIRCLES)
def test_coaxial_circles(first: float, second: float, distance: float, mutual: float) -> None:
    # Ten digits.
    assert coaxial_circles_mutual(first, second, distance) * 1e9 == pytest.approx(mutual, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("first", "second", "distance"), [row[:3] for row in CIRCLES])
def test_against_symmetric_integrals(first: float, second: float, distance: float) -> None:
    # Eq. 19.34.5 with Carlson's integrals: another route through the same library.
    far, near = distance**2 + (first + second) ** 2, distance**2 + (first - second) ** 2
    bracket = 3.0 * elliprf(0.0, far, near) - 2.0 * near * elliprd(0.0, far, near)
    expected = 8e-7 * 3.141592653589793 * first * second / 3.0 * bracket
    assert coaxial_circles_mutual(first, second, distance) == pytest.approx(float(expected), rel=1e-12, abs=0.0)


def test_far_circles_are_dipoles() -> None:
    # M = mu_0 pi a^2 b^2/(2 d^3) to order (a/d)^2 = 4e-4 x 3/2 x 2.
    dipole = 2e-7 * 3.141592653589793**2 / 50.0**3
    assert coaxial_circles_mutual(1.0, 1.0, 50.0) == pytest.approx(dipole, rel=1.3e-3, abs=0.0)
