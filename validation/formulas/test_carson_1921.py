"""Two round wires with skin and proximity effect, and their limits.

Source: J. R. Carson, "Wave propagation over parallel wires: the proximity effect", Philosophical Magazine 41
(1921) 607-633 (from memory). The paper's own numbers were not at hand. Tables computed independently by a
multipole series of 40 harmonics [D]; limits are textbook formulas, exact [M]. Copper 58 MS/m.
"""

import math

import pytest

from solver.formulas import (
    two_wires_impedance,
    two_wires_perfect_inductance,
    two_wires_uniform_inductance,
    wire_dc_resistance,
    wire_internal_impedance,
    wire_over_plane_inductance,
)

COPPER = 5.8e7
EIGHT_DIGITS = 1e-7  # tables rounded to eight digits
TEN_DIGITS = 1e-9  # values rounded to ten digits

# Computed independently [D]: radius m, spacing m, frequency Hz, loop R' ohm/m, loop L' nH/m.
PAIR = [
    (500e-6, 1500e-6, 1e0, 0.043904812, 539.44492),
    (500e-6, 1500e-6, 1e3, 0.043911881, 539.43038),
    (500e-6, 1500e-6, 1e4, 0.044598037, 538.02804),
    (500e-6, 1500e-6, 1e5, 0.074995604, 491.04462),
    (500e-6, 1500e-6, 1e6, 0.22673186, 420.27906),
    (500e-6, 1500e-6, 3e6, 0.38945988, 405.41562),
    (500e-6, 1500e-6, 1e7, 0.70791382, 396.17968),
    (500e-6, 1500e-6, 3e7, 1.2236354, 391.44356),
    (500e-6, 1500e-6, 1e8, 2.2313856, 388.51583),
    (500e-6, 1500e-6, 3e8, 3.862606, 387.01701),
    (500e-6, 1500e-6, 1e9, 7.0496183, 386.09096),
    (500e-6, 5000e-6, 1e0, 0.043904812, 1021.034),
    (500e-6, 5000e-6, 1e3, 0.043908169, 1021.0295),
    (500e-6, 5000e-6, 1e4, 0.044237658, 1020.5902),
    (500e-6, 5000e-6, 1e5, 0.064506109, 997.18716),
    (500e-6, 5000e-6, 1e6, 0.18078511, 943.85353),
    (500e-6, 5000e-6, 3e6, 0.30465693, 932.53127),
    (500e-6, 5000e-6, 1e7, 0.54696294, 925.50143),
    (500e-6, 5000e-6, 3e7, 0.93931121, 921.89785),
    (500e-6, 5000e-6, 1e8, 1.7059486, 919.67051),
    (500e-6, 5000e-6, 3e8, 2.9468681, 918.5303),
    (500e-6, 5000e-6, 1e9, 5.3713156, 917.82583),
    (100e-6, 300e-6, 1e0, 1.0976203, 539.44492),
    (100e-6, 300e-6, 1e3, 1.0976206, 539.44489),
    (100e-6, 300e-6, 1e4, 1.0976486, 539.44259),
    (100e-6, 300e-6, 1e5, 1.1004394, 539.21322),
    (100e-6, 300e-6, 1e6, 1.3181978, 522.74815),
    (100e-6, 300e-6, 3e6, 2.0452366, 483.35786),
    (100e-6, 300e-6, 1e7, 3.6340808, 440.4134),
    (100e-6, 300e-6, 3e7, 6.1979759, 417.22649),
    (100e-6, 300e-6, 1e8, 11.22736, 402.6828),
    (100e-6, 300e-6, 3e8, 19.378603, 395.20368),
    (100e-6, 300e-6, 1e9, 35.310651, 390.57639),
]


@pytest.mark.parametrize(("radius", "spacing", "frequency", "resistance", "inductance"), PAIR)
def test_two_wires_impedance(
    radius: float, spacing: float, frequency: float, resistance: float, inductance: float
) -> None:
    impedance = two_wires_impedance(frequency, radius, spacing, COPPER)
    assert impedance.real == pytest.approx(resistance, rel=EIGHT_DIGITS, abs=0.0)
    assert impedance.imag / (2e-9 * math.pi * frequency) == pytest.approx(inductance, rel=EIGHT_DIGITS, abs=0.0)


@pytest.mark.parametrize(
    ("radius", "spacing", "perfect", "uniform"),
    [
        (500e-6, 1500e-6, 384.96946, 539.4449155),
        (500e-6, 5000e-6, 916.9726678, 1021.034037),
        (100e-6, 300e-6, 384.96946, 539.4449155),
    ],
)
def test_two_wires_limits(radius: float, spacing: float, perfect: float, uniform: float) -> None:
    # Computed independently [M, exact]. 384.96946 stands for 384.9694600 at ten digits.
    assert two_wires_perfect_inductance(radius, spacing) * 1e9 == pytest.approx(perfect, rel=TEN_DIGITS, abs=0.0)
    assert two_wires_uniform_inductance(radius, spacing) * 1e9 == pytest.approx(uniform, rel=TEN_DIGITS, abs=0.0)


def test_series_goes_to_the_uniform_current_limit() -> None:
    # At 0.1 Hz the deviation is of the order (radius/skin depth)^4 = 3e-11 times a small number.
    impedance = two_wires_impedance(0.1, 500e-6, 1500e-6, COPPER)
    uniform = two_wires_uniform_inductance(500e-6, 1500e-6)
    assert impedance.imag / (0.2 * math.pi) == pytest.approx(uniform, rel=1e-9, abs=0.0)
    assert impedance.real == pytest.approx(2.0 * wire_dc_resistance(500e-6, COPPER), rel=1e-9, abs=0.0)


def test_series_goes_to_the_perfect_conductor_limit() -> None:
    # L' - R'/omega is free of the first-order skin term; the rest is of order (skin depth/radius)^2 = 2e-7 x
    # 10.
    frequency = 1e11
    impedance = two_wires_impedance(frequency, 500e-6, 1500e-6, COPPER)
    reduced = (impedance.imag - impedance.real) / (2.0 * math.pi * frequency)
    assert reduced == pytest.approx(two_wires_perfect_inductance(500e-6, 1500e-6), rel=2e-6, abs=0.0)


def test_distant_wires_have_no_proximity_effect() -> None:
    # The first multipole answers with (a/D)^2 = 1e-6 of the inductance.
    alone = 2.0 * wire_internal_impedance(1e6, 100e-6, COPPER)
    impedance = two_wires_impedance(1e6, 100e-6, 100e-3, COPPER)
    assert impedance.real == pytest.approx(alone.real, rel=1e-5, abs=0.0)
    external = (impedance - alone).imag / (2e6 * math.pi)
    assert external == pytest.approx(4e-7 * math.log(1000.0), rel=1e-6, abs=0.0)


@pytest.mark.parametrize(
    ("height", "inductance"),
    [(150e-6, 192.48473), (200e-6, 263.3915794), (500e-6, 458.4863339), (1500e-6, 680.0168828)],
)
def test_wire_over_plane(height: float, inductance: float) -> None:
    # Computed independently [M, exact], radius 100 um; ten digits (192.48473 stands for 192.4847300).
    computed = wire_over_plane_inductance(100e-6, height)
    assert computed * 1e9 == pytest.approx(inductance, rel=TEN_DIGITS, abs=0.0)
    assert computed == pytest.approx(0.5 * two_wires_perfect_inductance(100e-6, 2.0 * height), rel=1e-13, abs=0.0)
