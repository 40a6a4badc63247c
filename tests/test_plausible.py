import math
import re

import pytest

from geometries.errors import GeometryError
from geometries.files.stackups import named_stackup, stackup_names
from geometries.plausible import BY_QUANTITY, Plausible, judge
from geometries.quantities import UNITS, Quantity, read_quantity

USUAL = [
    # typical values of converters and boards, each from common practice
    ("copper_thickness", Quantity.COPPER_THICKNESS, 35e-6),
    ("copper_thickness", Quantity.COPPER_THICKNESS, 0.4e-3),
    ("thickness", Quantity.COPPER_THICKNESS, 0.065e-3),
    ("thickness", Quantity.COPPER_THICKNESS, 1.53e-3),
    ("relative_permittivity", Quantity.NUMBER, 4.4),
    ("width", Quantity.LENGTH, 3e-3),
    ("gap", Quantity.LENGTH, 0.1e-3),
    ("rise_time", Quantity.TIME, 0.3e-9),
    ("edge_time", Quantity.TIME, 5e-9),
    ("input_voltage", Quantity.VOLTAGE, 12.0),
    ("current", Quantity.CURRENT, 20.0),
    ("frequency", Quantity.FREQUENCY, 400e3),
    ("output_capacitance", Quantity.CAPACITANCE, 300e-12),
    ("pin_capacitance", Quantity.CAPACITANCE, 5e-12),
    ("upper", Quantity.RESISTANCE, 100e3),
    ("switch_resistance", Quantity.RESISTANCE, 0.3),
    ("esl", Quantity.INDUCTANCE, 0.3e-9),
    ("temperature", Quantity.TEMPERATURE, -40.0),
    ("conductivity", Quantity.CONDUCTIVITY, 58e6),
    ("left", Quantity.LENGTH, -2e-3),
    ("distance", Quantity.LENGTH, -12e-3),
    ("duty", Quantity.FRACTION, 0.4),
    ("hole", Quantity.LENGTH, 0.0),
]

WARNED = [
    ("rise_time", Quantity.TIME, 15e-9),
    ("edge_time", Quantity.TIME, 15e-9),
    ("lower", Quantity.RESISTANCE, 5e6),
    ("switch_resistance", Quantity.RESISTANCE, 300.0),
    ("copper_thickness", Quantity.COPPER_THICKNESS, 2.5e-3),
    ("thickness", Quantity.COPPER_THICKNESS, 8e-3),
    ("relative_permittivity", Quantity.NUMBER, 44.0),
    ("width", Quantity.LENGTH, 5e-6),
    ("length", Quantity.LENGTH, 8.0),
    ("input_voltage", Quantity.VOLTAGE, 0.012),
    ("current", Quantity.CURRENT, 400.0),
    ("frequency", Quantity.FREQUENCY, 400.0),
    ("output_capacitance", Quantity.CAPACITANCE, 300e-9),
    ("esl", Quantity.INDUCTANCE, 300e-9),
    ("temperature", Quantity.TEMPERATURE, 250.0),
    ("conductivity", Quantity.CONDUCTIVITY, 580e6),
    ("left", Quantity.LENGTH, -2.0),
    ("overshoot", Quantity.FRACTION, 3.16),
]

REFUSED = [
    ("copper_thickness", Quantity.COPPER_THICKNESS, 2.5),
    ("thickness", Quantity.COPPER_THICKNESS, 2.5),
    ("relative_permittivity", Quantity.NUMBER, 1e12),
    ("relative_permittivity", Quantity.NUMBER, math.inf),
    ("relative_permittivity", Quantity.NUMBER, math.nan),
    ("relative_permittivity", Quantity.NUMBER, 0.44),
    ("relative_permittivity", Quantity.NUMBER, -4.4),
    ("width", Quantity.LENGTH, -3e-3),
    ("gap", Quantity.LENGTH, 0.1e-9),
    ("width", Quantity.LENGTH, 1e-13),
    ("left", Quantity.LENGTH, -500.0),
    ("switch_resistance", Quantity.RESISTANCE, 5e9),
    ("rise_time", Quantity.TIME, 1.5),
    ("rise_time", Quantity.TIME, -1e-9),
    ("output_capacitance", Quantity.CAPACITANCE, 300.0),
    ("input_voltage", Quantity.VOLTAGE, -12.0),
    ("temperature", Quantity.TEMPERATURE, 5000.0),
    ("duty", Quantity.FRACTION, 10.0),
]


@pytest.mark.parametrize(("key", "quantity", "value"), USUAL)
def test_a_usual_value_is_accepted_without_a_word(key, quantity, value):
    assert judge(key, quantity, value) is None


@pytest.mark.parametrize(("key", "quantity", "value"), WARNED)
def test_an_unusual_value_is_warned_of_with_key_value_and_range(key, quantity, value):
    assert re.fullmatch(
        rf"{key} is \S.*; it usually lies (between .* and|up to) .* \(common practice\): .*",
        judge(key, quantity, value),
    )


@pytest.mark.parametrize(("key", "quantity", "value"), REFUSED)
def test_a_value_far_outside_is_refused_with_its_key(key, quantity, value):
    with pytest.raises(GeometryError, match=f"^{key} is "):
        judge(key, quantity, value)


def test_nothing_is_said_of_a_bare_number_of_an_unknown_key():
    assert judge("seed", Quantity.NUMBER, 1e30) is None


@pytest.mark.parametrize("quantity", list(UNITS))
def test_every_kind_of_quantity_has_a_range(quantity):
    assert quantity in BY_QUANTITY


@pytest.mark.parametrize("quantity", list(UNITS))
def test_the_example_of_every_kind_is_usual(quantity):
    assert judge("value", quantity, read_quantity(quantity.example, quantity)) is None


@pytest.mark.parametrize("name", stackup_names())
def test_every_layer_of_a_named_board_is_usual(name):
    for layer in named_stackup(name).layers:
        assert judge("thickness", Quantity.COPPER_THICKNESS, layer.thickness) is None


def test_a_range_outside_its_bounds_is_refused():
    with pytest.raises(GeometryError, match="does not lie within the bounds"):
        Plausible(low=1.0, high=2.0, least=1.5, most=3.0)
