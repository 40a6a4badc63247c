"""The text of a quantity: one number and one unit. Nothing in it is evaluated, and what is not exactly that is refused.

::

    quantity  =  number [space] unit
    number    =  [sign] digits [. digits] [exponent]        or   [sign] . digits [exponent]
    sign      =  + | - | the minus sign U+2212
    exponent  =  e | E  [sign]  one or two digits

At most 64 characters. A unit is one of those listed for the kind of quantity, in its own upper and lower case.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection
from typing import Final, NamedTuple

from geometries.errors import GeometryError, nearest

MOST_CHARACTERS: Final = 64
"""A quantity is no longer than this."""

_SIGN = "[+\N{MINUS SIGN}\N{HYPHEN-MINUS}]"
_SPACE = "[ \N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}]"
_DECIMAL = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_NUMBER = re.compile(rf"({_SIGN}?{_DECIMAL}(?:[eE]{_SIGN}?[0-9]{{1,2}}(?![0-9]))?){_SPACE}*")
_ANY_NUMBER = rf"{_SIGN}?{_DECIMAL}(?:[eE]{_SIGN}?[0-9]+)?"


class NumberAndUnit(NamedTuple):
    """A quantity that was split: its number, and its unit as written."""

    number: float
    unit: str


class _Fault(NamedTuple):
    """What a text looks like that was meant otherwise, and what to say about it."""

    looks: Callable[[str], object]
    reason: str


def _search(pattern: str) -> Callable[[str], object]:
    return re.compile(pattern, re.IGNORECASE).search


_FAULTS: Final = (
    _Fault(
        lambda text: any(unicodedata.category(sign) in {"Cc", "Cf", "Cs", "Zl", "Zp"} for sign in text),
        "holds a control character; type the value again",
    ),
    _Fault(_search(r"^\W*(nan|inf|infinity)\b"), "is not a finite number"),
    _Fault(
        _search(r"±|\+\s*/\s*-|\+-"),
        "holds a tolerance; write the nominal value here and the tolerance in the [tolerance] table",
    ),
    _Fault(
        _search(
            rf"^{_SIGN}?[0-9]{{1,3}}(?:(?:,[0-9]{{3}}){{2,}}|(?:\.[0-9]{{3}}){{2,}})"
            "|[0-9]['\N{RIGHT SINGLE QUOTATION MARK}_][0-9]"
        ),
        "holds thousands signs; write the digits without them",
    ),
    _Fault(
        _search(rf"^{_SIGN}?[0-9]{{1,3}}(?:{_SPACE}[0-9]{{3}})+(?![0-9/])"),
        "holds spaces between its digits; write the digits without thousands signs",
    ),
    _Fault(
        _search(r"[0-9]?,[0-9]"),
        "holds a comma; write a decimal point, and no thousands signs",
    ),
    _Fault(
        _search(rf"^{_ANY_NUMBER}[^*/^()]{{0,8}}(?:\.\.+|…|[–—~]|\bto\b|(?<![eE])-){_SPACE}*{_ANY_NUMBER}"),
        "is a range; write one value (a [sweep] or [tolerance] table takes a range)",
    ),
    _Fault(
        _search(r"[*^()=×·√²³]|[0-9]\s*/|[0-9]\s*[+x]\s*[0-9.]|[0-9]\s+[0-9]|^\W*(sqrt|sin|exp|log|pi)\b"),
        "is an expression; write its result as one number and one unit",
    ),
    _Fault(_search(r"[eE][-+−]?[0-9]{3,}"), "has an exponent of more than two digits; choose a unit near the value"),
    _Fault(lambda text: not re.search("[0-9]", text), "holds no number"),
)
"""In the order in which they are looked for."""


def split_quantity(text: str, units: Collection[str]) -> NumberAndUnit:
    """Split the text of a quantity into its number and its unit.

    Parameters
    ----------
    text : str
        What stands in the file, without the spaces around it.
    units : collection of str
        The units of the kind of quantity that is meant.

    Returns
    -------
    NumberAndUnit
        The number is finite, and zero only if it was written as zero.

    Raises
    ------
    GeometryError
        With what is wrong and how to write it; the caller names key and text.

    Examples
    --------
    >>> split_quantity("\N{MINUS SIGN}5 mm", ["mm"])
    NumberAndUnit(number=-5.0, unit='mm')
    """
    if len(text) > MOST_CHARACTERS:
        raise GeometryError(f"is {len(text)} characters long; a number and a unit take at most {MOST_CHARACTERS}")
    found = _NUMBER.match(text)
    unit = text[found.end() :] if found else ""
    if found is None or unit not in units:
        raise GeometryError(_reason(text, unit, units))
    return NumberAndUnit(_number(found.group(1)), unit)


def plain_number(text: str) -> float | None:
    """A bare number by the same grammar; None if the text is anything else, or longer than a quantity.

    Examples
    --------
    >>> plain_number("34.5"), plain_number("34,5")
    (34.5, None)
    """
    found = _NUMBER.fullmatch(text) if len(text) <= MOST_CHARACTERS else None
    return _number(found.group(1)) if found else None


def _number(digits: str) -> float:
    number = float(digits.replace("\N{MINUS SIGN}", "-"))
    if number == 0 and re.search("[1-9]", re.split("[eE]", digits)[0]):
        raise GeometryError("is too small to be told from zero; choose a unit near the value")
    return number


def _reason(text: str, unit: str, units: Collection[str]) -> str:
    """What is wrong with a text that is not one number and one of the units."""
    for fault in _FAULTS:
        if fault.looks(text):
            return fault.reason
    if not _NUMBER.match(text):
        return "does not begin with a number"
    return f"has an unknown unit {unit!r}; {_near_unit(unit, units)}" if unit else "has no unit"


def _near_unit(unit: str, units: Collection[str]) -> str:
    same = [each for each in units if each.lower() == unit.lower()]
    return f"did you mean {same[0]!r}?" if same else nearest(unit, list(units))
