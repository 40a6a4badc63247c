r"""Capacitance between the switch node's copper and a trace on the same side of a board, over the ground below them.

A point charge on top of a dielectric of thickness h over a conductor sets up on its surface the potential

.. math:: \varphi(\rho) = \frac{q}{2\pi\varepsilon_0(1+\varepsilon_r)}\left[\frac1\rho - (1+K)\sum_{n\ge1}
    \frac{(-K)^{n-1}}{\sqrt{\rho^2+(2nh)^2}}\right], \qquad K = \frac{\varepsilon_r-1}{\varepsilon_r+1},

the inverse Hankel transform of :math:`1/[\varepsilon_0k(1+\varepsilon_r\coth kh)]`. All copper of the layer is cut into
squares of constant charge; what is neither node nor trace is at rest and shields. Its charges at one volt on the node
are the capacitances.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from geometries.fabrication.board import Board
from geometries.quantities import MM
from solver.constants import EPSILON_0

_MOST_SQUARES = 2000
_FINEST = 0.05 * MM
_FINER = 2
"""So many squares of the trace stand along one of other copper."""
_COARSER = 1.4
"""Size of the squares of the second solution, from whose change the error is taken."""
_AROUND = 1 * MM
"""Copper farther from node and trace is left out [m]."""
_COVERED = 0.8
"""Ground that covers this part of node and trace lies below them."""
_BAND = 0.15
"""Of the capacitance: solder mask, permittivity, thickness of the copper and gaps in the ground (our estimate)."""
_SELF = 4 * math.asinh(1.0)
"""Mean of side over distance from the middle of a square."""
_LEAST = 0.02
"""Smaller parts of squares are left out."""
_PRECISION = 1e-4

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeCapacitance:
    """Between the switch node and a trace.

    Parameters
    ----------
    value, error : float
        Of it [F].
    remark : str
        What of the trace is counted, and why the rest is not.
    """

    value: float
    error: float
    remark: str


def node_capacitance(board: Board, node: str, trace: str, ground: str) -> NodeCapacitance:
    """Capacitance between two nets on the outer layers of a board, of which the first is a switch node.

    Parameters
    ----------
    board : Board
        With their copper.
    node, trace, ground : str
        Nets.

    Returns
    -------
    NodeCapacitance
        Zero where ground lies between them everywhere.
    """
    value, error, counted, open_layers = 0.0, 0.0, [], []
    for layer in (one.number for one in board.layers if not board.copper(one.number, trace).is_empty):
        if board.copper(layer, node).is_empty or layer not in (1, len(board.layers)):
            open_layers += [] if _shielded(board, layer, node, trace, ground) else [layer]
            continue
        slab = _slab_below(board, layer, shapely.union(board.copper(layer, node), board.copper(layer, trace)), ground)
        if slab is None:
            open_layers.append(layer)
            continue
        fine, coarse = (_between(board, layer, node, trace, slab, size) for size in (1.0, _COARSER))
        value, error = value + fine, math.hypot(error, fine - coarse, _BAND * fine)
        counted.append(layer)
    return NodeCapacitance(value=value, error=error, remark=_remark(counted, open_layers))


def _remark(counted: list[int], open_layers: list[int]) -> str:
    words = f"on {_named(counted)}" if counted else "ground lies between the switch node and the trace"
    if open_layers:
        words += f"; no ground shields the trace on {_named(open_layers)}, which is not counted"
    return words


def _named(layers: list[int]) -> str:
    return " and ".join(f"L{number}" for number in layers)


def _covers(board: Board, layer: int, net: str, area: BaseGeometry) -> bool:
    covered: float = board.copper(layer, net).intersection(area).area
    return covered >= _COVERED * area.area


def _shielded(board: Board, layer: int, node: str, trace: str, ground: str) -> bool:
    """Whether ground covers the trace on a layer between it and every layer that the node is on."""
    area = board.copper(layer, trace)
    others = [one.number for one in board.layers if not board.copper(one.number, node).is_empty]
    return all(
        any(_covers(board, between, ground, area) for between in range(min(layer, other) + 1, max(layer, other)))
        for other in others
    )


def _slab_below(board: Board, layer: int, area: BaseGeometry, ground: str) -> tuple[float, float] | None:
    """Thickness [m] and permittivity of what lies between an outer layer and the next ground; None without one."""
    inwards = range(2, len(board.layers) + 1) if layer == 1 else range(len(board.layers) - 1, 0, -1)
    found = next((number for number in inwards if _covers(board, number, ground, area)), None)
    if found is None:
        return None
    stack = board.stack.stackup
    first, last = sorted((stack.heights(f"L{layer}"), stack.heights(f"L{found}")))
    return last[0] - first[1], stack.permittivity_between(f"L{layer}", f"L{found}")


def _between(board: Board, layer: int, node: str, trace: str, slab: tuple[float, float], size: float) -> float:
    nets = board.layers[layer - 1].nets
    rest = shapely.union_all([shape for net, shape in nets.items() if net not in (node, trace)])
    return surface_capacitance(nets[node], nets[trace], rest, *slab, size)


def surface_capacitance(
    node: BaseGeometry,
    trace: BaseGeometry,
    rest: BaseGeometry,
    height: float,
    relative_permittivity: float,
    size: float = 1.0,
) -> float:
    """Capacitance between two areas of copper on a dielectric over a conductor, others beside them at rest [F].

    Parameters
    ----------
    node, trace, rest : shapely geometry
        Copper [m].
    height : float
        Thickness of the dielectric [m].
    relative_permittivity : float
        Of it [1].
    size : float
        Of the squares, in parts of the finest.

    Examples
    --------
    >>> from shapely.geometry import Polygon, box
    >>> near, far = (surface_capacitance(box(0, 0, 1e-3, 1e-3), box(x, 0, x + 2e-4, 1e-3), Polygon(), 2e-4, 4.4)
    ...              for x in (1.2e-3, 3e-3))
    >>> near > 20 * far
    True
    """
    room = shapely.union(node, trace).buffer(_AROUND)
    groups = {"node": node, "trace": trace, "rest": rest.intersection(room)}
    area = sum(shape.area for shape in groups.values()) + (_FINER**2 - 1) * trace.area
    side = size * max(_FINEST, math.sqrt(area / _MOST_SQUARES))
    cells = [_cells(shape, side / _FINER if name == "trace" else side) for name, shape in groups.items()]
    places, sides = (np.concatenate(each) for each in zip(*cells, strict=True))
    owner = np.repeat(list(groups), [len(each) for each, _ in cells])
    charges = np.linalg.solve(_potentials(places, sides, height, relative_permittivity), 1.0 * (owner == "node"))
    return -float(charges[owner == "trace"].sum())


def _cells(shape: BaseGeometry, side: float) -> tuple[Floats, Floats]:
    """Middles of what a shape holds of the squares of a grid, (n, 2), and the sides of squares as large, (n,) [m]."""
    if shape.is_empty:
        return np.zeros((0, 2)), np.zeros(0)
    left, bottom, right, top = shape.bounds
    x, y = (np.arange(low, high, side) for low, high in ((left, right), (bottom, top)))
    corners = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    shapely.prepare(shape)
    held = shapely.intersection(shapely.box(*corners.T, *(corners + side).T), shape)
    held = held[shapely.area(held) > _LEAST * side**2]
    return shapely.get_coordinates(shapely.centroid(held)), np.sqrt(shapely.area(held))


def _potentials(places: Floats, sides: Floats, height: float, relative_permittivity: float) -> Floats:
    """Potential in the middle of every square per charge on every other [V/C]."""
    squared = ((places[:, None, :] - places[None, :, :]) ** 2).sum(axis=-1)
    np.fill_diagonal(squared, (sides / _SELF) ** 2)
    bend = (relative_permittivity - 1) / (relative_permittivity + 1)
    total, factor, number = 1 / np.sqrt(squared), 1 + bend, 1
    while abs(factor) > _PRECISION:
        total -= factor / np.sqrt(squared + (2 * number * height) ** 2)
        factor, number = -bend * factor, number + 1
    potentials: Floats = total / (2 * math.pi * EPSILON_0 * (1 + relative_permittivity))
    return potentials
