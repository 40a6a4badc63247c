"""Edge-coupled stripline.

Source: S. B. Cohn, "Shielded coupled-strip transmission line", IRE Transactions on Microwave Theory and
Techniques 3 (October 1955) 29-38 (from memory [M]). Numbers computed independently, exact formulas.
"""

import math

import pytest

from solver.formulas import (
    MU_0,
    coupled_stripline_even_inductance,
    coupled_stripline_odd_inductance,
    stripline_inductance,
)


@pytest.mark.parametrize(
    ("line", "even", "odd", "own", "mutual"),
    [
        ((200e-6, 200e-6, 400e-6), 357.428533, 310.939099, 334.183816, 23.2447171),
        ((1e-3, 0.5e-3, 1e-3), 227.476943, 207.333859, 217.405401, 10.071542),
    ],
)
def test_coupled_stripline(
    line: tuple[float, float, float], even: float, odd: float, own: float, mutual: float
) -> None:
    # Computed independently [M, exact]; nine digits.
    e = coupled_stripline_even_inductance(*line) * 1e9
    o = coupled_stripline_odd_inductance(*line) * 1e9
    assert e == pytest.approx(even, rel=5e-9, abs=0.0)
    assert o == pytest.approx(odd, rel=5e-9, abs=0.0)
    assert 0.5 * (e + o) == pytest.approx(own, rel=5e-9, abs=0.0)
    assert 0.5 * (e - o) == pytest.approx(mutual, rel=1e-8, abs=0.0)


def test_distant_strips_do_not_couple() -> None:
    # Coupling dies as exp(-pi s/b) = 2e-14 at s/b = 10.
    alone = stripline_inductance(1.0, 1.0)
    assert coupled_stripline_even_inductance(1.0, 10.0, 1.0) == pytest.approx(alone, rel=1e-12, abs=0.0)
    assert coupled_stripline_odd_inductance(1.0, 10.0, 1.0) == pytest.approx(alone, rel=1e-12, abs=0.0)


def test_closed_gap_joins_the_strips() -> None:
    # Even mode without a gap is half of a strip of double width; the gap of 1e-6 b changes it by its square.
    joined = 2.0 * stripline_inductance(2.0, 1.0)
    assert coupled_stripline_even_inductance(1.0, 1e-6, 1.0) == pytest.approx(joined, rel=1e-6, abs=0.0)


def test_narrow_strips_couple_as_filaments_between_planes() -> None:
    # M' = (mu_0/4 pi) ln{[cosh(pi x/b) + 1]/[cosh(pi x/b) - 1]} midway, x between centres [M, exact for
    # filaments]; width 1e-3 b changes it by (w/x)^2 = 1e-6.
    distance = math.pi * 1.001
    filaments = MU_0 / (4.0 * math.pi) * math.log((math.cosh(distance) + 1.0) / (math.cosh(distance) - 1.0))
    even = coupled_stripline_even_inductance(1e-3, 1.0, 1.0)
    mutual = 0.5 * (even - coupled_stripline_odd_inductance(1e-3, 1.0, 1.0))
    assert mutual == pytest.approx(filaments, rel=2e-6, abs=0.0)
