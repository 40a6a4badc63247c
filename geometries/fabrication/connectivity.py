"""Which copper hangs together: islands of each layer joined by plated holes, set against the nets' names.

Nets by flooding know nothing of names; where both are known, differences are shorts and breaks, or faults of reading.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import BoardLayer, Hole


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Island:
    """Connected copper of one layer, the names of the nets in it, and the component it belongs to."""

    layer: int
    shape: BaseGeometry
    nets: frozenset[str]
    component: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NetDifferences:
    """Where flooding and names differ.

    Parameters
    ----------
    nets : int
        Named nets compared.
    merged : tuple of tuple of str
        Nets that touch each other.
    split : tuple of (net, pieces)
        Nets whose copper does not hang together.
    """

    nets: int
    merged: tuple[tuple[str, ...], ...]
    split: tuple[tuple[str, int], ...]


def flood(layers: Sequence[BoardLayer], holes: Sequence[Hole]) -> tuple[Island, ...]:
    """Every island of copper with the component that it belongs to through plated holes."""
    islands = [piece for layer in layers for piece in _islands(layer)]
    links = list(_links(islands, holes))
    component = _components(len(islands), links)
    return tuple(
        Island(layer=layer, shape=shape, nets=nets, component=int(component[i]))
        for i, (layer, shape, nets) in enumerate(islands)
    )


def _islands(layer: BoardLayer) -> Iterator[tuple[int, BaseGeometry, frozenset[str]]]:
    """Copper of a layer joined across nets, cut into connected pieces, each with the nets that are in it."""
    named = [(net, part) for net, shape in layer.nets.items() for part in shapely.get_parts(shape)]
    pieces = shapely.get_parts(shapely.union_all([part for _, part in named]))
    inside = shapely.points([part.representative_point().coords[0] for _, part in named])
    names: defaultdict[int, set[str]] = defaultdict(set)
    for index, piece in shapely.STRtree(pieces).query(inside, predicate="intersects").T:
        names[piece].add(named[index][0])
    for number, shape in enumerate(pieces):
        yield layer.number, shape, frozenset(names[number] - {""})


def _links(
    islands: Sequence[tuple[int, BaseGeometry, frozenset[str]]], holes: Sequence[Hole]
) -> Iterator[tuple[int, int]]:
    """Pairs of islands that the same plated hole touches."""
    plated = [hole for hole in holes if hole.plated]
    touched: list[list[int]] = [[] for _ in plated]
    tree = shapely.STRtree([shape for _, shape, _ in islands])
    for hole, island in tree.query([hole.shape for hole in plated], predicate="intersects").T:
        first, last = plated[hole].layers
        if first <= islands[island][0] <= last:
            touched[hole].append(int(island))
    for group in touched:
        yield from ((group[0], other) for other in group[1:])


def _components(count: int, links: Sequence[tuple[int, int]]) -> NDArray[np.int32]:
    rows, columns = np.array(links, dtype=int).reshape(-1, 2).T
    graph = coo_array((np.ones(len(links)), (rows, columns)), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1])


def net_differences(islands: Sequence[Island]) -> NetDifferences:
    """Nets that touch and nets that fall apart, by flooding."""
    components: defaultdict[str, set[int]] = defaultdict(set)
    names: defaultdict[int, set[str]] = defaultdict(set)
    for island in islands:
        for net in island.nets:
            components[net].add(island.component)
            names[island.component].add(net)
    return NetDifferences(
        nets=len(components),
        merged=tuple(sorted(tuple(sorted(nets)) for nets in names.values() if len(nets) > 1)),
        split=tuple(sorted((net, len(found)) for net, found in components.items() if len(found) > 1)),
    )
