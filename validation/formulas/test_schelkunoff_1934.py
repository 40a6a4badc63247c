"""Round wire and coaxial line with skin effect.

Source: S. A. Schelkunoff, "The electromagnetic theory of coaxial transmission lines and cylindrical shields",
Bell System Technical Journal 13 (1934) 532-579. Wire formula checked against published text [V]; shell
formula, eq. (75), from memory and checked numerically [M]. The source prints no table for these sizes: the
numbers below were computed independently from its formulas (scaled Bessel functions against 40-digit
arithmetic), copper 58 MS/m.
"""

import math

import mpmath  # type: ignore[import-untyped]  # publishes no types
import pytest

from solver.formulas import (
    coax_dc_inductance,
    coax_dc_resistance,
    coax_external_inductance,
    coax_impedance,
    coax_shell_impedance,
    surface_resistance,
    wire_dc_internal_inductance,
    wire_dc_resistance,
    wire_internal_impedance,
)

COPPER = 5.8e7
EIGHT_DIGITS = 1e-7  # tables rounded to eight digits
TEN_DIGITS = 1e-9  # single values rounded to ten digits

# Computed independently [V]: radius m, frequency Hz, R' ohm/m, R'/R'dc, internal L' nH/m.
WIRE = [
    (100e-6, 1e3, 0.54881021, 1.0000001, 49.999997),
    (100e-6, 1e4, 0.54881614, 1.0000109, 49.999727),
    (100e-6, 1e5, 0.54940908, 1.0010913, 49.972719),
    (100e-6, 1e6, 0.60397837, 1.1005233, 47.504929),
    (100e-6, 3e6, 0.86070065, 1.5683031, 36.60732),
    (100e-6, 1e7, 1.460731, 2.6616327, 20.683141),
    (100e-6, 3e7, 2.4176314, 4.4052236, 12.028293),
    (100e-6, 1e8, 4.2928658, 7.8221326, 6.6027648),
    (100e-6, 3e8, 7.3311131, 13.358195, 3.8143655),
    (250e-6, 1e3, 0.087809998, 1.0000043, 49.999893),
    (250e-6, 1e4, 0.087847077, 1.0004265, 49.989337),
    (250e-6, 1e5, 0.091432977, 1.0412637, 48.971323),
    (250e-6, 1e6, 0.1902225, 2.1663059, 26.019),
    (250e-6, 3e6, 0.31086151, 3.5401759, 15.184105),
    (250e-6, 1e7, 0.54786263, 6.2392094, 8.3473101),
    (250e-6, 3e7, 0.9320667, 10.61463, 4.8239894),
    (250e-6, 1e8, 1.6830795, 19.16737, 2.6430641),
    (250e-6, 3e8, 2.8988578, 33.012985, 1.5261114),
    (500e-6, 1e3, 0.021953904, 1.0000683, 49.998293),
    (500e-6, 1e4, 0.022101456, 1.0067897, 49.830335),
    (500e-6, 1e5, 0.031826618, 1.4498009, 39.220521),
    (500e-6, 1e6, 0.088801743, 4.0451941, 13.167609),
    (500e-6, 3e6, 0.14948345, 6.8094337, 7.6218967),
    (500e-6, 1e7, 0.26818688, 12.216742, 4.1781858),
    (500e-6, 3e7, 0.46039657, 20.972488, 2.4128311),
    (500e-6, 1e8, 0.8359701, 38.081024, 1.321666),
    (500e-6, 3e8, 1.4438937, 65.773825, 0.76308115),
]

# Computed independently [M]: frequency Hz, R' ohm/m, L' nH/m for a = 0.5, b = 1.75, c = 2.0 mm.
COAX = [
    (1e3, 0.027807993, 310.05713),
    (1e4, 0.027966796, 309.8843),
    (1e5, 0.038736309, 298.82424),
    (1e6, 0.11211786, 267.49291),
    (3e6, 0.19013619, 260.35456),
    (1e7, 0.34277312, 255.92492),
    (3e7, 0.58990939, 253.65488),
    (1e8, 1.0727955, 252.25189),
    (3e8, 1.8544146, 251.5337),
]
RADII = (0.5e-3, 1.75e-3, 2.0e-3)


@pytest.mark.parametrize(("radius", "frequency", "resistance", "ratio", "inductance"), WIRE)
def test_wire_internal_impedance(
    radius: float, frequency: float, resistance: float, ratio: float, inductance: float
) -> None:
    impedance = wire_internal_impedance(frequency, radius, COPPER)
    assert impedance.real == pytest.approx(resistance, rel=EIGHT_DIGITS, abs=0.0)
    assert impedance.real / wire_dc_resistance(radius, COPPER) == pytest.approx(ratio, rel=EIGHT_DIGITS, abs=0.0)
    assert impedance.imag / (2e-9 * math.pi * frequency) == pytest.approx(inductance, rel=EIGHT_DIGITS, abs=0.0)


