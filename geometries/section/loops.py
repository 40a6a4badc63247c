"""The three parametric loops and the planes under them, and the cross-section they make on a stackup.

Every loop is centred on x = 0. A loop describes what the long middle of the commutation loop looks like in
section; its ends (pads, vias, the switch package) are terms of their own elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated, Literal

from pydantic import Field

from geometries.board.stackup import DielectricLayer, Stackup, with_copper_thickness
from geometries.errors import GeometryError
from geometries.section.outline import Outline, Polygon, Rectangle
from geometries.section.section import CrossSection, CurrentLoop, DielectricBand, Region, Role, Tie
from geometries.tables import Angle, CopperThickness, Length, Positive, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightLoop(Table):
    """What all loops with straight copper share.

    Parameters
    ----------
    width : float
        Width of the go copper [m].
    return_width : float, optional
        Width of the return copper [m]; that of the go copper if not given.
    length : float
        Length of the loop along the current [m].
    copper_thickness : float, optional
        Of the layers that it lies on [m]; that of the board if not given.
    sidewall_angle : float
        Lean of the etched side walls from the upright [degrees]; 0 is upright, copper narrows upwards.
    """

    width: Positive[Length]
    return_width: Positive[Length] | None = None
    length: Positive[Length]
    copper_thickness: CopperThickness | None = None
    sidewall_angle: Angle = 0.0

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        if not 0 <= self.sidewall_angle < 80:
            raise GeometryError(
                f"sidewall angle is {self.sidewall_angle:g}°; it must lie between 0 and 80° from the upright"
            )

    @property
    def back_width(self) -> float:
        """Width of the return copper [m]."""
        return self.width if self.return_width is None else self.return_width


@dataclass(frozen=True, slots=True, kw_only=True)
class SameLayerLoop(StraightLoop):
    """Go and return copper side by side on one layer; parameters beyond those of :class:`StraightLoop`.

    Parameters
    ----------
    gap : float
        Clearance between the two, at their feet [m].
    layer : str
        Copper layer of both.
    land : float, optional
        Length along the loop of the lands on which switch and capacitor bridge the gap, their middles at its ends [m];
        as long as the gap is wide if not given, and then uncertain by a factor of two.

    Examples
    --------
    >>> from geometries import MM, SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> section = cross_section("loop", named_stackup("2L-1.6"), loop)
    >>> section.groups
    ('go', 'return')
    """

    kind: Literal["same-layer"] = "same-layer"
    gap: Positive[Length]
    layer: str = "L1"
    land: Positive[Length] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLayerLoop(StraightLoop):
    """Return copper on another layer under the go copper; parameters beyond those of :class:`StraightLoop`.

    Parameters
    ----------
    layer : str
        Copper layer of the go copper.
    return_layer : str
        Copper layer of the return copper; the next one below if not given.

    Examples
    --------
    >>> from geometries import MM, NextLayerLoop
    >>> NextLayerLoop(width=3 * MM, return_width=8 * MM, length=6 * MM).back_width
    0.008
    """

    kind: Literal["next-layer"] = "next-layer"
    layer: str = "L1"
    return_layer: str = ""

    def __post_init__(self) -> None:
        StraightLoop.__post_init__(self)
        if self.layer == self.return_layer:
            raise GeometryError(
                f"go and return both lie on layer {self.layer!r}; name another return layer, or describe a "
                "same-layer loop"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class ThroughBoardLoop(StraightLoop):
    """Capacitor on the far side: the current returns on the last layer of the board.

    Parameters
    ----------
    width, return_width, length, copper_thickness, sidewall_angle
        As for every straight loop.

    Examples
    --------
    >>> from geometries import MM, ThroughBoardLoop
    >>> ThroughBoardLoop(width=3 * MM, length=6 * MM).back_width
    0.003
    """

    kind: Literal["through-board"] = "through-board"


Loop = SameLayerLoop | NextLayerLoop | ThroughBoardLoop


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot(Table):
    """A slot in a plane along the loop; `position` of its middle from the loop's middle, and `width` [m].

    `bonded` tells whether the two halves are connected at both ends of the loop; a slot that is shorter than the
    plane leaves them bonded.

    Parameters
    ----------
    position : float
        Of its middle from the loop's middle [m].
    width : float
        [m], > 0.
    bonded : bool
        Whether its two sides are connected at both ends of the loop.

    Examples
    --------
    >>> from geometries import MM, Slot
    >>> Slot(width=1 * MM).position
    0.0
    """

    position: Annotated[Length, Field(description="of its middle, from the middle of the loop")] = 0.0
    width: Positive[Length]
    bonded: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class TieVias(Table):
    """A row of vias across the loop that ties a plane to the return at one of its ends.

    Parameters
    ----------
    count : int
        At each end that is tied, > 0.
    pitch : float
        From one via's middle to the next [m], above the drill.
    drill : float
        Diameter of their holes [m], > 0.

    Raises
    ------
    GeometryError
        If the holes meet, or there is no via.

    Examples
    --------
    >>> from geometries import MM, TieVias
    >>> f"{TieVias(count=4, pitch=0.8 * MM, drill=0.3 * MM).span * 1e3:.1f} mm"
    '2.7 mm'
    """

    count: int = 1
    pitch: Positive[Length] = 0.8e-3
    drill: Positive[Length] = 0.3e-3

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        if not 1 <= self.count <= _MOST_VIAS:
            raise GeometryError(f"count is {self.count}; a row that ties a plane has 1 to {_MOST_VIAS} vias")
        if self.count > 1 and not self.pitch > self.drill:
            raise GeometryError(
                f"the holes of a row meet: pitch is {self.pitch * 1e3:.4g} mm, drill {self.drill * 1e3:.4g} mm; "
                "give a pitch above the drill"
            )

    @property
    def span(self) -> float:
        """Width of the row over the outermost holes [m]."""
        return (self.count - 1) * self.pitch + self.drill


_MOST_VIAS = 1000
"""More are a slip of the pen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane(Table):
    """A ground layer under the loop's upper copper.

    Parameters
    ----------
    layer : str
        Its copper layer.
    tie : Tie
        At which ends of the loop vias tie it to the return. Tied at both it carries part of the return; tied at one, or
        nowhere, it carries only what is induced in it.
    width : float
        Width across the loop [m].
    edge_distance : float
        Distance from the loop's right outer edge to the plane's right edge [m], negative if the loop
        reaches beyond it; infinite for a plane centred under the loop.
    length : float
        Its extent along the loop, about whose middle it lies [m]; infinite if nobody says it.
    slots : tuple of Slot
        Slots along the loop, from left to right.
    vias : TieVias, optional
        The row of vias at each end that is tied; as many as fit if not given.

    Examples
    --------
    >>> from geometries import MM, Plane, Tie
    >>> Plane(layer="L2", tie=Tie.BOTH_ENDS, width=40 * MM).edge_distance
    inf
    """

    layer: str
    tie: Tie
    width: Positive[Length]
    edge_distance: float = math.inf
    length: float = math.inf
    slots: tuple[Slot, ...] = ()
    vias: TieVias | None = None

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        object.__setattr__(self, "tie", Tie(self.tie))
        if self.vias is not None and not self.tie.has_vias:
            raise GeometryError(
                f"plane {self.layer!r} has vias, but its tie is {self.tie.value!r}; say at which end they tie it: "
                f"tie = {Tie.BOTH_ENDS.value!r}, {Tie.CAPACITOR_END.value!r} or {Tie.SWITCH_END.value!r}"
            )


