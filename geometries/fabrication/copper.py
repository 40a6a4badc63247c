"""Copper by net from the objects of a Gerber file: what is clear takes away all that came before it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import groupby

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Pad
from geometries.fabrication.crossings import require_few_overlaps
from geometries.fabrication.gerber import GerberFile, GraphicObject, Kind


def copper_by_net(file: GerberFile) -> Mapping[str, BaseGeometry]:
    """Polygons of every net of a copper layer, those of objects without a net under the empty name.

    Raises
    ------
    FabricationError
        If too many objects overlap.
    """
    require_few_overlaps(file.name, [item.shape for item in file.objects])
    pieces: defaultdict[str, list[BaseGeometry]] = defaultdict(list)
    for dark, run in groupby(file.objects, key=lambda item: item.dark):
        if dark:
            for item in run:
                pieces[item.attributes.net].append(item.shape)
        else:
            _take_away(pieces, shapely.union_all([item.shape for item in run]))
    return {net: joined for net, shapes in sorted(pieces.items()) if not (joined := _joined(shapes)).is_empty}


def _joined(shapes: list[BaseGeometry]) -> BaseGeometry:
    """Union of polygons, without the lines and points that a pen of no width leaves."""
    joined = shapely.union_all(_without_covered(shapes))
    parts = [part for part in shapely.get_parts(joined) if part.area > 0]
    return shapely.multipolygons(parts) if parts else shapely.GeometryCollection()


def _without_covered(shapes: list[BaseGeometry]) -> list[BaseGeometry]:
    """The shapes without those that lie wholly in a large one, as most vias of a plane do; it makes the union quick."""
    corners = shapely.get_num_coordinates(shapes)
    covered: set[int] = set()
    tree = shapely.STRtree(shapes)
    for large in np.flatnonzero(corners > _LARGE):
        shapely.prepare(shapes[large])
        inside = tree.query(shapes[large], predicate="covers")
        covered.update(int(index) for index in inside if corners[index] <= _LARGE)
    return [shape for index, shape in enumerate(shapes) if index not in covered]


_LARGE = 500
"""A shape of more corners than this is worth asking what it covers."""


def _take_away(pieces: Mapping[str, list[BaseGeometry]], erased: BaseGeometry) -> None:
    shapely.prepare(erased)
    for shapes in pieces.values():
        shapes[:] = [shape.difference(erased) if erased.intersects(shape) else shape for shape in shapes]


def pads_of_file(file: GerberFile, layer: int) -> Iterator[Pad]:
    """Every flash or region that is a pin of a part, by name or, without names, by its aperture's function.

    Where a file says neither, every flash may be one.
    """
    drawn = [item for item in file.objects if item.dark and item.kind is not Kind.STROKE]
    told = [item for item in drawn if item.attributes.pin or item.attributes.aperture in _PADS]
    silent = not any(item.attributes.aperture for item in drawn)
    for item in told or ([item for item in drawn if item.kind is Kind.FLASH] if silent else []):
        yield _pad(item, layer)


_PADS = frozenset({"SMDPad", "BGAPad", "ComponentPad", "ConnectorPad", "HeatsinkPad", "WasherPad"})
"""Aperture functions of pads that a part is soldered to."""


def _pad(item: GraphicObject, layer: int) -> Pad:
    known = item.attributes
    return Pad(
        reference=known.reference, pin=known.pin, function=known.function, net=known.net, layer=layer,
        place=item.place, shape=item.shape,
    )  # fmt: skip
