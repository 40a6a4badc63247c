"""Vias: one to ground, and pairs.

Sources: M. E. Goldfarb, R. A. Pucel, "Modeling via hole grounds in microstrip", IEEE Microwave and Guided Wave
Letters 1 (1991) 135-137 [V formula]; the two-wire line for the pair (S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and
Waves in Communication Electronics*, from memory [M]). The numbers were computed independently from the formulas.
"""

import numpy as np
import pytest

from solver.formulas import (
    goldfarb_pucel_via_inductance,
    round_bar_surface_partial_inductance,
    via_field,
    via_field_partial_matrix,
    via_field_plane_matrix,
    via_pair_inductance,
)

# Length, radius in um; pH.
ONE = [
    (200, 100, 20.66337968),
    (360, 150, 43.8795297),
    (500, 150, 80.28504958),
    (1000, 150, 260.8128316),
    (1600, 150, 542.8827127),
]

# Length, radius, spacing in um; nH.
PAIR = [(200, 150, 1000, 0.1499056194), (1000, 150, 1000, 0.749528097), (1500, 150, 2000, 1.550756461)]


@pytest.mark.parametrize(("height", "radius", "expected"), ONE)
def test_one_via_to_ground(height: int, radius: int, expected: float) -> None:
    found = goldfarb_pucel_via_inductance(height * 1e-6, radius * 1e-6)
    assert found * 1e12 == pytest.approx(expected, rel=1e-8, abs=0.0)


@pytest.mark.parametrize(("height", "radius", "spacing", "expected"), PAIR)
def test_pair_by_the_two_wire_formula(height: int, radius: int, spacing: int, expected: float) -> None:
    found = via_pair_inductance(height * 1e-6, radius * 1e-6, spacing * 1e-6)
    assert found * 1e9 == pytest.approx(expected, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("height", "radius", "spacing", "expected"), PAIR)
def test_field_of_two_between_planes_is_the_pair_but_for_proximity(
    height: int, radius: int, spacing: int, expected: float
) -> None:
    # ln(s/r) against arcosh(s/2r): 1.3 % at s = 6.7 r, 0.2 % at 13 r.
    places = [(0.0, 0.0), (spacing * 1e-6, 0.0)]
    field = via_field(via_field_plane_matrix(height * 1e-6, radius * 1e-6, places), [1, -1])
    assert field.inductance * 1e9 == pytest.approx(expected, rel=0.014, abs=0.0)
    assert field.inductance * 1e9 > expected


def test_field_of_two_without_planes_tends_to_the_pair_as_it_grows_long() -> None:
    # The ends take off (mu0/pi)(s - r)/L of the endless value: 0.5 % at 100 spacings.
    places = [(0.0, 0.0), (1e-3, 0.0)]
    free = via_field(via_field_partial_matrix(0.1, 0.05e-3, places), [1, -1]).inductance
    between = via_field(via_field_plane_matrix(0.1, 0.05e-3, places), [1, -1]).inductance
    assert free == pytest.approx(between, rel=5e-3, abs=0.0)
    assert free < between


def test_far_pairs_in_parallel_divide_the_inductance_by_their_number() -> None:
    # Neighbouring pairs 50 spacings away act as dipoles: (s/D)^2 = 4e-4.
    places = [(x, y) for x in (0.0, 50e-3, 100e-3) for y in (0.0, 1e-3)]
    field = via_field(via_field_plane_matrix(1e-3, 150e-6, places), [1, -1] * 3)
    one = via_field(via_field_plane_matrix(1e-3, 150e-6, places[:2]), [1, -1])
    assert field.inductance == pytest.approx(one.inductance / 3, rel=1e-3, abs=0.0)


def test_chequered_senses_beat_rows_of_one_sense() -> None:
    places = [(1e-3 * i, 1e-3 * k) for i in range(4) for k in range(2)]
    matrix = via_field_plane_matrix(1e-3, 150e-6, places)
    chequered = via_field(matrix, [1, -1, -1, 1, 1, -1, -1, 1]).inductance
    rows = via_field(matrix, [1, -1] * 4).inductance
    assert chequered < rows


def test_outer_vias_of_a_row_carry_more_than_inner_ones() -> None:
    places = [(1e-3 * i, 1e-3 * k) for i in range(4) for k in range(2)]
    currents = via_field(via_field_plane_matrix(1e-3, 150e-6, places), [1, -1] * 4).currents
    assert currents[0] > currents[2]
    assert currents[::2].sum() == pytest.approx(1.0)
    np.testing.assert_allclose(currents[::2], -currents[1::2])


def test_equal_currents_in_one_sense_need_no_more_energy_than_any_others() -> None:
    matrix = via_field_partial_matrix(1e-3, 150e-6, [(0.0, 0.0), (1e-3, 0.0), (0.5e-3, 1e-3)])
    field = via_field(matrix, [1, 1, -1])
    other = np.array([0.7, 0.3, -1.0])
    np.testing.assert_allclose(field.currents, [0.5, 0.5, -1.0])
    assert other @ matrix @ other > field.inductance
    assert matrix[0, 0] == pytest.approx(round_bar_surface_partial_inductance(1e-3, 150e-6), abs=0.0)
