import numpy as np
import pytest

from solver.section.element_size import SizeField, skin_layers, spread_nodes, two_sided_layers


def test_size_grows_with_the_distance_from_the_nearest_feature():
    field = SizeField(features=np.array([[0.0, 0.0], [10.0, 0.0]]), sizes=np.array([0.1, 0.2]), growth=0.5)
    assert field.at(np.array([[0.0, 2.0], [10.0, 0.0], [5.0, 0.0]])) == pytest.approx([1.1, 0.2, 2.6])


def test_nodes_follow_a_constant_size():
    assert spread_nodes(lambda t: np.full_like(t, 0.25)) == pytest.approx([0, 0.25, 0.5, 0.75, 1])


def test_spacing_never_exceeds_the_wanted_size_by_much():
    nodes = spread_nodes(lambda t: 1e-4 + 0.4 * np.minimum(t, 1 - t))
    middles, steps = (nodes[1:] + nodes[:-1]) / 2, np.diff(nodes)
    assert np.all(steps <= 1.1 * (1e-4 + 0.4 * np.minimum(middles, 1 - middles)))
    assert np.all(steps > 0)


def test_a_segment_shorter_than_the_size_is_one_element():
    assert spread_nodes(lambda t: np.full_like(t, 7.0)) == pytest.approx([0, 1])


def test_layers_thin_towards_the_surface_and_are_mirrored_on_a_sheet():
    one_sided, two_sided = skin_layers(1.0, 0.01, 0.5, 0.2), two_sided_layers(1.0, 0.01, 0.5)
    assert one_sided[1] == pytest.approx(0.01, rel=0.3)
    assert np.diff(one_sided).max() <= 0.22
    assert two_sided + two_sided[::-1] == pytest.approx(np.ones(len(two_sided)))


def test_a_part_of_a_size_field_is_the_same_field_from_fewer_features():
    random = np.random.default_rng(3)
    field = SizeField(features=random.uniform(0, 10, (400, 2)), sizes=random.uniform(0.1, 1.0, 400), growth=0.3)
    place, turns = np.array([4.0, 5.0]), random.uniform(0, 2 * np.pi, 100)
    points = place + 1.5 * np.column_stack([np.cos(turns), np.sin(turns)])
    part = field.around(place, 1.5)
    assert len(part.sizes) < 200
    np.testing.assert_array_equal(part.at(points), field.at(points))
