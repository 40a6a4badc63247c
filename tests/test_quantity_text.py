"""Texts that people and other programs write where a quantity is meant: each is read right or refused."""

import pytest

from geometries.errors import GeometryError
from geometries.quantities import UNITS, Quantity, read_quantity

LENGTH, TIME = Quantity.LENGTH, Quantity.TIME

READ = [
    ("1.5 ns", TIME, 1.5e-9),
    ("1.5ns", TIME, 1.5e-9),
    ("  1.5 ns  ", TIME, 1.5e-9),
    ("1.5   ns", TIME, 1.5e-9),
    ("1.5\N{NO-BREAK SPACE}ns", TIME, 1.5e-9),
    ("1.5\N{NARROW NO-BREAK SPACE}ns", TIME, 1.5e-9),
    ("+1.5 ns", TIME, 1.5e-9),
    (".5 ns", TIME, 0.5e-9),
    ("5. ns", TIME, 5e-9),
    ("1e3 ps", TIME, 1e-9),
    ("1E+3 ps", TIME, 1e-9),
    ("1500e\N{MINUS SIGN}3 ns", TIME, 1.5e-9),
    ("15e-10 s", TIME, 1.5e-9),
    ("-5 mm", LENGTH, -5e-3),
    ("\N{MINUS SIGN}5 mm", LENGTH, -5e-3),
    ("-0 mm", LENGTH, 0.0),
    ("35 \N{MICRO SIGN}m", LENGTH, 35e-6),
    ("35 \N{GREEK SMALL LETTER MU}m", LENGTH, 35e-6),
    ("8mil", LENGTH, 203.2e-6),
    ("8 thou", LENGTH, 203.2e-6),
    ("0.1 in", LENGTH, 2.54e-3),
    ("1oz", Quantity.COPPER_THICKNESS, 34.8e-6),
    ("1 oz", Quantity.COPPER_THICKNESS, 34.8e-6),
    ("0.5 ounce", Quantity.COPPER_THICKNESS, 17.4e-6),
    ("4.7 k\N{GREEK CAPITAL LETTER OMEGA}", Quantity.RESISTANCE, 4700.0),
    ("4.7 k\N{OHM SIGN}", Quantity.RESISTANCE, 4700.0),
    ("5 mohm", Quantity.RESISTANCE, 5e-3),
    ("5 Mohm", Quantity.RESISTANCE, 5e6),
    ("12\N{DEGREE SIGN}", Quantity.ANGLE, 12.0),
    ("85 \N{DEGREE SIGN}C", Quantity.TEMPERATURE, 85.0),
    ("-40 degC", Quantity.TEMPERATURE, -40.0),
    ("40 K", Quantity.TEMPERATURE_DIFFERENCE, 40.0),
    ("10%", Quantity.FRACTION, 0.1),
    ("500 ppm", Quantity.FRACTION, 5e-4),
    ("58 MS/m", Quantity.CONDUCTIVITY, 58e6),
    ("0." + "0" * 50 + "1 mm", LENGTH, 1e-54),
]

