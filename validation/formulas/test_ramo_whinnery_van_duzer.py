"""Skin depth, surface resistance and the impedance of flat plates.

Source: S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, Wiley, ch. 3
(formulas from memory [M]). The numbers were computed independently from the definitions, copper 58 MS/m (IEC
60028, 20 C).
"""

import math

import pytest

from solver.formulas import (
    MU_0,
    diffusion_constant,
    sheet_impedance_both_sides,
    sheet_impedance_one_side,
    sheet_resistance,
    skin_depth,
    surface_resistance,
)

COPPER = 5.8e7

# Computed independently [D]: thickness m, frequency Hz, one side R mohm, L pH, both sides R mohm, L pH, per
# square.
SHEET = [
    (18e-6, 1e3, 0.9578544, 7.539822, 0.9578544, 1.884956),
    (18e-6, 1e4, 0.9578545, 7.539822, 0.9578544, 1.884956),
    (18e-6, 1e5, 0.9578591, 7.539812, 0.9578547, 1.884955),
    (18e-6, 1e6, 0.9583229, 7.538769, 0.9578837, 1.884939),
    (18e-6, 3e6, 0.962064, 7.530356, 0.958118, 1.884807),
    (18e-6, 1e7, 1.003755, 7.436723, 0.9607794, 1.883311),
    (18e-6, 3e7, 1.31342, 6.749077, 0.9839068, 1.870318),
    (18e-6, 1e8, 2.607246, 4.202932, 1.217088, 1.740338),
    (18e-6, 3e8, 4.518106, 2.396938, 2.218889, 1.220002),
    (35e-6, 1e3, 0.4926108, 14.66077, 0.4926108, 3.665191),
    (35e-6, 1e4, 0.4926112, 14.66076, 0.4926109, 3.665191),
    (35e-6, 1e5, 0.4926453, 14.66047, 0.492613, 3.665187),
    (35e-6, 1e6, 0.4960456, 14.63156, 0.4928261, 3.664734),
    (35e-6, 3e6, 0.5228037, 14.40445, 0.4945454, 3.661079),
    (35e-6, 1e7, 0.7589817, 12.43537, 0.5137472, 3.62031),
    (35e-6, 3e7, 1.43263, 7.643014, 0.6587308, 3.315584),
    (35e-6, 1e8, 2.608779, 4.152384, 1.300687, 2.10502),
    (35e-6, 3e8, 4.518835, 2.397317, 2.25908, 1.198355),
]


@pytest.mark.parametrize(("frequency", "depth"), [(1e5, 209e-6), (1e6, 66.09e-6), (1e7, 20.90e-6), (1e8, 6.609e-6)])
def test_skin_depth_of_copper(frequency: float, depth: float) -> None:
    # Given to four digits (the first to three and exact to 1e-4): half a unit of 20.90 is 2.4e-4.
    assert skin_depth(frequency, COPPER) == pytest.approx(depth, rel=2.5e-4, abs=0.0)


def test_surface_resistance_of_copper_at_1_mhz() -> None:
    # Given to five digits: 0.26090 mohm per square.
    assert surface_resistance(1e6, COPPER) == pytest.approx(0.26090e-3, rel=2e-5, abs=0.0)


def test_diffusion_constant_squared_is_j_omega_mu_sigma() -> None:
    expected = 2j * math.pi * 3e6 * MU_0 * COPPER
    assert diffusion_constant(3e6, COPPER) ** 2 == pytest.approx(expected, rel=1e-14, abs=0.0)


@pytest.mark.parametrize(("thickness", "frequency", "r_one", "l_one", "r_both", "l_both"), SHEET)
def test_plate_impedance(
    thickness: float, frequency: float, r_one: float, l_one: float, r_both: float, l_both: float
) -> None:
    # Given to seven digits: half a unit of 1.003755 is 5e-7.
    one = sheet_impedance_one_side(frequency, thickness, COPPER)
    both = sheet_impedance_both_sides(frequency, thickness, COPPER)
    per_omega = 1e12 / (2.0 * math.pi * frequency)
    assert one.real * 1e3 == pytest.approx(r_one, rel=1e-6, abs=0.0)
    assert one.imag * per_omega == pytest.approx(l_one, rel=1e-6, abs=0.0)
    assert both.real * 1e3 == pytest.approx(r_both, rel=1e-6, abs=0.0)
    assert both.imag * per_omega == pytest.approx(l_both, rel=1e-6, abs=0.0)


@pytest.mark.parametrize(("thickness", "resistance"), [(18e-6, 0.9578544061e-3), (35e-6, 0.4926108374e-3)])
def test_sheet_resistance(thickness: float, resistance: float) -> None:
    # Computed independently from 1/(sigma t) [D], ten digits; and the plate at 1 Hz, where the rest is 1e-15.
    assert sheet_resistance(thickness, COPPER) == pytest.approx(resistance, rel=1e-9, abs=0.0)
    assert sheet_impedance_one_side(1.0, thickness, COPPER).real == pytest.approx(resistance, rel=1e-9, abs=0.0)


def test_thick_plate_shows_the_surface_impedance() -> None:
    # 1 mm at 100 MHz is 151 skin depths: coth differs from 1 by e^-302.
    expected = (1.0 + 1.0j) * surface_resistance(1e8, COPPER)
    assert sheet_impedance_one_side(1e8, 1e-3, COPPER) == pytest.approx(expected, rel=1e-13, abs=0.0)
    assert sheet_impedance_both_sides(1e8, 1e-3, COPPER) == pytest.approx(0.5 * expected, rel=1e-13, abs=0.0)
