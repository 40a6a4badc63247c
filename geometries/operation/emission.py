"""What a scenario says about radiated emission: the loop's current, the test site, cables and limits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo

from geometries.errors import ScenarioError
from geometries.operation.limits import LimitLine, read_limits
from geometries.operation.product import Board, SwitchNode
from geometries.operation.published_limits import published_limit
from geometries.operation.sites import MeasuringSite, Orientation, anechoic_site, semi_anechoic_site
from geometries.operation.switching import Switching
from geometries.plausible import CABLE_DIAMETER, CABLE_LENGTH, MEASURING_DISTANCE
from geometries.tables import (
    Capacitance,
    Current,
    Decibel,
    Derived,
    Described,
    Fraction,
    Frequency,
    Length,
    NotNegative,
    OperatingTable,
    Positive,
    Table,
    Time,
)

BAND = 6.0
"""Usual uncertainty of a predicted level and of a measured one [dB] (common practice)."""

_OUTERMOST = 0.95
"""Of the board's radius: charge crowds at the very edge, and its formula ends there."""


class Site(Enum):
    """What the ground of the test site adds to the direct wave.

    Examples
    --------
    >>> from geometries import EmissionSite
    >>> EmissionSite("open-area maximum").gain
    2.0
    """

    FREE_SPACE = "free space"
    OPEN_AREA_MAXIMUM = "open-area maximum"

    @property
    def gain(self) -> float:
        """Largest factor on the field strength: direct and reflected wave add up where the antenna is moved to."""
        return {Site.FREE_SPACE: 1.0, Site.OPEN_AREA_MAXIMUM: 2.0}[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable(Table):
    """The longest cable on the board.

    Parameters
    ----------
    length : float
        Straight part that can radiate [m].
    diameter : float
        Over all of its wires [m].

    Examples
    --------
    >>> from geometries import Cable
    >>> Cable(length=1.0).diameter
    0.004
    """

    length: Annotated[Length, CABLE_LENGTH]
    diameter: Annotated[Length, CABLE_DIAMETER] = 4e-3

    def __post_init__(self) -> None:
        if not self.length >= 10 * self.diameter > 0:
            raise ScenarioError(
                f"the cable is {self.length:g} m long and {self.diameter:g} m thick; a cable that radiates is at least "
                "ten times as long as thick"
            )


def _published(names: Any, info: ValidationInfo) -> tuple[LimitLine, ...]:
    """The limit lines of a list of names, at the distance of the table."""
    if not (isinstance(names, list) and all(isinstance(name, str) for name in names)):
        raise ScenarioError('limits is a list of names, for example limits = ["CISPR 32 class B"]')
    return tuple(published_limit(name, info.data["distance"]) for name in names if "distance" in info.data)


Limits = Annotated[tuple[LimitLine, ...], BeforeValidator(_published)]
"""Limit lines, from the names of published ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Emission(OperatingTable):
    """The `[emission]` table of a scenario.

    Parameters
    ----------
    current : float
        Height of the loop's trapezoidal current: what the switches carry in turn [A].
    frequency : float
        Switching frequency [Hz].
    duty : float
        Between the middles of both edges [1]. Margins do not depend on it: they are taken from the bound for any duty.
    rise_time, fall_time : float
        Edges of the current, 0 to 100 % [s].
    distance : float
        From the board to the antenna [m].
    site : Site
        What the ground adds.
    limits : tuple of LimitLine
        For that distance; at least one.
    highest_frequency : float
        Up to where lines are looked at [Hz].
    band : float
        Uncertainty of a level, to both sides [dB].
    upright_height, upright_length : float
        Part of the loop that stands on the board, such as the current through the capacitor's body: its height over
        the loop's copper and its length [m]; zero leaves it out.
    cable : Cable, optional
        None leaves cables out.
    stray_capacitance : float
        From the switch node past the ground layer to the surroundings [F]; zero leaves it out of the bound. The
        estimate computes it from `board` and `node`.
    board : Board, optional
        The board, for the estimate of all sources together; None leaves that out.
    node : SwitchNode, optional
        The switch node on it; None leaves it out.
    orientation : Orientation
        How the board stands in the product.
    switching : Switching, optional
        The switching edge, whose ring is part of the current then, and whose switch node drives the stray capacitance.
    limits_file : str
        The user's own limits beside the scenario; they are among `limits` in a scenario that is built.
    as_written : bool
        Whether it stands as the file says, so that neither `switching` nor the limits of a file are filled in yet.

    Examples
    --------
    >>> from geometries import Emission, published_limit
    >>> emission = Emission(
    ...     current=4.0,
    ...     frequency=1.2e6,
    ...     rise_time=2e-9,
    ...     fall_time=2e-9,
    ...     limits=(published_limit("CISPR 32 class B", 3.0),),
    ... )
    >>> emission.distance, emission.site.value
    (3.0, 'open-area maximum')
    """

    SAID_OF = "emission: "
    current: Positive[Current]
    frequency: Positive[Frequency]
    duty: Fraction = 0.5
    rise_time: Positive[Time]
    fall_time: Positive[Time]
    distance: Positive[Annotated[Length, MEASURING_DISTANCE]] = 3.0
    site: Site = Site.OPEN_AREA_MAXIMUM
    limits: Limits = ()
    limits_file: str = ""
    highest_frequency: Frequency = 1e9
    band: NotNegative[Decibel] = BAND
    upright_height: NotNegative[Length] = 0.0
    upright_length: NotNegative[Length] = 0.0
    cable: Cable | None = None
    stray_capacitance: NotNegative[Capacitance] = 0.0
    board: Board | None = None
    node: SwitchNode | None = None
    orientation: Orientation = Orientation.UNKNOWN
    switching: Derived[Switching | None] = None
    as_written: Derived[bool] = False

    @classmethod
    def completed(cls, table: dict[str, Any]) -> dict[str, Any]:
        """The keys of a table, marked as such; some limit must be among them."""
        if not table.get("limits") and not table.get("limits_file"):
            raise ScenarioError('give limits = ["CISPR 32 class B"], or limits_file = "my-limits.csv", or both')
        return {**table, "as_written": True}

    def built(self, described: Described) -> Emission:
        """With the edge of the scenario and the limits of a file; published limits are those at the distance."""
        named = tuple(published_limit(line.name, self.distance) for line in self.limits)
        own = (read_limits(described.file(self.limits_file, "limits_file"), self.distance),) if self.limits_file else ()
        return replace(self, limits=named + own, switching=described.asked(Switching), as_written=False)

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        edges = (self.rise_time + self.fall_time) * self.frequency / 2
        if not edges <= self.duty <= 1 - edges:
            raise ScenarioError(
                f"emission: the duty is {self.duty:.3g}; with these edges it lies between {edges:.3g} and "
                f"{1 - edges:.3g}"
            )
        if not self.as_written:
            self._require_whole()

    @property
    def measuring_site(self) -> MeasuringSite:
        """Where the antenna stands and what the ground adds, exactly."""
        build = {Site.FREE_SPACE: anechoic_site, Site.OPEN_AREA_MAXIMUM: semi_anechoic_site}[self.site]
        return build(self.distance)

    @property
    def spectrum(self) -> tuple[float, float]:
        """Between which frequencies lines are looked at [Hz]: from the limits' first to the highest."""
        return min(line.breakpoints[0] for line in self.limits), self.highest_frequency

    def _require_node(self) -> None:
        if self.node is None:
            return
        if self.board is None:
            raise ScenarioError(
                "emission: a node stands on a board, of which nothing is said; give its size, for example "
                'board = { width = "60 mm", length = "80 mm" }'
            )
        if self.node.offset > _OUTERMOST * self.board.radius:
            raise ScenarioError(
                f"emission: the node lies {self.node.offset * 1e3:.3g} mm from the middle of a board as large as "
                f"a disc of {self.board.radius * 1e3:.3g} mm radius; it may be up to {_OUTERMOST:g} of that away"
            )
        if self.switching is None:
            raise ScenarioError(
                "emission: nothing is said of the switch node's voltage; add a [switching] table, or leave node out"
            )

    def _require_whole(self) -> None:
        if not self.limits:
            raise ScenarioError("emission: no limit is named; give limits, for example limits = ['CISPR 32 class B']")
        if self.stray_capacitance > 0 and self.switching is None:
            raise ScenarioError(
                "emission: a stray_capacitance is driven by the switch node, of which nothing is said; add a "
                "[switching] table with its voltage and its edge"
            )
        self._require_node()
        lowest, highest = self.spectrum
        if not max(self.frequency, lowest) < highest:
            raise ScenarioError(
                f"emission: highest_frequency is {highest:g} Hz; it must lie above the switching frequency and above "
                f"the limits' first frequency, {lowest:g} Hz"
            )
