"""What a scenario says about victims: traces that pick up noise of loop and switch node, and the pin they lead to."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from geometries.board.stackup import Stackup
from geometries.errors import GeometryError, ScenarioError
from geometries.section.coupled_loops import SwitchedLoop, SwitchedLoops
from geometries.section.dielectrics import board_dielectrics
from geometries.section.outline import Rectangle
from geometries.section.section import CrossSection, CurrentLoop, Region, Role
from geometries.tables import (
    Capacitance,
    Current,
    Fraction,
    Frequency,
    Length,
    NotNegative,
    OperatingTable,
    Positive,
    Resistance,
    Table,
    Time,
    Voltage,
)


class Run(StrEnum):
    """Where a run lies in the circuit of the feedback pin.

    Examples
    --------
    >>> from geometries import Run
    >>> Run.PIN.value
    'divider to pin'
    """

    SENSE = "sense side"
    PIN = "divider to pin"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace(Table):
    """Copper beside the loop.

    Parameters
    ----------
    layer : str
        Its copper layer.
    distance : float
        From the loop's edge (see :func:`loop_edge`) to the trace's left edge [m]; negative for a trace that begins
        under, over or to the left of the loop.
    width : float
        Its width [m].

    Examples
    --------
    >>> from geometries import Trace, named_stackup
    >>> region = Trace(layer="L1", distance=2e-3, width=0.2e-3).region("feedback", named_stackup("2L-1.6"), 3.5e-3)
    >>> region.role.value
    'victim'
    """

    SAID_OF = "a trace: "
    layer: str
    distance: Annotated[Length, Field(description="from the loop's right edge")]
    width: Positive[Length]

    def region(self, name: str, stackup: Stackup, loop_edge: float, role: Role = Role.VICTIM) -> Region:
        """The trace as a conductor; `loop_edge` is the right edge of the loop [m]."""
        bottom, top = stackup.heights(self.layer)
        left = loop_edge + self.distance
        outline = Rectangle(left=left, right=left + self.width, bottom=bottom, top=top)
        return Region(name=name, outline=outline, role=role, material=stackup.copper)


@dataclass(frozen=True, slots=True, kw_only=True)
class Victim:
    """A trace with its reference, in which its current returns.

    Parameters
    ----------
    name : str
        Unique among the victims of its variant.
    conductor, reference : str
        Groups of the trace and of its reference.
    length : float
        Length of its run parallel to the loop [m].
    run : Run
        Between the output and the divider, or between the divider and the pin.
    trace : Trace, optional
        Where it lies on the board; none in a user-defined section.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> setup = read_builtin_scenario("weather-station").variants[0].pickup
    >>> setup.victims[0].run.value, setup.victims[0].trace.layer
    ('sense side', 'L1')
    """

    name: str
    conductor: str
    reference: str
    length: float
    run: Run
    trace: Trace | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "run", Run(self.run))
        if not 0 < self.length < math.inf:
            raise GeometryError(f"the run of victim {self.name!r} is {self.length:g} m long; it must be above zero")
        if self.conductor == self.reference:
            raise GeometryError(f"victim {self.name!r} is its own reference {self.reference!r}; name another conductor")

    def beside(self, length: float) -> float:
        """Stretch along which the run has something of a length beside it [m]: the shorter of both.

        A loop of that length and a run that goes on for ever have just this much of the section's mutual inductance,
        because such loops in a row make an endless one; a run that ends with the loop has less.
        """
        return min(self.length, length)


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchNode:
    """Copper whose voltage jumps.

    Parameters
    ----------
    conductor : str
        Its group.
    length : float
        Its length along the loop [m].

    Examples
    --------
    >>> from geometries import SwitchNode
    >>> SwitchNode(conductor="go", length=6e-3).conductor
    'go'
    """

    conductor: str
    length: float

    def __post_init__(self) -> None:
        if not 0 < self.length < math.inf:
            raise GeometryError(f"the switch node is {self.length:g} m long; it must be above zero")


@dataclass(frozen=True, slots=True, kw_only=True)
class Divider(Table):
    """The feedback divider and the pin behind it.

    Parameters
    ----------
    upper, lower : float
        Resistors from the output to the pin and from the pin to ground [ohm].
    feed_forward : float
        Capacitor across the upper resistor [F]; 0 for none.
    pin_capacitance : float
        From the pin to ground [F].
    source_resistance : float
        Of the output as the sense run sees it, at the frequencies of the edges [ohm].

    Examples
    --------
    >>> from geometries import Divider
    >>> Divider(upper=31.6e3, lower=10e3, feed_forward=22e-12).pin_capacitance
    5e-12
    """

    SAID_OF = "pickup divider: "
    upper: Positive[Resistance]
    lower: Positive[Resistance]
    feed_forward: NotNegative[Capacitance] = 0.0
    pin_capacitance: Positive[Capacitance] = 5e-12
    source_resistance: NotNegative[Resistance] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive(OperatingTable):
    """The `[pickup]` table of a scenario: what the loop and the switch node do, and what the pin is compared with.

    Parameters
    ----------
    current : float
        Height of the loop's trapezoidal current [A].
    frequency : float
        Switching frequency [Hz].
    duty : float
        Between the middles of both edges [1].
    rise_time, fall_time : float
        Edges of the current, 0 to 100 % [s].
    voltage : float
        Step of the switch node [V].
    voltage_rise_time, voltage_fall_time : float
        Its edges, 0 to 100 % [s].
    reference_voltage : float
        What the pin is regulated to [V].
    divider : Divider
        Between output and pin.
    budget : float
        Largest peak at the pin that is allowed [V]; infinite if none is stated.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> setup = read_builtin_scenario("weather-station").variants[0].pickup
    >>> setup.drive.current, setup.drive.fall_time
    (3.0, 2e-09)
    """

    SAID_OF = "pickup: "
    current: Positive[Current]
    frequency: Positive[Frequency]
    duty: Fraction = 0.5
    rise_time: Positive[Time]
    fall_time: Positive[Time]
    voltage: NotNegative[Voltage]
    voltage_rise_time: Positive[Time]
    voltage_fall_time: Positive[Time]
    reference_voltage: Positive[Voltage]
    divider: Divider
    budget: Positive[Voltage] = math.inf

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        self.require_room(self.rise_time, self.fall_time)
        self.require_room(self.voltage_rise_time, self.voltage_fall_time)

    def require_room(self, rise: float, fall: float) -> None:
        """Check that two edges [s] fit into a period.

        Raises
        ------
        ScenarioError
            If they do not.
        """
        edges = (rise + fall) * self.frequency / 2
        if not edges <= self.duty <= 1 - edges:
            raise ScenarioError(
                f"pickup: the duty is {self.duty:.3g}; with edges of {rise:g} s and {fall:g} s it lies between "
                f"{edges:.3g} and {1 - edges:.3g}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class VictimSetup:
    """The victims of a variant in its section.

    Parameters
    ----------
    section : CrossSection
        The variant's section with the victims' copper, the switch node's and the board's dielectrics; its first loop
        is the variant's, one more follows for each victim, and then one for each further switched loop.
    victims : tuple of Victim
        In the order of the section's further loops.
    drive : Drive
        Cause of the noise, and the pin.
    loop_edge : float
        See :func:`loop_edge` [m].
    loop_length : float
        Of the variant's loop [m].
    switch_node : SwitchNode, optional
        None leaves electric pick-up out.
    stackup : Stackup, optional
        The board; none for a user-defined section.
    further : tuple of SwitchedLoop
        That the victims pick up too.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> setup = read_builtin_scenario("weather-station").variants[0].pickup
    >>> [loop.name for loop in setup.section.loops]
    ['loop', 'feedback']
    """

    section: CrossSection
    victims: tuple[Victim, ...]
    drive: Drive
    loop_edge: float
    loop_length: float
    switch_node: SwitchNode | None = None
    stackup: Stackup | None = None
    further: tuple[SwitchedLoop, ...] = ()

    def __post_init__(self) -> None:
        for loop in self.further:
            self.drive.require_room(loop.edge, loop.edge)

    @property
    def sources(self) -> tuple[tuple[str, int, float], ...]:
        """Name, index among the section's loops and length [m] of every loop that induces, the variant's own first."""
        first = 1 + len(self.victims)
        others = ((loop.name, number, loop.length) for number, loop in enumerate(self.further, start=first))
        return (self.section.loops[0].name, 0, self.loop_length), *others


def loop_edge(section: CrossSection) -> float:
    """Right edge of the loop [m]: of the go copper, and of the return copper if it lies beside it on the same layer.

    Parameters
    ----------
    section : CrossSection
        Of the loop.

    Returns
    -------
    float
        x of the edge [m].

    Examples
    --------
    >>> from geometries import MM, SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> section = cross_section("loop", named_stackup("2L-1.6"), loop)
    >>> from geometries import loop_edge
    >>> round(loop_edge(section) * 1e3, 6)
    3.5
    """
    go = [region for region in section.regions if region.group == section.loops[0].go_group]
    levels = {region.outline.bounds[1] for region in go}
    beside = [
        region
        for region in section.regions
        if region.group == section.loops[0].return_group and region.outline.bounds[1] in levels
    ]
    return max(region.outline.bounds[2] for region in (*go, *beside))


def with_victims(
    section: CrossSection,
    victims: Iterable[Victim],
    drive: Drive,
    *,
    loop_edge: float,
    loop_length: float,
    copper: Iterable[Region] = (),
    switch_node: SwitchNode | None = None,
    stackup: Stackup | None = None,
) -> VictimSetup:
    """Put victims into a section.

    Parameters
    ----------
    section : CrossSection
        The loop's own section.
    victims : iterable of Victim
        At least one.
    drive, loop_edge, loop_length : Drive, float, float
        As for :class:`VictimSetup`.
    copper : iterable of Region
        Conductors of the victims and of the switch node that the section does not hold yet.
    switch_node : SwitchNode, optional
        Copper whose voltage jumps.
    stackup : Stackup, optional
        The board, whose dielectrics are filled in.

    Returns
    -------
    VictimSetup

    Raises
    ------
    GeometryError
        If there is no victim, one lies inside or against other copper, or a conductor or reference is not known.

    Examples
    --------
    >>> from geometries import MM, SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> section = cross_section("loop", named_stackup("2L-1.6"), loop)
    >>> from geometries import Divider, Drive, Trace, Victim, with_victims, loop_edge
    >>> drive = Drive(
    ...     current=3.0,
    ...     frequency=500e3,
    ...     rise_time=2e-9,
    ...     fall_time=2e-9,
    ...     voltage=24.0,
    ...     voltage_rise_time=3e-9,
    ...     voltage_fall_time=3e-9,
    ...     reference_voltage=0.8,
    ...     divider=Divider(upper=31.6e3, lower=10e3),
    ... )
    >>> trace = Trace(layer="L1", distance=2 * MM, width=0.2 * MM)
    >>> copper = trace.region("feedback", named_stackup("2L-1.6"), loop_edge(section))
    >>> victim = Victim(
    ...     name="feedback", conductor="feedback", reference="return", length=8 * MM, run=Run.SENSE, trace=trace
    ... )
    >>> setup = with_victims(
    ...     section, [victim], drive, loop_edge=loop_edge(section), loop_length=8 * MM, copper=[copper]
    ... )
    >>> len(setup.section.regions)
    3
    """
    victims, copper = tuple(victims), tuple(copper)
    if not victims:
        raise GeometryError("no victim is described; name at least one trace, for example [victims.feedback]")
    _require_free(copper, section.regions)
    regions = (*section.regions, *copper)
    known = dict.fromkeys(region.group for region in regions)
    for victim in victims:
        for what, group in (("conductor", victim.conductor), ("reference", victim.reference)):
            if group not in known:
                raise GeometryError(
                    f"the {what} of victim {victim.name!r} is {group!r}, which no copper is called; there are "
                    + ", ".join(map(repr, known))
                )
    if switch_node is not None and switch_node.conductor not in known:
        raise GeometryError(
            f"the switch node is {switch_node.conductor!r}, which no copper is called; there are "
            + ", ".join(map(repr, known))
        )
    loops = [CurrentLoop(name=each.name, go_group=each.conductor, return_group=each.reference) for each in victims]
    filled = section.dielectrics if stackup is None else board_dielectrics(stackup, regions)
    whole = replace(section, regions=regions, loops=(section.loops[0], *loops), dielectrics=filled)
    return VictimSetup(
        section=whole,
        victims=victims,
        drive=drive,
        loop_edge=loop_edge,
        loop_length=loop_length,
        switch_node=switch_node,
        stackup=stackup,
    )


def with_switched(pickup: VictimSetup, switched: SwitchedLoops) -> VictimSetup:
    """The same with further switched loops, whose copper lies in the section and which the victims pick up too.

    Parameters
    ----------
    pickup : VictimSetup
        The victims.
    switched : SwitchedLoops
        Of the same section and victims.
    """
    others = switched.loops[1:]
    section = switched.section
    dielectrics = section.dielectrics if pickup.stackup is None else board_dielectrics(pickup.stackup, section.regions)
    loops = (*pickup.section.loops, *section.loops[1 : 1 + len(others)])
    return replace(pickup, section=replace(section, loops=loops, dielectrics=dielectrics), further=others)


def moved(
    pickup: VictimSetup, victim: Victim, *, distance: float, width: float | None = None, layer: str = ""
) -> VictimSetup:
    """The same with one victim at another distance from the loop, of another width, or on another layer.

    Parameters
    ----------
    pickup : VictimSetup
        With that victim.
    victim : Victim
        One that lies on a board.
    distance : float
        From the loop's right outer edge to the trace's left edge [m].
    width : float, optional
        Its width [m]; as it was if not given.
    layer : str, optional
        Its copper layer; as it was if not given.

    Returns
    -------
    VictimSetup
        With the one trace moved.

    Raises
    ------
    GeometryError
        If it comes to lie in other copper, or does not lie on a board.
    """
    if victim.trace is None or pickup.stackup is None:
        raise GeometryError(
            f"victim {victim.name!r} lies in a user-defined section; only a trace on a board can be moved"
        )
    trace = replace(
        victim.trace,
        distance=distance,
        width=victim.trace.width if width is None else width,
        layer=layer or victim.trace.layer,
    )
    own = trace.region(victim.conductor, pickup.stackup, pickup.loop_edge)
    rest = tuple(region for region in pickup.section.regions if region.name != victim.conductor)
    _require_free((own,), rest)
    regions = tuple(own if region.name == victim.conductor else region for region in pickup.section.regions)
    changed = replace(victim, trace=trace)
    return replace(
        pickup,
        section=replace(pickup.section, regions=regions, dielectrics=board_dielectrics(pickup.stackup, regions)),
        victims=tuple(changed if each is victim else each for each in pickup.victims),
    )


def _require_free(copper: tuple[Region, ...], others: tuple[Region, ...]) -> None:
    """Check that new conductors lie clear of those that are there."""
    for region in copper:
        for other in others:
            if region.outline.shape.intersects(other.outline.shape):
                left, bottom, right, _ = region.outline.bounds
                raise GeometryError(
                    f"{region.name!r} lies in copper {other.name!r}: it reaches from x = {left * 1e3:.4g} to "
                    f"{right * 1e3:.4g} mm at y = {bottom * 1e3:.4g} mm; move it away (key distance), make it "
                    "narrower, or put it on another layer"
                )
