"""Placements over ground layers whose length is stated: as large as they are, or refused."""

import math

import pytest

from geometries import ScenarioError, read_scenario
from geometries.files.reading import builtin_text
from geometries.layout.real_planes import real_planes
from geometries.study.scenario import only_variant
from solver.formulas import disc_shielding
from solver.loop.whole_loop import whole_loop
from solver.plan import PlanMeshSettings, solve_plan

TEXT = builtin_text("greenhouse-vent")
PLANE = '{ tie = "switch end", width = "40 mm" }'
COARSE = PlanMeshSettings().coarser()


def same_side(plane, text=TEXT):
    assert PLANE in text
    return only_variant(read_scenario(text.replace(PLANE, plane, 1)), "same side").variants[0].placed


def solved(size):
    return whole_loop("x", same_side(f'{{ tie = "switch end", width = "{size}", length = "{size}" }}'), 2e8, vary=())


@pytest.fixture(scope="module")
def large():
    return solved("40 mm")


@pytest.fixture(scope="module")
def small():
    return solved("5 mm")


def test_a_large_layer_is_as_good_as_an_endless_one(large):
    term = large.term("ground layers")
    assert abs(term.amount) < 0.003 * large.inductance
    assert abs(term.amount) < term.uncertainty


def test_a_small_layer_leaves_more_of_the_moment_and_of_the_inductance(large, small):
    assert small.term("ground layers").amount > large.term("ground layers").amount
    assert small.real_lying > 5 * large.real_lying


def test_a_large_layer_leaves_about_as_much_of_the_moment_as_a_disc_of_its_area(large):
    """A small loop close over the middle of a disc; the ring is no small loop, and the layer no disc."""
    planes = real_planes("x", large.placed)
    height = planes.real.sheet("ring").height - planes.real.sheet("L2").height
    own = abs(solve_plan(planes.endless, 2e8, COARSE).copper_moment[0, 2])
    disc = disc_shielding(height, 40e-3 / math.pi**0.5)
    assert large.real_lying / own == pytest.approx(disc, rel=0.15)


def test_the_ring_is_the_copper_with_its_parts(large):
    ring = real_planes("x", large.placed).real.sheet("ring").shape
    assert len(ring.interiors) == 1
    placement = large.placed.placement
    assert ring.bounds[2] == pytest.approx(placement.starts[0] + placement.capacitors[0].case.width + 0.1e-3)


def test_without_a_length_nothing_changes():
    assert real_planes("x", same_side(PLANE)) is None


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ('length = "0 mm"', "must be above zero"),
        ('length = "40 mm", slots = [{ position = "0 mm", width = "1 mm" }]', "a slot"),
    ],
)
def test_what_cannot_be_is_refused(keys, message):
    with pytest.raises(ScenarioError, match=message):
        same_side(PLANE.replace(" }", f", {keys} }}"))


def test_a_far_side_and_a_bare_section_have_no_length():
    longer = PLANE.replace(" }", ', length = "40 mm" }')
    with pytest.raises(ScenarioError, match="every layer its own"):
        read_scenario(TEXT.replace(f"planes.L3 = {PLANE}", f"planes.L3 = {longer}"))
    bare = builtin_text("orchard-pump").replace('width = "40 mm" }', 'width = "40 mm", length = "40 mm" }')
    with pytest.raises(ScenarioError, match="only planes under a placement"):
        read_scenario(bare)
