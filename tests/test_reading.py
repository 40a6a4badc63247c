"""A scenario file is read as meant, or refused with what, where and how to mend it."""

import re

import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import builtin_scenario_names, parse_scenario, read_builtin_scenario, read_scenario
from geometries.section.section import Role

GOOD = """
title = "bench supply"
stackup = "4L-7628"

[loop]
kind = "same-layer"
width = "3 mm"
gap = "1 mm"
length = "8 mm"

[[variant]]
name = "floating"
planes.L2 = { tie = "none", width = "40 mm" }

[[variant]]
name = "wide, stitched"
loop.width = "5 mm"
planes.L2 = { tie = "both ends", overhang = "2 mm" }
"""

COAX = """
title = "coaxial line"
length = "1 m"

[[region]]
name = "core"
role = "go"
shape = "circle"
centre = ["0 mm", "0 mm"]
radius = "0.5 mm"

[[region]]
name = "shell"
role = "return"
shape = "ring"
centre = ["0 mm", "0 mm"]
inner_radius = "1.75 mm"
outer_radius = "2 mm"
"""


def changed(old, new, text=GOOD):
    assert old in text
    return text.replace(old, new, 1)


def test_variants_inherit_and_override():
    scenario = parse_scenario(GOOD)
    first, second = scenario.variants
    assert first.section.region("go").outline.right - first.section.region("go").outline.left == pytest.approx(3e-3)
    assert second.section.region("go").outline.right - second.section.region("go").outline.left == pytest.approx(5e-3)
    assert second.section.region("L2").role is Role.RETURN
    assert second.section.region("L2").outline.right == pytest.approx(5.5e-3 + 2e-3)


def test_the_first_variant_is_the_reference_unless_named():
    assert parse_scenario(GOOD).reference == "floating"
    assert parse_scenario('reference = "wide, stitched"' + GOOD).reference == "wide, stitched"


def test_a_file_without_variants_is_one_variant():
    (variant,) = parse_scenario(GOOD.split("[[variant]]")[0]).variants
    assert variant.name == "bench supply"


def test_the_report_frequency_is_among_the_frequencies():
    analysis = parse_scenario(GOOD + '\n[analysis]\nfrequencies = ["1 MHz"]\nreport_frequency = "30 MHz"').analysis
    assert analysis.frequencies == (1e6, 30e6)


def test_a_written_out_section_is_read():
    (variant,) = parse_scenario(COAX).variants
    assert variant.section.groups == ("go", "return")
    assert variant.length == 1.0


VICTIM = """
[[current]]
name = "sense line"
go = "trace"
return = "return"

[[region]]
name = "trace"
role = "victim"
shape = "rectangle"
left = "5 mm"
right = "6 mm"
bottom = "0 mm"
top = "0.1 mm"
"""


def test_a_further_current_leaves_the_main_loop_first():
    (variant,) = parse_scenario(COAX + VICTIM).variants
    assert [(loop.name, loop.go_group) for loop in variant.section.loops] == [("loop", "go"), ("sense line", "trace")]


def test_too_deep_a_file_is_refused():
    with pytest.raises(ScenarioError, match="nested too deeply"):
        parse_scenario("a = " + "[" * 5000 + "]" * 5000)


def test_steps_add_one_ground_layer_at_a_time():
    variant = parse_scenario(
        changed('width = "40 mm" }', 'width = "40 mm" }\nplanes.L3 = { tie = "none", width = "40 mm" }')
    ).variants[0]
    assert [step.layer for step in variant.steps] == ["", "L2", "L3"]
    assert [len(step.section.regions) for step in variant.steps] == [2, 3, 4]


SEGMENT = """
[[variant.segment]]
name = "past the plane"
loop.length = "2 mm"
planes.L2.tie = "absent"
"""


def test_a_further_stretch_inherits_from_its_variant_and_overrides():
    stretched = parse_scenario(GOOD + SEGMENT).variants[1]
    (segment,) = stretched.segments
    assert (stretched.length, segment.length) == (6e-3, 2e-3)
    assert len(stretched.section.regions) == 3
    assert [region.name for region in segment.section.regions] == ["go", "return"]
    assert segment.section.region("go").outline.bounds == stretched.section.region("go").outline.bounds


def test_a_wrong_stretch_is_named():
    with pytest.raises(ScenarioError, match=r"variant 'wide, stitched' segment 'past the plane' loop: length is 0 m"):
        parse_scenario(GOOD + SEGMENT.replace("2 mm", "0 mm"))


def test_a_segment_replaces_a_stretch_of_the_loop_and_adds_nothing():
    whole, split = (parse_scenario(text).variants[1] for text in (GOOD, GOOD + SEGMENT))
    assert split.length + sum(segment.length for segment in split.segments) == pytest.approx(whole.length, rel=1e-12)


@pytest.mark.parametrize("length", ["8 mm", "9 mm"])
def test_segments_that_take_the_whole_loop_are_refused(length):
    with pytest.raises(ScenarioError, match=rf"the loop is 8 mm long, and its segments take {length} of it"):
        parse_scenario(GOOD + SEGMENT.replace("2 mm", length))


def test_two_stretches_of_one_name_are_refused():
    with pytest.raises(ScenarioError, match=r"two segments of one name"):
        parse_scenario(GOOD + SEGMENT + SEGMENT)


def test_a_construction_of_ones_own_is_used():
    own = """
[stackups.mine]
layers = [
  { copper = "L1", thickness = "1 oz" },
  { dielectric = "foil", thickness = "50 um", relative_permittivity = 3.4 },
  { copper = "L2", thickness = "35 um" },
]
"""
    variant = parse_scenario(changed("4L-7628", "mine") + own).variants[0]
    assert variant.section.region("L2").outline.top == pytest.approx(-50e-6)


