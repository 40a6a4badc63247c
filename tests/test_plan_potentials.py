import itertools

import numpy as np
import pytest

from solver.plan.kernel import sharp_kernel, smooth_kernel
from solver.plan.near import Cloud, near_part
from solver.plan.pairs import Pairs
from solver.plan.potentials import Triangles, potential_at, self_potentials

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
    assert potential_at(place[:1], place[1:], CORNERS, np.array([offset]))[0] == pytest.approx(summed, rel=5e-4)


def test_the_potential_on_an_edge_and_at_a_corner_is_finite():
    values = potential_at(np.array([[0.5], [0.0], [2.0]]), np.zeros((3, 1)), CORNERS, np.zeros(1))
    assert np.isfinite(values).all()


def mutual(one, other, offset):
    """Double integrals of 1/R between two sets of triangles at a vertical distance: near and far ones."""
    count, level = len(one.heights), np.repeat([0, 1], [len(one.heights), len(other.heights)])
    cloud = Cloud(triangles=flat(np.concatenate([one.corners, other.corners])))
    footprints = (index.ravel().astype(np.int32) for index in np.triu_indices(cloud.stacks.shape[1]))
    apart = np.array([[1e6, offset], [offset, 1e6]])  # among themselves nothing is near
    found = near_part(cloud, pairs(*footprints), lambda some: apart[level[some.first], level[some.second]], 1e3)
    matrix = np.zeros((len(level), len(level)), dtype=found.sharp.dtype)
    for rows, columns in ((found.pairs.first, found.pairs.second), (found.pairs.second, found.pairs.first)):
        matrix[rows, columns] = found.sharp
    rows, columns = (index.ravel().astype(np.int32) for index in np.indices((count, len(other.heights))))
    every = pairs(rows, columns + np.int32(count))
    return matrix[:count, count:] + smooth_between(cloud, every, offset).reshape(count, -1)


def pairs(first, second):
    return Pairs(first=first, second=second)


def smooth_between(cloud, pairs, offset):
    gaps = cloud.points[:, :, None, pairs.first] - cloud.points[:, None, :, pairs.second]
    values = smooth_kernel((gaps**2).sum(axis=0), offset, 1e3).mean(axis=(0, 1))
    return values * cloud.areas[pairs.first] * cloud.areas[pairs.second]


def test_a_triangle_with_itself_is_the_sum_over_its_parts():
    whole = self_potentials(flat(CORNERS))[0]
    parts = flat(split(CORNERS, 3))
    apart = mutual(parts, parts, 1e-9).sum()
    assert apart == pytest.approx(whole, rel=3e-4)


def test_potentials_are_symmetric():
    parts, others = flat(split(CORNERS, 3)), flat(split(CORNERS + 0.01, 3))
    # Of two equal triangles one is the outer one, with three points where they do not touch: 1e-4.
    assert mutual(parts, others, 0.2) == pytest.approx(mutual(others, parts, 0.2).T, rel=1e-4)


def test_what_triangles_one_over_the_other_share_is_what_they_have_alone():
    parts = flat(split(CORNERS, 3))
    shifted = flat(parts.corners + 1e-9)  # no longer one over the other
    assert mutual(parts, parts, 0.2) == pytest.approx(mutual(parts, shifted, 0.2), rel=1e-4)


def test_two_squares_face_to_face_have_the_potential_of_the_closed_form():
    square = np.array([[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]], [[0.0, 0.0], [1.0, 1.0], [0.0, 1.0]]])
    parts = flat(split(square, 3))
    found = mutual(parts, parts, 0.5).sum()
    x = (np.arange(60) + 0.5) / 60
    offsets = [(a - b) ** 2 for a, b in itertools.product(x, x)]
    distance = np.sqrt(np.add.outer(offsets, offsets) + 0.25)
    assert found == pytest.approx(float(np.mean(1 / distance)), rel=3e-4)


def test_a_complex_distance_without_imaginary_part_is_the_real_one():
    parts = flat(split(CORNERS, 2))
    assert mutual(parts, parts, 0.7 + 0j) == pytest.approx(mutual(parts, parts, 0.7), rel=1e-12)


def test_a_distant_pair_by_its_moments_is_the_sum_over_three_points():
    far = flat(np.concatenate([CORNERS, CORNERS + np.array([5.0, 2.0])]))
    cloud, pair = Cloud(triangles=far), Pairs(first=np.array([0], dtype=np.int32), second=np.array([1], dtype=np.int32))
    by_moments = near_part(cloud, pair, lambda some: np.zeros(1), 80.0).sharp[0]
    gaps = cloud.points[:, :, None, pair.first] - cloud.points[:, None, :, pair.second]
    by_points = sharp_kernel((gaps**2).sum(axis=0), 0.0, 80.0).mean() * cloud.areas.prod()
    assert by_moments == pytest.approx(by_points, rel=2e-4)