REFUSED = [
    ("1,5 ns", TIME, "comma; write a decimal point"),
    ("0,3 ohm", Quantity.RESISTANCE, "comma; write a decimal point"),
    (",5 mm", LENGTH, "comma; write a decimal point"),
    ("1,500 mm", LENGTH, "comma; write a decimal point, and no thousands signs"),
    ("1,500,000 Hz", Quantity.FREQUENCY, "thousands signs"),
    ("1.500.000 Hz", Quantity.FREQUENCY, "thousands signs"),
    ("1'500 Hz", Quantity.FREQUENCY, "thousands signs"),
    ("1\N{RIGHT SINGLE QUOTATION MARK}500 Hz", Quantity.FREQUENCY, "thousands signs"),
    ("1_500 Hz", Quantity.FREQUENCY, "thousands signs"),
    ("1 500 Hz", Quantity.FREQUENCY, "thousands signs"),
    ("1\N{NO-BREAK SPACE}500 Hz", Quantity.FREQUENCY, "thousands signs"),
    ("8 \N{PLUS-MINUS SIGN} 3 mm", LENGTH, "tolerance"),
    ("8 +/- 3 mm", LENGTH, "tolerance"),
    ("8 mm +- 10 %", LENGTH, "tolerance"),
    ("1-2 mm", LENGTH, "is a range"),
    ("1 - 2 mm", LENGTH, "is a range"),
    ("1 mm - 2 mm", LENGTH, "is a range"),
    ("1\N{EN DASH}2 mm", LENGTH, "is a range"),
    ("1 to 2 mm", LENGTH, "is a range"),
    ("1 mm to 2 mm", LENGTH, "is a range"),
    ("1..2 mm", LENGTH, "is a range"),
    ("1 \N{HORIZONTAL ELLIPSIS} 2 mm", LENGTH, "is a range"),
    ("1 1/2 inch", LENGTH, "is an expression"),
    ("1/2 inch", LENGTH, "is an expression"),
    ("1/0 mm", LENGTH, "is an expression"),
    ("9**9**9 mm", LENGTH, "is an expression"),
    ("9^9 mm", LENGTH, "is an expression"),
    ("2 * 3 mm", LENGTH, "is an expression"),
    ("2 x 3 mm", LENGTH, "is an expression"),
    ("2 \N{MULTIPLICATION SIGN} 3 mm", LENGTH, "is an expression"),
    ("1 + 2 mm", LENGTH, "is an expression"),
    ("(1) mm", LENGTH, "is an expression"),
    ("sqrt(2) mm", LENGTH, "is an expression"),
    ("__import__('os') mm", LENGTH, "is an expression"),
    ("1.5e-3(2) mm", LENGTH, "is an expression"),
    ("2 3 mm", LENGTH, "is an expression"),
    ("5 mm\N{SUPERSCRIPT TWO}", LENGTH, "is not a length"),
    ("10", Quantity.FRACTION, "has no unit"),
    ("0.2", LENGTH, "has no unit"),
    ("1e3", LENGTH, "has no unit"),
    ("mm", LENGTH, "holds no number"),
    ("", LENGTH, "holds no number"),
    ("-", LENGTH, "holds no number"),
    ("wide", LENGTH, "holds no number"),
    (". mm", LENGTH, "holds no number"),
    ("about 5 mm", LENGTH, "does not begin with a number"),
    ("~5 mm", LENGTH, "does not begin with a number"),
    ("< 5 mm", LENGTH, "does not begin with a number"),
    ("--5 mm", LENGTH, "does not begin with a number"),
    ("$5 mm", LENGTH, "does not begin with a number"),
    ("mm 5", LENGTH, "does not begin with a number"),
    ("100 rad/s", Quantity.FREQUENCY, "unknown unit"),
    ("5 dB", Quantity.FRACTION, "is not a fraction"),
    ("0.2 V", LENGTH, "is not a length"),
    ("40 degC", Quantity.TEMPERATURE_DIFFERENCE, "differences of temperature are written in K"),
    ("300 K", Quantity.TEMPERATURE, "temperatures are written in degC"),
    ("1 oz", LENGTH, "is not a length"),
    ("1 mHz", Quantity.FREQUENCY, "did you mean 'MHz'"),
    ("5 MM", LENGTH, "did you mean 'mm'"),
    ("5 NS", TIME, "did you mean 'ns'"),
    ("5 mv", Quantity.VOLTAGE, "did you mean 'mV'"),
    ("5 metres", LENGTH, "unknown unit"),
    ("5 mm mm", LENGTH, "unknown unit"),
    ("5 mm; 3 mm", LENGTH, "unknown unit"),
    ("5 mm 3", LENGTH, "unknown unit"),
    ("5 mm # wide", LENGTH, "unknown unit"),
    ("5 k mm", LENGTH, "unknown unit"),
    ("5.5.5 mm", LENGTH, "unknown unit"),
    ("0x10 mm", LENGTH, "is an expression"),
    ("4k7 ohm", Quantity.RESISTANCE, "unknown unit"),
    ("1e mm", LENGTH, "unknown unit"),
    ("1 e3 mm", LENGTH, "unknown unit"),
    ("5\N{PRIME} mm", LENGTH, "unknown unit"),
    ("\N{FULLWIDTH DIGIT FIVE} mm", LENGTH, "holds no number"),
    ("\N{ARABIC-INDIC DIGIT FIVE} mm", LENGTH, "holds no number"),
    ("1\N{FULLWIDTH DIGIT FIVE} mm", LENGTH, "unknown unit"),
    ("nan mm", LENGTH, "is not a finite number"),
    ("inf mm", LENGTH, "is not a finite number"),
    ("-Infinity mm", LENGTH, "is not a finite number"),
    ("1e999 mm", LENGTH, "exponent of more than two digits"),
    ("1e-400 mm", LENGTH, "exponent of more than two digits"),
    ("1e999999999999 mm", LENGTH, "exponent of more than two digits"),
    ("5\0 mm", LENGTH, "control character"),
    ("5 mm\0", LENGTH, "control character"),
    ("5 mm\n", LENGTH, "control character"),
    ("5\tmm", LENGTH, "control character"),
    ("\x1b[31m5 mm", LENGTH, "control character"),
    ("5 \N{RIGHT-TO-LEFT OVERRIDE}mm", LENGTH, "control character"),
    ("5\N{ZERO WIDTH SPACE} mm", LENGTH, "control character"),
    ("9" * 5000 + " mm", LENGTH, "5003 characters long"),
    ("1" + "*9" * 10000 + " mm", LENGTH, "at most 64"),
    ("5" + " " * 70 + "mm", LENGTH, "at most 64"),
]


