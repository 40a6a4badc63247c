"""Every numeric key of every table can be found, replaced, and comes back changed in what is solved."""

import json

import pytest
from operating import EDGE

from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import builtin_scenario_names, builtin_text, describe, read_builtin_scenario
from geometries.quantities import Quantity
from geometries.study.build import build_scenario
from geometries.study.fingerprint import computed_from
from geometries.study.keys import KeyPath, find_key, numeric_keys, of_variant, value_at, with_values
from geometries.study.record import description_record

FULL = (
    """
title = "all tables"
stackup = "4L-7628"
planes.L2 = { tie = "both ends", width = "40 mm" }
planes.L3 = { tie = "none", overhang = "9 mm", slots = [{ position = "1 mm", width = "0.5 mm" }] }
copper = { conductivity = "57 MS/m", temperature = "40 degC" }

[analysis]
frequencies = { from = "10 kHz", to = "300 MHz", per_decade = 3 }
"""
    + EDGE
    + """
damping_resistance = "1 mohm"
voltage_rating = "60 V"
frequency = "1.2 MHz"
snubber = { capacitance = "470 pF", resistance = "2 ohm" }
tolerance = { edge_time = "20 %", output_capacitance = "10 %", resistance = "10 %", package_inductance = "20 %" }

[emission]
current = "4 A"
limits = ["CISPR 32 class B"]
upright_height = "0.2 mm"
upright_length = "1.6 mm"
cable = { length = "1 m", diameter = "5 mm" }
stray_capacitance = "0.1 pF"

[pickup]
current = "3 A"
reference_voltage = "0.8 V"
budget = "8 mV"
divider = { upper = "31.6 kohm", lower = "10 kohm", feed_forward = "22 pF", source_resistance = "1 ohm" }

[victims.feedback]
layer = "L1"
distance = "4 mm"
width = "0.2 mm"
length = "10 mm"
return_trace = { layer = "L1", distance = "5 mm", width = "0.2 mm" }

[switch_node]
layer = "L1"
distance = "8 mm"
width = "5 mm"
length = "6 mm"

[[variant]]
name = "placed"
placement = { kind = "same-side", distance = "0.6 mm", via_count = 3 }
[variant.switch]
package_inductance = "0.2 nH"
package_uncertainty = "0.05 nH"
copper_width = "1.6 mm"
gap = "0.6 mm"
part_width = "3 mm"

[[variant.capacitor]]
case = "0603"
capacitance = "2.2 uF"
esr = "4 mohm"
esl = "0.35 nH"

[[variant]]
name = "lean"
loop = { kind = "same-layer", width = "3 mm", return_width = "2 mm", gap = "1 mm", length = "8 mm", \
copper_thickness = "70 um", sidewall_angle = "5 deg" }
switched.loop = { current = "4 A", edge = "2 ns" }
switched.gate = { current = "1 A", edge = "4 ns", length = "5 mm", reference = "return", \
trace = { layer = "L1", distance = "1 mm", width = "0.3 mm" } }
[[variant.segment]]
name = "end"
loop.length = "1 mm"
"""
)

NOT_TAKEN = {
    "switch.part_width": "a width that only a mirrored pair is built from",
    "loop.height": "a height that only a wire has",
    "placement.via_count": "vias that need a plane tied at both ends, or more room",
    "loop.width": "a wire has none",
    "loop.wire": "a flat ring has none",
    "capacitor.0.count": "one that stands alone, or for both of a pair",
    'segment.0.planes."L2".width': "a plane that is absent there",
    "segment.0.loop.land": "lands lie at the ends of the whole loop",
    "switching.derating": "more than the whole rating",
    'stackups."4L-7628".layers.0.thickness': "a layer whose thickness the loop gives itself",
}
"""Keys that some kind of loop or placement does not take, so that a value is refused or changes nothing."""


