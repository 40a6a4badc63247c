"""The way of a net's copper from one pad to another, over its layers and vias: the path that a trace takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.sparse as sparse
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import KDTree

from geometries.drawn.errors import BoardError
from geometries.fabrication.board import Board, Pad
from geometries.quantities import MM

_STEP = 0.05 * MM
"""Of the grid on which the way is looked for; the finest traces are twice as wide [m]."""
_MOST_NODES = 2_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TracePath:
    """Points along a trace's copper.

    Parameters
    ----------
    net : str
        Its net.
    points : (n, 2) array
        From its start to its end [m].
    layers : (n,) array
        Layer of each point; where it changes there is a via.
    """

    net: str
    points: NDArray[np.float64]
    layers: NDArray[np.int64]

    @property
    def length(self) -> float:
        """Along the copper, vias not counted [m]."""
        return float(np.linalg.norm(np.diff(self.points, axis=0), axis=1).sum())


def trace_path(board: Board, start: Sequence[Pad], end: Sequence[Pad]) -> TracePath:
    """The shortest way through a net's copper from one group of pads to another.

    Parameters
    ----------
    board : Board
        With the copper and the vias.
    start, end : sequence of Pad
        Of one net.

    Raises
    ------
    BoardError
        If the net's copper does not join them, or is too large for a trace.
    """
    net = start[0].net
    nodes, layers = _nodes(board, net)
    graph = _graph(board, net, nodes, layers)
    first, last = (_inside(pads, nodes, layers) for pads in (start, end))
    distances, before, _ = dijkstra(graph, directed=False, indices=first, return_predecessors=True, min_only=True)
    if not len(last) or not np.isfinite(distances[last]).any():
        raise BoardError(f"the copper of {net!r} does not join {start[0].reference} and {end[0].reference}")
    way = [int(last[np.argmin(distances[last])])]
    while before[way[-1]] >= 0:
        way.append(int(before[way[-1]]))
    chosen = np.array(way[::-1])
    return TracePath(net=net, points=nodes[chosen], layers=layers[chosen])


def _nodes(board: Board, net: str) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Grid points in a net's copper, and the layer of each."""
    found, numbers = [], []
    for layer in board.layers:
        copper = board.copper(layer.number, net)
        if copper.is_empty:
            continue
        left, bottom, right, top = copper.bounds
        if (right - left) * (top - bottom) > _MOST_NODES * _STEP**2:
            raise BoardError(f"the copper of {net!r} on L{layer.number} is as large as a plane; it is no trace")
        x, y = (
            _STEP * np.arange(np.floor(low / _STEP), high / _STEP + 1) for low, high in ((left, right), (bottom, top))
        )
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        shapely.prepare(copper)
        found.append(grid[shapely.contains_xy(copper, grid)])
        numbers.append(np.full(len(found[-1]), layer.number))
    return np.concatenate(found), np.concatenate(numbers)


def _graph(board: Board, net: str, nodes: NDArray[np.float64], layers: NDArray[np.int64]) -> sparse.csr_array:
    pairs = np.array([*_neighbours(nodes, layers), *_through_vias(board, net, nodes, layers)], dtype=int)
    lengths = np.maximum(np.linalg.norm(nodes[pairs[:, 0]] - nodes[pairs[:, 1]], axis=1), _STEP)
    return sparse.csr_array((lengths, pairs.T), shape=(len(nodes),) * 2)


def _neighbours(nodes: NDArray[np.float64], layers: NDArray[np.int64]) -> Iterator[tuple[int, int]]:
    for layer in np.unique(layers):
        here = np.flatnonzero(layers == layer)
        for one, other in KDTree(nodes[here]).query_pairs(1.5 * _STEP):
            yield int(here[one]), int(here[other])


def _through_vias(
    board: Board, net: str, nodes: NDArray[np.float64], layers: NDArray[np.int64]
) -> Iterator[tuple[int, int]]:
    """From the node at a plated hole on one layer to that on the next."""
    for hole in board.holes:
        if hole.net == net and hole.plated:
            there = [np.flatnonzero(layers == layer) for layer in hole.touched]
            met = [here[np.argmin(np.linalg.norm(nodes[here] - hole.start, axis=1))] for here in there if len(here)]
            yield from ((int(one), int(other)) for one, other in pairwise(met))


def _inside(pads: Sequence[Pad], nodes: NDArray[np.float64], layers: NDArray[np.int64]) -> NDArray[np.int64]:
    """Nodes on any of the pads."""
    hit = np.zeros(len(nodes), dtype=bool)
    for pad in pads:
        hit |= (layers == pad.layer) & shapely.contains_xy(pad.shape, nodes)
    return np.flatnonzero(hit)
