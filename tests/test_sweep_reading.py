"""A `[sweep]` table is read as meant, or refused with what, where and how to mend it, before anything is solved."""

import json

import pytest
from operating import OPERATION

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario, read_builtin_scenario
from geometries.files.sweep_reading import parse_sweep, read_sweep
from geometries.study.sweep import SweepPoint, point_label, sweep_points, sweep_scenario

BOARD = """
title = "pump"
stackup = "4L-7628"
reference = "narrow"

[loop]
kind = "same-layer"
width = "3 mm"
gap = "1 mm"
length = "8 mm"

[[variant]]
name = "wide"
planes.L2 = { tie = "none", width = "40 mm", slots = [{ width = "0.5 mm" }] }

[[variant]]
name = "narrow"
planes.L2 = { tie = "none", width = "12 mm" }

[sweep]
"""
COAX = """
title = "line"
length = "1 m"
region = [
  { name = "core", role = "go", shape = "circle", centre = ["0 mm", "0 mm"], radius = "0.5 mm" },
  { name = "shell", role = "return", shape = "ring", centre = ["0 mm", "0 mm"], inner_radius = "2 mm", \
outer_radius = "3 mm" },
]
"""


def sweep_of(*vary, variant="wide", text=BOARD):
    named = f'variant = "{variant}"\n' if variant else ""
    return parse_sweep(f"{text}{named}vary = [{', '.join(vary)}]", where="pump.toml")


def values(key, *texts):
    return f"{{ key = '{key}', values = {json.dumps(texts)} }}"


def spread(key, start, stop, steps, more=""):
    return f'{{ key = "{key}", from = "{start}", to = "{stop}", steps = {steps}{more} }}'


def test_a_range_is_evenly_spaced():
    (axis,) = sweep_of(spread("loop.gap", "0.2 mm", "1 mm", 5)).axes
    assert axis.values == pytest.approx((0.2e-3, 0.4e-3, 0.6e-3, 0.8e-3, 1e-3), rel=1e-12, abs=0)


def test_logarithmic_values_have_even_ratios():
    (axis,) = sweep_of(spread("loop.gap", "0.1 mm", "10 mm", 3, ', spacing = "logarithmic"')).axes
    assert axis.values == pytest.approx((1e-4, 1e-3, 1e-2), rel=1e-10, abs=0)
    assert axis.logarithmic


def test_two_keys_are_a_grid_in_which_the_last_runs_fastest():
    sweep = sweep_of(values("loop.gap", "1 mm", "2 mm"), values("loop.width", "3 mm", "4 mm", "5 mm"))
    assert sweep.size == 6
    assert [point.values for point in sweep_points(sweep)] == [
        (1e-3, 3e-3),
        (1e-3, 4e-3),
        (1e-3, 5e-3),
        (2e-3, 3e-3),
        (2e-3, 4e-3),
        (2e-3, 5e-3),
    ]


def test_the_reference_is_varied_unless_another_variant_is_named():
    assert sweep_of(values("loop.gap", "1 mm", "2 mm"), variant="").variant == "narrow"


def test_a_point_differs_from_the_variant_in_its_key_alone():
    sweep = sweep_of(values("loop.gap", "1 mm", "2 mm"))
    same, other = (varied(sweep, point) for point in sweep_points(sweep))
    assert same.section == parse_scenario(BOARD.replace("[sweep]", "")).variants[0].section
    assert other.section.region("return").outline.left == pytest.approx(1e-3, rel=1e-12, abs=0)
    assert other.section.region("L2 part 1") == same.section.region("L2 part 1")


def varied(sweep, point):
    (variant,) = sweep_scenario(sweep, point).variants
    return variant


def width_of(variant, region):
    left, _, right, _ = variant.section.region(region).outline.bounds
    return right - left


@pytest.mark.parametrize(
    ("key", "texts", "number_of"),
    [
        ("loop.return_width", ("2 mm", "4 mm"), lambda v: width_of(v, "return")),
        ("planes.L2.slots.0.width", ("1 mm", "2 mm"), lambda v: 2 * v.section.region("L2 part 2").outline.left),
        ("stackup.L2.thickness", ("1 oz", "2 oz"), lambda v: v.stackups[0].layers[2].thickness),
        ("stackup.prepreg 7628.thickness", ("0.1 mm", "0.3 mm"), lambda v: -v.section.regions[2].outline.top),
        ('stackups."4L-7628".layers.1.thickness', ("0.1 mm", "2 mm"), lambda v: -v.section.regions[2].outline.top),
    ],
)
def test_a_key_reaches_what_it_names(key, texts, number_of):
    sweep = sweep_of(values(key, *texts))
    found = [number_of(varied(sweep, point)) for point in sweep_points(sweep)]
    assert found == pytest.approx(sweep.axes[0].values, rel=1e-9, abs=0)


