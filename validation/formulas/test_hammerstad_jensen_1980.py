"""Fitted formulas for microstrip.

Source: E. Hammerstad, O. Jensen, "Accurate models for microstrip computer-aided design", IEEE MTT-S
International Microwave Symposium Digest (1980) 407-409, eqs (1) to (9) (from memory [M]). Stated accuracy of
eq. (1): 0.01 % for w/h <= 1, 0.03 % for w/h <= 1000. Numbers computed independently from the equations unless
said otherwise.
"""

import pytest

from solver.formulas import (
    ETA_0,
    SPEED_OF_LIGHT,
    hammerstad_jensen_effective_permittivity,
    hammerstad_jensen_impedance,
    hammerstad_jensen_inductance,
    strip_over_plane_inductance,
    thick_strip_inductance,
)

# Computed independently [M]: w/h, L' nH/m in air without thickness.
THIN = [
    (0.1, 876.4677782),
    (0.2, 738.0251136),
    (0.5, 556.050675),
    (1, 421.7046219),
    (2, 296.9685455),
    (5, 164.6736114),
    (10, 96.80275377),
    (20, 53.78412991),
    (50, 23.31370257),
    (100, 12.04546769),
]

# Computed independently [M]: w mm, h mm, L' nH/m in air with t = 35 um.
THICK = [
    (0.2, 0.1, 268.02949),
    (0.2, 0.2, 383.06398),
    (0.2, 0.36, 490.43105),
    (0.2, 0.5, 552.51396),
    (0.2, 1, 686.16117),
    (0.2, 1.5, 765.41033),
    (0.5, 0.1, 156.04241),
    (0.5, 0.2, 246.91099),
    (0.5, 0.36, 342.82301),
    (0.5, 0.5, 401.73318),
    (0.5, 1, 532.79809),
    (0.5, 1.5, 611.64439),
    (1, 0.1, 93.863186),
    (1, 0.2, 159.39852),
    (1, 0.36, 236.57848),
    (1, 0.5, 287.84284),
    (1, 1, 410.06178),
    (1, 1.5, 486.91301),
    (2, 0.1, 52.884938),
    (2, 0.2, 95.023544),
    (2, 0.36, 149.66538),
    (2, 0.5, 188.91046),
    (2, 1, 291.705),
    (2, 1.5, 362.08486),
    (5, 0.1, 23.145822),
    (5, 0.2, 43.741178),
    (5, 0.36, 73.058028),
    (5, 0.5, 95.926925),
    (5, 1, 163.17585),
    (5, 1.5, 215.55665),
]


@pytest.mark.parametrize(("ratio", "inductance"), THIN)
def test_thin_strip(ratio: float, inductance: float) -> None:
    # Ten digits.
    assert hammerstad_jensen_inductance(ratio, 1.0, 0.0) * 1e9 == pytest.approx(inductance, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("width", "height", "inductance"), THICK)
def test_thick_strip(width: float, height: float, inductance: float) -> None:
    # Eight digits.
    computed = hammerstad_jensen_inductance(width * 1e-3, height * 1e-3, 35e-6)
    assert computed * 1e9 == pytest.approx(inductance, rel=1e-7, abs=0.0)


@pytest.mark.parametrize(
    ("ratio", "stated"), [(0.02, 1e-4), (0.1, 1e-4), (1.0, 1e-4), (3.0, 3e-4), (10.0, 3e-4), (100.0, 3e-4)]
)
def test_stated_accuracy_against_the_exact_thin_strip(ratio: float, stated: float) -> None:
    # The tolerance is the accuracy the paper states.
    exact = strip_over_plane_inductance(ratio, 1.0)
    assert hammerstad_jensen_inductance(ratio, 1.0, 0.0) == pytest.approx(exact, rel=stated, abs=0.0)


@pytest.mark.parametrize(("width", "height"), [row[:2] for row in THICK])
@pytest.mark.parametrize("thickness", [18e-6, 35e-6, 70e-6])
def test_thickness_correction_against_the_exact_map(width: float, height: float, thickness: float) -> None:
    # Largest deviation of the correction found independently over these ninety strips: 0.61 % [D].
    fitted = hammerstad_jensen_inductance(width * 1e-3, height * 1e-3, thickness)
    exact = thick_strip_inductance(width * 1e-3, height * 1e-3, thickness)
    assert fitted == pytest.approx(exact, rel=0.0062, abs=0.0)


def test_trace_on_glass_epoxy() -> None:
    # Computed independently [M]: w = 0.36, h = 0.2 mm, t = 35 um, er = 4.4: 49.424694 ohm, 3.1891866; eight
    # digits.
    line = (0.36e-3, 0.2e-3, 35e-6, 4.4)
    assert hammerstad_jensen_impedance(*line) == pytest.approx(49.424694, rel=1e-7, abs=0.0)
    assert hammerstad_jensen_effective_permittivity(*line) == pytest.approx(3.1891866, rel=1e-7, abs=0.0)


def test_in_air_all_three_agree() -> None:
    impedance = hammerstad_jensen_impedance(1e-3, 0.2e-3, 35e-6, 1.0)
    inductance = hammerstad_jensen_inductance(1e-3, 0.2e-3, 35e-6)
    assert hammerstad_jensen_effective_permittivity(1e-3, 0.2e-3, 35e-6, 1.0) == pytest.approx(1.0, rel=1e-14, abs=0.0)
    assert impedance == pytest.approx(inductance * SPEED_OF_LIGHT, rel=1e-14, abs=0.0)


def test_wide_trace_is_a_parallel_plate_filled_with_the_dielectric() -> None:
    # At w/h = 100 air outside lowers the permittivity by the fringe's share, about 4 %.
    permittivity = hammerstad_jensen_effective_permittivity(100.0, 1.0, 0.0, 4.4)
    assert permittivity == pytest.approx(4.4, rel=0.05, abs=0.0)
    plate = ETA_0 / (permittivity**0.5 * 100.0)
    assert hammerstad_jensen_impedance(100.0, 1.0, 0.0, 4.4) == pytest.approx(plate, rel=0.05, abs=0.0)
