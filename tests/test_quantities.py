import pytest

from geometries.errors import GeometryError
from geometries.quantities import UNITS, Quantity, read_number, read_quantity, write_quantity


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("0.2 mm", Quantity.LENGTH, 0.2e-3),
        ("35 um", Quantity.COPPER_THICKNESS, 35e-6),
        ("35 µm", Quantity.COPPER_THICKNESS, 35e-6),
        ("8 mil", Quantity.LENGTH, 8 * 25.4e-6),
        ("0.1 inch", Quantity.LENGTH, 2.54e-3),
        ("2 oz", Quantity.COPPER_THICKNESS, 69.6e-6),
        ("24 V", Quantity.VOLTAGE, 24.0),
        ("1.2 MHz", Quantity.FREQUENCY, 1.2e6),
        ("2 ns", Quantity.TIME, 2e-9),
        ("85 degC", Quantity.TEMPERATURE, 85.0),
        ("0.1 %", Quantity.FRACTION, 1e-3),
        ("12 deg", Quantity.ANGLE, 12.0),
        ("58 MS/m", Quantity.CONDUCTIVITY, 58e6),
        ("-0.5 mm", Quantity.LENGTH, -0.5e-3),
        ("0 mm", Quantity.LENGTH, 0.0),
    ],
)
def test_a_quantity_with_its_unit_is_read(text, quantity, value):
    assert read_quantity(text, quantity) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "quantity", "text"),
    [
        (100e6, Quantity.FREQUENCY, "100 MHz"),
        (999.9996e6, Quantity.FREQUENCY, "1 GHz"),
        (31.6e3, Quantity.RESISTANCE, "31.6 kΩ"),
        (0.2e-9, Quantity.TIME, "200 ps"),
        (0.2e-3, Quantity.LENGTH, "0.2 mm"),
        (35e-6, Quantity.COPPER_THICKNESS, "35 µm"),
        (3.0, Quantity.LENGTH, "3 m"),
        (0.0, Quantity.LENGTH, "0 mm"),
        (0.0, Quantity.RESISTANCE, "0 Ω"),
        (0.0, Quantity.FRACTION, "0 %"),
        (-40.0, Quantity.TEMPERATURE, "−40 °C"),
    ],
)
def test_a_value_is_written_in_the_unit_that_leaves_one_to_three_digits_before_the_point(value, quantity, text):
    assert write_quantity(value, quantity) == text


@pytest.mark.parametrize("quantity", [each for each in Quantity if each.unit and UNITS.get(each)])
@pytest.mark.parametrize("value", [0.0, 1.0, 2.5e-3, 7.5e-5])
def test_what_is_written_is_read_again(quantity, value):
    assert read_quantity(write_quantity(value, quantity), quantity) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("value", [0.2, 3, True, None, ["1 mm"]])
def test_a_bare_value_is_refused_with_key_and_example(value):
    with pytest.raises(GeometryError, match=r'gap .*without a unit.*for example gap = "0.2 mm"'):
        read_quantity(value, Quantity.LENGTH, "gap")


def test_text_without_unit_is_refused():
    with pytest.raises(GeometryError, match=r'gap = "0.2" has no unit'):
        read_quantity("0.2", Quantity.LENGTH, "gap")


def test_a_wrong_dimension_is_refused():
    with pytest.raises(GeometryError, match=r'gap = "0.2 V" is not a length'):
        read_quantity("0.2 V", Quantity.LENGTH, "gap")


@pytest.mark.parametrize("text", ["wide", "0.2 furlongz", "", "2 mm mm mm(", "1 mm; 2 mm", "nan mm", "inf mm"])
def test_nonsense_is_refused_with_the_key(text):
    with pytest.raises(GeometryError, match="gap = "):
        read_quantity(text, Quantity.LENGTH, "gap")


def test_an_ounce_is_copper_only_where_copper_is_meant():
    with pytest.raises(GeometryError, match="not a length"):
        read_quantity("1 oz", Quantity.LENGTH, "gap")


@pytest.mark.parametrize("value", ["4.4", True, float("nan"), float("inf"), None])
def test_what_is_no_plain_number_is_refused(value):
    with pytest.raises(GeometryError, match="it is a number without a unit"):
        read_number(value, "relative_permittivity")