def test_there_are_eighty_odd_texts_at_least():
    assert len({*READ, *REFUSED}) >= 80


@pytest.mark.parametrize(("text", "quantity", "value"), READ)
def test_an_odd_text_that_is_one_number_and_one_unit_is_read_right(text, quantity, value):
    assert read_quantity(text, quantity, "key") == pytest.approx(value, rel=1e-12, abs=1e-60)


@pytest.mark.parametrize(("text", "quantity", "reason"), REFUSED, ids=range(len(REFUSED)))
def test_an_odd_text_that_is_anything_else_is_refused_with_its_own_hint(text, quantity, reason):
    with pytest.raises(GeometryError) as refusal:
        read_quantity(text, quantity, "key")
    message = str(refusal.value)
    assert message.startswith("key = ")
    assert reason in message
    assert f'for example key = "{quantity.example}"' in message


@pytest.mark.parametrize("text", [text for text, _, _ in REFUSED], ids=range(len(REFUSED)))
def test_a_refusal_is_one_printable_line_that_echoes_at_most_eighty_characters(text):
    with pytest.raises(GeometryError) as refusal:
        read_quantity(text, Quantity.INDUCTANCE, "key")
    message = str(refusal.value)
    assert message.isprintable()
    assert len(message.split('"')[1]) <= 80


@pytest.mark.parametrize("value", [10**5000, -(10**5000), float("nan"), {"a": 1}, [[["1 mm"]]], b"1 mm", 1j], ids=type)
def test_a_value_of_another_type_is_refused_in_one_short_line(value):
    with pytest.raises(GeometryError, match="without a unit") as refusal:
        read_quantity(value, LENGTH, "key")
    assert len(str(refusal.value)) < 200


@pytest.mark.parametrize("quantity", list(UNITS))
def test_the_example_of_every_kind_is_read(quantity):
    assert read_quantity(quantity.example, quantity) > 0


# SI brochure, 9th edition, table 7 (prefixes); the international inch is 25.4 mm, a radian is 180/pi degrees.
@pytest.mark.parametrize(
    ("quantity", "unit", "size"),
    [
        *(
            (Quantity.INDUCTANCE, f"{prefix}H", size)
            for prefix, size in zip("munpf", (1e-3, 1e-6, 1e-9, 1e-12, 1e-15), strict=True)
        ),
        *((Quantity.FREQUENCY, f"{prefix}Hz", size) for prefix, size in zip("kMG", (1e3, 1e6, 1e9), strict=True)),
        (Quantity.LENGTH, "mil", 25.4e-6),
        (Quantity.LENGTH, "inch", 25.4e-3),
        (Quantity.ANGLE, "rad", 57.29577951308232),
        (Quantity.CONDUCTIVITY, "S/cm", 100.0),
    ],
)
def test_a_unit_has_the_size_of_its_standard(quantity, unit, size):
    assert read_quantity(f"1 {unit}", quantity) == pytest.approx(size, rel=1e-14)


@pytest.mark.parametrize(("quantity", "unit"), [(each, unit) for each, units in UNITS.items() for unit in units])
def test_every_listed_unit_is_known_to_the_units_library(quantity, unit):
    assert read_quantity(f"1 {unit}", quantity) > 0
