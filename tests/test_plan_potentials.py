import itertools
import math

import numpy as np
import pytest

from solver.plan.potentials import Triangles, far_potentials, near_correction, potential_at, self_potentials

CORNERS = np.array([[[0.0, 0.0], [1.0, 0.0], [0.3, 0.7]]])


def split(corners, times):
    """Triangles divided into four, several times."""
    for _ in range(times):
        a, b, c = np.moveaxis(corners, 1, 0)
        ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
        corners = np.concatenate([np.stack(t, axis=1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))])
    return corners


def flat(corners, height=0.0):
    return Triangles(corners=corners, heights=np.full(len(corners), height))


@pytest.mark.parametrize("offset", [0.05, 0.3, -1.0])
def test_the_potential_of_a_triangle_is_its_integral(offset):
    parts = flat(split(CORNERS, 6))
    place = np.array([0.4, 0.25])
    middles = parts.centroids[:, :2]
    summed = np.sum(parts.areas / np.hypot(np.hypot(*(middles - place).T), offset))
    assert potential_at(place, CORNERS[0], np.array(offset)) == pytest.approx(summed, rel=5e-4)


def test_the_potential_on_an_edge_and_at_a_corner_is_finite():
    values = potential_at(np.array([[0.5, 0.0], [0.0, 0.0], [2.0, 0.0]]), CORNERS[0], np.zeros(3))
    assert np.isfinite(values).all()


def test_a_triangle_with_itself_is_the_sum_over_its_parts():
    whole = self_potentials(flat(CORNERS))[0]
    parts = flat(split(CORNERS, 3))
    pairs = far_potentials(parts, parts, 0j).sum() + near_correction(parts, parts).sum()
    assert pairs == pytest.approx(whole, rel=3e-4)


def test_potentials_are_symmetric():
    parts = flat(split(CORNERS, 3))
    shifted = flat(parts.corners, height=-0.2)
    matrix = far_potentials(parts, shifted, 0j) + near_correction(parts, shifted).toarray()
    assert matrix == pytest.approx(matrix.T, rel=1e-12)


def test_two_squares_face_to_face_have_the_potential_of_the_closed_form():
    square = np.array([[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]], [[0.0, 0.0], [1.0, 1.0], [0.0, 1.0]]])
    one, other = flat(split(square, 3)), flat(split(square, 3), height=0.5)
    found = far_potentials(one, other, 0j).sum() + near_correction(one, other).sum()
    x = (np.arange(60) + 0.5) / 60
    offsets = [(a - b) ** 2 for a, b in itertools.product(x, x)]
    distance = np.sqrt(np.add.outer(offsets, offsets) + 0.25)
    assert found == pytest.approx(float(np.mean(1 / distance)), rel=3e-4)


def test_a_complex_shift_moves_the_sources():
    one = flat(CORNERS)
    real = far_potentials(one, flat(CORNERS, height=-0.7), 0j)
    shifted = far_potentials(one, flat(CORNERS), 0.7 + 0j)
    assert shifted == pytest.approx(real, rel=1e-12)
    assert math.isclose(shifted.imag.item(), 0.0, abs_tol=1e-15)
