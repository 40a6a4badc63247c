"""Capacitors of a commutation loop and the switch package: what a bill of materials says about each of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.board.parts import CapacitorCase
from geometries.errors import GeometryError
from geometries.quantities import MM, NANO

LOWEST_ELECTRODE = 0.2 * MM
"""Height of the lowest electrode over the copper, 0.1 to 0.3 mm with solder and cover layer (common practice)."""

ESL_SPREAD = 0.3
"""Makers' figures for one case differ by nearly two to one: 0.4 to 0.7 nH (E. Bogatin 2009, as quoted elsewhere)."""

_LARGEST_TERMINAL = 0.5 * MM
_TERMINAL_PART = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class LumpedEsl:
    """A capacitor's body as an inductance that the user gives; the plan view then ends at its lands.

    Parameters
    ----------
    inductance : float
        Series inductance of the body [H], by the maker's model or a fixture.
    spread : float
        Its relative uncertainty [1].

    Examples
    --------
    >>> from geometries import LumpedEsl
    >>> LumpedEsl(inductance=0.35e-9).spread
    0.3
    """

    inductance: float
    spread: float = ESL_SPREAD

    def __post_init__(self) -> None:
        if not (self.inductance > 0 and math.isfinite(self.inductance)):
            raise GeometryError(f"esl is {self.inductance / NANO:g} nH; it must be above zero")
        if not 0 <= self.spread < 1:
            raise GeometryError(f"the spread of the esl is {self.spread:g}; it must lie between 0 and 1 (100 %)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeBody:
    """A capacitor's body as copper at the height of its lowest electrode over the board's copper [m].

    Parameters
    ----------
    height : float
        Of the lowest electrode over the copper [m].

    Examples
    --------
    >>> from geometries import ElectrodeBody
    >>> ElectrodeBody().height
    0.0002
    """

    height: float = LOWEST_ELECTRODE

    def __post_init__(self) -> None:
        if not 0 < self.height < 5 * MM:
            raise GeometryError(
                f"electrode_height is {self.height / MM:g} mm; it must lie between 0 and 5 mm over the copper"
            )


Body = LumpedEsl | ElectrodeBody


def capacitor_body(esl: float | None, electrode_height: float | None) -> Body:
    """Body of a capacitor from one of its two descriptions.

    Raises
    ------
    GeometryError
        If both are given, which would count the body twice, or neither.
    """
    if esl is not None and electrode_height is not None:
        raise GeometryError(
            f"the capacitor's body is described twice: by esl = {esl / NANO:g} nH and by electrode_height = "
            f"{electrode_height / MM:g} mm, which would count its inductance twice; remove one of the two keys"
        )
    if esl is not None:
        return LumpedEsl(inductance=esl)
    if electrode_height is not None:
        return ElectrodeBody(height=electrode_height)
    raise GeometryError(
        'the capacitor\'s body is not described: give its esl, for example esl = "0.4 nH", or electrode_height = '
        '"0.2 mm" to have it as a conductor in the plan view'
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacitor:
    """A capacitor by its case, its electrical values and its body.

    Parameters
    ----------
    case : CapacitorCase
        Body length and width.
    capacitance : float
        Effective capacitance at its bias voltage [F].
    resistance : float
        Equivalent series resistance [ohm].
    body : LumpedEsl or ElectrodeBody
        Exactly one description of its inductance.

    Examples
    --------
    >>> from geometries import Capacitor, LumpedEsl, capacitor_case
    >>> capacitor = Capacitor(
    ...     case=capacitor_case("0603"), capacitance=2.2e-6, resistance=4e-3, body=LumpedEsl(inductance=0.35e-9)
    ... )
    >>> capacitor.inductance
    3.5e-10
    """

    case: CapacitorCase
    capacitance: float
    resistance: float
    body: Body

    def __post_init__(self) -> None:
        for name, value in (("capacitance", self.capacitance), ("esr", self.resistance)):
            if not (value > 0 and math.isfinite(value)):
                raise GeometryError(f"{name} of the {self.case.eia_code} capacitor is {value:g}; it must be above zero")

    @property
    def inductance(self) -> float:
        """Series inductance that is added to the copper [H]; zero for a body that is a conductor."""
        return self.body.inductance if isinstance(self.body, LumpedEsl) else 0.0

    @property
    def terminal(self) -> float:
        """Length of the metal at either end [m]: a quarter of the body, at most 0.5 mm (common practice)."""
        return min(_TERMINAL_PART * self.case.length, _LARGEST_TERMINAL)

    @property
    def clear(self) -> float:
        """Length of the body between its terminals [m]."""
        return self.case.length - 2 * self.terminal


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchPackage:
    """Inductance of the switch package, or of both switches, as a line of its own.

    Parameters
    ----------
    name : str
        Its kind.
    inductance : float
        Middle of the range [H], >= 0.
    uncertainty : float
        Half of the range [H].
    source : str
        Where it comes from, in a phrase.
    height : float, optional
        Of the switches' current over the copper, for the loop's moment [m]; None if it is not known.

    Examples
    --------
    >>> from geometries import SwitchPackage
    >>> SwitchPackage(name="ours", inductance=0.2e-9, uncertainty=0.05e-9, source="measured").inductance
    2e-10
    """

    name: str
    inductance: float
    uncertainty: float
    source: str
    height: float | None = None

    def __post_init__(self) -> None:
        if not (self.inductance >= 0 and math.isfinite(self.inductance)):
            raise GeometryError(f"package {self.name!r} has {self.inductance / NANO:g} nH; it must be 0 or above")


def conductor(height: float) -> SwitchPackage:
    """A part of which nothing is known but the height of its metal over the copper [m]."""
    source = "as a conductor of the plan view at its height over the copper"
    return SwitchPackage(name="conductor", inductance=0.0, uncertainty=0.0, source=source, height=height)


def _typical(name: str, low: float, high: float) -> SwitchPackage:
    return SwitchPackage(
        name=name,
        inductance=(low + high) / 2 * NANO,
        uncertainty=(high - low) / 2 * NANO,
        source=f"typical of {name} packages, {low:g} to {high:g} nH (common practice)",
    )


PACKAGES = (
    _typical("flip-chip", 0.05, 0.2),
    _typical("land-grid", 0.05, 0.2),
    _typical("wire-bonded", 0.5, 1.0),
    _typical("clip-bonded", 0.3, 1.0),
)
"""Typical packages (common practice); a clip-bonded value is that of one transistor."""


def switch_package(name: str) -> SwitchPackage:
    """Return the typical package of that name.

    Parameters
    ----------
    name : str
        For instance "flip-chip".

    Returns
    -------
    SwitchPackage

    Raises
    ------
    GeometryError
        If there is none of that name.

    Examples
    --------
    >>> from geometries import switch_package
    >>> switch_package("flip-chip").source
    'typical of flip-chip packages, 0.05 to 0.2 nH (common practice)'
    """
    for package in PACKAGES:
        if package.name == name:
            return package
    known = ", ".join(package.name for package in PACKAGES)
    raise GeometryError(
        f"no typical package {name!r}; known are {known}; or give your own value, for example "
        'package_inductance = "0.4 nH"'
    )
