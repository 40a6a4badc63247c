"""Strip of finite thickness over a plane by the Schwarz-Christoffel map.

Source of the method: Z. Nehari, *Conformal Mapping*, McGraw-Hill 1952, ch. V (from memory [M]). The map of
this section is derived [D]; no published table was at hand. The numbers were computed independently with
another implementation of the map, and three of them by a boundary-element solution whose last refinement
moved by less than 1e-5 [N].
"""

import pytest

from solver.formulas import strip_over_plane_inductance, thick_strip_inductance, two_wires_perfect_inductance

# Computed independently [D, exact]: w mm, h mm, L' nH/m for t = 35 um.
THICK = [
    (0.2, 0.1, 268.73412),
    (0.2, 0.2, 383.37084),
    (0.2, 0.36, 490.88015),
    (0.2, 0.5, 553.291),
    (0.2, 1, 687.92818),
    (0.2, 1.5, 767.7584),
    (0.5, 0.1, 156.57954),
    (0.5, 0.2, 247.30559),
    (0.5, 0.36, 343.03206),
    (0.5, 0.5, 401.89504),
    (0.5, 1, 533.16737),
    (0.5, 1.5, 612.30405),
    (1, 0.1, 94.147915),
    (1, 0.2, 159.68841),
    (1, 0.36, 236.80329),
    (1, 0.5, 288.01059),
    (1, 1, 410.15338),
    (1, 1.5, 487.05407),
    (2, 0.1, 53.002233),
    (2, 0.2, 95.176687),
    (2, 0.36, 149.81719),
    (2, 0.5, 189.0493),
    (2, 1, 291.79056),
    (2, 1.5, 362.13952),
    (5, 0.1, 23.172153),
    (5, 0.2, 43.787061),
    (5, 0.36, 73.119534),
    (5, 0.5, 95.991422),
    (5, 1, 163.23281),
    (5, 1.5, 215.60628),
]


@pytest.mark.parametrize(("width", "height", "inductance"), THICK)
def test_thick_strip(width: float, height: float, inductance: float) -> None:
    # Eight digits.
    computed = thick_strip_inductance(width * 1e-3, height * 1e-3, 35e-6)
    assert computed * 1e9 == pytest.approx(inductance, rel=1e-7, abs=0.0)


@pytest.mark.parametrize(
    ("width", "height", "thickness", "inductance"),
    [
        (1e-3, 0.2e-3, 35e-6, 1.59688488907e-07),
        (2e-3, 1.5e-3, 35e-6, 3.62139709416e-07),
        (0.2e-3, 0.2e-3, 70e-6, 3.61892168872e-07),
    ],
)
def test_against_boundary_elements(width: float, height: float, thickness: float, inductance: float) -> None:
    # Computed independently [N]; the boundary elements moved by 3.6e-6 to 9.2e-6 in their last refinement.
    assert thick_strip_inductance(width, height, thickness) == pytest.approx(inductance, rel=4e-6, abs=0.0)


def test_vanishing_thickness_gives_the_thin_strip() -> None:
    # The first correction is (t/(pi w)) ln(1/t): about 1e-4 at t/h = 1e-4 and w/h = 5, of the inductance.
    thin = strip_over_plane_inductance(5.0, 1.0)
    thicker, thinner = (thick_strip_inductance(5.0, 1.0, t) for t in (4e-4, 1e-4))
    assert thinner == pytest.approx(thin, rel=1e-4, abs=0.0)
    assert thicker < thinner < thin


def test_square_bar_is_near_a_round_wire_of_its_conformal_radius() -> None:
    # A square's outer conformal radius is 0.590170 of its side (Gamma(1/4)^2/(4 pi^1.5)); far from the plane
    # the round wire of that radius has the same inductance but for (side/4h)^4 terms: 2e-6 at h = 10 sides.
    side = 0.1
    wire = 0.5 * two_wires_perfect_inductance(0.5901702995 * side, 2.0)
    assert thick_strip_inductance(side, 1.0 - 0.5 * side, side) == pytest.approx(wire, rel=5e-6, abs=0.0)
