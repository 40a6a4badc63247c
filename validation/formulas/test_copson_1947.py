"""Circular loop over a perfect disc, and over a perfect plane with a round hole.

Sources: E. T. Copson, "On the problem of the electrified disc", Proceedings of the Edinburgh Mathematical Society 8
(1947) 14-19; I. N. Sneddon, *Mixed Boundary Value Problems in Potential Theory*, North-Holland 1966 (both from
memory; the solution for this loop is derived [D, exact]). The numbers were computed independently: R = 2 mm,
h = 0.5 mm; the integral equation over rings in the plane agreed to 1e-6 in the inductance and 1e-5 in the field. The
last tests hold the solutions against a ring equation of our own.
"""

import math
from itertools import combinations

import numpy as np
import pytest

from solver.formulas import (
    MU_0,
    circle_axis_field,
    coaxial_circles_mutual,
    disc_axis_field,
    disc_inductance_change,
    disc_shielding,
    hole_axis_field,
    hole_inductance_increase,
)

R, H = 2e-3, 0.5e-3

# Disc radius mm, change of the inductance nH.
DISC = [
    (1, -0.193140098),
    (2, -1.684322308),
    (2.5, -2.130029547),
    (3, -2.202277202),
    (4, -2.221861268),
    (5, -2.224324231),
    (10, -2.225200013),
]
# Disc radius mm, field on the axis 1 mm behind, relative to that of the loop alone.
DISC_FIELD = [
    (1, 0.6620060168),
    (2, 0.1267547375),
    (3, 0.01151899333),
    (5, 0.0007094240828),
    (10, 2.040834914e-05),
]
# Hole radius mm, increase of the inductance over that with the whole plane nH.
HOLE = [
    (0.25, 1.455294049e-06),
    (0.5, 5.062988526e-05),
    (1, 0.002322741704),
    (1.5, 0.03515849742),
    (2, 0.3558439484),
    (3, 1.622088258),
    (5, 2.109885004),
]
# Hole radius mm, field on the axis 1 mm behind, relative to that of the loop alone.
HOLE_FIELD = [
    (0.25, 4.848639337e-05),
    (0.5, 0.0012765382),
    (1, 0.02375909998),
    (2, 0.3306559241),
    (3, 0.7622190784),
]


@pytest.mark.parametrize(("edge", "reference"), DISC)
def test_inductance_over_a_disc(edge: float, reference: float) -> None:
    # Ten digits.
    assert disc_inductance_change(R, H, edge * 1e-3) * 1e9 == pytest.approx(reference, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("edge", "reference"), DISC_FIELD)
def test_field_behind_a_disc(edge: float, reference: float) -> None:
    # Ten digits of the field without disc: the last row is 2e-5 of it.
    shielded = disc_axis_field(1e-3, radius=R, height=H, disc_radius=edge * 1e-3)
    assert shielded / circle_axis_field(R, H + 1e-3) == pytest.approx(reference, rel=0.0, abs=1e-10)


@pytest.mark.parametrize(("edge", "reference"), HOLE)
def test_inductance_over_a_hole(edge: float, reference: float) -> None:
    # Ten digits.
    assert hole_inductance_increase(R, H, edge * 1e-3) * 1e9 == pytest.approx(reference, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("edge", "reference"), HOLE_FIELD)
def test_field_behind_a_hole(edge: float, reference: float) -> None:
    # Ten digits.
    leaked = hole_axis_field(1e-3, radius=R, height=H, hole_radius=edge * 1e-3)
    assert leaked / circle_axis_field(R, H + 1e-3) == pytest.approx(reference, rel=1e-9, abs=0.0)


def test_large_disc_is_a_plane_and_large_hole_is_none() -> None:
    # The rest of a disc of 2 m is (R/c)^3, of a hole of 2 m (R/c): 1e-3 at most.
    image = coaxial_circles_mutual(R, R, 2.0 * H)
    assert disc_inductance_change(R, H, 2.0) == pytest.approx(-image, rel=1e-8, abs=0.0)
    assert hole_inductance_increase(R, H, 2.0) == pytest.approx(image, rel=1e-5, abs=0.0)
    assert hole_axis_field(1e-3, radius=R, height=H, hole_radius=2.0) == pytest.approx(
        circle_axis_field(R, H + 1e-3), rel=1e-5, abs=0.0
    )


def rings_in_a_disc(edge: float, count: int, radius: float, height: float) -> tuple[float, float]:
    """Change of the inductance, and share of the moment that is left, from currents that let no flux through.

    Rings with borders that crowd at the edge, each coupled like a filament at its middle; its own inductance is
    that of a flat ring of uniform density, mu_0 r (ln(8 r/w) - 1/2).
    """
    border = edge * np.sin(0.5 * math.pi * np.arange(count + 1) / count)
    middle, width = 0.5 * (border[1:] + border[:-1]), np.diff(border)
    mutual = np.diag(MU_0 * middle * (np.log(8.0 * middle / width) - 0.5))
    for i, j in combinations(range(count), 2):
        mutual[i, j] = mutual[j, i] = coaxial_circles_mutual(middle[i], middle[j], 0.0)
    coupling = np.array([coaxial_circles_mutual(radius, other, height) for other in middle])
    currents = np.linalg.solve(mutual, -coupling)
    return float(coupling @ currents), 1.0 + float(currents @ middle**2) / radius**2


@pytest.mark.parametrize("edge", [1e-3, 3e-3])
def test_disc_against_rings(edge: float) -> None:
    # The error of the rings falls as one over their number; extrapolated from 60 and 120, 5e-4 and less is left.
    coarse, fine = (rings_in_a_disc(edge, count, R, H)[0] for count in (60, 120))
    assert disc_inductance_change(R, H, edge) == pytest.approx(2.0 * fine - coarse, rel=5e-4, abs=0.0)


@pytest.mark.parametrize("height", [5e-3, 20e-3, 100e-3])
def test_moment_of_a_small_loop_over_a_disc_against_rings(height: float) -> None:
    # Disc of 40 mm radius; the loop of 0.2 mm is small to (R/h)^2 = 1.6e-3 or less.
    coarse, fine = (rings_in_a_disc(40e-3, count, 0.2e-3, height)[1] for count in (60, 120))
    assert disc_shielding(height, 40e-3) == pytest.approx(2.0 * fine - coarse, rel=2e-3, abs=0.0)
