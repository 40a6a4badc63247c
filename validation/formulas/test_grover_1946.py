"""Tabulated factor for the mutual inductance of coaxial circles.

Source: F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, table 13: M in uH is f sqrt(A a) with A
and a in cm, f against k'^2 = [(A - a)^2 + d^2]/[(A + a)^2 + d^2]. Printed first entry, from memory: 0.0215 at
0.010 [M]; the other values computed independently from the definition [exact], last printed digits not
re-read.
"""

import math

import pytest

from solver.formulas import coaxial_circles_mutual

# Computed independently [exact]: k'^2, f.
FACTOR = [
    (0.01, 0.02147811),
    (0.02, 0.017315),
    (0.05, 0.01202651),
    (0.1, 0.00829673),
    (0.2, 0.004940785),
    (0.3, 0.003223689),
    (0.5, 0.001418599),
    (0.7, 0.0005250708),
    (0.9, 8.4376e-05),
]


def factor(complement: float) -> float:
    """Factor f from two equal circles of 1 cm radius, whose distance gives the complement."""
    distance = 0.02 * math.sqrt(complement / (1.0 - complement))
    return coaxial_circles_mutual(0.01, 0.01, distance) * 1e6


@pytest.mark.parametrize(("complement", "expected"), FACTOR)
def test_factor(complement: float, expected: float) -> None:
    # Given to seven digits, the last row to five.
    assert factor(complement) == pytest.approx(expected, rel=5e-7, abs=0.0)


def test_first_entry_as_printed() -> None:
    # 0.0215, three digits, half a unit is 0.23 %.
    assert factor(0.01) == pytest.approx(0.0215, rel=2.4e-3, abs=0.0)
