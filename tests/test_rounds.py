"""Rings and discs: built on a construction, mapped from rectangular loops, read from files, refused where wrong."""

import math

import pytest

from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import parse_scenario
from geometries.files.stackups import named_stackup
from geometries.quantities import MM
from geometries.section.loops import Plane, SameLayerLoop, Tie
from geometries.section.rings import (
    AnnularSlot,
    Disc,
    RingLoop,
    axisymmetric_twin,
    equal_area_ring,
    ring_section,
    why_no_ring,
)
from geometries.section.section import View

FOUR = named_stackup("4L-7628")
RING = RingLoop(radius=2 * MM, width=0.5 * MM, layer="L2")
LOOP = SameLayerLoop(width=3 * MM, return_width=2 * MM, gap=1 * MM, length=8 * MM, layer="L1")

FILE = """
title = "ring"
stackup = "4L-7628"

[loop]
kind = "ring"
radius = "2 mm"
width = "0.5 mm"

[[variant]]
name = "alone"

[[variant]]
name = "disc"
planes.L2 = { tie = "none", radius = "10 mm", hole = "1 mm", slots = [{ position = "5 mm", width = "0.4 mm" }] }

[[variant]]
name = "two"
planes.L2 = { tie = "none", overhang = "3 mm" }
planes.L3 = { tie = "none", radius = "6 mm" }
"""

WRITTEN = """
title = "written"

[[variant]]
name = "ring over a disc"
view = "axisymmetric"
region = [
  { name = "ring", role = "go", shape = "circle", centre = ["2 mm", "0.3 mm"], radius = "0.1 mm" },
  {name = "disc", role = "floating", shape = "rectangle", left = "0 mm", right = "8 mm", bottom = "-1 mm", top = "0 m"},
]
"""

OBLONG = """
title = "oblong"
stackup = "4L-7628"
[loop]
kind = "same-layer"
width = "3 mm"
gap = "1 mm"
length = "8 mm"
"""


def changed(old, new, text=FILE):
    assert old in text
    return text.replace(old, new, 1)


def test_discs_lie_above_and_below_the_ring_on_their_layers():
    section = ring_section("s", FOUR, RING, [Disc(layer="L1", radius=5 * MM), Disc(layer="L3", radius=6 * MM)])
    assert section.view is View.AXISYMMETRIC
    assert section.region("L1").outline.bottom > section.region("go").outline.top
    assert section.region("L3").outline.top < section.region("go").outline.bottom
    assert section.region("L1").outline.left == 0


def test_a_hole_and_a_slot_leave_their_copper():
    disc = Disc(layer="L3", radius=6 * MM, hole=1 * MM, slots=(AnnularSlot(radius=3 * MM, width=0.5 * MM),))
    section = ring_section("s", FOUR, RING, [disc])
    spans = [section.region(f"L3 part {n}").outline.bounds[::2] for n in (1, 2)]
    assert spans == [pytest.approx((1 * MM, 2.75 * MM)), pytest.approx((3.25 * MM, 6 * MM))]


def test_a_wire_stands_at_its_height_over_the_layer():
    ring = RingLoop(radius=2 * MM, wire=0.2 * MM, height=1 * MM, layer="L1")
    centre = ring_section("s", FOUR, ring).region("go").outline.centre
    assert centre == pytest.approx((2 * MM, FOUR.heights("L1")[1] + 1 * MM))


def test_a_rectangular_loop_maps_to_the_ring_of_equal_area():
    ring = equal_area_ring(LOOP)
    assert math.pi * ring.radius**2 == pytest.approx(8 * MM * 3.5 * MM, rel=1e-12, abs=0)
    assert ring.width == pytest.approx(2.5 * MM)