def test_copper_temperature_and_report_frequency_can_be_varied():
    sweep = sweep_of(
        spread("copper.temperature", "20 degC", "120 degC", 2), values("analysis.report_frequency", "1 MHz", "9 MHz")
    )
    cold, _, hot, last = (sweep_scenario(sweep, point) for point in sweep_points(sweep))
    hot_go, cold_go = (scenario.variants[0].section.region("go") for scenario in (hot, cold))
    assert hot_go.material.conductivity < cold_go.material.conductivity
    assert last.analysis.report_frequency == 9e6


def test_a_region_is_found_by_its_name():
    sweep = sweep_of(values("region.shell.inner_radius", "1 mm", "2 mm"), variant="", text=COAX + "[sweep]\n")
    variant = varied(sweep, SweepPoint(index=0, values=(1e-3,)))
    assert variant.section.region("shell").outline.inner_radius == 1e-3


def test_a_point_is_named_in_convenient_units():
    sweep = sweep_of(values("loop.gap", "1 mm", "90 um"), values("copper.temperature", "20 degC", "-5 degC"))
    assert point_label(sweep, list(sweep_points(sweep))[-1]) == "loop.gap = 90 µm, copper.temperature = −5 °C"


def test_a_segment_follows_the_variant_unless_it_has_its_own_value():
    text = BOARD.replace(
        "[sweep]",
        '[[variant.segment]]\nname = "end"\nloop.length = "2 mm"\n[[variant.segment]]\nname = "slit"\n'
        'loop = { length = "1 mm", gap = "3 mm" }\n[sweep]',
    )
    sweep = sweep_of(values("loop.gap", "1 mm", "2 mm"), variant="narrow", text=text)
    end, slit = varied(sweep, SweepPoint(index=1, values=(2e-3,))).segments
    assert end.section.region("return").outline.left == pytest.approx(1e-3, rel=1e-12, abs=0)
    assert slit.section.region("return").outline.left == pytest.approx(1.5e-3, rel=1e-12, abs=0)
    assert (end.length, slit.length) == (2e-3, 1e-3)


def test_a_value_of_a_segment_can_be_varied():
    text = BOARD.replace("[sweep]", '[[variant.segment]]\nname = "end"\nloop.length = "2 mm"\n[sweep]')
    sweep = sweep_of(values("segment.end.loop.length", "1 mm", "2 mm"), variant="narrow", text=text)
    variant = varied(sweep, SweepPoint(index=0, values=(1e-3,)))
    assert (variant.length, variant.segments[0].length) == (7e-3, 1e-3)


def test_other_variants_and_titles_are_no_inputs():
    vary = values("loop.gap", "1 mm", "2 mm")
    renamed = BOARD.replace('"pump"', '"other"').replace('"12 mm"', '"13 mm"')
    assert sweep_of(vary, text=renamed).description == sweep_of(vary).description
    assert sweep_of(vary, text=BOARD.replace('"3 mm"', '"4 mm"')).description != sweep_of(vary).description


