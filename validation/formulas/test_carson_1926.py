"""Line current over a conducting slab, and two filaments over a perfect plane.

Source: J. R. Carson, "Wave propagation in overhead wires with ground return", Bell System Technical Journal 5
(1926) 539-554, for the half space and the perfect-ground terms (from memory [M]). The slab is re-derived [D];
its table was computed independently, copper 58 MS/m, t = 35 um.
"""

import math

import mpmath  # type: ignore[import-untyped]  # publishes no types
import pytest

from solver.formulas import (
    MU_0,
    diffusion_constant,
    filaments_over_plane_mutual,
    slab_excess_impedance,
    surface_resistance,
)

COPPER = 5.8e7

# Computed independently [D, exact]: h mm, frequency Hz, plane R' ohm/m, excess L' nH/m, Rs/(2 pi h) ohm/m.
SLAB = [
    (0.1, 1e5, 0.145785, 299.885, 0.131306),
    (0.1, 1e6, 0.554416, 57.9786, 0.415227),
    (0.1, 3e6, 0.731296, 28.4479, 0.719195),
    (0.1, 1e7, 1.1089, 19.6764, 1.31306),
    (0.1, 3e7, 2.1445, 12.1329, 2.27429),
    (0.1, 1e8, 4.01708, 6.60508, 4.15227),
    (0.1, 3e8, 7.05606, 3.81475, 7.19195),
    (0.2, 1e5, 0.123678, 195.105, 0.0656532),
    (0.2, 1e6, 0.338703, 25.1014, 0.207614),
    (0.2, 3e6, 0.39516, 13.1176, 0.359597),
    (0.2, 1e7, 0.578931, 9.869, 0.656532),
    (0.2, 3e7, 1.10558, 6.07713, 1.13715),
    (0.2, 1e8, 2.04199, 3.3039, 2.07614),
    (0.2, 3e8, 3.56184, 1.90764, 3.59597),
    (0.5, 1e5, 0.0867403, 90.0354, 0.0262613),
    (0.5, 1e6, 0.151751, 7.46082, 0.0830455),
    (0.5, 3e6, 0.163759, 4.86699, 0.143839),
    (0.5, 1e7, 0.237547, 3.95398, 0.262613),
    (0.5, 3e7, 0.45045, 2.43233, 0.454859),
    (0.5, 1e8, 0.824931, 1.32171, 0.830455),
    (0.5, 3e8, 1.43291, 0.763084, 1.43839),
    (1.5, 1e5, 0.0435151, 23.6367, 0.00875376),
    (1.5, 1e6, 0.0522466, 1.88771, 0.0276818),
    (1.5, 3e6, 0.0552143, 1.55998, 0.0479463),
    (1.5, 1e7, 0.0800789, 1.31895, 0.0875376),
    (1.5, 3e7, 0.151385, 0.810905, 0.15162),
    (1.5, 1e8, 0.276191, 0.44058, 0.276818),
    (1.5, 3e8, 0.478854, 0.254363, 0.479463),
]


@pytest.mark.parametrize(("height", "frequency", "resistance", "inductance", "limit"), SLAB)
def test_slab(height: float, frequency: float, resistance: float, inductance: float, limit: float) -> None:
    # Given to six digits: half a unit of 1.10890 is 5e-6.
    excess = slab_excess_impedance(frequency, height * 1e-3, 35e-6, COPPER)
    assert excess.real == pytest.approx(resistance, rel=5e-6, abs=0.0)
    assert excess.imag / (2e-9 * math.pi * frequency) == pytest.approx(inductance, rel=5e-6, abs=0.0)
    assert surface_resistance(frequency, COPPER) / (2e-3 * math.pi * height) == pytest.approx(limit, rel=5e-6, abs=0.0)