def tie_row(plane: Plane, loop: Loop) -> TieVias | None:
    """The row of vias at each tied end of a plane; None for a plane that is tied nowhere.

    Parameters
    ----------
    plane : Plane
        With or without a row of its own.
    loop : SameLayerLoop, NextLayerLoop or ThroughBoardLoop
        Its return copper holds the row; where the plane is the return itself, the go copper.

    Returns
    -------
    TieVias or None
        If the plane has none of its own, as many as fit side by side, at the usual pitch.

    Raises
    ------
    GeometryError
        If the row is wider than the copper.

    Examples
    --------
    >>> from geometries import MM, Plane, SameLayerLoop
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> tie_row(Plane(layer="L2", tie="both ends", width=40 * MM), loop).count
    4
    """
    if not plane.tie.has_vias:
        return None
    room = loop.back_width if isinstance(loop, SameLayerLoop) else min(loop.width, loop.back_width)
    if plane.vias is None:
        usual = TieVias()
        return replace(usual, count=1 + max(0, math.floor((room - usual.drill) / usual.pitch)))
    if plane.vias.count > 1 and plane.vias.span > room:
        raise GeometryError(
            f"the {plane.vias.count} vias of plane {plane.layer!r} form a row {plane.vias.span * 1e3:.4g} mm wide, and "
            f"the copper that they tie is {room * 1e3:.4g} mm wide; take fewer, a smaller pitch or wider copper"
        )
    return plane.vias


