"""Perfectly conducting ring of round wire, alone and over a perfect plane.

Source: V. Belevitch, J. Boersma, "Some electrical problems for a torus", Philips Journal of Research 38 (1983)
79-137 (from memory [M]); V. A. Fock (1923) for the torus in toroidal coordinates (from memory). The numbers were
computed independently with surface currents in a Fourier series round the wire (32 to 128 terms, agreeing to
1e-15 [exact N]); ours for the ring alone is a series of toroidal functions, which shares nothing with that.
"""

import math

import pytest

from solver.formulas import (
    MU_0,
    coaxial_circles_mutual,
    ring_over_plane_perfect_inductance,
    ring_perfect_inductance,
    wire_over_plane_inductance,
)

# Radius and wire radius um; perfect torus, mu_0 R (ln(8R/a) - 2) nH.
ALONE = [
    (2000, 100, 7.70380712, 7.728754773),
    (5000, 250, 19.2595178, 19.32188693),
    (1000, 100, 2.959584736, 2.99334295),
]

# Radius 2 mm, wire radius 0.1 mm: height of the centre um; exact, thin-wire formula with a filament for the image nH.
OVER_PLANE = [
    (150, 2.394787102, 2.722539827),
    (200, 3.258335117, 3.421042757),
    (360, 4.748513303, 4.793629208),
    (500, 5.478518118, 5.503532986),
    (1000, 6.724471248, 6.740597847),
    (1500, 7.204731113, 7.223235158),
]


@pytest.mark.parametrize(("radius", "wire", "reference"), [row[:3] for row in ALONE])
def test_perfect_ring(radius: float, wire: float, reference: float) -> None:
    # Nine digits at least.
    assert ring_perfect_inductance(radius * 1e-6, wire * 1e-6) * 1e9 == pytest.approx(reference, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("radius", "wire", "exact", "thin"), ALONE)
def test_thin_wire_formula_is_its_limit(radius: float, wire: float, exact: float, thin: float) -> None:
    formula = MU_0 * radius * 1e-6 * (math.log(8.0 * radius / wire) - 2.0) * 1e9
    assert formula == pytest.approx(thin, rel=1e-9, abs=0.0)
    # The rest is of order (a/R)^2 ln: 2.5e-3 and 1e-2 times about 1.3.
    assert exact == pytest.approx(formula, rel=1.4 * (wire / radius) ** 2, abs=0.0)


# Wire radius over ring radius, inductance over mu_0 R. Computed once with mpmath 1.4.1 at 30 digits: with x = R/a,
# 2 pi^2 sqrt(1 - 1/x^2) over the sum of (2 - [n = 0]) Q'(x)/P'(x)/(n^2 - 1/4), Legendre functions of degree n - 1/2 by
# legenq and legenp of type 3, derivatives by mpmath.diff, terms down to 1e-20 (n = 63, 17, 5); 18 digits.
SERIES = [
    (1.0 / 1.05, 0.0148882064919611198),
    (0.5, 0.611628239116995926),
    (0.02, 3.98904734198187402),
]


@pytest.mark.parametrize(("wire", "expected"), SERIES)
def test_series_against_thirty_digits(wire: float, expected: float) -> None:
    assert ring_perfect_inductance(1.0, wire) == pytest.approx(MU_0 * expected, rel=1e-12, abs=0.0)


@pytest.mark.parametrize(("height", "reference"), [row[:2] for row in OVER_PLANE])
def test_perfect_ring_over_a_perfect_plane(height: float, reference: float) -> None:
    # Ten digits.
    found = ring_over_plane_perfect_inductance(2e-3, 0.1e-3, height * 1e-6) * 1e9
    assert found == pytest.approx(reference, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("height", "exact", "thin"), OVER_PLANE)
def test_filament_for_the_image_is_too_high_near_the_plane(height: float, exact: float, thin: float) -> None:
    # Printed with the thin-wire self-inductance.
    formula = MU_0 * 2e-3 * (math.log(160.0) - 2.0) - coaxial_circles_mutual(2e-3, 2e-3, 2e-6 * height)
    assert formula * 1e9 == pytest.approx(thin, rel=1e-9, abs=0.0)
    assert formula * 1e9 > exact


def test_ring_alone_two_ways() -> None:
    # Ten metres above the plane the image is (R/2h)^3 = 1e-12 of the whole.
    far = ring_over_plane_perfect_inductance(2e-3, 0.1e-3, 10.0)
    assert far == pytest.approx(ring_perfect_inductance(2e-3, 0.1e-3), rel=1e-11, abs=0.0)


def test_wide_ring_over_the_plane_is_a_straight_wire() -> None:
    # R = 1 m, h = 0.2 mm: curvature enters with (h/R)^2 ln, 1e-7.
    straight = wire_over_plane_inductance(0.1e-3, 0.2e-3)
    assert ring_over_plane_perfect_inductance(1.0, 0.1e-3, 0.2e-3) / (2.0 * math.pi) == pytest.approx(
        straight, rel=1e-6, abs=0.0
    )
