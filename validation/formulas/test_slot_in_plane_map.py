"""Wire over an infinite plane with a slot along it.

No published values were at hand. The map w = arcsin(2z/S) is derived [D]; numbers computed independently from
its closed form [exact], and one by a Chebyshev solution of two half planes 80 mm wide [N].
"""

import cmath
import math

import pytest

from solver.formulas import slot_inductance_increase, slotted_plane_inductance

# Computed independently [D, exact]: h mm, S mm, increase nH/m.
SLOT = [
    (0.2, 0.1, 6.0624622),
    (0.2, 0.2, 22.314355),
    (0.2, 0.5, 94.098334),
    (0.2, 1, 198.10015),
    (0.2, 2, 325.80965),
    (0.2, 5, 505.78369),
    (0.2, 10, 643.93504),
    (0.5, 0.1, 0.99503309),
    (0.5, 0.2, 3.9220713),
    (0.5, 0.5, 22.314355),
    (0.5, 1, 69.314718),
    (0.5, 2, 160.94379),
    (0.5, 5, 325.80965),
    (0.5, 10, 461.51205),
]


@pytest.mark.parametrize(("height", "slot", "increase"), SLOT)
def test_slot_increase(height: float, slot: float, increase: float) -> None:
    # Eight digits.
    computed = slot_inductance_increase(height * 1e-3, slot * 1e-3)
    assert computed * 1e9 == pytest.approx(increase, rel=1e-7, abs=0.0)


def test_slot_against_two_finite_half_planes() -> None:
    # Computed independently [N]: 1.45087348634e-06 H/m for h = 0.5, S = 1 mm, r = 1 um and half planes 80 mm
    # wide; 20 and 40 mm gave 1.45099e-06 and 1.4509e-06, so 80 mm is still about 1e-5 high.
    computed = slotted_plane_inductance(1e-6, 0.5e-3, 1e-3)
    assert computed == pytest.approx(1.45087348634e-06, rel=1e-5, abs=0.0)


def test_centred_slot_moves_the_image_to_the_edges() -> None:
    # (mu_0/2 pi) ln[2 sqrt(h^2 + (S/2)^2)/r]: height 3, half of the slot 4, so the distance to an edge is 5.
    assert slotted_plane_inductance(0.01, 3.0, 8.0) == pytest.approx(2e-7 * math.log(1000.0), rel=1e-13, abs=0.0)


def test_slot_far_aside_does_nothing() -> None:
    # The plane's return density at the slot falls as 1/x^2: the increase is about (mu_0/pi)(S h/x^2)^2/8.
    near, far = (slot_inductance_increase(0.5e-3, 1e-3, offset) for offset in (0.0, 20e-3))
    assert 0.0 < far < 1e-6 * near


def test_slot_is_symmetric() -> None:
    left, right = (slot_inductance_increase(0.5e-3, 1e-3, offset) for offset in (-0.3e-3, 0.3e-3))
    assert left == pytest.approx(right, rel=1e-12, abs=0.0)


def test_line_off_centre_in_a_very_wide_slot_is_over_the_edge_of_a_half_plane() -> None:
    # Exact for a half plane, map sqrt(z): L' = (mu_0/2 pi) ln[2 Im(sqrt z0) |2 sqrt z0| / r] with z0 from its
    # edge; the other half plane, S = 1.6e4 distances away, changes it by that share of mu_0/2 pi, 8e-6 of the
    # whole.
    root = cmath.sqrt(complex(-0.4e-3, 0.5e-3))
    expected = 2e-7 * math.log(2.0 * root.imag * 2.0 * abs(root) / 1e-6)
    computed = slotted_plane_inductance(1e-6, 0.5e-3, 10.0, 5.0 - 0.4e-3)
    assert computed == pytest.approx(expected, rel=1e-5, abs=0.0)
