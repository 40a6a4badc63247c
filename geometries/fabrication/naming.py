"""Names for nets that were found by flooding: from an IPC-D-356A netlist, or numbers."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import BoardLayer
from geometries.fabrication.connectivity import Island
from geometries.fabrication.netlist import TestPoint


def name_by_flooding(
    layers: Sequence[BoardLayer], islands: Sequence[Island], points: Sequence[TestPoint]
) -> tuple[tuple[BoardLayer, ...], str]:
    """The layers with one net for every component, and how it was named."""
    names = _names(islands, points)
    copper: defaultdict[int, defaultdict[str, list[BaseGeometry]]] = defaultdict(lambda: defaultdict(list))
    for island in islands:
        copper[island.layer][names[island.component]].append(island.shape)
    named = tuple(
        BoardLayer(
            number=layer.number, name=layer.name, file=layer.file,
            nets={net: shapely.union_all(parts) for net, parts in sorted(copper[layer.number].items())},
        )
        for layer in layers
    )  # fmt: skip
    return named, "named by the netlist" if points else "numbered; say by points which is which"


def _names(islands: Sequence[Island], points: Sequence[TestPoint]) -> Mapping[int, str]:
    """Name of every component: the one most of its test points carry, or its rank by area."""
    votes = _votes(islands, points)
    areas: Counter[int] = Counter()
    for island in islands:
        areas[island.component] += island.shape.area  # type: ignore[assignment]
    ranked = sorted(areas, key=lambda component: -areas[component])
    return {
        component: votes[component].most_common(1)[0][0] if component in votes else f"net {rank}"
        for rank, component in enumerate(ranked, start=1)
    }


def _votes(islands: Sequence[Island], points: Sequence[TestPoint]) -> Mapping[int, Counter[str]]:
    votes: defaultdict[int, Counter[str]] = defaultdict(Counter)
    if not points:
        return votes
    tree = shapely.STRtree([island.shape for island in islands])
    spots = shapely.points([point.place for point in points])
    for index, found in tree.query(spots, predicate="intersects").T:
        point, island = points[index], islands[found]
        if point.layer in {0, island.layer}:
            votes[island.component][point.net] += 1
    return votes