def test_the_twin_keeps_the_overhang_and_says_how_it_was_mapped():
    plane = Plane(layer="L2", tie=Tie.NONE, width=16 * MM)
    twin = axisymmetric_twin("s", FOUR, LOOP, [plane])
    outer = twin.section.region("go").outline.right
    assert twin.section.region("L2").outline.right - outer == pytest.approx(5 * MM)
    assert "of mean radius 2.99 mm" in twin.mapping


def test_copper_too_wide_for_its_area_has_no_ring():
    wide = SameLayerLoop(width=9 * MM, return_width=9 * MM, gap=0.1 * MM, length=2 * MM, layer="L1")
    assert "would cross its axis" in why_no_ring(wide)


def test_a_file_gives_rings_over_discs_with_their_steps():
    alone, disc, two = parse_scenario(FILE).variants
    assert [variant.view for variant in (alone, disc, two)] == [View.AXISYMMETRIC] * 3
    assert len(disc.section.regions) == 3
    assert two.section.region("L2").outline.right == pytest.approx(5.25 * MM)
    assert [step.layer for step in two.steps] == ["", "L2", "L3"]
    assert disc.axisymmetric_loop.radius == pytest.approx(2 * MM)
    assert disc.length == 1.0


def test_a_round_section_can_be_written_out():
    variant = parse_scenario(WRITTEN).variants[0]
    assert variant.view is View.AXISYMMETRIC
    assert variant.axisymmetric_loop.radius == pytest.approx(2 * MM)


def test_same_layer_loops_carry_their_round_counterpart_unless_it_is_switched_off():
    assert parse_scenario(OBLONG).variants[0].axisymmetric_loop.section.view is View.AXISYMMETRIC
    assert parse_scenario(OBLONG + "\n[analysis]\naxisymmetric_view = false").variants[0].axisymmetric_loop is None


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (changed('radius = "2 mm"', 'radius = "0.2 mm"'), "crosses its own axis"),
        (changed('width = "0.5 mm"', 'wire = "0.5 mm"\nheight = "0.1 mm"'), "more than half the wire's diameter"),
        (changed('width = "0.5 mm"', 'width = "0.5 mm"\nwire = "0.1 mm"'), "either flat"),
        (changed('hole = "1 mm"', 'hole = "11 mm"'), "hole must be smaller"),
        (changed('position = "5 mm"', 'position = "9.9 mm"'), "inside the disc"),
        (changed('tie = "none", overhang', 'tie = "both ends", overhang'), "closes on itself"),
        (changed('overhang = "3 mm"', 'width = "3 mm"'), "give its radius or its overhang"),
        (changed("planes.L3", "planes.L1"), "overlap"),
        (changed("planes.L3", "planes.L9"), "L9"),
        (changed('view = "axisymmetric"', 'view = "axisymmetric"\nlength = "1 mm"', WRITTEN), "remove the key length"),
        (changed('view = "axisymmetric"', "", WRITTEN), "length of the loop"),
        (changed('["2 mm", "0.3 mm"]', '["0.05 mm", "0.3 mm"]', WRITTEN), "across the axis"),
        (changed('left = "0 mm"', 'left = "-1 mm"', WRITTEN), "across the axis"),
        (changed('top = "0 m"', 'top = "1 mm"', WRITTEN), "'ring' and 'disc' overlap near r"),
        (changed('role = "floating"', 'role = "return"', WRITTEN), "is a return"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(text, message):
    with pytest.raises((ScenarioError, GeometryError), match=message):
        parse_scenario(text)


def test_sections_and_round_loops_are_not_compared_with_each_other():
    mixed = changed(
        'name = "two"', 'name = "two"\nloop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }'
    ).replace('radius = "6 mm"', 'overhang = "1 mm"')
    with pytest.raises(ScenarioError, match="put them in two scenarios"):
        parse_scenario(mixed)


def test_a_disc_radius_under_a_rectangular_loop_is_refused():
    with pytest.raises(ScenarioError, match="only discs under a loop of kind 'ring'"):
        parse_scenario(OBLONG + '[planes.L2]\ntie = "none"\nradius = "8 mm"')
