"""From a placement on its board to copper seen from above, with its ports and vias."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from geometries.board.capacitors import Capacitor, ElectrodeBody
from geometries.board.materials import Conductor
from geometries.layout.ground_layers import ViaPassage
from geometries.layout.layout import (
    MIRROR,
    CopperSheet,
    EdgeTerminal,
    Faces,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    Side,
    Terminal,
    Via,
)
from geometries.layout.part_bodies import BODY
from geometries.layout.placements import (
    LEAST_LANDING,
    FarSide,
    MirroredPair,
    Orientation,
    PlacedLoop,
    Placement,
    ReturnBelow,
    SameSide,
)
from geometries.section.outline import Point, Polygon, Rectangle

SWITCH = "switch"
INPUT, GROUND = "input", "ground"

INPUT_END = ", input end"
"""End of the name of the port at that end of a capacitor's body; the other goes by the capacitor's name."""

_INSET = 0.1
"""Part of a land's shorter side by which its terminal stays off the copper's edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPart:
    """A body to be drawn: its outline seen from above [m], and the layer it stands on."""

    name: str
    outline: Rectangle
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacementPlan:
    """What a placement looks like from above.

    Parameters
    ----------
    near : PlanLayout
        Copper on the package's side; its loops are the capacitors', or one if these are on the far side.
    far : PlanLayout, optional
        Copper on the far side, upside down, where a ground layer parts the two sides; its loops are the capacitors'.
    passage : ViaPassage, optional
        The vias between the outermost of several ground layers.
    parts : tuple of PlacedPart
        Bodies, for drawings.
    """

    near: PlanLayout
    far: PlanLayout | None
    passage: ViaPassage | None
    parts: tuple[PlacedPart, ...]

    @property
    def layouts(self) -> tuple[PlanLayout, ...]:
        """Near and far."""
        return (self.near,) if self.far is None else (self.near, self.far)


