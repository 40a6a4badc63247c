"""Coplanar waveguide in air.

Source: C. P. Wen, "Coplanar waveguide: a surface strip transmission line suitable for nonreciprocal
gyromagnetic device applications", IEEE Transactions on Microwave Theory and Techniques 17 (1969) 1087-1090
(from memory [M]).
"""

import math

import pytest

from solver.formulas import MU_0, coplanar_strips_inductance, coplanar_waveguide_inductance


def test_coplanar_waveguide() -> None:
    # Computed independently [M, exact]: s = 1 mm, g = 0.2 mm: 311.2428864 nH/m, ten digits.
    assert coplanar_waveguide_inductance(1e-3, 0.2e-3) * 1e9 == pytest.approx(311.2428864, rel=1e-9, abs=0.0)


def test_wide_gap_limit() -> None:
    # For small k the ratio of the integrals is (2/pi) ln(4/k), the rest of order k^2; here k is 1/2001.
    expected = MU_0 / (2.0 * math.pi) * math.log(4.0 * 2001.0)
    assert coplanar_waveguide_inductance(1.0, 1000.0) == pytest.approx(expected, rel=1e-7, abs=0.0)


@pytest.mark.parametrize(("middle", "side"), [(1e-3, 0.2e-3), (0.1e-3, 2e-3), (5e-3, 5e-3)])
def test_coplanar_waveguide_and_strips_are_complementary(middle: float, side: float) -> None:
    # Babinet: with copper and air exchanged the product of the impedances is that of half of eta_0 with
    # itself.
    product = coplanar_waveguide_inductance(middle, side) * coplanar_strips_inductance(side, middle)
    assert product == pytest.approx((0.5 * MU_0) ** 2, rel=1e-13, abs=0.0)