def test_copper_thickness_and_temperature_reach_the_region():
    hot = changed('gap = "1 mm"', 'gap = "1 mm"\ncopper_thickness = "70 um"')
    hot = hot.replace("[loop]", '[copper]\ntemperature = "85 degC"\n[loop]')
    go = parse_scenario(hot).variants[0].section.region("go")
    assert go.outline.top == pytest.approx(70e-6)
    assert 1 / go.material.conductivity == pytest.approx(2.1646e-8, rel=1e-4)


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_every_built_in_scenario_is_read(name):
    scenario = read_builtin_scenario(name)
    assert len(scenario.variants) > 1 or name == "garden-lamp"
    assert "nvented" in scenario.setting


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (changed('"3 mm"', "3"), r'line 7: loop width: width is 3, a bare value .* width = "0.2 mm"'),
        (changed('"3 mm"', '"3"'), r'width = "3" has no unit'),
        (changed('"3 mm"', '"3 V"'), r'width = "3 V" is not a length'),
        (changed('"3 mm"', '"0 mm"'), r"line 5: loop: width is 0 m; it must be above zero"),
        (changed("width =", "widht ="), r"loop: unknown key 'widht'; did you mean 'width'\?"),
        (changed("title", "titel"), r"unknown key 'titel'; did you mean 'title'\?"),
        (changed('gap = "1 mm"\n', ""), r"loop gap: this key is missing"),
        (changed("4L-7628", "4L-7268"), r"unknown stackup '4L-7268'; did you mean '4L-7628'\?"),
        (changed('"same-layer"', '"sidewise"'), r"kind is 'sidewise'; a loop's kind is 'same-layer'"),
        (changed("planes.L2", "planes.L9"), r"no copper layer 'L9'; its copper layers are L1, L2, L3, L4"),
        (changed("planes.L2", "planes.L1"), r"plane on layer 'L1' would lie in the loop's own copper"),
        (
            changed('tie = "none", width = "40 mm"', 'tie = "none"'),
            r"either its width.* or its overhang",
        ),
        (changed('"none", width', '"tied", width'), r"variant 'floating' planes L2 tie: .*'both ends'"),
        (changed('stackup = "4L-7628"', ""), r"a loop needs a board: give stackup"),
        (changed("[loop]", "[loop"), r"not valid TOML: .*line 5"),
        (changed("wide, stitched", "floating"), r"two variants are called 'floating'"),
        ('reference = "other"' + GOOD, r"the reference 'other' is not one of the variants"),
        (
            GOOD + '\n[analysis]\nfrequencies = ["0 Hz"]',
            r"a frequency is 0 Hz; frequencies must be above zero",
        ),
        (GOOD + '\n[analysis]\nreport_frequency = "-5 MHz"', r"it cannot be negative"),
        (GOOD + '\n[analysis]\nfrequencies = { from = "1 MHz", to = "1 kHz" }', r"write 0 < from < to"),
        (GOOD + '\n[analysis]\nheights_above = ["0 mm"]', r"distances must be above zero"),
        (changed("radius", "radius2", COAX), r"unknown key 'radius2'; did you mean 'radius'"),
        (changed('radius = "0.5 mm"', "", COAX), r"a circle needs centre, radius; radius is missing"),
        (changed('"0.5 mm"', '"1.8 mm"', COAX), r"regions 'core' and 'shell' overlap"),
        (changed('length = "1 m"\n', "", COAX), r"a user-defined section needs the length"),
        (
            changed("[loop]", '[copper]\ntemperature = "5000 degC"\n[loop]'),
            r"temperature is 5000 °C; values accepted lie between",
        ),
        (changed("[loop]", '[copper]\nconductivity = "0 S/m"\n[loop]'), r"conductivity .* must be above 0"),
        (GOOD + '\n[analysis]\nfrequencies = ["1e30 Hz"]', r"values accepted lie between 0.001 Hz and 100 GHz"),
        (GOOD + "\n[analysis]\nfrequencies = []", r"frequencies is an empty list"),
        (changed('name = "floating"', 'name = ""'), r"this is empty; give it a name"),
        (changed("[loop]", "copper = 3\n[loop]"), r"copper: this must be a table of keys, not 3"),
        (changed('"return"', '"floating"', COAX), r"uses group 'return', to which no region belongs"),
        (
            changed('title = "coaxial line"', 'title = "c"\nstackup = "4L-7628"', COAX),
            r"has no stackup",
        ),
    ],
)
def test_a_wrong_file_is_refused_with_place_and_cure(text, message):
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(text, where="board.toml")


def test_a_wrong_variant_is_told_as_nothing_else():
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(changed('stackup = "4L-7628"', ""), where="board.toml")
    assert "this list is empty" not in str(caught.value)


def test_a_scenario_without_variants_in_its_list_is_refused():
    with pytest.raises(ScenarioError, match=r"variant: this list is empty; give at least one entry"):
        parse_scenario('title = "x"\nvariant = []')


def test_an_inherited_mistake_is_named_once():
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(changed('"1 mm"', "1"), where="board.toml")
    assert len(re.findall("bare value", str(caught.value))) == 1


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(ScenarioError, match=r"nowhere\.toml: there is no such file"):
        read_scenario(tmp_path / "nowhere.toml")


def test_a_binary_file_is_refused(tmp_path):
    path = tmp_path / "board.toml"
    path.write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(ScenarioError, match="not a text file in UTF-8"):
        read_scenario(path)


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(ScenarioError, match="is no file but a folder"):
        read_scenario(tmp_path)