@dataclass(slots=True)
class _Draft:
    """Sheets, ports and vias as they are put down."""

    thickness: float
    material: Conductor
    sheets: list[CopperSheet] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)
    vias: list[Via] = field(default_factory=list)
    parts: list[PlacedPart] = field(default_factory=list)

    def sheet(self, name: str, outline: Rectangle | Polygon, height: float, faces: Faces = Faces.JOINED) -> None:
        self.sheets.append(
            CopperSheet(
                name=name,
                outline=outline,
                height=height,
                thickness=self.thickness,
                material=self.material,
                faces=faces,
            )
        )

    def layout(self, name: str, plane: MirrorPlane | None) -> PlanLayout:
        return PlanLayout(
            name=name, sheets=tuple(self.sheets), ports=tuple(self.ports), vias=tuple(self.vias), plane=plane
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seat:
    """Where a capacitor stands: its middle, its direction from input to ground, the copper at its ends, and heights."""

    middle: Point
    across: bool
    gap: float
    input_sheet: str
    ground_sheet: str
    copper: float
    lift: float
    layer: str
    side: Side = Side.UPPER


def placement_plan(name: str, placed: PlacedLoop) -> PlacementPlan:
    """Copper, ports, vias and parts of a placement on its board.

    Raises
    ------
    GeometryError
        If copper, terminals or vias meet where they must not.
    """
    if isinstance(placed.placement, FarSide):
        return _far_side(name, placed, placed.placement)
    draft = _draft(placed)
    if isinstance(placed.placement, SameSide):
        _same_side(draft, placed, placed.placement)
    elif isinstance(placed.placement, MirroredPair):
        _mirrored(draft, placed, placed.placement)
    elif isinstance(placed.placement, ReturnBelow):
        _return_below(draft, placed, placed.placement)
    return PlacementPlan(near=draft.layout(name, _plane(placed)), far=None, passage=None, parts=tuple(draft.parts))


def _draft(placed: PlacedLoop) -> _Draft:
    bottom, top = placed.site.stackup.heights(placed.site.first)
    return _Draft(thickness=top - bottom, material=placed.site.stackup.copper)


def _plane(placed: PlacedLoop) -> MirrorPlane | None:
    """The uppermost ground layer, endless and whole."""
    if not placed.site.planes:
        return None
    bottom, top = placed.site.stackup.heights(placed.site.planes[0].layer)
    return MirrorPlane(height=top, material=placed.site.stackup.copper, thickness=top - bottom)


def _level(placed: PlacedLoop) -> tuple[float, float]:
    """Height of the lower face of the near copper, and from there to the surface that parts stand on."""
    bottom, top = placed.site.stackup.heights(placed.site.first)
    return bottom, top - bottom


def _box(left: float, bottom: float, right: float, top: float) -> Rectangle:
    return Rectangle(left=left, bottom=bottom, right=right, top=top)


def _edge(sheet: str, start: Point, end: Point) -> EdgeTerminal:
    return EdgeTerminal(sheet=sheet, start=start, end=end)


def _switch(draft: _Draft, placement: Placement, *, name: str = SWITCH, x: float = 0.0, suffix: str = "") -> None:
    """The pins at the ends of both coppers; the current comes out of the package into the input copper."""
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    draft.ports.append(
        Port(
            name=name,
            entry=_edge(INPUT + suffix, (x, inner), (x, outer)),
            leave=_edge(GROUND + suffix, (x, -outer), (x, -inner)),
        )
    )


def _same_side(draft: _Draft, placed: PlacedLoop, placement: SameSide) -> None:
    level, lift = _level(placed)
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    seam = placement.via.pad if placement.via_count else 0.0
    if placement.orientation is Orientation.ROTATED:
        capacitor = placement.capacitors[0]
        start = placement.distance + capacitor.terminal + _lip(capacitor)
        stop = start + capacitor.clear - 2 * _lip(capacitor)
        end = stop + max(capacitor.terminal, placement.copper_width)
        draft.sheet(INPUT, _box(0.0, inner, start, outer), level)
        corners = [(0, -outer - seam), (end, -outer - seam), (end, outer), (stop, outer), (stop, -inner), (0, -inner)]
        draft.sheet(GROUND, Polygon(vertices=tuple((float(x), y) for x, y in corners)), level)
        seats = [_seat(placed, ((start + stop) / 2, (inner + outer) / 2), across=False, gap=stop - start, lift=lift)]
    else:
        end = placement.starts[-1] + placement.capacitors[-1].case.width + LEAST_LANDING
        draft.sheet(INPUT, _box(0.0, inner, end, outer), level)
        draft.sheet(GROUND, _box(0.0, -outer - seam, end, -inner), level)
        seats = [
            _seat(placed, (x + each.case.width / 2, 0.0), across=True, gap=placement.gap, lift=lift)
            for x, each in zip(placement.starts, placement.capacitors, strict=True)
        ]
    _switch(draft, placement)
    _row(draft, placement, GROUND, (0.0, end), -outer - seam / 2, along_x=True)
    for number, (seat, capacitor) in enumerate(zip(seats, placement.capacitors, strict=True), start=1):
        _stand(draft, f"C{number}", capacitor, seat)
    draft.parts.append(_package(placed, placement))


def _mirrored(draft: _Draft, placed: PlacedLoop, placement: MirroredPair) -> None:
    """The right side as it stands, and the left one mirrored about the middle of the package."""
    level, lift = _level(placed)
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    seam = placement.via.pad if placement.via_count else 0.0
    for number, (side, capacitor) in enumerate(zip((" right", " left"), placement.capacitors, strict=True), start=1):
        sign, origin = (1.0, 0.0) if number == 1 else (-1.0, -placement.part_width)
        ends = sorted((origin, origin + sign * (placement.distance + capacitor.case.width + LEAST_LANDING)))
        draft.sheet(INPUT + side, _box(ends[0], inner, ends[1], outer), level)
        draft.sheet(GROUND + side, _box(ends[0], -outer - seam, ends[1], -inner), level)
        _switch(draft, placement, name=SWITCH + side, x=origin, suffix=side)
        middle = origin + sign * (placement.distance + capacitor.case.width / 2)
        seat = _seat(placed, (middle, 0.0), across=True, gap=placement.gap, lift=lift)
        seat = replace(seat, input_sheet=INPUT + side, ground_sheet=GROUND + side)
        _stand(draft, f"C{number}", capacitor, seat)
        _row(draft, placement, GROUND + side, (ends[0], ends[1]), -outer - seam / 2, along_x=True)
    draft.parts.append(_package(placed, placement, width=placement.part_width))


def _return_below(draft: _Draft, placed: PlacedLoop, placement: ReturnBelow) -> None:
    level, lift = _level(placed)
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    capacitor, pad = placement.capacitors[0], placement.via.pad
    start = placement.distance + capacitor.terminal + _lip(capacitor)
    stop = start + capacitor.clear - 2 * _lip(capacitor)
    end = stop + capacitor.terminal + pad
    draft.sheet(INPUT, _box(0.0, inner, start, outer), level)
    draft.sheet(GROUND, _box(0.0, -outer, pad, -inner), level)
    draft.sheet(GROUND + " far", _box(stop, inner, end, outer), level)
    _switch(draft, placement)
    seat = _seat(placed, ((start + stop) / 2, (inner + outer) / 2), across=False, gap=stop - start, lift=lift)
    _stand(draft, "C1", capacitor, replace(seat, ground_sheet=GROUND + " far"))
    _row(draft, placement, GROUND, (-outer, -inner), pad / 2, along_x=False)
    _row(draft, placement, GROUND + " far", (inner, outer), end - pad / 2, along_x=False)
    draft.parts.append(_package(placed, placement))


def _far_side(name: str, placed: PlacedLoop, placement: FarSide) -> PlacementPlan:
    """Through a board without ground layers as one layout; with them, near side, passage and far side in series."""
    near, far = _draft(placed), _draft(placed)
    level, _ = _level(placed)
    stackup = placed.site.stackup
    bottom, top = stackup.heights(placed.site.last)
    _far_copper(near, placement, (0.0, placement.via_x + placement.via.pad / 2), level, "")
    _switch(near, placement)
    near.parts.append(_package(placed, placement))
    left = min(placement.starts) - LEAST_LANDING
    if not placed.site.planes:
        suffix = " far"
        _far_copper(near, placement, (left, placement.via_x + placement.via.pad / 2), bottom, suffix)
        _far_parts(near, placed, placement, suffix, bottom, 0.0, Side.LOWER)
        _far_vias(near, placement, "", lower=suffix)
        return PlacementPlan(near=near.layout(name, None), far=None, passage=None, parts=tuple(near.parts))
    _far_copper(far, placement, (left, placement.via_x + placement.via.pad / 2), -top, "")
    _far_parts(far, placed, placement, "", -top, top - bottom, Side.UPPER)
    for draft in (near, far):
        _far_vias(draft, placement, "", lower=None)
    lowest = stackup.heights(placed.site.planes[-1].layer)
    mirror = MirrorPlane(height=-lowest[0], material=stackup.copper, thickness=lowest[1] - lowest[0])
    plane = _plane(placed)
    upper = lowest[1] if plane is None else plane.height
    return PlacementPlan(
        near=near.layout(name, plane),
        far=far.layout(f"{name}, far side", mirror),
        passage=_passage(placement, upper - lowest[0]),
        parts=(*near.parts, *far.parts),
    )


def _far_copper(draft: _Draft, placement: FarSide, span: tuple[float, float], level: float, suffix: str) -> None:
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    draft.sheet(INPUT + suffix, _box(span[0], inner, span[1], outer), level)
    draft.sheet(GROUND + suffix, _box(span[0], -outer, span[1], -inner), level)


def _far_parts(
    draft: _Draft, placed: PlacedLoop, placement: FarSide, suffix: str, level: float, lift: float, side: Side
) -> None:
    for number, (x, capacitor) in enumerate(zip(placement.starts, placement.capacitors, strict=True), start=1):
        seat = _Seat(
            middle=(x + capacitor.case.width / 2, 0.0),
            across=True,
            gap=placement.gap,
            input_sheet=INPUT + suffix,
            ground_sheet=GROUND + suffix,
            copper=level,
            lift=lift,
            layer=placed.site.last,
            side=side,
        )
        _stand(draft, f"C{number}", capacitor, seat)


def _far_vias(draft: _Draft, placement: FarSide, suffix: str, *, lower: str | None) -> None:
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    for net, span in ((INPUT, (inner, outer)), (GROUND, (-outer, -inner))):
        below = MIRROR if lower is None else net + lower
        _row(draft, placement, net + suffix, span, placement.via_x, along_x=False, lower=below)


def _passage(placement: FarSide, height: float) -> ViaPassage:
    inner, outer = placement.gap / 2, placement.gap / 2 + placement.copper_width
    ups = [(placement.via_x, y) for y in _even((inner, outer), placement.via_count)]
    downs = [(placement.via_x, y) for y in _even((-outer, -inner), placement.via_count)]
    return ViaPassage(
        height=height,
        radius=placement.via.drill / 2,
        positions=(*ups, *downs),
        senses=(*(1 for _ in ups), *(-1 for _ in downs)),
    )


def _seat(placed: PlacedLoop, middle: Point, *, across: bool, gap: float, lift: float) -> _Seat:
    return _Seat(
        middle=middle,
        across=across,
        gap=gap,
        input_sheet=INPUT,
        ground_sheet=GROUND,
        copper=_level(placed)[0],
        lift=lift,
        layer=placed.site.first,
    )


def _stand(draft: _Draft, name: str, capacitor: Capacitor, seat: _Seat) -> None:
    """A capacitor on its seat: a port between two lands, or a body at its height with a port at either end."""
    half, reach = capacitor.case.width / 2, capacitor.case.length / 2
    near = max(seat.gap, capacitor.clear) / 2
    entry: Terminal = _land(seat, seat.ground_sheet, (near, reach), half)
    leave: Terminal = _land(seat, seat.input_sheet, (-near, -reach), half)
    if isinstance(capacitor.body, ElectrodeBody):
        body, end = BODY + name, (near + reach) / 2
        ends = _line(seat, -end, half), _line(seat, end, half)
        height = (
            seat.copper + seat.lift + (capacitor.body.height if seat.side is Side.UPPER else -capacitor.body.height)
        )
        draft.sheet(body, _around([*ends[0], *ends[1]]), height, Faces.BOTH)
        draft.ports.append(Port(name=f"{name}{INPUT_END}", entry=_edge(body, *ends[0]), leave=leave))
        leave = _edge(body, *ends[1])
    draft.ports.append(Port(name=name, entry=entry, leave=leave))
    outer = [*_line(seat, -reach, half), *_line(seat, reach, half)]
    draft.parts.append(PlacedPart(name=name, outline=_around(outer), layer=seat.layer))


def _lip(capacitor: Capacitor) -> float:
    """How far copper reaches under a rotated capacitor beyond its terminals."""
    return min(LEAST_LANDING / 2, capacitor.clear / 6)


def _land(seat: _Seat, sheet: str, offsets: tuple[float, float], half: float) -> PadTerminal:
    """Where a terminal is soldered, a little smaller than the metal, so that it lies within its copper."""
    inset = _INSET * min(abs(offsets[1] - offsets[0]), 2 * half)
    corners = [point for offset in offsets for point in _line(seat, offset, half)]
    box = _around(corners)
    outline = _box(box.left + inset, box.bottom + inset, box.right - inset, box.top - inset)
    return PadTerminal(sheet=sheet, outline=outline, side=seat.side)


def _line(seat: _Seat, offset: float, half: float) -> tuple[Point, Point]:
    """Across the capacitor at an offset from its middle towards its ground end, `half` to either side."""
    x, y = seat.middle
    if seat.across:
        return (x - half, y - offset), (x + half, y - offset)
    return (x + offset, y - half), (x + offset, y + half)


def _around(points: list[Point]) -> Rectangle:
    x, y = zip(*points, strict=True)
    return _box(min(x), min(y), max(x), max(y))


def _even(span: tuple[float, float], count: int) -> list[float]:
    return [span[0] + (span[1] - span[0]) * (2 * number + 1) / (2 * count) for number in range(count)]


def _row(
    draft: _Draft,
    placement: Placement,
    sheet: str,
    span: tuple[float, float],
    place: float,
    *,
    along_x: bool,
    lower: str = MIRROR,
) -> None:
    """A row of evenly spaced vias in a sheet, along x at y = place, or along y at x = place."""
    for number, each in enumerate(_even(span, placement.via_count), start=1):
        draft.vias.append(
            Via(
                name=f"via {number} of {sheet}",
                centre=(each, place) if along_x else (place, each),
                radius=placement.via.drill / 2,
                upper=sheet,
                lower=lower,
                wall=placement.via.plating,
                material=draft.material,
            )
        )


def _package(placed: PlacedLoop, placement: Placement, *, width: float = 0.0) -> PlacedPart:
    """The package's body; its depth is drawn as long as its pins reach unless it is known."""
    outer = placement.gap / 2 + placement.copper_width
    return PlacedPart(name=SWITCH, outline=_box(-(width or 2 * outer), -outer, 0.0, outer), layer=placed.site.first)
