"""Switched loops side by side: the commutation loop, a boot capacitor's, a gate's, each with current and edge."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from geometries.errors import GeometryError
from geometries.section.section import CrossSection, CurrentLoop, Region, View


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchedLoop:
    """A loop whose current is switched.

    Parameters
    ----------
    name : str
        Unique among the loops of its variant.
    length : float
        Along its current, beside the others [m].
    current : float
        What is switched [A].
    edge : float
        In what time, 0 to 100 % [s].
    """

    name: str
    length: float
    current: float
    edge: float

    def __post_init__(self) -> None:
        for what, value in (("length", self.length), ("current", self.current), ("edge", self.edge)):
            if not 0 < value < math.inf:
                raise GeometryError(f"the {what} of switched loop {self.name!r} is {value:g}; it must be above zero")


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchedLoops:
    """All switched loops of a variant in one section, and the victims that pick up their noise.

    Parameters
    ----------
    section : CrossSection
        Its loops are `loops`, in their order, and then the victims'.
    loops : tuple of SwitchedLoop
        The commutation loop first.
    victims : tuple of (name, length)
        Loops that carry no current of their own [m].
    """

    section: CrossSection
    loops: tuple[SwitchedLoop, ...]
    victims: tuple[tuple[str, float], ...] = ()


def switch_together(
    section: CrossSection,
    main: SwitchedLoop,
    others: Iterable[tuple[SwitchedLoop, CurrentLoop]],
    copper: Iterable[Region],
    victims: tuple[tuple[str, float], ...] = (),
) -> SwitchedLoops:
    """Put further switched loops into a section.

    Parameters
    ----------
    section : CrossSection
        The commutation loop's, with the copper of the victims if there are any: its first loop is the commutation
        loop, those after it are the victims'.
    main : SwitchedLoop
        The commutation loop.
    others : iterable of (SwitchedLoop, CurrentLoop)
        The further ones with the groups they go and return in.
    copper : iterable of Region
        Conductors that the section does not hold yet.
    victims : tuple of (name, length)
        One per further loop of `section` [m].

    Raises
    ------
    GeometryError
        If the section is round, copper meets other copper, or a loop names a conductor that is not there.
    """
    if section.view is View.AXISYMMETRIC:
        raise GeometryError(
            "switched loops run side by side, which a axisymmetric view closes on itself; describe a section"
        )
    listed = tuple(others)
    loops = (section.loops[0], *(currents for _, currents in listed), *section.loops[1:])
    whole = replace(section, regions=(*section.regions, *copper), loops=loops)
    return SwitchedLoops(section=whole, loops=(main, *(loop for loop, _ in listed)), victims=victims)
