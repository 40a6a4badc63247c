"""What a Gerber file's drawing commands put on the image: strokes, flashes and regions, repeated and in blocks.

A stroke is every run of draws without a break; a region is everything between G36 and G37. Steps and repeats and
aperture blocks are carried out, so that only plain objects are left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import shapely
from shapely.affinity import translate
from shapely.geometry import LineString
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.apertures import Aperture
from geometries.fabrication.arcs import disc, quarter_segments
from geometries.fabrication.attributes import AttributeDictionaries
from geometries.fabrication.crossings import MOST_CROSSINGS, own_crossings
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber import GraphicObject, Kind
from geometries.fabrication.pen import Placing
from geometries.fabrication.regions import region_shape
from geometries.section.outline import Point

MOST_OBJECTS = 400_000
"""More objects than this are refused, so that a small file of nested repeats cannot fill the memory."""

MOST_POINTS = 2_000_000
"""More corners than this in one file are refused; a dense layer of a large board has a quarter of them."""

_TRIANGLE = 3
"""So many corners do not cross."""

_REPEATED = -1
"""Stands for the number of a block while a step and repeat is being drawn."""


@dataclass(slots=True)
class Plotter:
    """The image being drawn: how apertures are placed now, what is begun, and the objects so far.

    Parameters
    ----------
    known : AttributeDictionaries
        Attributes in force.
    apertures : dict
        By number.
    current : int
        Number of the aperture or block in use.
    dark : bool
        Whether objects add to the image.
    placing : Placing
        How apertures are mirrored, turned and scaled.
    """

    known: AttributeDictionaries
    apertures: dict[int, Aperture] = field(default_factory=dict)
    current: int = -1
    dark: bool = True
    placing: Placing = field(default_factory=Placing)
    objects: list[GraphicObject] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    _blocks: dict[int, list[GraphicObject]] = field(default_factory=dict)
    _placed: dict[tuple[int, Placing], BaseGeometry] = field(default_factory=dict)
    _contours: list[list[Point]] | None = None
    _stroke: list[Point] = field(default_factory=list)
    _outer: list[tuple[int, list[GraphicObject]]] = field(default_factory=list)
    _repeat: tuple[int, int, float, float] = (1, 1, 0.0, 0.0)
    _points: int = 0
    _crossings: float = 0.0

    def begin_region(self) -> None:
        """What is drawn from here on is an outline to be filled."""
        self.finish_stroke()
        self._contours = []

    def move(self, point: Point) -> None:
        """Go to a point without drawing; it begins another stroke or contour."""
        self.finish_stroke()
        if self._contours is not None:
            self._contours.append([point])

    def draw(self, start: Point, points: list[Point]) -> None:
        """Draw from `start` through `points`."""
        run = self._stroke
        if self._contours is not None:
            if not self._contours:
                self._contours.append([start])
            run = self._contours[-1]
        elif not run:
            run.append(start)
        run.extend(points)
        self._points += len(points)
        if self._points > MOST_POINTS:
            raise FabricationError(
                f"the file draws through more than {MOST_POINTS} points; is it a panel or a picture?"
            )

    def finish_stroke(self) -> None:
        """Make an object of the draws so far."""
        if not self._stroke:
            return
        path, self._stroke = tuple(self._stroke), []
        self._require_few_crossings(path)
        pen = self._aperture()
        radius = pen.radius * self.placing.size
        shape = _swept(path, radius) if pen.radius else _swept_shape(path, self._shape())
        self._add(shape, Kind.STROKE, path[0], 2 * radius, path)

    def flash(self, place: Point) -> None:
        """Put the current aperture or block at a point."""
        self.finish_stroke()
        if self.current in self._blocks:
            for item in self._blocks[self.current]:
                self._copy(item, self.placing, place, flipped=not self.dark)
            return
        shape = translate(self._shape(), *place)
        self._add(shape, Kind.FLASH, place, 2 * self._aperture().radius * self.placing.size, ())

    def finish_region(self) -> None:
        """Fill the outlines since the region was begun."""
        contours, self._contours = self._contours, None
        if contours is None:
            raise FabricationError("G37 ends a region that was not begun with G36")
        contours = [contour for contour in contours if len(contour) > 2]
        for contour in contours:
            self._require_few_crossings(contour)
        shape, remark = region_shape(contours)
        if remark:
            self.remarks.append(remark)
        if not shape.is_empty:
            self._add(shape, Kind.REGION, contours[0][0], 0.0, ())

    def begin_repeat(self, columns: int, rows: int, step: Point) -> None:
        """What is drawn from here on is repeated in columns and rows `step` apart [m]."""
        self._repeat = (columns, rows, *step)
        self._outer.append((_REPEATED, self.objects))
        self.objects = []

    def finish_repeat(self) -> None:
        """Draw the repeats that were begun, if any."""
        if not self._outer or self._outer[-1][0] != _REPEATED:
            return
        columns, rows, dx, dy = self._repeat
        inner, self.objects = self.objects, self._outer.pop()[1]
        self._require_room(columns * rows * len(inner))
        for column in range(columns):
            for row in range(rows):
                for item in inner:
                    self._copy(item, Placing(), (column * dx, row * dy), flipped=False)

    def begin_block(self, number: int) -> None:
        """What is drawn from here on is the aperture of this number."""
        self._outer.append((number, self.objects))
        self.objects = []

    def finish_block(self) -> None:
        """The block that was begun last is complete."""
        if not self._outer or self._outer[-1][0] == _REPEATED:
            raise FabricationError("AB ends an aperture block that was not begun")
        number, objects = self._outer.pop()
        self._blocks[number], self.objects = self.objects, objects

    def _aperture(self) -> Aperture:
        if self.current not in self.apertures:
            raise FabricationError(f"aperture D{self.current} is used, but was not defined")
        return self.apertures[self.current]

    def _shape(self) -> BaseGeometry:
        key = (self.current, self.placing)
        if key not in self._placed:
            self._placed[key] = self.placing.placed(self._aperture().shape)
        return self._placed[key]

    def _add(self, shape: BaseGeometry, kind: Kind, place: Point, size: float, path: tuple[Point, ...]) -> None:
        aperture = self.known.aperture if kind is Kind.REGION else dict(self._aperture().attributes)
        self._append(
            GraphicObject(
                shape=shape, dark=self.dark, kind=kind, place=place, size=size, path=path,
                attributes=self.known.attributes(aperture),
            )
        )  # fmt: skip

    def _append(self, item: GraphicObject) -> None:
        self._require_room(1)
        self.objects.append(item)

    def _require_few_crossings(self, path: Sequence[Point]) -> None:
        if len(path) > _TRIANGLE:
            self._crossings += own_crossings(LineString(path))
        if self._crossings > MOST_CROSSINGS:
            raise FabricationError(
                f"a stroke or outline of {len(path)} corners crosses itself: {self._crossings:.0e} crossings so far, "
                f"and more than {MOST_CROSSINGS:.0e} are not read; no copper of a board has as many: export the layer "
                "again, filled areas as regions"
            )

    def _require_room(self, count: int) -> None:
        if len(self.objects) + count > MOST_OBJECTS:
            raise FabricationError(f"the file draws more than {MOST_OBJECTS} objects; is it a panel? Export one board")

    def _copy(self, item: GraphicObject, placing: Placing, offset: Point, *, flipped: bool) -> None:
        path = placing.placed(LineString(item.path)).coords if item.path else ()
        spot = placing.placed(LineString([item.place, item.place])).coords[0]
        self._append(
            GraphicObject(
                shape=translate(placing.placed(item.shape), *offset),
                dark=item.dark != flipped,
                kind=item.kind,
                place=(spot[0] + offset[0], spot[1] + offset[1]),
                size=item.size * placing.size,
                path=tuple((x + offset[0], y + offset[1]) for x, y in path),
                attributes=item.attributes,
            )
        )


def _swept(path: tuple[Point, ...], radius: float) -> BaseGeometry:
    """What a round pen covers along a path."""
    if all(point == path[0] for point in path):
        return disc(radius, path[0])
    return LineString(path).buffer(radius, quad_segs=quarter_segments(radius))


def _swept_shape(path: tuple[Point, ...], shape: BaseGeometry) -> BaseGeometry:
    """What a convex shape covers along a path: the hull of its places at both ends of every piece."""
    if shape.is_empty:
        return ShapelyPolygon()
    spots = [translate(shape, *point) for point in path]
    return shapely.union_all([one.union(two).convex_hull for one, two in pairwise(spots)])
