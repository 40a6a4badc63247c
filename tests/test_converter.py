"""The operating point is written once, and every analysis takes it from there or agrees with it."""

import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import builtin_text, describe, parse_scenario
from geometries.operation.converter import Converter
from geometries.operation.switching import Switching
from geometries.quantities import Quantity
from geometries.study.keys import find_key, of_variant, with_values

PUMP = builtin_text("orchard-pump")
CONVERTER = """
[converter]
input_voltage = "48 V"
output_voltage = "12 V"
load_current = "6 A"
ripple = "40 %"
frequency = "600 kHz"
current_rise_time = "2 ns"
current_fall_time = "4 ns"
voltage_rise_time = "3 ns"
voltage_fall_time = "5 ns"
"""
WITHOUT = "\n".join(
    line for line in PUMP.splitlines() if line.split(" =")[0] not in ("input_voltage", "edge_time", "frequency")
)
EMISSION = '\n[emission]\nlimits = ["CISPR 32 class B"]\ncable = { length = "1 m" }\n'


def test_the_edge_takes_what_it_lacks_from_the_operating_point():
    switching = describe(WITHOUT + CONVERTER).switching
    assert (switching.input_voltage, switching.edge_time, switching.frequency) == (48.0, 3e-9, 600e3)


def test_the_emission_takes_current_duty_and_edges_from_the_operating_point():
    emission = describe(WITHOUT + CONVERTER + EMISSION).emission
    # 6 A and half of a ripple of 40 %; 12 V of 48 V
    assert (emission.current, emission.duty) == (pytest.approx(7.2, rel=1e-12), 0.25)
    assert (emission.rise_time, emission.fall_time, emission.frequency) == (2e-9, 4e-9, 600e3)


def test_an_edge_over_the_inner_part_is_carried_over_whole():
    text = WITHOUT + CONVERTER + 'edge_span = "10-90 %"\n'
    assert describe(text).switching.full_edge == pytest.approx(3.75e-9, rel=1e-12)


def test_a_span_of_the_edge_table_itself_counts_the_same_edge():
    switching = describe(WITHOUT.replace("[switching]", '[switching]\nedge_span = "10-90 %"') + CONVERTER).switching
    assert switching.full_edge == pytest.approx(3e-9, rel=1e-12)


def test_what_agrees_may_stand_twice():
    assert parse_scenario(PUMP + CONVERTER).asked(Switching).input_voltage == 48.0


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ('input_voltage = "48 V"', 'input_voltage = "24 V"', r"input_voltage is 24 V, and \[converter\] says 48 V"),
        ('edge_time = "3 ns"', 'edge_time = "2 ns"', r"edge_time is 2 ns, and \[converter\] says 3 ns"),
    ],
)
def test_a_table_that_contradicts_the_operating_point_is_refused(old, new, reason):
    with pytest.raises(ScenarioError, match=f"switching: {reason}; leave it out here"):
        parse_scenario(PUMP.replace(old, new, 1) + CONVERTER)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('ripple = "300 %"', "ripple is 3; it lies between 0 and 200 %"),
        ('duty = "100 %"', "duty is 1; it lies above 0"),
        ('load_current = "0 A"', "load_current is 0 A; it must be above zero"),
        ('frequency = "1,2 MHz"', "holds a comma"),
    ],
)
def test_an_impossible_operating_point_is_refused(line, reason):
    key = line.split(" =")[0]
    kept = "\n".join(each for each in CONVERTER.splitlines() if each.split(" =")[0] != key)
    with pytest.raises(ScenarioError, match=reason):
        parse_scenario(f"{WITHOUT}{kept}\n{line}\n")


def test_a_step_up_converter_states_its_duty():
    assert Converter(input_voltage=12.0, output_voltage=24.0).duty_cycle is None
    assert Converter(input_voltage=12.0, output_voltage=24.0, duty=0.55).duty_cycle == 0.55


def test_a_varied_operating_point_varies_what_follows_it():
    description = describe(WITHOUT + CONVERTER + EMISSION)
    path = find_key(description, "converter.load_current")
    assert path.quantity is Quantity.CURRENT
    assert with_values(description, {path: 10.0}).emission.current == pytest.approx(12.0, rel=1e-12)


SWITCHED = """
[switched.loop]
[switched.gate]
current = "1 A"
edge = "4 ns"
length = "5 mm"
trace = { layer = "L1", distance = "1 mm", width = "0.2 mm" }
return_trace = { layer = "L1", distance = "2 mm", width = "0.2 mm" }
"""


def main_loops(description):
    return [(each.switched["loop"].current, each.switched["loop"].edge) for each in description.variant]


def test_the_main_switched_loop_takes_current_and_shorter_edge_from_the_operating_point():
    # 6 A and half of a ripple of 40 %; 2 ns up, 4 ns down
    assert main_loops(describe(WITHOUT + CONVERTER + SWITCHED)) == [(pytest.approx(7.2, rel=1e-12), 2e-9)] * 2


def test_a_varied_operating_point_varies_the_main_switched_loop_of_a_later_variant_too():
    description = describe(WITHOUT + CONVERTER + SWITCHED)
    alone = of_variant(description, description.variant[-1].name)
    varied = with_values(alone, {find_key(alone, "converter.load_current"): 10.0})
    assert main_loops(varied) == [(pytest.approx(12.0, rel=1e-12), 2e-9)]


@pytest.mark.parametrize(
    ("line", "reason"),
    [('current = "7 A"', "current is 7 A, and .* says 7.2 A"), ('edge = "4 ns"', "edge is 4 ns, and .* says 2 ns")],
)
def test_a_main_switched_loop_that_contradicts_the_operating_point_is_refused(line, reason):
    text = SWITCHED.replace("[switched.loop]", f"[switched.loop]\n{line}")
    with pytest.raises(ScenarioError, match=rf"switched\.loop: {reason}; leave it out here"):
        parse_scenario(WITHOUT + CONVERTER + text)


def test_what_a_wrong_operating_point_would_give_is_not_missed_as_well():
    with pytest.raises(ScenarioError) as refused:
        parse_scenario(WITHOUT + CONVERTER.replace('"6 A"', '"6,0 A"') + SWITCHED)
    assert "switched" not in str(refused.value)
