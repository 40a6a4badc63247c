"""The [tolerance] table, and what it does to a variant."""

import pytest
from operating import EDGE

from geometries.errors import ScenarioError
from geometries.files.tolerance_reading import parse_tolerance
from geometries.quantities import MM, UM
from geometries.study.tolerance import tolerance_scenario

TEXT = """
title = "tolerances"
stackup = "4L-7628"

[loop]
kind = "same-layer"
width = "3 mm"
gap = "1 mm"
length = "8 mm"

[tolerance]
prepreg = "10 %"
width = "5 %"
etch = "20 um"
gap = "0.1 mm"
copper = "20 %"
permittivity = "7 %"
temperature = "40 K"
samples = 100

[[variant]]
name = "floating"
planes.L2 = { tie = "none", width = "40 mm" }

[[variant]]
name = "narrow"
loop.width = "2 mm"
planes.L2 = { tie = "none", width = "40 mm" }
"""
NOMINAL = {
    "prepreg": 0.0,
    "width": 0.0,
    "etch": 0.0,
    "gap": 0.0,
    "copper": 0.0,
    "permittivity": 0.0,
    "temperature": 0.0,
}


def moved(name: str = "floating", text: str = TEXT, **offsets: float):
    tolerance = parse_tolerance(text)
    (variant,) = tolerance_scenario(tolerance, name, tuple({**NOMINAL, **offsets}.values())).variants
    return variant


def bounds(variant, name: str) -> tuple[float, float, float, float]:
    return variant.section.region(name).outline.bounds


def test_nothing_moved_is_the_variant_as_it_is() -> None:
    tolerance = parse_tolerance(TEXT)
    assert moved().section.regions == tolerance.scenario.variants[0].section.regions


def test_prepreg_moves_the_plane() -> None:
    assert bounds(moved(prepreg=1.0), "L2")[3] == pytest.approx(-0.22 * MM, rel=1e-12, abs=0)


def test_width_moves_both_conductors_by_its_part() -> None:
    left, _, right, _ = bounds(moved(width=-1.0), "go")
    assert right - left == pytest.approx(2.85 * MM, rel=1e-12, abs=0)
    left, _, right, _ = bounds(moved(width=-1.0), "return")
    assert right - left == pytest.approx(2.85 * MM, rel=1e-12, abs=0)


def test_etching_moves_every_edge_and_keeps_the_middle_lines() -> None:
    nominal, etched = moved(), moved(etch=1.0)
    for name in ("go", "return"):
        left, _, right, _ = bounds(etched, name)
        old_left, _, old_right, _ = bounds(nominal, name)
        assert (left - old_left, right - old_right) == pytest.approx((-20 * UM, 20 * UM), rel=1e-9, abs=0)


def test_gap_moves_by_its_size() -> None:
    variant = moved(gap=1.0)
    assert bounds(variant, "return")[0] - bounds(variant, "go")[2] == pytest.approx(1.1 * MM, rel=1e-12, abs=0)


def test_copper_moves_all_copper() -> None:
    variant = moved(copper=-1.0)
    assert bounds(variant, "go")[3] - bounds(variant, "go")[1] == pytest.approx(0.8 * 35 * UM, rel=1e-9, abs=0)


def test_temperature_moves_the_conductivity() -> None:
    assert moved(temperature=1.0).section.region("go").material.name == "copper at 60 °C"


def test_permittivity_moves_the_dielectrics_alone() -> None:
    variant = moved(permittivity=1.0)
    assert variant.section.regions == moved().section.regions
    assert variant.section.bands[0].relative_permittivity == pytest.approx(
        1.07 * moved().section.bands[0].relative_permittivity
    )


def test_a_value_of_the_variant_itself_is_the_one_that_moves() -> None:
    left, _, right, _ = bounds(moved("narrow", width=1.0), "go")
    assert right - left == pytest.approx(2.1 * MM, rel=1e-12, abs=0)


def test_one_variant_can_be_asked_for() -> None:
    assert parse_tolerance(TEXT, variant="narrow").variants == ("narrow",)


def test_named_variants_are_looked_at_alone() -> None:
    text = TEXT.replace("samples = 100", 'variants = ["narrow"]')
    assert parse_tolerance(text).variants == ("narrow",)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('prepreg = "10 %"', "prepreg = 0.1", "prepreg is 0.1, a bare value without a unit"),
        ('prepreg = "10 %"', 'prepreg = "120 %"', "prepreg is ±120 %"),
        ('prepreg = "10 %"', 'prepeg = "10 %"', "unknown key 'prepeg'; did you mean 'prepreg'"),
        (
            'etch = "20 um"',
            'etch = "2 %"',
            'etch is given as a part of something; give its size, for example etch = "20 um"',
        ),
        ('temperature = "40 K"', 'temperature = "10 %"', "temperature is given as a part of something"),
        ('permittivity = "7 %"', 'permittivity = "0.2 mm"', "not a fraction"),
        ("samples = 100", "samples = 3", "samples: Input should be greater than or equal to 10"),
        ("samples = 100", 'variants = ["wide"]', "no variant is called 'wide'"),
        ("samples = 100", 'variants = ["narrow", "narrow"]', "a variant is named twice"),
        ('gap = "0.1 mm"', 'gap = "1.2 mm"', r"gap at -1, .* of its tolerance: gap is -0"),
    ],
)
def test_a_bad_table_says_what_and_where(old: str, new: str, message: str) -> None:
    assert old in TEXT
    with pytest.raises(ScenarioError, match=message):
        parse_tolerance(TEXT.replace(old, new))


