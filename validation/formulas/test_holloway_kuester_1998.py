"""Return current in an infinite plane.

Source: C. L. Holloway, E. F. Kuester, "Net and partial inductance of a microstrip ground plane", IEEE
Transactions on Electromagnetic Compatibility 40 (1998) 33-46 (from memory [M]; its numbers and those of NTIA
Report 98-344 were not at hand). Values computed independently from the density I h/(pi (h^2 + x^2)).
"""

import math

import pytest
from scipy.integrate import quad

from solver.formulas import (
    finite_plane_return_density,
    infinite_plane_return_density,
    infinite_plane_return_share,
    net_plane_inductance,
)

# Computed independently [M, exact]: x mm, density 1/m for h = 0.5 mm.
DENSITY = [
    (0, 636.6198),
    (0.2, 548.8101),
    (0.5, 318.3099),
    (1, 127.324),
    (2, 37.44822),
    (4, 9.79415),
    (4.9, 6.560385),
]


@pytest.mark.parametrize(("x", "density"), DENSITY)
def test_density(x: float, density: float) -> None:
    # Given to seven digits; half a unit of 127.3240 is 4e-7.
    assert infinite_plane_return_density(x * 1e-3, 0.5e-3) == pytest.approx(density, rel=5e-7, abs=0.0)


@pytest.mark.parametrize(
    ("ratio", "share"),
    [(1.0, 0.5), (2.0, 0.704833), (3.0, 0.795167), (5.0, 0.874334), (10.0, 0.936549), (20.0, 0.968195)],
)
def test_share(ratio: float, share: float) -> None:
    # Computed independently [exact], six decimals.
    assert infinite_plane_return_share(ratio * 0.2e-3, 0.2e-3) == pytest.approx(share, abs=5.1e-7)


def test_share_is_the_integral_of_the_density() -> None:
    integral = quad(infinite_plane_return_density, -1.7e-3, 1.7e-3, args=(0.5e-3,), epsabs=1e-12)[0]
    assert infinite_plane_return_share(1.7e-3, 0.5e-3) == pytest.approx(integral, rel=1e-10, abs=0.0)


def test_wide_plane_comes_to_the_infinite_one() -> None:
    # Edges and far face add 3 per metre at W = 10 mm, falling as 1/W^2: 3e-4 of 127 per metre at W = 1 m.
    wide = finite_plane_return_density(1e-3, 0.5e-3, 1.0)
    assert wide == pytest.approx(infinite_plane_return_density(1e-3, 0.5e-3), rel=1e-5, abs=0.0)


@pytest.mark.parametrize(
    ("height", "width", "rule", "exact"), [(0.5e-3, 5e-3, 40.0, 39.738022), (1.5e-3, 5e-3, 120.0, 113.76498)]
)
def test_net_inductance_rule_is_the_limit_of_the_exact_value(
    height: float, width: float, rule: float, exact: float
) -> None:
    # mu_0 h/(pi W) as quoted [M], exact as computed independently [D] (eight digits). arsinh(u) = u - u^3/6 +
    # 3 u^5/40.
    computed = net_plane_inductance(height, width) * 1e9
    assert computed == pytest.approx(exact, rel=1e-7, abs=0.0)
    u = 2.0 * height / width
    assert computed == pytest.approx(rule * (1.0 - u**2 / 6.0 + 0.075 * u**4), rel=0.05 * u**6, abs=0.0)
    assert math.isclose(rule, 2e2 * u, rel_tol=1e-12)
