"""Victims are read as meant and put into the section, or refused with what, where and how to mend it."""

import math
import re

import pytest

from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import parse_scenario
from geometries.section.victims import Run, moved
from solver.variant.warnings import variant_warnings

GOOD = """
title = "bench supply"
stackup = "4L-7628"
planes.L2 = { tie = "none", width = "40 mm" }

[loop]
kind = "same-layer"
width = "3 mm"
gap = "1 mm"
length = "15 mm"

[victims.feedback]
layer = "L1"
distance = "2 mm"
width = "0.2 mm"
reference = "L2"
length = "15 mm"

[switch_node]
conductor = "go"
length = "4 mm"

[pickup]
current = "1 A"
frequency = "400 kHz"
duty = "40 %"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "73.2 kohm", lower = "10 kohm" }

[[variant]]
name = "four layers"

[[variant]]
name = "farther"
victims.feedback.distance = "5 mm"
"""

WRITTEN = """
title = "written out"
length = "10 mm"
[pickup]
current = "1 A"
frequency = "400 kHz"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "73.2 kohm", lower = "10 kohm" }
[victims.feedback]
conductor = "trace"
reference = "return"
length = "10 mm"
[[region]]
name = "go"
role = "go"
shape = "rectangle"
left = "0 mm"
right = "1 mm"
bottom = "0 mm"
top = "0.1 mm"
[[region]]
name = "return"
role = "return"
shape = "rectangle"
left = "0 mm"
right = "3 mm"
bottom = "-0.4 mm"
top = "-0.3 mm"
[[region]]
name = "trace"
role = "victim"
shape = "rectangle"
left = "2 mm"
right = "2.2 mm"
bottom = "0 mm"
top = "0.1 mm"
[[dielectric]]
name = "foil"
left = "0 mm"
right = "3 mm"
bottom = "-0.3 mm"
top = "0 mm"
relative_permittivity = 3.2
"""


def changed(old, new, text=GOOD):
    assert old in text
    return text.replace(old, new, 1)


def pickup(text=GOOD, variant=0):
    return parse_scenario(text).variants[variant].pickup


def refused(text):
    with pytest.raises(ScenarioError) as failure:
        parse_scenario(text)
    return str(failure.value)


def test_a_victim_lies_at_its_distance_from_the_loop():
    assert pickup().section.region("feedback").outline.left == pytest.approx(3.5e-3 + 2e-3)


def test_variants_inherit_victims_and_override_them():
    assert pickup(variant=1).section.region("feedback").outline.left == pytest.approx(3.5e-3 + 5e-3)


def test_every_victim_is_a_loop_of_its_own():
    loops = pickup().section.loops
    assert [(loop.name, loop.go_group, loop.return_group) for loop in loops[1:]] == [("feedback", "feedback", "L2")]


def test_the_variants_own_section_stays_as_it_is():
    variant = parse_scenario(GOOD).variants[0]
    assert [region.name for region in variant.section.regions] == ["go", "return", "L2"]
    assert variant.section.dielectrics == ()


def test_runs_lie_on_the_sense_side_unless_said_otherwise():
    assert pickup().victims[0].run is Run.SENSE
    assert pickup(changed('reference = "L2"', 'reference = "L2"\nrun = "pin"')).victims[0].run is Run.PIN


def test_a_stitched_plane_is_the_loops_return():
    stitched = changed('tie = "none"', 'tie = "both ends"')
    assert pickup(stitched).victims[0].reference == "return"


def test_a_return_trace_is_written_out():
    own = 'return_trace = { layer = "L1", distance = "2.4 mm", width = "0.2 mm" }'
    section = pickup(changed('reference = "L2"', own)).section
    assert section.region("feedback return").outline.left == pytest.approx(3.5e-3 + 2.4e-3)
    assert section.loops[1].return_group == "feedback return"


def test_a_switch_node_may_have_copper_of_its_own():
    own = 'layer = "L1"\ndistance = "-12 mm"\nwidth = "4 mm"'
    found = pickup(changed('conductor = "go"', own))
    assert found.switch_node.conductor == "switch node"
    assert found.section.region("switch node").outline.right == pytest.approx(-4.5e-3)


def test_edges_of_the_voltage_are_those_of_the_current_unless_given():
    drive = pickup().drive
    assert (drive.fall_time, drive.voltage_rise_time, drive.voltage_fall_time) == (1e-9, 1e-9, 1e-9)


def test_without_a_budget_there_is_none():
    assert math.isinf(pickup().drive.budget)


def test_a_written_out_section_names_its_victims_conductor():
    found = pickup(WRITTEN)
    assert found.section.loops[1].go_group == "trace"
    assert [part.name for part in found.section.dielectrics] == ["foil"]


def test_a_moved_victim_keeps_its_width_and_layer():
    before = pickup()
    after = moved(before, before.victims[0], distance=4e-3)
    outline = after.section.region("feedback").outline
    assert (outline.left, outline.right) == pytest.approx((7.5e-3, 7.7e-3))
    assert after.victims[0].trace.distance == 4e-3


def test_a_victim_is_not_moved_into_copper():
    before = pickup()
    with pytest.raises(GeometryError, match="lies in copper 'return'"):
        moved(before, before.victims[0], distance=-1e-3)


