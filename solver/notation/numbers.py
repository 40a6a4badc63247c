"""Numbers and tables in words: the one place where SI values become nH, mOhm, mm and dB."""

from __future__ import annotations

import math

from geometries.quantities import MM, NANO, UM, Quantity, convenient_unit

MILLI = 1e-3
"""Factor from ohms to milliohms."""

NO_BENEFIT = 1e-3
"""A smaller relative change of inductance is below what the mesh resolves."""

_MINUS = "\N{MINUS SIGN}"
_FINEST_DECIMAL = 3
_MOST_DECIMALS = 9
_ROUNDING = 1e-9
_FREQUENCY_UNITS = ((1e9, "GHz"), (1e6, "MHz"), (1e3, "kHz"), (1.0, "Hz"))


def decimals_for(value: float, error: float) -> int:
    """Decimals to show of a value with an error, both in the unit of the table.

    The last digit shown is the leading digit of the error, or the one after it where the leading digit is 1:
    rounding such an error up to one digit could nearly double it. Three decimals are enough unless the value is
    below a tenth, which gets three significant digits.

    Examples
    --------
    >>> decimals_for(4.6514, 0.0021), decimals_for(46.51, 0.3), decimals_for(0.03021, 1e-6)
    (3, 1, 4)
    >>> decimals_for(1.725, 0.125), decimals_for(1.725, 0.2)
    (2, 1)
    """
    finest = _FINEST_DECIMAL
    if value != 0:
        finest = max(finest, 2 - math.floor(math.log10(abs(value))))
    if not error > 0:
        return finest
    return min(max(0, _decimals_of_error(error)), finest)


def _decimals_of_error(error: float) -> int:
    """Decimals of its leading digit, one more if that digit is 1."""
    exponent = math.floor(math.log10(error * (1 + _ROUNDING)))
    return -exponent + int(error < 2 * 10.0**exponent * (1 - _ROUNDING))


def nanohenry(value: float, error: float = 0.0) -> str:
    """Inductance [H] as a number in nH, with the digits that its error [H] allows.

    Examples
    --------
    >>> nanohenry(1.0969858e-9, 4e-13)
    '1.097'
    """
    return fixed(value / NANO, decimals_for(value / NANO, error / NANO))


def nanohenry_change(value: float, error: float) -> str:
    """Difference of two inductances [H] as a signed number in nH."""
    return fixed(value / NANO, decimals_for(value / NANO, error / NANO), signed=True)


def nanohenry_error(value: float, error: float) -> str:
    """Error [H] of an inductance [H] in nH, rounded up to the digits shown of the value.

    Examples
    --------
    >>> nanohenry_error(1.0969858e-9, 4.4e-13)
    '0.001'
    """
    return rounded_up(error / NANO, decimals_for(value / NANO, error / NANO))


def rounded_up(error: float, decimals: int) -> str:
    """An error above zero, rounded up to so many decimals.

    Examples
    --------
    >>> rounded_up(0.00041, 3)
    '0.001'
    """
    steps = max(1, math.ceil(error * 10**decimals - _ROUNDING))
    return fixed(steps / 10**decimals, decimals)


def bracket(limits: tuple[float, float]) -> str:
    """Lower and upper bound of an inductance [H] in nH, rounded outwards, with digits enough to tell them apart."""
    lower, upper = (limit / NANO for limit in limits)
    decimals = min(_MOST_DECIMALS, max(0, math.ceil(1 - math.log10(max(upper - lower, 10.0**-_MOST_DECIMALS)))))
    scale = 10.0**decimals
    outward = math.floor(lower * scale) / scale, math.ceil(upper * scale) / scale
    return f"{fixed(outward[0], decimals)} to {fixed(outward[1], decimals)}"


def gap(fraction: float) -> str:
    """A small relative difference in percent with one digit."""
    return f"{float(f'{100 * fraction:.1g}'):.12f}".rstrip("0").rstrip(".") + " %"


def nanohenry_per_millimetre(value: float) -> str:
    """Inductance per length [H/m] as a number in nH/mm, with four significant digits."""
    return significant(value / NANO * MM, 4)


def nanohenry_per_metre(value: float) -> str:
    """Net partial inductance of a plane [H/m] as a number in nH/m; below 0.001 it says so."""
    if abs(value) < MILLI * NANO:
        return "below 0.001"
    return significant(value / NANO, 3)


def milliohm(value: float) -> str:
    """Resistance [ohm] as a number in mOhm, with three significant digits."""
    return significant(value / MILLI, 3)


def milliwatt(value: float) -> str:
    """Power [W] in mW with its unit, three significant digits."""
    return f"{significant(value / MILLI, 3)} mW"


def decibel(value: float) -> str:
    """Ratio [dB] with its sign and one decimal.

    Examples
    --------
    >>> decibel(-0.04), decibel(3.21)
    ('0.0', '+3.2')
    """
    return fixed(value, 1, signed=True)


def whole_decibels(value: float, band: float, *, signed: bool = False) -> str:
    """A level, or a change of one, in whole decibels with its band.

    Examples
    --------
    >>> whole_decibels(52.1, 7.07), whole_decibels(3.6, 2.0, signed=True)
    ('52 ± 8', '+4 ± 2')
    """
    return f"{fixed(value, 0, signed=signed)} ± {band_decibels(band)}"