def cross_section(name: str, stackup: Stackup, loop: Loop, planes: Iterable[Plane] = ()) -> CrossSection:
    """Build the cross-section of a loop with its planes on a stackup.

    Parameters
    ----------
    name : str
        Title of the section.
    stackup : Stackup
        Heights and copper thickness of every layer.
    loop : SameLayerLoop, NextLayerLoop or ThroughBoardLoop
        Go and return copper.
    planes : iterable of Plane
        Ground layers; absent ones are skipped. A plane tied at both ends on the return layer of a next-layer or
        through-board loop takes the place of the return copper.

    Returns
    -------
    CrossSection
        Regions ``go``, ``return`` and one or more per plane, named after its layer.

    Raises
    ------
    GeometryError
        If a layer is unknown, or a plane shares a layer with the loop's own copper and meets it.

    Examples
    --------
    >>> from geometries import MM, SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3 * MM, gap=1 * MM, length=8 * MM)
    >>> section = cross_section("loop", named_stackup("2L-1.6"), loop)
    >>> [region.name for region in section.regions]
    ['go', 'return']
    """
    stackup = board_of(stackup, loop)
    go, back = _loop_regions(stackup, loop)
    planes = tuple(planes)
    regions = [go] if any(_is_return(stackup, loop, plane) for plane in planes) else [go, back]
    for plane in planes:
        if plane.tie is not Tie.ABSENT:
            regions.extend(_plane_regions(stackup, loop, plane))
    return CrossSection(name=name, regions=tuple(regions), loops=(CurrentLoop(),), bands=dielectric_bands(stackup))


def dielectric_bands(stackup: Stackup) -> tuple[DielectricBand, ...]:
    """The dielectric layers of a board as bands of a section."""
    return tuple(
        DielectricBand(name=layer.name, bottom=lower, top=upper, relative_permittivity=layer.relative_permittivity)
        for layer, lower, upper in stackup.surfaces()
        if isinstance(layer, DielectricLayer)
    )


def loop_layers(stackup: Stackup, loop: Loop) -> tuple[str, str]:
    """Layers of the go and of the return copper."""
    if isinstance(loop, SameLayerLoop):
        return loop.layer, loop.layer
    if isinstance(loop, NextLayerLoop):
        return loop.layer, loop.return_layer or _layer_below(stackup, loop.layer)
    names = stackup.copper_names
    if len(names) < 2:
        raise GeometryError(f"stackup {stackup.name!r} has one copper layer; a through-board loop needs two")
    return names[0], names[-1]


def board_of(stackup: Stackup, loop: Loop) -> Stackup:
    """The board with the copper thickness of a loop on its layers."""
    if loop.copper_thickness is None:
        return stackup
    return with_copper_thickness(stackup, loop_layers(stackup, loop), loop.copper_thickness)


def _layer_below(stackup: Stackup, layer: str) -> str:
    stackup.heights(layer)
    names = stackup.copper_names
    position = names.index(layer)
    if position + 1 == len(names):
        raise GeometryError(f"layer {layer!r} is the last of stackup {stackup.name!r}; name a return_layer")
    return names[position + 1]


def loop_span(loop: Loop) -> float:
    """Width over all of the loop's own copper [m]."""
    if isinstance(loop, SameLayerLoop):
        return loop.width + loop.gap + loop.back_width
    return max(loop.width, loop.back_width)


def plane_span(plane: Plane, loop: Loop) -> tuple[float, float]:
    """Left and right edge of a ground layer across its loop [m]."""
    right = plane.width / 2 if math.isinf(plane.edge_distance) else loop_span(loop) / 2 + plane.edge_distance
    return right - plane.width, right


