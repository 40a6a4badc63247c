"""Which copper hangs together: islands of each layer joined by plated holes, set against the nets' names.

Nets by flooding know nothing of names; where both are known, differences are shorts and breaks, or faults of reading.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import BoardLayer, Hole


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Island:
    """Connected copper of one net on one layer, and the component that it belongs to; components are joined copper."""

    layer: int
    net: str
    shape: BaseGeometry
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
    """Every island of copper with the component that it belongs to, by touching copper and through plated holes."""
    parts = [
        _Part(layer.number, net, shape) for layer in layers for net, whole in layer.nets.items() for shape in _of(whole)
    ]
    links = [*_touching(parts), *_drilled(parts, [hole for hole in holes if hole.plated])]
    component = _components(len(parts), links)
    return tuple(
        Island(layer=part.layer, net=part.net, shape=part.shape, component=int(component[i]))
        for i, part in enumerate(parts)
    )


class _Part(NamedTuple):
    layer: int
    net: str
    shape: BaseGeometry


_LARGE = 500
"""A shape of more corners than this asks the others, never the other way round: what asks is prepared for it."""


def _of(shape: BaseGeometry) -> Iterable[BaseGeometry]:
    return tuple(shapely.get_parts(shape))


def _touching(parts: Sequence[_Part]) -> Iterator[tuple[int, int]]:
    """Pairs of parts of one layer that touch: different nets, or pieces without a net."""
    for layer in {part.layer for part in parts}:
        here = [index for index, part in enumerate(parts) if part.layer == layer]
        here.sort(key=lambda index: shapely.get_num_coordinates(parts[index].shape))
        shapes = np.array([parts[index].shape for index in here], dtype=object)
        few = int(np.searchsorted(shapely.get_num_coordinates(shapes), _LARGE))
        small, every = shapely.STRtree(shapes[:few]), shapely.STRtree(shapes)
        pairs = [small.query(shapes[:few], "intersects"), every.query(shapes[few:], "intersects")]
        pairs[1][0] += few
        yield from ((here[one], here[other]) for one, other in np.concatenate(pairs, axis=1).T if one != other)


def _drilled(parts: Sequence[_Part], plated: Sequence[Hole]) -> Iterator[tuple[int, int]]:
    """Pairs of parts that the same plated hole touches."""
    touched: list[list[int]] = [[] for _ in plated]
    tree = shapely.STRtree([hole.shape for hole in plated])
    for part, hole in tree.query([part.shape for part in parts], predicate="intersects").T:
        first, last = plated[hole].layers
        if first <= parts[part].layer <= last:
            touched[hole].append(int(part))
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
        if island.net:
            components[island.net].add(island.component)
            names[island.component].add(island.net)
    return NetDifferences(
        nets=len(components),
        merged=tuple(sorted(tuple(sorted(nets)) for nets in names.values() if len(nets) > 1)),
        split=tuple(sorted((net, len(found)) for net, found in components.items() if len(found) > 1)),
    )
