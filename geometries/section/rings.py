"""The axisymmetric view of a loop: a ring or a round wire over discs, and the ring that stands for a rectangular loop.

A ring closes on itself. It shows what a section cannot: the magnetic moment that reaches far, the field that comes
round the edge of a finite plane, and planes above the loop as well as below. It knows nothing of stitching: a disc
carries the current induced in it, whatever it is connected to.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from geometries.board.stackup import Stackup, with_copper_thickness
from geometries.errors import GeometryError
from geometries.section.loops import Loop, Plane, SameLayerLoop, board_of, dielectric_bands, loop_span
from geometries.section.outline import Circle, Outline, Rectangle
from geometries.section.section import CrossSection, CurrentLoop, Region, Role, Tie, View
from geometries.tables import CopperThickness, Length, Table

RING_LOOP = CurrentLoop(return_group="")
"""The current of a ring, which closes on itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RingLoop(Table):
    """A flat ring on a copper layer, or a round wire over it.

    Parameters
    ----------
    radius : float
        Mean radius [m].
    width : float
        Radial width of a flat ring [m]; 0 for a wire.
    layer : str
        Copper layer of the ring, or the one whose upper face the wire's height is measured from.
    wire : float
        Diameter of a round wire [m]; 0 for a flat ring.
    height : float
        Height of the wire's axis above the upper face of the layer [m]; 0 for a flat ring.
    copper_thickness : float, optional
        Of its layer [m]; that of the board if not given.

    Examples
    --------
    >>> from geometries import RingLoop
    >>> RingLoop(radius=6e-3, width=1.5e-3).layer
    'L1'
    """

    kind: Literal["ring"] = "ring"
    radius: Length
    layer: str = "L1"
    width: Length = 0.0
    wire: Length = 0.0
    height: Length = 0.0
    copper_thickness: CopperThickness | None = None

    def __post_init__(self) -> None:
        if (self.width > 0) == (self.wire > 0):
            raise GeometryError("a ring is either flat, with its width, or a wire, with its diameter: give one of them")
        if not self.radius > max(self.width, self.wire) / 2:
            raise GeometryError(
                f"a ring of mean radius {self.radius * 1e3:.4g} mm and {max(self.width, self.wire) * 1e3:.4g} mm width "
                "crosses its own axis; its mean radius must be above half its width"
            )
        if self.wire > 0 and not self.height > self.wire / 2:
            raise GeometryError(
                f"the axis of a wire {self.wire * 1e3:.4g} mm thick lies {self.height * 1e3:.4g} mm above layer "
                f"{self.layer!r}; it must lie more than half the wire's diameter above it"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class AnnularSlot:
    """A slot round the axis; `radius` of its middle and radial `width` [m]."""

    radius: float
    width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """A round plane.

    Parameters
    ----------
    layer : str
        Its copper layer; above or below the ring.
    radius : float
        Outer radius [m].
    hole : float
        Radius of a hole in its middle [m]; 0 for none.
    slots : tuple of AnnularSlot
        From the inside outwards.
    tie : Tie
        Where it is tied, which changes nothing of its currents.

    Examples
    --------
    >>> from geometries import Disc
    >>> Disc(layer="L2", radius=13e-3, hole=4e-3).slots
    ()
    """

    layer: str
    radius: float
    hole: float = 0.0
    slots: tuple[AnnularSlot, ...] = ()
    tie: Tie = Tie.NONE

    def __post_init__(self) -> None:
        if not 0 <= self.hole < self.radius:
            raise GeometryError(
                f"disc {self.layer!r} has a radius of {self.radius * 1e3:.4g} mm and a hole of "
                f"{self.hole * 1e3:.4g} mm radius; the hole must be smaller than the disc"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisymmetricLoop:
    """A loop in the axisymmetric view.

    Parameters
    ----------
    section : CrossSection
        Its half-plane.
    radius : float
        Mean radius of the ring [m].
    mapping : str
        How it was mapped from a rectangular loop, in words; empty if it was described as a ring.
    left_out : str
        What the mapping leaves out; empty if nothing.
    """

    section: CrossSection
    radius: float
    mapping: str = ""
    left_out: str = ""


def ring_section(name: str, stackup: Stackup, ring: RingLoop, discs: Iterable[Disc] = ()) -> CrossSection:
    """Build the half-plane of a ring with its discs on a stackup.

    Parameters
    ----------
    name, stackup : str, Stackup
        As for :func:`geometries.section.loops.cross_section`.
    ring : RingLoop
        The loop.
    discs : iterable of Disc
        Round planes on other layers.

    Returns
    -------
    CrossSection
        Regions ``go`` and one or more per disc, named after its layer.

    Raises
    ------
    GeometryError
        If a layer is unknown, a disc lies in the ring, or a slot outside its disc.

    Examples
    --------
    >>> from geometries import Disc, RingLoop, named_stackup, ring_section
    >>> ring = RingLoop(radius=6e-3, width=1.5e-3)
    >>> section = ring_section("ring", named_stackup("2L-1.6"), ring, [Disc(layer="L2", radius=13e-3)])
    >>> [region.name for region in section.regions]
    ['go', 'L2']
    """
    stackup = ring_board(stackup, ring)
    go = Region(name="go", outline=_ring_outline(stackup, ring), role=Role.GO, material=stackup.copper)
    regions = [go, *(region for disc in discs for region in _disc_regions(stackup, disc))]
    return CrossSection(
        name=name, regions=tuple(regions), loops=(RING_LOOP,), bands=dielectric_bands(stackup), view=View.AXISYMMETRIC
    )


def ring_board(stackup: Stackup, ring: RingLoop) -> Stackup:
    """The board with the copper thickness of a ring on its layer."""
    if ring.copper_thickness is None:
        return stackup
    return with_copper_thickness(stackup, (ring.layer,), ring.copper_thickness)


def equal_area_ring(loop: SameLayerLoop) -> RingLoop:
    """The flat ring that encloses as much area as the middle line of a rectangular loop.

    Parameters
    ----------
    loop : SameLayerLoop
        Its middle line is as long as the loop and as wide as the distance of the middles of go and return.

    Returns
    -------
    RingLoop
        As wide as go and return are on average.

    Raises
    ------
    GeometryError
        If the copper is so wide that the ring would cross its axis.

    Examples
    --------
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> round(equal_area_ring(loop).radius * 1e3, 3)
    3.192
    """
    radius, width = _equal_area(loop)
    return RingLoop(radius=radius, width=width, layer=loop.layer)


def why_no_ring(loop: Loop) -> str:
    """Why a loop has no axisymmetric counterpart; empty if it has one.

    Examples
    --------
    >>> why_no_ring(SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1"))
    ''
    """
    if not isinstance(loop, SameLayerLoop):
        return "its loop stands upright on the board, and a ring that lies on it encloses no such area"
    radius, width = _equal_area(loop)
    if radius > width / 2:
        return ""
    return (
        f"a ring of its area has a mean radius of {radius * 1e3:.3g} mm, no more than half the width of its copper, "
        f"{width * 1e3:.3g} mm, and would cross its axis"
    )


def _equal_area(loop: SameLayerLoop) -> tuple[float, float]:
    """Mean radius and width of the ring [m]."""
    width = (loop.width + loop.back_width) / 2
    return math.sqrt(loop.length * (loop.gap + width) / math.pi), width


def equal_overhang_disc(loop: SameLayerLoop, ring: RingLoop, plane: Plane) -> Disc:
    """The disc that reaches as far past the ring as a plane does past the loop, on the average of both sides."""
    outer = ring.radius + ring.width / 2
    return Disc(layer=plane.layer, radius=max(outer + (plane.width - loop_span(loop)) / 2, plane.width / 2))


def axisymmetric_twin(name: str, stackup: Stackup, loop: SameLayerLoop, planes: Iterable[Plane]) -> AxisymmetricLoop:
    """The axisymmetric view of a same-layer loop with its planes: equal area, equal overhang, slots left out.

    Raises
    ------
    GeometryError
        If the loop has no axisymmetric counterpart (see :func:`equal_area_ring`).
    """
    ring = equal_area_ring(loop)
    stackup = board_of(stackup, loop)
    mapped = tuple(planes)
    discs = [equal_overhang_disc(loop, ring, plane) for plane in mapped]
    slotted = [plane.layer for plane in mapped if plane.slots]
    mapping = (
        f"ring of mean radius {ring.radius * 1e3:.3g} mm and {ring.width * 1e3:.3g} mm width, of the same area as the "
        f"loop of {loop.length * 1e3:.3g} mm × {(loop.gap + ring.width) * 1e3:.3g} mm between the middles of its copper"
    )
    return AxisymmetricLoop(
        section=ring_section(name, stackup, ring, discs),
        radius=ring.radius,
        mapping=mapping,
        left_out=f"slots of {', '.join(slotted)}" if slotted else "",
    )


def _ring_outline(stackup: Stackup, ring: RingLoop) -> Outline:
    bottom, top = stackup.heights(ring.layer)
    if ring.wire > 0:
        return Circle(centre=(ring.radius, top + ring.height), radius=ring.wire / 2)
    return Rectangle(left=ring.radius - ring.width / 2, right=ring.radius + ring.width / 2, bottom=bottom, top=top)


def _disc_regions(stackup: Stackup, disc: Disc) -> list[Region]:
    bottom, top = stackup.heights(disc.layer)
    pieces = _cut(disc)
    return [
        Region(
            name=disc.layer if len(pieces) == 1 else f"{disc.layer} part {number}",
            outline=Rectangle(left=inner, right=outer, bottom=bottom, top=top),
            role=Role.FLOATING,
            material=stackup.copper,
            tie=disc.tie,
        )
        for number, (inner, outer) in enumerate(pieces, start=1)
    ]


def _cut(disc: Disc) -> list[tuple[float, float]]:
    """Radii between which copper is left."""
    pieces, inner = [], disc.hole
    for slot in disc.slots:
        start, stop = slot.radius - slot.width / 2, slot.radius + slot.width / 2
        if not inner < start < stop < disc.radius:
            raise GeometryError(
                f"the slot of disc {disc.layer!r} reaches from {start * 1e3:.4g} to {stop * 1e3:.4g} mm radius, but "
                f"the copper there from {inner * 1e3:.4g} to {disc.radius * 1e3:.4g} mm; list slots from the inside "
                "outwards and inside the disc"
            )
        pieces.append((inner, start))
        inner = stop
    return [*pieces, (inner, disc.radius)]
