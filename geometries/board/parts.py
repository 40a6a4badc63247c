"""Parts that a loop is made of: multilayer-capacitor case sizes and vias. Tables for the whole-loop view."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.errors import GeometryError, nearest
from geometries.quantities import MM


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitorCase:
    """Body of a multilayer ceramic capacitor.

    Parameters
    ----------
    eia_code : str
        Code in hundredths of an inch, for instance "0603".
    iec_code : str
        Code in tenths of a millimetre, for instance "1608" (the two systems share some digits: always say which).
    length : float
        Body length from end to end [m].
    width : float
        Body width [m].
    source : str
        Where the dimensions come from.
    """

    eia_code: str
    iec_code: str
    length: float
    width: float
    source: str

    def __post_init__(self) -> None:
        if not (self.length > 0 and self.width > 0):
            raise GeometryError(f"case {self.eia_code} has a body of {self.length:g} m by {self.width:g} m")


@dataclass(frozen=True, slots=True, kw_only=True)
class Via:
    """A plated hole; `drill` diameter, `pad` diameter and `plating` thickness [m]."""

    name: str
    drill: float
    pad: float
    plating: float

    def __post_init__(self) -> None:
        if not 0 < self.plating < self.drill / 2 or not self.drill < self.pad:
            raise GeometryError(
                f"via {self.name!r} has drill {self.drill:g} m, pad {self.pad:g} m and plating {self.plating:g} m; "
                "the pad must be wider than the drill and the plating thinner than half of it"
            )


_DATA_SHEET = "body dimensions as printed in a capacitor data sheet (nominal)"
_MEMORY = "from memory, nominal; check against the data sheet"


def _case(eia_code: str, iec_code: str, length: float, width: float, source: str) -> CapacitorCase:
    return CapacitorCase(eia_code=eia_code, iec_code=iec_code, length=length * MM, width=width * MM, source=source)


CAPACITOR_CASES: tuple[CapacitorCase, ...] = (
    _case("0201", "0603", 0.6, 0.3, _MEMORY),
    _case("0402", "1005", 1.0, 0.5, _MEMORY),
    _case("0603", "1608", 1.6, 0.8, _DATA_SHEET),
    _case("0805", "2012", 2.0, 1.25, _DATA_SHEET),
    _case("1206", "3216", 3.2, 1.6, _DATA_SHEET),
    _case("1210", "3225", 3.2, 2.5, _DATA_SHEET),
    _case("1812", "4532", 4.5, 3.2, _DATA_SHEET),
    _case("2220", "5750", 5.7, 5.0, _MEMORY),
    _case("0306", "0816", 0.8, 1.6, _MEMORY),
    _case("0508", "1220", 1.25, 2.0, _MEMORY),
    _case("0612", "1632", 1.6, 3.2, _MEMORY),
)
"""Case sizes from small to large, then those with terminals on the long sides."""

VIAS: tuple[Via, ...] = (
    Via(name="standard", drill=0.3 * MM, pad=0.6 * MM, plating=0.025 * MM),
    Via(name="power", drill=0.4 * MM, pad=0.8 * MM, plating=0.025 * MM),
    Via(name="small", drill=0.2 * MM, pad=0.5 * MM, plating=0.020 * MM),
    Via(name="micro", drill=0.1 * MM, pad=0.25 * MM, plating=0.015 * MM),
)
"""Usual vias (common practice): drill, pad and plating; a micro via reaches no deeper than 0.1 mm."""


def capacitor_case(code: str) -> CapacitorCase:
    """Return the case with an EIA code ("0603", "EIA 0603") or, marked as such, an IEC code ("IEC 1608").

    Parameters
    ----------
    code : str
        As it is printed; IEC codes are marked as such.

    Returns
    -------
    CapacitorCase

    Raises
    ------
    GeometryError
        If no case has that code.

    Examples
    --------
    >>> capacitor_case("IEC 0603").eia_code
    '0201'
    """
    system, _, digits = code.strip().upper().rpartition(" ")
    for case in CAPACITOR_CASES:
        if digits == (case.iec_code if system == "IEC" else case.eia_code) and system in ("", "EIA", "IEC"):
            return case
    known = ", ".join(case.eia_code for case in CAPACITOR_CASES)
    raise GeometryError(f'no capacitor case {code!r}; EIA codes are {known}; mark IEC codes, for example "IEC 1608"')


def via_type(name: str) -> Via:
    """Return the usual via of that name.

    Parameters
    ----------
    name : str
        For instance "standard".

    Returns
    -------
    Via

    Raises
    ------
    GeometryError
        If there is none.

    Examples
    --------
    >>> via_type("standard").drill
    0.0003
    """
    for via in VIAS:
        if via.name == name:
            return via
    raise GeometryError(f"no via {name!r}; {nearest(name, [via.name for via in VIAS])} (see `copperfield parts`)")
