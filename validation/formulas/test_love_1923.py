"""Thin strip over a plane, and two thin strips face to face.

Sources: A. E. H. Love, "Some electrostatic distributions in two dimensions", Proceedings of the London
Mathematical Society 22 (1923) 337-369; H. B. Palmer, Proceedings of the Cambridge Philosophical Society 23
(1927) 685; M. V. Schneider, Bell System Technical Journal 48 (1969) 1421-1444 (all from memory [M]). The
sources' own tables were not at hand: the numbers were computed independently from Love's theta-function form,
which agreed with a Chebyshev solution of the integral equation to 1e-13 [exact].
"""

import math

import mpmath  # type: ignore[import-untyped]  # publishes no types
import pytest
from scipy.optimize import brentq

from solver.formulas import MU_0, SPEED_OF_LIGHT, facing_strips_inductance, strip_over_plane_inductance

# Computed independently [M, exact]: w/h, L' nH/m, impedance in air ohm.
STRIP = [
    (0.1, 876.4677782, 262.7584296),
    (0.2, 738.0251136, 221.2543629),
    (0.5, 556.0506752, 166.6997987),
    (1, 421.7046311, 126.4238679),
    (2, 296.9679439, 89.02874985),
    (5, 164.6662771, 49.36570797),
    (10, 96.80325359, 29.02088534),
    (20, 53.78826954, 16.12531754),
    (50, 23.31428306, 6.989446224),
    (100, 12.0457406, 3.611222183),
]


@pytest.mark.parametrize(("ratio", "inductance", "impedance"), STRIP)
def test_strip_over_plane(ratio: float, inductance: float, impedance: float) -> None:
    computed = strip_over_plane_inductance(ratio * 0.2e-3, 0.2e-3)
    # Ten digits.
    assert computed * 1e9 == pytest.approx(inductance, rel=1e-9, abs=0.0)
    assert computed * SPEED_OF_LIGHT == pytest.approx(impedance, rel=1e-9, abs=0.0)


@pytest.mark.parametrize("ratio", [0.3, 3.0, 15.0])
def test_strip_against_loves_theta_form(ratio: float) -> None:
    """w/h = (2/pi) d/dzeta ln theta_4(zeta), dn^2(2 K zeta) = E/K, evaluated with a general library."""

    def width(period_ratio: float) -> float:
        nome = mpmath.exp(-mpmath.pi * period_ratio)
        modulus = (mpmath.jtheta(2, 0, nome) / mpmath.jtheta(3, 0, nome)) ** 2
        first, second = mpmath.ellipk(modulus**2), mpmath.ellipe(modulus**2)
        argument = mpmath.ellipf(mpmath.asin(mpmath.sqrt((1 - second / first) / modulus**2)), modulus**2)
        zeta = mpmath.pi * argument / (2 * first)
        slope = mpmath.jtheta(4, zeta, nome, 1) / mpmath.jtheta(4, zeta, nome)
        return float(2 * slope)

    with mpmath.workdps(30):
        period_ratio = brentq(lambda trial: width(trial) - ratio, 0.1, 3.0, xtol=1e-13)
    # Root finder 1e-13, double precision in the rest.
    assert strip_over_plane_inductance(ratio, 1.0) == pytest.approx(0.5 * MU_0 * period_ratio, rel=1e-11, abs=0.0)


def test_narrow_strip_is_a_wire_of_a_quarter_of_its_width() -> None:
    # The strip's field equals that of a wire of radius w/4 but for terms (w/4h)^2 = 6e-8.
    filament = MU_0 / (2.0 * math.pi) * math.log(8.0 / 1e-3)
    assert strip_over_plane_inductance(1e-3, 1.0) == pytest.approx(filament, rel=1e-7, abs=0.0)


@pytest.mark.parametrize(("ratio", "inductance"), [(row[0], row[1]) for row in STRIP])
def test_facing_strips_are_two_strips_over_their_middle_plane(ratio: float, inductance: float) -> None:
    # Gap 2h: twice the value over the plane; ten digits as above.
    computed = facing_strips_inductance(ratio * 0.2e-3, 0.4e-3)
    assert computed * 1e9 == pytest.approx(2.0 * inductance, rel=1e-9, abs=0.0)


def test_narrow_facing_strips_are_two_wires() -> None:
    # Independent of the image: two wires of radius w/4 a distance d apart; next term (w/d)^2/10 = 1e-5.
    computed = facing_strips_inductance(1e-5, 1e-3)
    assert computed == pytest.approx(MU_0 / math.pi * math.log(400.0), rel=1e-5, abs=0.0)


def test_wide_facing_strips_have_kirchhoffs_fringe() -> None:
    # C'/eps_0 = w/d + [1 + ln(2 pi w/d)]/pi (G. Kirchhoff 1877, from memory [M]); the next term,
    # about (d/w)[ln(2 pi w/d) + 1/2]/pi^2, is 8e-3 at w/d = 90, which is 9e-5 of the whole.
    ratio = 90.0
    capacitance = ratio + (1.0 + math.log(2.0 * math.pi * ratio)) / math.pi
    assert facing_strips_inductance(ratio, 1.0) == pytest.approx(MU_0 / capacitance, rel=9e-5, abs=0.0)