def nudged(path: KeyPath, value: float) -> float:
    """A little larger, for counts one more, for the distance of published limits the other one."""
    if path.text == "emission.distance":
        return 10.0
    if path.quantity is Quantity.COUNT:
        return value + 1
    return value * (1 + 1e-3) if value else {Quantity.LENGTH: 1e-6, Quantity.ANGLE: 1.0}.get(path.quantity, 1e-13)


def described() -> list[tuple[str, str]]:
    texts = {**{name: builtin_text(name) for name in builtin_scenario_names()}, "all tables": FULL}
    return [
        pytest.param(text, variant.name, id=f"{name}, {variant.name}")
        for name, text in texts.items()
        for variant in describe(text).variant
    ]


@pytest.mark.parametrize(("text", "variant"), described())
def test_every_numeric_key_comes_back_changed(text: str, variant: str) -> None:
    alone = of_variant(describe(text), variant)
    nominal = build_scenario(alone)
    unchanged = []
    for found in numeric_keys(alone):
        path = find_key(alone, found.text)
        assert path.steps == found.steps
        before = value_at(alone, path.steps)
        try:
            changed = with_values(alone, {path: nudged(path, before)})
            scenario = build_scenario(changed)
        except GeometryError:
            assert found.text in NOT_TAKEN or found.text.endswith(".hole"), found
            continue
        assert value_at(changed, path.steps) == nudged(path, before)
        if scenario == nominal:
            unchanged.append(found.text)
    assert {key for key in unchanged if not key.endswith(".hole")} <= set(NOT_TAKEN)


def test_the_tables_hold_the_keys_that_a_user_would_vary() -> None:
    placed, lean = (
        {each.text for each in numeric_keys(of_variant(describe(FULL), name))} for name in ("placed", "lean")
    )
    assert {"placement.distance", "placement.via_count", "capacitor.0.esl", "switch.package_inductance"} <= placed
    assert {"loop.sidewall_angle", "loop.copper_thickness", 'planes."L3".slots.0.position'} <= lean
    assert {'switched."gate".trace.distance', 'victims."feedback".return_trace.width', "switch_node.length"} <= lean
    assert {"switching.snubber.capacitance", "switching.tolerance.edge_time", "emission.cable.length"} <= lean
    assert {"pickup.divider.feed_forward", "analysis.frequencies.per_decade", "analysis.heights_above.1"} <= lean
    assert {"copper.temperature", "segment.0.loop.length", 'stackups."4L-7628".layers.1.relative_permittivity'} <= lean


@pytest.mark.parametrize(
    ("key", "quantity"),
    [
        ("loop.gap", Quantity.LENGTH),
        ("stackup.prepreg 7628.relative_permittivity", Quantity.NUMBER),
        ("analysis.frequencies.from", Quantity.FREQUENCY),
        ("switched.gate.edge", Quantity.TIME),
        ("segment.end.loop.length", Quantity.LENGTH),
    ],
)
def test_a_key_measures_what_its_table_says(key: str, quantity: Quantity) -> None:
    assert find_key(describe(FULL), key, "lean").quantity is quantity