@pytest.mark.parametrize(("frequency", "height"), [(1e3, 0.2e-3), (1e6, 0.2e-3), (1e7, 0.5e-3), (50.0, 10.0)])
def test_half_space_against_carsons_closed_form(frequency: float, height: float) -> None:
    """Compare with Struve's H1 and Bessel's Y1.

    2 int e^(-2ah)/(a + a1) da = (2/k^2) {(pi k/4h) [H1(2hk) - Y1(2hk)] - 1/(4h^2)}.
    """
    conductivity = COPPER if height < 1.0 else 0.01
    k = diffusion_constant(frequency, conductivity)
    # Both functions grow as e^|argument| and cancel.
    with mpmath.workdps(40 + int(abs(2.0 * height * k))):
        argument = 2 * height * mpmath.mpc(k)
        functions = mpmath.struveh(1, argument) - mpmath.bessely(1, argument)
        bracket = mpmath.pi * k / (4 * height) * functions - 0.25 / height**2
        integral = complex(2 / mpmath.mpc(k) ** 2 * bracket)
    expected = 1j * frequency * MU_0 * integral
    # Quadrature tolerance.
    computed = slab_excess_impedance(frequency, height, math.inf, conductivity)
    assert computed == pytest.approx(expected, rel=1e-11, abs=0.0)


@pytest.mark.parametrize(("frequency", "height"), [(1e2, 0.2e-3), (1e6, 0.2e-3), (1e8, 1.5e-3)])
def test_slab_against_adaptive_quadrature(frequency: float, height: float) -> None:
    k2 = diffusion_constant(frequency, COPPER) ** 2

    def integrand(a: mpmath.mpf) -> mpmath.mpc:
        a1 = mpmath.sqrt(a**2 + k2)
        trip = mpmath.exp(-2 * a1 * 35e-6)
        gamma = (a - a1) * (a + a1) * (1 - trip) / ((a + a1) ** 2 - (a - a1) ** 2 * trip)
        return (1 + gamma) / a * mpmath.exp(-2 * a * height)

    with mpmath.workdps(25):
        edges = [0, *(mpmath.mpf(10) ** n for n in range(-4, 6)), 3e5]
        expected = complex(1j * frequency * MU_0 * mpmath.quad(integrand, edges))
    assert slab_excess_impedance(frequency, height, 35e-6, COPPER) == pytest.approx(expected, rel=1e-10, abs=0.0)


def test_thick_slab_at_high_frequency_shows_the_surface_resistance() -> None:
    # Rs/(2 pi h) from the density h/(pi (h^2 + x^2)); the rest is about 2.5 times (skin depth/2h) squared or
    # less in this order: at 10 GHz, h = 0.5 mm the skin depth is 0.13 % of h.
    computed = slab_excess_impedance(1e10, 0.5e-3, 1e-3, COPPER).real
    assert computed == pytest.approx(surface_resistance(1e10, COPPER) / (2.0 * math.pi * 0.5e-3), rel=1e-3, abs=0.0)


@pytest.mark.parametrize(
    ("height", "distance", "mutual"),
    [
        (200e-6, 1000e-6, 14.84200051),
        (200e-6, 3000e-6, 1.762160135),
        (1500e-6, 3000e-6, 69.31471806),
        (200e-6, 10000e-6, 0.1598721364),
        (1500e-6, 10000e-6, 8.617769624),
    ],
)
def test_filaments_over_perfect_plane(height: float, distance: float, mutual: float) -> None:
    # Computed independently [M, exact]; ten digits.
    assert filaments_over_plane_mutual(height, height, distance) * 1e9 == pytest.approx(mutual, rel=1e-9, abs=0.0)


def test_filaments_at_unequal_heights() -> None:
    # (mu_0/2 pi) ln(distance to the image / distance), Carson's perfect-ground term: 3-4-5 and 8-15-17
    # triangles.
    image, direct = math.hypot(8.0, 15.0), math.hypot(8.0, 6.0)
    computed = filaments_over_plane_mutual(10.5, 4.5, 8.0)
    assert computed == pytest.approx(2e-7 * math.log(image / direct), rel=1e-13, abs=0.0)
    assert filaments_over_plane_mutual(4.5, 10.5, -8.0) == pytest.approx(computed, rel=1e-13, abs=0.0)
