"""Two coplanar strips in air.

Source: K. C. Gupta, R. Garg, I. J. Bahl, *Microstrip Lines and Slotlines*, Artech House 1979, ch. 7 (from
memory [M]). Numbers computed independently; 661.1546995 agreed with a Chebyshev two-strip solution to 1e-15.
"""

import math

import pytest

from solver.formulas import MU_0, coplanar_strips_inductance


@pytest.mark.parametrize(
    ("width", "gap", "inductance"),
    [
        (1e-3, 0.5e-3, 661.1546995),
        (2e-3, 0.2e-3, 445.555252),
        (2e-3, 1e-3, 661.1546995),
        (5e-3, 0.5e-3, 445.555252),
    ],
)
def test_coplanar_strips(width: float, gap: float, inductance: float) -> None:
    # Computed independently [M, exact]; ten digits (445.555252 stands for 445.5552520).
    assert coplanar_strips_inductance(width, gap) * 1e9 == pytest.approx(inductance, rel=1e-9, abs=0.0)


def test_distant_strips_are_two_wires_of_a_quarter_of_the_width() -> None:
    # Distance of the centres 1001 w; the rest is of order (w/D)^2 = 1e-6 times 0.1.
    expected = MU_0 / math.pi * math.log(4.0 * 1001.0)
    assert coplanar_strips_inductance(1.0, 1000.0) == pytest.approx(expected, rel=1e-7, abs=0.0)
