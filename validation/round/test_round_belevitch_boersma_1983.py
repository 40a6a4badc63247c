"""Perfectly conducting ring of round wire, alone and over a perfect plane: exact values, and certified brackets.

Source: V. Belevitch, J. Boersma, "Some electrical problems for a torus", Philips Journal of Research 38 (1983) 79-137
(from memory). The numbers were computed independently by surface currents in a Fourier series (1e-12), and
solver.formulas finds them again another way. The plane is a disc of 20 mm radius; the exact values of
test_round_copson_1947.py say that it differs from a plane by less than 1e-6 of the image's part.
"""

import math

import pytest

from solver.formulas import MU_0, coaxial_circles_mutual
from solver.section.bounds import bracket_perfect

SOURCE = "V. Belevitch, J. Boersma (1983): perfectly conducting ring"
MARK = "computed independently (surface currents, 1e-12)"
REASON = "our mesh"

# Radius and wire radius mm, inductance nH.
ALONE = [(2.0, 0.1, 7.70380712), (5.0, 0.25, 19.2595178), (1.0, 0.1, 2.959584736)]
# R = 2 mm, a = 0.1 mm: height of the wire's centre mm, inductance nH.
OVER_PLANE = [
    (0.15, 2.394787102),
    (0.2, 3.258335117),
    (0.36, 4.748513303),
    (0.5, 5.478518118),
    (1.0, 6.724471248),
    (1.5, 7.204731113),
]


@pytest.fixture
def over_plane(turned):
    def solved(height):
        disc = turned.bar("floating", 0.0, 20.0, -0.035, 0.0)
        return turned.solve(turned.wire("go", 2.0, height, 0.1), disc, frequency=math.inf, growth=0.35)

    return solved


@pytest.mark.parametrize(("radius", "wire", "reference"), ALONE)
def test_ring_alone(turned, references, radius, wire, reference):
    field = turned.solve(turned.wire("go", radius, 0.0, wire), frequency=math.inf, growth=0.35)
    references.compare(
        found=turned.inductance(field),
        reference=reference,
        rtol=2e-5,
        source=SOURCE,
        item=f"L, R = {radius:g} mm, a = {wire:g} mm",
        unit="nH",
        reason=REASON,
        mark=MARK,
    )


@pytest.mark.parametrize(("height", "reference"), OVER_PLANE)
def test_ring_over_a_plane(turned, over_plane, references, height, reference):
    references.compare(
        found=turned.inductance(over_plane(height)),
        reference=reference,
        rtol=2e-5,
        source=SOURCE,
        item=f"L over a plane, R = 2 mm, a = 0.1 mm, h = {height:g} mm",
        unit="nH",
        reason=REASON,
        mark=MARK,
    )


@pytest.mark.parametrize(("height", "reference"), OVER_PLANE)
def test_bracket_over_a_plane_holds_the_exact_value(over_plane, height, reference):
    bounds = bracket_perfect(over_plane(height)).bracket
    assert bounds.lower[0, 0] * 1e9 < reference < bounds.upper[0, 0] * 1e9
    assert bounds.relative_gap < 1e-3


def test_filament_for_the_image_is_14_percent_high_at_the_lowest_height(turned, over_plane):
    thin = MU_0 * 2e-3 * (math.log(160.0) - 2.0) - coaxial_circles_mutual(2e-3, 2e-3, 0.3e-3)
    assert thin * 1e9 / turned.inductance(over_plane(0.15)) == pytest.approx(1.137, abs=1e-3)