def band_decibels(band: float) -> str:
    """An uncertainty in whole decibels, rounded up from its first decimal: 10.01 dB is 10.

    Examples
    --------
    >>> band_decibels(7.07), band_decibels(10.01)
    ('8', '10')
    """
    return rounded_up(round(band, 1), 0)


def percent(fraction: float) -> str:
    """Fraction [1] as a signed percentage with one decimal, without the percent sign."""
    return fixed(100 * fraction, 1, signed=True)


def share(fraction: float) -> str:
    """Part of the loop current [1] as a signed percentage; below 0.1 % it says so."""
    if 0 < abs(fraction) < 1e-3:
        return "< 0.1"
    return percent(fraction)


def benefit(before: float, after: float) -> str:
    """Change from one inductance [H] to another, in nH and percent, or that it is below 0.1 %.

    Examples
    --------
    >>> benefit(4.651e-9, 0.724e-9), benefit(0.72441e-9, 0.72440e-9)
    ('−3.927 nH, −84.4 %', 'less than 0.1 %')
    """
    fraction = after / before - 1
    if abs(fraction) < NO_BENEFIT:
        return "less than 0.1 %"
    return f"{fixed((after - before) / NANO, _FINEST_DECIMAL, signed=True)} nH, {percent(fraction)} %"


def length(value: float) -> str:
    """Length [m] with its unit: um below a tenth of a millimetre, mm above.

    Examples
    --------
    >>> length(35e-6), length(1.53e-3), length(0.2e-3)
    ('35 µm', '1.53 mm', '0.2 mm')
    """
    if 0 < abs(value) < 0.1 * MM * (1 - 1e-9):
        return f"{_plain(value / UM)} µm"
    return f"{_plain(value / MM)} mm"


def frequency(value: float) -> str:
    """Frequency [Hz] with its unit.

    Examples
    --------
    >>> frequency(1e8), frequency(31623.0)
    ('100 MHz', '31.6 kHz')
    """
    for factor, unit in _FREQUENCY_UNITS:
        if value >= factor * (1 - 1e-9):
            return f"{value / factor:.3g} {unit}" if value < 999.5 * factor else f"{value / factor:.0f} {unit}"
    return f"{value:.3g} Hz"


def significant(value: float, digits: int) -> str:
    """A number with so many significant digits, never in powers of ten between 1e-5 and 1e6.

    Examples
    --------
    >>> significant(0.0123456, 3), significant(12345.6, 3), significant(2.5e-9, 3)
    ('0.0123', '12346', '2.50e−9')
    """
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return "not finite"
    if not 1e-5 <= abs(value) < 1e6:
        mantissa, exponent = f"{value:.{digits - 1}e}".split("e")
        return f"{mantissa}e{int(exponent)}".replace("-", _MINUS)
    rounded = float(f"{value:.{digits}g}")
    return fixed(value, max(0, digits - 1 - math.floor(math.log10(abs(rounded)))))


def with_unit(value: float, quantity: Quantity, digits: int = 3) -> str:
    """A value [SI] with so many significant digits and a convenient unit.

    Examples
    --------
    >>> with_unit(302e-12, Quantity.CAPACITANCE), with_unit(2.58, Quantity.RESISTANCE), with_unit(0.0, Quantity.TIME)
    ('302 pF', '2.58 Ω', '0 s')
    """
    if value == 0:
        return f"0 {quantity.unit}"
    size, unit = convenient_unit(value, quantity)
    return f"{significant(value / size, digits)} {unit}"


def with_uncertainty(value: float, error: float, scale: float = 1.0) -> str:
    """A value and its uncertainty, both [SI], in a unit of `scale` [SI], with the digits of :func:`decimals_for`.

    The uncertainty is rounded up; where there is none, three significant digits are shown.

    Examples
    --------
    >>> with_uncertainty(1.0969e-9, 4e-13, 1e-9), with_uncertainty(31.237, 1.62), with_uncertainty(2e-9, 0.0, 1e-9)
    ('1.097 ± 0.001', '31.2 ± 1.7', '2.00')
    """
    value, error = value / scale, error / scale
    if not error > 0:
        return significant(value, 3)
    decimals = decimals_for(value, error)
    return f"{fixed(value, decimals)} ± {rounded_up(error, decimals)}"


def fixed(value: float, decimals: int, *, signed: bool = False) -> str:
    """A number with so many decimals and a typographic minus; zero has no sign."""
    if not math.isfinite(value):
        return "not finite"
    text = f"{value:+.{decimals}f}" if signed else f"{value:.{decimals}f}"
    if float(text) == 0:
        return f"{0:.{decimals}f}"
    return text.replace("-", _MINUS)


def _plain(value: float) -> str:
    """Four significant digits at most, no trailing zeros."""
    return f"{value:.4g}".replace("-", _MINUS)


def counted(number: int, noun: str) -> str:
    """How many there are of something whose plural ends in s.

    Examples
    --------
    >>> counted(1, "point"), counted(3, "point")
    ('1 point', '3 points')
    """
    return f"{number} {noun}{'' if number == 1 else 's'}"
