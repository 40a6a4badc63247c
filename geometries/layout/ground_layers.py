"""A closed loop of copper over ground layers as large as they are, and over whole and endless ones.

A layer is what its rectangle, its slots and the clearances of vias leave of it. A via is tied to a layer or passes it
through a clearance, by which both sides of the layer are coupled. The parts of the loop are plates of its copper, cut
once, where it is driven, over less than a hair: currents that are induced in a layer answer to all that flows over it,
and the way of a port from terminal to terminal is not in the field.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from geometries.board.stackup import Stackup
from geometries.errors import GeometryError
from geometries.layout.layout import MIRROR, CopperSheet, EdgeTerminal, Faces, MirrorPlane, PlanLayout, Port, Via, Wall
from geometries.quantities import MM, Quantity, write_quantity
from geometries.section.loops import Loop, Plane, plane_span
from geometries.section.outline import Point, Polygon

CUT = 2e-3 * MM
"""Width of the cut at which a loop is driven [m]."""

CLEARANCE = 0.35 * MM
"""From the drilled hole of a via to a layer that it passes [m]: 0.15 mm of pad and 0.2 mm (common practice)."""

PART = ", part "
"""Between the name of copper that is cut and the number of a piece."""

_SLIVER = 0.01 * MM
"""What the clearances leave of a layer and is nowhere wider than twice this is no copper [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ViaPassage:
    """Vias between two ground layers: how far, where, their radius [m], and which way each leads the current."""

    height: float
    radius: float
    positions: tuple[Point, ...]
    senses: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RealPlanes:
    """Layouts of one closed loop that differ in their ground layers alone.

    Parameters
    ----------
    real : PlanLayout
        Over the layers as large as they are, pieces of copper.
    endless : tuple of PlanLayout
        Over the uppermost of them, whole and endless; where the loop passes the layers then its far side, upside down.
    layers : tuple of str
        Names of the ground layers.
    alone : PlanLayout, optional
        The loop without any of them, where it closes without one.
    passage : ViaPassage, optional
        Of the endless ones, between near side and far side.
    """

    real: PlanLayout
    endless: tuple[PlanLayout, ...]
    layers: tuple[str, ...]
    alone: PlanLayout | None = None
    passage: ViaPassage | None = None

    @property
    def ground(self) -> tuple[CopperSheet, ...]:
        """Pieces of the ground layers, from the top, with their slots and clearances."""
        return tuple(piece for layer in self.layers for piece in self.pieces(layer))

    def pieces(self, layer: str) -> tuple[CopperSheet, ...]:
        """Of one of them."""
        return tuple(sheet for sheet in self.real.sheets if sheet.name.partition(PART)[0] == layer)


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundLayer:
    """A layer seen from above without its vias: name, copper, lower and upper face [m]."""

    name: str
    shape: BaseGeometry
    bottom: float
    top: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A via of the loop.

    Parameters
    ----------
    via : Via
        Its upper end in the loop's copper; its lower one in copper of the loop below the layers, or on ``MIRROR``,
        which is the lowest of the layers that it is tied to.
    tied : tuple of str
        Layers that it is tied to, from the top; it passes all others on its way.
    """

    via: Via
    tied: tuple[str, ...] = ()


def have_lengths(planes: Sequence[Plane]) -> bool:
    """Whether the ground layers are to be taken as large as they are.

    Raises
    ------
    GeometryError
        If some of them have a length and others none.
    """
    long = [math.isfinite(plane.length) for plane in planes]
    if any(long) and not all(long):
        endless = planes[long.index(False)].layer
        raise GeometryError(
            f"ground layer {planes[long.index(True)].layer!r} has a length and {endless!r} has none: give every layer "
            "its own, or none of them"
        )
    return any(long)


def ground_layers(
    stackup: Stackup,
    loop: Loop,
    planes: Sequence[Plane],
    ends: tuple[float, float],
    across: tuple[float, float] = (0.0, 1.0),
) -> tuple[GroundLayer, ...]:
    """The layers with their slots, from the top.

    Parameters
    ----------
    stackup : Stackup
        The board.
    loop : SameLayerLoop, NextLayerLoop or ThroughBoardLoop
        From which edges and slots are counted.
    planes : sequence of Plane
        Each with a length.
    ends : (float, float)
        Between which x the loop's copper lies; a slot whose sides are bonded there is so long [m].
    across : (float, float)
        y of the section's middle [m], and 1 where y runs as the section's x does, -1 where it runs the other way.

    Raises
    ------
    GeometryError
        If a bonded slot is as long as its layer.
    """
    return tuple(_ground_layer(stackup, loop, plane, ends, across) for plane in planes)


def _ground_layer(
    stackup: Stackup, loop: Loop, plane: Plane, ends: tuple[float, float], across: tuple[float, float]
) -> GroundLayer:
    middle, half = (ends[0] + ends[1]) / 2, plane.length / 2
    shape = _box((middle - half, middle + half), plane_span(plane, loop), across)
    for slot in plane.slots:
        if slot.bonded and ends[1] - ends[0] >= plane.length:
            raise GeometryError(
                f"a slot of ground layer {plane.layer!r} is as long as the loop, "
                f"{write_quantity(ends[1] - ends[0], Quantity.LENGTH)} with its ends, and the layer is "
                f"{write_quantity(plane.length, Quantity.LENGTH)} long, so that nothing bonds its sides: lengthen the "
                "layer, or write bonded = false"
            )
        along = ends if slot.bonded else (middle - plane.length, middle + plane.length)
        edges = slot.position - slot.width / 2, slot.position + slot.width / 2
        shape = shape.difference(_box(along, edges, across))
    bottom, top = stackup.heights(plane.layer)
    return GroundLayer(name=plane.layer, shape=shape, bottom=bottom, top=top)


def _box(along: tuple[float, float], span: tuple[float, float], across: tuple[float, float]) -> BaseGeometry:
    low, high = sorted(across[0] + across[1] * each for each in span)
    return shapely.box(along[0], low, along[1], high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """Where copper is cut and driven: both edges of the cut, the current enters the copper at the first."""

    name: str
    entry: LineString
    leave: LineString

    @classmethod
    def across(cls, name: str, middle: Point, towards: Point, half: float) -> Drive:
        """A cut of ``CUT`` about a middle; the current enters on the side of `towards`, a unit vector."""
        (x, y), (u, v) = middle, towards
        lines = [
            LineString(
                [(x + sign * u * CUT / 2 + k * v * half, y + sign * v * CUT / 2 + k * u * half) for k in (-1, 1)]
            )
            for sign in (1, -1)
        ]
        return cls(name=name, entry=lines[0], leave=lines[1])

    @property
    def cut(self) -> BaseGeometry:
        """What is cut away."""
        return shapely.union_all([self.entry, self.leave]).convex_hull

    def port(self, sheets: Sequence[CopperSheet]) -> Port:
        """The port that drives the copper."""
        entry, leave = (_on_edge(sheets, line) for line in (self.entry, self.leave))
        return Port(name=self.name, entry=entry, leave=leave)


def _on_edge(sheets: Sequence[CopperSheet], line: LineString) -> EdgeTerminal:
    sheet = min(sheets, key=lambda each: each.shape.distance(line.centroid))
    (left, low), (right, high) = line.coords
    return EdgeTerminal(sheet=sheet.name, start=(left, low), end=(right, high))


def copper_with_plates(
    like: CopperSheet, shapes: Sequence[BaseGeometry], drives: Sequence[Drive]
) -> tuple[CopperSheet, ...]:
    """Copper and plates of one level as pieces, cut at drives; `like` says the rest of them and their names."""
    whole = shapely.union_all(shapes).difference(shapely.union_all([drive.cut for drive in drives]))
    return _pieces(like, whole)


def _pieces(like: CopperSheet, shape: BaseGeometry) -> tuple[CopperSheet, ...]:
    parts = [each for each in shapely.get_parts(shape) if not each.buffer(-_SLIVER).is_empty]
    found = sorted(parts, key=lambda each: each.bounds)
    return tuple(
        replace(
            like,
            name=like.name if len(found) == 1 else f"{like.name}{PART}{number}",
            outline=_polygon(piece.exterior),
            holes=tuple(map(_polygon, piece.interiors)),
        )
        for number, piece in enumerate(found, start=1)
    )


def _polygon(ring: shapely.LinearRing) -> Polygon:
    places = shapely.get_coordinates(shapely.simplify(ring, 0.0))[:-1]
    return Polygon(vertices=tuple((float(x), float(y)) for x, y in places))


def standing(
    sheets: Sequence[CopperSheet], vias: Sequence[Via | Wall], lower: Sequence[CopperSheet] = ()
) -> tuple[Via, ...]:
    """Vias with the names of the pieces that their upper ends stand in, and their lower ones if there is copper."""
    return tuple(
        replace(
            via,
            upper=_piece_under(via, sheets).name,
            lower=_piece_under(via, lower).name if lower else via.lower,
        )
        for via in vias
        if isinstance(via, Via)
    )


def _piece_under(via: Via, sheets: Sequence[CopperSheet]) -> CopperSheet:
    place = ShapelyPoint(via.centre)
    return min(sheets, key=lambda each: each.shape.distance(place))


def over_layers(
    name: str,
    sheets: Sequence[CopperSheet],
    drives: Sequence[Drive],
    layers: Sequence[GroundLayer],
    posts: Sequence[Post] = (),
    walls: Sequence[Wall] = (),
) -> PlanLayout:
    """The loop over ground layers as large as they are.

    Parameters
    ----------
    name : str
        For messages.
    sheets : sequence of CopperSheet
        All copper of the loop, above the layers and below them.
    drives : sequence of Drive
        Where it is cut.
    layers : sequence of GroundLayer
        From the top.
    posts : sequence of Post
        Its vias.
    walls : sequence of Wall
        Other vertical copper, between two sheets.

    Raises
    ------
    GeometryError
        If a via is to be tied to a layer that does not reach under it.
    """
    drawn = _Drawn(sheets=tuple(sheets), layers=tuple(layers), posts=tuple(posts))
    copper = {layer.name: drawn.pieces(layer) for layer in layers}
    return PlanLayout(
        name=name,
        sheets=(*sheets, *(piece for pieces in copper.values() for piece in pieces)),
        ports=tuple(drive.port(sheets) for drive in drives),
        vias=(*walls, *(via for post in posts for via in _down(post, copper))),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """Copper, layers and vias, before clearances are cut."""

    sheets: tuple[CopperSheet, ...]
    layers: tuple[GroundLayer, ...]
    posts: tuple[Post, ...]

    def pieces(self, layer: GroundLayer) -> tuple[CopperSheet, ...]:
        """What clearances leave of a layer; two faces of it carry current where something lies below it."""
        passing = [
            ShapelyPoint(post.via.centre).buffer(post.via.radius + CLEARANCE, quad_segs=4)
            for post in self.posts
            if layer.name not in post.tied and self._reaches_below(post, layer)
        ]
        below = any(sheet.height < layer.bottom for sheet in self.sheets)
        two = below or any(self._reaches_below(post, layer) for post in self.posts)
        like = replace(
            self.sheets[0],
            name=layer.name,
            height=layer.bottom if two else layer.top,
            thickness=layer.top - layer.bottom,
            faces=Faces.JOINED if two else Faces.ONE,
        )
        return _pieces(like, layer.shape.difference(shapely.union_all(passing)))

    def _reaches_below(self, post: Post, layer: GroundLayer) -> bool:
        ends = [each.height for each in self.sheets if each.name == post.via.lower]
        ends += [each.bottom for each in self.layers if each.name in post.tied]
        return min(ends) < layer.bottom


def _down(post: Post, copper: Mapping[str, tuple[CopperSheet, ...]]) -> list[Via]:
    """A via from copper to copper, in as many parts as it has ends."""
    via, places = post.via, [post.via.upper]
    for layer in post.tied:
        piece = min(copper[layer], key=lambda each: each.shape.distance(via.shape))
        if not piece.shape.contains(via.shape):
            x, y = (each / MM for each in via.centre)
            raise GeometryError(
                f"ground layer {layer!r} is tied by a via at x = {x:.4g} mm, y = {y:.4g} mm, and has no copper there: "
                "lengthen or widen it, move its slot, or tie it at one end"
            )
        places.append(piece.name)
    if via.lower != MIRROR:
        places.append(via.lower)
    return [
        replace(via, name=via.name if len(places) == 2 else f"{via.name}{PART}{number}", upper=upper, lower=lower)
        for number, (upper, lower) in enumerate(pairwise(places), start=1)
    ]


def over_mirror(
    name: str,
    sheets: Sequence[CopperSheet],
    drives: Sequence[Drive],
    plane: MirrorPlane | None,
    vias: Sequence[Via | Wall] = (),
) -> PlanLayout:
    """The same loop, or one side of it, over a whole and endless layer."""
    return PlanLayout(
        name=name,
        sheets=tuple(sheets),
        ports=tuple(drive.port(sheets) for drive in drives),
        vias=tuple(vias),
        plane=plane,
    )


def upside_down(sheets: Sequence[CopperSheet]) -> tuple[CopperSheet, ...]:
    """Copper of a far side in heights of the board, or back."""
    return tuple(replace(sheet, height=-(sheet.height + sheet.thickness)) for sheet in sheets)