def test_a_table_without_tolerances_is_refused() -> None:
    head, tail = TEXT.split("[tolerance]")
    with pytest.raises(ScenarioError, match="nothing varies"):
        parse_tolerance(head + "[tolerance]\nsamples = 10\n[[variant]]" + tail.split("[[variant]]", 1)[1])


def test_a_file_without_the_table_is_refused_with_an_example() -> None:
    head, tail = TEXT.split("[tolerance]")
    with pytest.raises(ScenarioError, match=r"there is no \[tolerance\] table; add one, for example"):
        parse_tolerance(head + "[[variant]]" + tail.split("[[variant]]", 1)[1])


def test_a_written_out_section_is_refused() -> None:
    text = """
title = "x"
length = "8 mm"
region = [
  { name = "go", role = "go", shape = "circle", centre = ["0 mm", "0 mm"], radius = "0.1 mm" },
  { name = "return", role = "return", shape = "circle", centre = ["1 mm", "0 mm"], radius = "0.1 mm" },
]
[tolerance]
width = "10 %"
"""
    with pytest.raises(
        ScenarioError, match=r"user-defined, region by region; tolerances move the values of a \[loop\]"
    ):
        parse_tolerance(text)


HEARD = """
[victims.feedback]
layer = "L1"
distance = "2 mm"
width = "0.2 mm"
reference = "L2"
length = "15 mm"

[pickup]
current = "1 A"
frequency = "400 kHz"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "73.2 kohm", lower = "10 kohm" }

[tolerance]
"""


def test_what_a_victim_hears_moves_with_the_permittivity() -> None:
    text = TEXT.replace("[tolerance]\n", HEARD)
    nominal, moist = moved(text=text), moved(text=text, permittivity=1.0)
    assert nominal.pickup is not None
    assert nominal.pickup != moist.pickup
    assert nominal.section.regions == moist.section.regions


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
    + EDGE
    + """
[tolerance]
"""
)


def placed(table: str, *offsets: float):
    return tolerance_scenario(parse_tolerance(PLACED + table), "placed", offsets)


def test_a_placement_moves_with_the_board() -> None:
    (variant,) = placed('prepreg = "10 %"', 1.0).variants
    assert variant.placed.site.stackup.layers[1].thickness == pytest.approx(0.22 * MM, rel=1e-12, abs=0)


def test_width_and_gap_are_those_at_the_pins_of_a_placement() -> None:
    placement = placed('width = "5 %"\ngap = "0.1 mm"', 1.0, -1.0).variants[0].placed.placement
    assert (placement.copper_width, placement.gap) == pytest.approx((1.68 * MM, 0.5 * MM), rel=1e-12, abs=0)


def test_etching_moves_the_edges_at_the_pins_of_a_placement() -> None:
    placement = placed('etch = "20 um"', 1.0).variants[0].placed.placement
    assert (placement.copper_width, placement.gap) == pytest.approx((1.64 * MM, 0.56 * MM), rel=1e-12, abs=0)


def test_any_key_can_have_a_tolerance_of_its_own() -> None:
    keys = '[tolerance.keys]\n"switching.output_capacitance" = "20 %"\n"placement.distance" = "0.2 mm"\n'
    scenario = placed(keys, 1.0, -1.0)
    assert scenario.switching.output_capacitance == pytest.approx(360e-12, rel=1e-12, abs=0)
    assert scenario.variants[0].placed.placement.distance == pytest.approx(0.4 * MM, rel=1e-12, abs=0)


def test_the_spread_of_a_key_is_told_by_its_key() -> None:
    tolerance = parse_tolerance(PLACED + 'prepreg = "10 %"\nkeys = { "placement.distance" = "0.2 mm" }')
    assert [str(each) for each in tolerance.spreads] == ["prepreg ±10 %", "placement.distance ±0.2 mm"]
    assert [each.meaning for each in tolerance.spreads] == [
        "thickness of all dielectrics",
        "value of placement.distance",
    ]


def test_a_temperature_may_spread_by_kelvins() -> None:
    scenario = placed('[tolerance.keys]\n"copper.temperature" = "40 K"\n', 1.0)
    assert scenario.variants[0].section.region("go").material.name == "copper at 60 °C"


def test_figures_are_carried_along_unjudged() -> None:
    assert parse_tolerance(PLACED + 'prepreg = "10 %"\nfigures = ["peak_voltage"]').figures == ("peak_voltage",)


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ('[tolerance.keys]\n"placement.distanse" = "1 mm"', "unknown key 'distanse'.*did you mean 'distance'"),
        ('[tolerance.keys]\n"placement.distance" = "1 V"', 'placement.distance = "1 V" is not a length'),
        ('[tolerance.keys]\n"placement.distance" = 0.1', "placement.distance is 0.1, a bare value without a unit"),
        (
            '[tolerance.keys]\n"placement.distance" = "1 mm"',
            "distance at -1 of its tolerance: .*distance of",
        ),
        ('[tolerance.keys]\n"switch.part_width" = "0.1 mm"', "switch.part_width changes nothing that is computed"),
        ('[tolerance.keys]\n"placement.via_count" = "10 %"', "placement.via_count changes nothing"),
    ],
)
def test_a_bad_key_says_what_and_where(table: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        parse_tolerance(PLACED.replace("gap =", 'part_width = "3 mm", gap =') + table)