def test_a_written_out_victim_is_not_moved():
    before = pickup(WRITTEN)
    with pytest.raises(GeometryError, match="only a trace on a board can be moved"):
        moved(before, before.victims[0], distance=1e-3)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('reference = "L2"\n', "", "needs the conductor in which its current returns"),
        (
            'reference = "L2"',
            'reference = "L5"',
            "the reference of victim 'feedback' is 'L5', which no copper is called",
        ),
        ('reference = "L2"', 'reference = "feedback"', "is its own reference"),
        ('layer = "L1"\ndistance = "2 mm"', 'layer = "L2"\ndistance = "2 mm"', "'feedback' lies in copper 'L2'"),
        ('distance = "2 mm"', 'distance = "-1 mm"', "'feedback' lies in copper 'return'"),
        ('width = "0.2 mm"', 'width = "0 mm"', "width is 0 m; it must be above zero"),
        ('width = "0.2 mm"\n', "", "a victim needs its layer, its distance from the loop and its width"),
        ('layer = "L1"\ndistance', 'layer = "L9"\ndistance', "has no copper layer 'L9'"),
        ('length = "15 mm"\n\n[switch', 'length = "0 mm"\n\n[switch', "the run of victim 'feedback' is 0 m long"),
        ('length = "4 mm"', 'length = "0 mm"', "the switch node is 0 m long"),
        ('conductor = "go"', 'conductor = "SW"', "the switch node is 'SW', which no copper is called"),
        ('conductor = "go"\n', "", "either a conductor of the section"),
        ('lower = "10 kohm"', 'lower = "0 ohm"', "pickup divider: lower is 0 ohm; it must be above zero"),
        ('upper = "73.2 kohm"', 'upper = "-1 ohm"', "upper is −1 Ω; it cannot be negative"),
        (', lower = "10 kohm"', "", "lower: this key is missing"),
        ('divider = { upper = "73.2 kohm", lower = "10 kohm" }\n', "", "divider: this key is missing"),
        ('lower = "10 kohm"', 'lower = "10 kohm", pin_capacitance = "0 pF"', "pickup divider: pin_capacitance is 0 F"),
        (
            'lower = "10 kohm"',
            'lower = "10 kohm", feed_forward = "-1 pF"',
            "feed_forward is −1 pF; it cannot",
        ),
        ('current = "1 A"', 'current = "0 A"', "current is 0 A; it must be above zero"),
        ('duty = "40 %"', 'duty = "0 %"', "the duty is 0"),
        ('reference = "L2"', 'reference = "L2"\nrun = "far"', "run is 'far'"),
    ],
)
def test_impossible_victims_are_refused(old, new, message):
    assert message in refused(changed(old, new))


def test_victims_without_a_cause_are_refused():
    text = re.sub(r"\[pickup\].*?\n\n", "", GOOD, flags=re.DOTALL)
    assert "add a [pickup] table" in refused(text)


def test_a_cause_without_victims_is_refused():
    text = re.sub(r"\[victims.feedback\].*?\n\n", "", GOOD, flags=re.DOTALL)
    text = text.replace('victims.feedback.distance = "5 mm"\n', "")
    assert "no variant has a victim" in refused(text)


def test_a_layer_in_a_written_out_section_is_refused():
    placed = 'layer = "L1"\ndistance = "1 mm"\nwidth = "0.1 mm"'
    assert "the section is user-defined and has none" in refused(changed('conductor = "trace"', placed, WRITTEN))


def test_a_dielectric_beside_a_board_is_refused():
    place = 'left = "0 mm"\nright = "1 mm"\nbottom = "0 mm"\ntop = "1 mm"'
    extra = f'\n[[dielectric]]\nname = "x"\n{place}\nrelative_permittivity = 2\n'
    text = GOOD.replace("\n[[variant]]", extra + "\n[[variant]]", 1)
    assert "has the dielectrics of its stackup" in refused(text)


def test_over_its_own_return_plane_the_loops_edge_is_that_of_the_go_copper():
    upright = changed('kind = "same-layer"\nwidth = "3 mm"\ngap = "1 mm"', 'kind = "next-layer"\nwidth = "3 mm"')
    found = pickup(upright.replace('tie = "none"', 'tie = "both ends"')).section
    assert found.region("feedback").outline.left == pytest.approx(1.5e-3 + 2e-3)


def test_causes_that_are_not_stated_are_those_of_the_switching_edge():
    edge = """
[switching]
input_voltage = "24 V"
edge_time = "3 ns"
frequency = "500 kHz"
output_capacitance = "300 pF"
switch_resistance = "20 mohm"
capacitor_resistance = "5 mohm"
"""
    text = changed('frequency = "400 kHz"\n', "").replace('rise_time = "1 ns"\n', "").replace('voltage = "12 V"\n', "")
    drive = pickup(text + edge).drive
    assert (drive.frequency, drive.rise_time, drive.voltage_rise_time, drive.voltage) == (500e3, 3e-9, 3e-9, 24.0)


@pytest.mark.parametrize("key", ["frequency", "rise_time", "voltage"])
def test_a_cause_that_is_nowhere_is_asked_for(key):
    text = re.sub(rf"^{key} = .*\n", "", GOOD, flags=re.MULTILINE)
    assert f"pickup: {key} is missing; give it here or in [switching]" in refused(text)


def test_runs_beyond_the_loop_and_linear_pins_are_warned_of():
    scenario = parse_scenario(changed('length = "15 mm"\n\n[switch', 'length = "20 mm"\n\n[switch'))
    codes = [each.code for each in variant_warnings(scenario.variants[0], scenario.analysis)]
    assert "W-RUN" in codes
    assert "W-DETECTION" in codes


def test_a_run_within_the_loop_is_not_warned_of():
    scenario = parse_scenario(GOOD)
    assert "W-RUN" not in [each.code for each in variant_warnings(scenario.variants[0], scenario.analysis)]