@pytest.mark.parametrize(
    ("vary", "message"),
    [
        (values("loop.gpa", "1 mm", "2 mm"), "unknown key 'gpa' in 'loop.gpa'; did you mean 'gap'"),
        (values("lop.gap", "1 mm", "2 mm"), "unknown key 'lop' in 'lop.gap'; did you mean 'loop'"),
        (values("planes.L3.width", "1 mm", "2 mm"), "no 'L3' for 'planes.L3.width'.*known here: L2"),
        (values("region.core.radius", "1 mm", "2 mm"), "'region.core.radius' leads nowhere"),
        (values("stackup.cor.thickness", "1 mm", "2 mm"), "no 'cor' .*did you mean 'core'"),
        (values("planes.L2.tie", "1 mm", "2 mm"), "'planes.L2.tie' is not a value with a unit"),
        (values("loop.gap.x", "1 mm", "2 mm"), "'loop.gap.x' leads nowhere"),
        (values("loop.gap", "1 V", "2 mm"), 'loop.gap = "1 V" is not a length'),
        ("{ key = 'loop.gap', values = [1, 2] }", "loop.gap is 1, a bare value without a unit"),
        (values("loop.gap", "1 mm"), "at least two values"),
        (values("loop.gap", "1 mm", "1000 um"), "takes the same value twice"),
        ("{ key = 'loop.gap' }", "either by values, .* or by from, to and steps"),
        ("{ key = 'loop.gap', values = ['1 mm', '2 mm'], steps = 3 }", "either by values"),
        (spread("loop.gap", "0 mm", "1 mm", 3, ', spacing = "logarithmic"'), "needs both above zero"),
        (spread("loop.gap", "1 mm", "2 mm", 1), "greater than or equal to 2"),
        (values("loop.gap", "1 mm", "-1 mm"), "sweep point loop.gap = −1 mm: .*gap is -0.001 m; it must be above zero"),
        (
            values("planes.L2.slots.0.width", "1 mm", "50 mm"),
            "sweep point planes.L2.slots.0.width = 50 mm: .*slot of plane 'L2' reaches from",
        ),
        (values("length", "1 mm", "2 mm"), r"a \[loop\] carries its own length"),
        (values("planes.L2.overhang", "1 mm", "2 mm"), "either its width, .* or its overhang"),
        (values("stackups.other.layers.0.thickness", "1 mm", "2 mm"), "no 'other'"),
        ("", "0 keys are varied; a sweep varies one key, or two as a grid"),
        (", ".join([values("loop.gap", "1 mm", "2 mm")] * 3), "3 keys are varied"),
        (", ".join([values("loop.gap", "1 mm", "2 mm")] * 2), "loop.gap is varied twice"),
        (
            f"{spread('loop.gap', '1 mm', '2 mm', 200)}, {spread('loop.width', '1 mm', '2 mm', 200)}",
            "the grid has 40000 points; at most 10000",
        ),
        ("{ ky = 'loop.gap' }", "unknown key 'ky'; did you mean 'key'"),
    ],
)
def test_a_wrong_sweep_is_refused_with_the_cure(vary, message):
    with pytest.raises(ScenarioError, match=f"(?s)^pump.toml: .*{message}"):
        sweep_of(vary)


def test_a_key_without_effect_is_refused():
    fixed = BOARD.replace('gap = "1 mm"', 'gap = "1 mm"\ncopper_thickness = "70 um"')
    with pytest.raises(ScenarioError, match=r"stackup\.L1\.thickness changes nothing in variant 'wide'"):
        sweep_of(values("stackup.L1.thickness", "35 um", "50 um"), text=fixed)


def test_an_ambiguous_layer_is_named_by_its_number():
    own = """
[stackups.mine]
layers = [
  { copper = "L1", thickness = "1 oz" },
  { dielectric = "film", thickness = "50 um", relative_permittivity = 3.4 },
  { copper = "L2", thickness = "1 oz" },
  { dielectric = "film", thickness = "90 um", relative_permittivity = 3.4 },
  { copper = "L3", thickness = "1 oz" },
]
[sweep]
"""
    text = BOARD.replace("4L-7628", "mine").replace("[sweep]", own)
    with pytest.raises(ScenarioError, match=r"'film' .* fits 2 entries; give its number instead, the first is 0"):
        sweep_of(values("stackup.film.thickness", "40 um", "60 um"), text=text)
    sweep = sweep_of(values("stackup.1.thickness", "40 um", "60 um"), text=text)
    assert varied(sweep, SweepPoint(index=0, values=(4e-5,))).stackups[0].layers[1].thickness == 4e-5


def test_a_file_without_sweep_is_refused():
    with pytest.raises(ScenarioError, match=r"there is no \[sweep\] table; add one"):
        parse_sweep(BOARD.replace("[sweep]", ""))


def test_an_unknown_variant_is_refused():
    with pytest.raises(ScenarioError, match="no variant is called 'wider'"):
        sweep_of(values("loop.gap", "1 mm", "2 mm"), variant="wider")


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(ScenarioError, match="there is no such file"):
        read_sweep(tmp_path / "none.toml")