@pytest.mark.parametrize(
    ("key", "message"),
    [
        ("switching.edge_tim", "unknown key 'edge_tim' in 'switching.edge_tim'; did you mean 'edge_time'"),
        ("switchin.edge_time", "unknown key 'switchin' in 'switchin.edge_time'; did you mean 'switching'"),
        ("emission.site", "'emission.site' is not a value with a unit"),
        ("measurement.ring_frequency", "unknown key 'measurement'"),
        ("tolerance.samples", "unknown key 'tolerance'"),
        ("emission.as_written", "unknown key 'as_written'"),
    ],
)
def test_a_key_that_is_not_there_is_refused_with_the_nearest(key: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        find_key(describe(FULL), key, "lean")


def changed(text: str, **values: float):
    description = describe(text)
    return with_values(description, {find_key(description, key): value for key, value in values.items()})


def test_what_is_left_out_follows_the_switching_edge() -> None:
    described = changed(FULL, **{"switching.edge_time": 5e-9, "switching.input_voltage": 30.0})
    assert (described.emission.rise_time, described.emission.fall_time) == (5e-9, 5e-9)
    assert (described.pickup.voltage_fall_time, described.pickup.voltage) == (5e-9, 30.0)


def test_an_edge_over_its_inner_part_is_followed_in_full() -> None:
    text = FULL.replace('edge_time = "2 ns"', 'edge_time = "2 ns"\nedge_span = "10-90 %"')
    assert changed(text).emission.rise_time == pytest.approx(2.5e-9, rel=1e-12)
    assert changed(text, **{"switching.edge_time": 4e-9}).emission.rise_time == pytest.approx(5e-9, rel=1e-12)


def test_what_is_written_stays_where_it_is() -> None:
    text = FULL.replace('current = "4 A"\nlimits', 'current = "4 A"\nrise_time = "3 ns"\nlimits')
    described = changed(text, **{"switching.edge_time": 5e-9})
    assert (described.emission.rise_time, described.emission.fall_time) == (3e-9, 3e-9)


def test_a_fall_follows_the_rise_of_its_own_table() -> None:
    assert changed(FULL, **{"emission.rise_time": 7e-9}).emission.fall_time == 7e-9


def test_two_values_are_replaced_at_once() -> None:
    """Either of them alone would be refused: the edge would be longer than the period."""
    described = changed(FULL, **{"switching.frequency": 1e3, "switching.edge_time": 100e-6})
    assert described.switching.full_edge == 100e-6


def test_a_value_that_a_table_refuses_is_refused_with_its_reason() -> None:
    with pytest.raises(GeometryError, match="input_voltage is -1 V; it must be above zero"):
        changed(FULL, **{"switching.input_voltage": -1.0})


def test_a_count_stays_a_whole_number() -> None:
    path = find_key(describe(FULL), "placement.via_count")
    assert with_values(describe(FULL), {path: 4.0}).variant[0].placement.via_count == 4
    with pytest.raises(GeometryError, match=r"a count is 2\.5; it must be a whole number"):
        with_values(describe(FULL), {path: 2.5})


def test_a_typical_value_that_is_replaced_is_no_longer_assumed() -> None:
    assert describe(FULL).switching.assumed == ("package_inductance",)
    assert changed(FULL, **{"switching.package_inductance": 0.7e-9}).switching.assumed == ()


def test_titles_and_notes_are_not_computed_from() -> None:
    description = describe(FULL)
    other = describe(FULL.replace('"all tables"', '"renamed"'))
    assert computed_from(build_scenario(description)) == computed_from(build_scenario(other))


def test_what_is_computed_from_can_be_looked_up() -> None:
    fingerprint = computed_from(build_scenario(describe(FULL)))
    assert {fingerprint: 1}[computed_from(build_scenario(describe(FULL)))] == 1


def test_a_permittivity_counts_where_something_is_picked_up_alone() -> None:
    described = describe(FULL)
    wet = changed(FULL, **{"stackup.prepreg 7628.relative_permittivity": 4.8})
    same = [
        computed_from(build_scenario(of_variant(described, name)))
        == computed_from(build_scenario(of_variant(wet, name)))
        for name in ("placed", "lean")
    ]
    assert same == [False, False]
    quiet = read_builtin_scenario("greenhouse-vent").text
    wet = changed(quiet, **{"stackup.prepreg 7628.relative_permittivity": 4.8})
    assert computed_from(build_scenario(wet)) == computed_from(build_scenario(describe(quiet)))


def test_the_record_of_a_description_holds_its_inputs_in_an_order_that_stays() -> None:
    record = description_record(of_variant(describe(FULL), "lean"))
    assert record["variant"][0]["segment"][0]["loop"]["length"] == 1e-3
    assert "written" not in record["variant"][0]["segment"][0]
    assert json.loads(json.dumps(record)) == record