def _loop_regions(stackup: Stackup, loop: Loop) -> tuple[Region, Region]:
    go_layer, return_layer = loop_layers(stackup, loop)
    if isinstance(loop, SameLayerLoop):
        span = loop_span(loop)
        go_span = (-span / 2, -span / 2 + loop.width)
        return_span = (span / 2 - loop.back_width, span / 2)
    else:
        go_span = (-loop.width / 2, loop.width / 2)
        return_span = (-loop.back_width / 2, loop.back_width / 2)
    go = _trace(stackup, go_layer, go_span, loop.sidewall_angle)
    back = _trace(stackup, return_layer, return_span, loop.sidewall_angle)
    return (
        Region(name="go", outline=go, role=Role.GO, material=stackup.copper),
        Region(name="return", outline=back, role=Role.RETURN, material=stackup.copper),
    )


def _trace(stackup: Stackup, layer: str, span: tuple[float, float], angle: float) -> Outline:
    """A trace with its foot on the laminate: upright, or narrowing away from the board's middle."""
    bottom, top = stackup.heights(layer)
    left, right = span
    if angle == 0:
        return Rectangle(left=left, right=right, bottom=bottom, top=top)
    lean = (top - bottom) * math.tan(math.radians(angle))
    if 2 * lean >= right - left:
        raise GeometryError(
            f"a sidewall angle of {angle:g}° takes all the width of copper {right - left:g} m wide on layer {layer!r}"
        )
    narrow_top = bottom + top > stackup.top + (stackup.top - stackup.thickness)
    foot, head = (bottom, top) if narrow_top else (top, bottom)
    return Polygon(vertices=((left, foot), (right, foot), (right - lean, head), (left + lean, head)))


def _plane_regions(stackup: Stackup, loop: Loop, plane: Plane) -> list[Region]:
    bottom, top = stackup.heights(plane.layer)
    own_layers = loop_layers(stackup, loop)
    if plane.layer in own_layers and not _is_return(stackup, loop, plane):
        raise GeometryError(
            f"plane on layer {plane.layer!r} would lie in the loop's own copper there (the loop uses "
            f"{', '.join(dict.fromkeys(own_layers))}); give the plane another layer, or set its tie to absent"
        )
    if bottom > max(stackup.heights(layer)[0] for layer in own_layers):
        raise GeometryError(
            f"plane on layer {plane.layer!r} lies above the loop on {own_layers[0]!r}; planes lie below the loop's "
            "upper copper: swap the layers, or define the section region by region"
        )
    tie_row(plane, loop)
    if plane.tie.carries_return and not all(slot.bonded for slot in plane.slots):
        raise GeometryError(
            f"plane {plane.layer!r} is tied to the return at both ends, and so are both sides of its slots; remove "
            "bonded = false, or tie the plane at one end"
        )
    pieces = _cut(plane, *plane_span(plane, loop))
    return [
        Region(
            name=plane.layer if len(pieces) == 1 else f"{plane.layer} part {number}",
            outline=Rectangle(left=left, right=stop, bottom=bottom, top=top),
            role=plane.tie.role,
            material=stackup.copper,
            tie=plane.tie,
            group=_group(plane, number),
        )
        for number, (left, stop) in enumerate(pieces, start=1)
    ]


def _is_return(stackup: Stackup, loop: Loop, plane: Plane) -> bool:
    """Whether a plane is the loop's own return copper: tied at both ends, on the layer of the return alone."""
    go_layer, return_layer = loop_layers(stackup, loop)
    return plane.tie.carries_return and plane.layer == return_layer != go_layer


def _group(plane: Plane, number: int) -> str:
    if plane.tie.carries_return:
        return Role.RETURN.value
    open_slots = sum(not slot.bonded for slot in plane.slots[: number - 1])
    return plane.layer if open_slots == 0 else f"{plane.layer} beyond open slot {open_slots}"


def _cut(plane: Plane, left: float, right: float) -> list[tuple[float, float]]:
    """Spans of copper that the slots leave of a plane."""
    spans = []
    for slot in plane.slots:
        start, stop = slot.position - slot.width / 2, slot.position + slot.width / 2
        if not (left < start and stop < right):
            raise GeometryError(
                f"the slot of plane {plane.layer!r} reaches from {start * 1e3:.4g} to {stop * 1e3:.4g} mm, but the "
                f"plane's copper there spans {left * 1e3:.4g} to {right * 1e3:.4g} mm; list slots from left to right "
                "and inside the plane"
            )
        spans.append((left, start))
        left = stop
    return [*spans, (left, right)]