def test_a_comparison_reads_the_same_file():
    text = f"{BOARD}vary = [{values('loop.gap', '1 mm', '2 mm')}]"
    assert [variant.name for variant in parse_scenario(text).variants] == ["wide", "narrow"]


def test_the_built_in_sweep_is_read():
    sweep = parse_sweep(read_builtin_scenario("orchard-pump").text)
    assert sweep.size == 45
    assert [axis.key for axis in sweep.axes] == ["stackup.prepreg 7628.thickness", "loop.width"]


VICTIM = """
title = "heard"
stackup = "4L-7628"
planes.L2 = { tie = "none", width = "40 mm" }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "15 mm" }
victims.feedback = { layer = "L1", distance = "2 mm", width = "0.2 mm", reference = "L2", length = "15 mm" }
[pickup]
current = "1 A"
frequency = "400 kHz"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "73.2 kohm", lower = "10 kohm" }
[sweep]
"""


def test_a_variant_with_victims_can_be_swept():
    assert sweep_of(values("loop.gap", "1 mm", "1.5 mm"), variant="", text=VICTIM).size == 2


PLACED = (
    """
title = "placed"
stackup = "4L-7628"
planes.L2 = { tie = "none", width = "40 mm" }
switch = { package = "land-grid", copper_width = "1.6 mm", gap = "0.6 mm" }
placement = { kind = "same-side", distance = "0.6 mm" }

[[capacitor]]
case = "0603"
capacitance = "2.2 uF"
esr = "4 mohm"
esl = "0.35 nH"
"""
    + OPERATION
    + """

[budgets]
loop_inductance = "1 nH"

[sweep]
"""
)


def scenarios(*vary, text=PLACED):
    sweep = sweep_of(*vary, variant="", text=text)
    return [sweep_scenario(sweep, point) for point in sweep_points(sweep)]


def test_a_point_holds_the_placement_and_all_operating_tables():
    near, far = scenarios(values("placement.distance", "0.6 mm", "2 mm"))
    assert [each.variants[0].placed.placement.distance for each in (near, far)] == [0.6e-3, 2e-3]
    assert near.switching == far.switching
    assert near.emission.switching == near.switching


def test_a_point_of_a_placement_equals_the_variant_described_with_it():
    far = scenarios(values("placement.distance", "0.6 mm", "2 mm"))[1].variants[0]
    text = PLACED.replace("[sweep]", "").replace('distance = "0.6 mm"', 'distance = "2 mm"')
    (written,) = parse_scenario(text).variants
    assert (far.section, far.length) == (written.section, written.length)
    assert far.placed.placement == written.placed.placement


def test_the_operating_point_can_be_varied_and_is_followed():
    slow, fast = scenarios(values("switching.edge_time", "2 ns", "1 ns"))
    assert [each.emission.rise_time for each in (slow, fast)] == [2e-9, 1e-9]


def test_a_plain_number_is_varied_by_numbers():
    dry, wet = scenarios("{ key = 'stackup.prepreg 7628.relative_permittivity', values = [4.2, 4.6] }", text=VICTIM)
    assert [each.variants[0].stackups[0].layers[1].relative_permittivity for each in (dry, wet)] == [4.2, 4.6]


def test_a_plain_number_with_a_unit_is_refused():
    with pytest.raises(ScenarioError, match="it is a number without a unit"):
        scenarios(values("stackup.prepreg 7628.relative_permittivity", "4.2 mm", "4.6 mm"), text=VICTIM)


def test_figures_are_carried_along_unjudged():
    text = PLACED + 'figures = ["loop_inductance", "peak_voltage"]\n'
    assert sweep_of(values("loop.gap", "1 mm", "2 mm")).figures == ()
    assert sweep_of(values("placement.distance", "1 mm", "2 mm"), variant="", text=text).figures == (
        "loop_inductance",
        "peak_voltage",
    )


def test_a_point_keeps_the_budgets():
    near, _ = scenarios(values("placement.distance", "0.6 mm", "2 mm"))
    assert [(each.key, each.text) for each in near.budgets] == [("loop_inductance", "1 nH")]


def test_the_permittivity_of_a_board_without_victims_changes_nothing_that_is_computed():
    with pytest.raises(ScenarioError, match="relative_permittivity changes nothing"):
        sweep_of("{ key = 'stackup.prepreg 7628.relative_permittivity', values = [4.2, 4.6] }")