@pytest.mark.parametrize(
    ("radius", "resistance"), [(100e-6, 0.548810149), (250e-6, 0.0878096238), (500e-6, 0.0219524059)]
)
def test_wire_dc_resistance(radius: float, resistance: float) -> None:
    # Given to nine digits.
    assert wire_dc_resistance(radius, COPPER) == pytest.approx(resistance, rel=3e-9, abs=0.0)


def test_wire_internal_inductance_at_direct_current_is_50_nh_per_m() -> None:
    # mu_0/8 pi with mu_0 = 4 pi 1e-7: exact.
    assert wire_dc_internal_inductance() == pytest.approx(50e-9, rel=1e-15, abs=0.0)
    # The first neglected term at 1 Hz is of the order (radius/skin depth)^4 = 1e-11.
    impedance = wire_internal_impedance(1.0, 100e-6, COPPER)
    assert impedance.imag / (2.0 * math.pi) == pytest.approx(50e-9, rel=1e-10, abs=0.0)
    assert impedance.real == pytest.approx(wire_dc_resistance(100e-6, COPPER), rel=1e-10, abs=0.0)


def test_wire_at_1_ghz_against_40_digit_arithmetic() -> None:
    with mpmath.workdps(40):
        omega = 2 * mpmath.pi * mpmath.mpf(10) ** 9
        argument = mpmath.sqrt(1j * omega * 4e-7 * mpmath.pi * COPPER) * mpmath.mpf("0.5e-3")
        ratio = mpmath.besseli(0, argument) / mpmath.besseli(1, argument)
        exact = complex(argument / (2 * mpmath.pi * mpmath.mpf("0.5e-3") ** 2 * COPPER) * ratio)
    # Double precision through a few operations.
    assert wire_internal_impedance(1e9, 0.5e-3, COPPER) == pytest.approx(exact, rel=1e-13, abs=0.0)


def test_wire_thin_skin_limit() -> None:
    # Curvature adds delta/(4 a) to the surface value; at 1 GHz and a = 0.5 mm delta/a is 0.4 %, next order
    # 1e-5.
    depth = 2.0898068e-6
    expected = surface_resistance(1e9, COPPER) / (2.0 * math.pi * 0.5e-3) * (1.0 + depth / (2.0 * 0.5e-3))
    assert wire_internal_impedance(1e9, 0.5e-3, COPPER).real == pytest.approx(expected, rel=2e-5, abs=0.0)


@pytest.mark.parametrize(("frequency", "resistance", "inductance"), COAX)
def test_coax_impedance(frequency: float, resistance: float, inductance: float) -> None:
    impedance = coax_impedance(frequency, *RADII, COPPER)
    assert impedance.real == pytest.approx(resistance, rel=EIGHT_DIGITS, abs=0.0)
    assert impedance.imag / (2e-9 * math.pi * frequency) == pytest.approx(inductance, rel=EIGHT_DIGITS, abs=0.0)


def test_coax_direct_current() -> None:
    # Computed independently [M]: R' = 0.02780638086 ohm/m, L' = 310.0588908 nH/m, external 250.5525937 nH/m.
    assert coax_dc_resistance(*RADII, COPPER) == pytest.approx(0.02780638086, rel=TEN_DIGITS, abs=0.0)
    assert coax_dc_inductance(*RADII) * 1e9 == pytest.approx(310.0588908, rel=TEN_DIGITS, abs=0.0)
    assert coax_external_inductance(*RADII[:2]) * 1e9 == pytest.approx(250.5525937, rel=TEN_DIGITS, abs=0.0)


def test_coax_impedance_goes_to_its_direct_current_values() -> None:
    # At 1 Hz the resistance and inductance differ from direct current by (radius/skin depth)^4 = 1e-7 or
    # less.
    impedance = coax_impedance(1.0, *RADII, COPPER)
    assert impedance.real == pytest.approx(coax_dc_resistance(*RADII, COPPER), rel=1e-7, abs=0.0)
    assert impedance.imag / (2.0 * math.pi) == pytest.approx(coax_dc_inductance(*RADII), rel=1e-8, abs=0.0)


@pytest.mark.parametrize("frequency", [1e3, 1e6, 1e9])
def test_coax_shell_against_40_digit_arithmetic(frequency: float) -> None:
    _, inner, outer = RADII
    with mpmath.workdps(60):
        k = mpmath.sqrt(2j * mpmath.pi * frequency * 4e-7 * mpmath.pi * COPPER)
        b, c = k * inner, k * outer
        i, j = mpmath.besseli, mpmath.besselk
        above = i(0, b) * j(1, c) + j(0, b) * i(1, c)
        below = i(1, c) * j(1, b) - i(1, b) * j(1, c)
        exact = complex(k / (2 * mpmath.pi * inner * COPPER) * above / below)
    # Cancellation in the denominator at low frequency costs one digit.
    assert coax_shell_impedance(frequency, inner, outer, COPPER) == pytest.approx(exact, rel=1e-12, abs=0.0)
