r"""Polynomials through solved points of a box, one point after the other.

.. math:: u(x) = \sum_k s_k \prod_d h_{k_d}(x_d), \qquad h_j(x) = \prod_{i<j} \frac{x - x_i}{x_j - x_i}

Every axis has the same sequence of nodes; a point is a tuple of their numbers, and with a point all points below it
belong to the set. h_j vanishes at all earlier nodes, so that a further point changes nothing at the earlier ones.

References
----------
.. [1] A. Chkifa, A. Cohen, C. Schwab, "High-dimensional adaptive sparse polynomial interpolation and applications to
   parametric PDEs", Found. Comput. Math. 14 (2014) 601-633 (from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

Index = tuple[int, ...]
"""Numbers of a point's nodes, one per axis."""

_GRID = 4001


def leja_nodes(count: int) -> tuple[float, ...]:
    """Middle, both ends, and then always the place that is farthest from all earlier ones by the product of distances.

    Parameters
    ----------
    count : int
        How many.

    Returns
    -------
    tuple of float
        From -1 to 1.

    Examples
    --------
    >>> [round(node, 3) for node in leja_nodes(5)]
    [0.0, -1.0, 1.0, -0.578, 0.659]
    """
    grid = np.linspace(-1, 1, _GRID)
    nodes, distance = [0.0], np.abs(grid)
    while len(nodes) < count:
        nodes.append(float(grid[int(distance.argmax())]))
        distance = distance * np.abs(grid - nodes[-1])
    return tuple(nodes[:count])


NODES = leja_nodes(9)
"""More nodes than these are not put on an axis: what they do not follow is no smooth function."""


def place(index: Index) -> tuple[float, ...]:
    """Where a point lies, from -1 to 1 on every axis."""
    return tuple(NODES[number] for number in index)


def hierarchical(number: int, x: float) -> float:
    """Value of the function of one node at a place: one there, zero at all earlier nodes."""
    return prod((x - NODES[earlier]) / (NODES[number] - NODES[earlier]) for earlier in range(number))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Interpolation:
    """Polynomials of several quantities through the same points.

    Parameters
    ----------
    indices : tuple of Index
        Points that they run through, each after all points below it.
    surpluses : (n, m) array
        Coefficients s_k of every quantity: how far its value at each point lies from the polynomial of the points
        before.
    """

    indices: tuple[Index, ...]
    surpluses: NDArray[np.float64]

    def values(self, x: Sequence[float]) -> NDArray[np.float64]:
        """All quantities at a place, from -1 to 1 on every axis, (m,)."""
        return np.asarray(_basis(self.indices, x) @ self.surpluses)


def _basis(indices: Sequence[Index], x: Sequence[float]) -> NDArray[np.float64]:
    """The product of h for every point at one place, (n,)."""
    tables = [[hierarchical(number, at) for number in range(len(NODES))] for at in x]
    return np.array([prod(table[number] for table, number in zip(tables, index, strict=True)) for index in indices])


def interpolate(values: Mapping[Index, Sequence[float]]) -> Interpolation:
    """The polynomials through the values at a set of points that holds all points below each of them.

    Examples
    --------
    >>> square = {index: [place(index)[0] ** 2] for index in [(0,), (1,), (2,)]}
    >>> [round(float(value), 12) for value in interpolate(square).values((0.3,))]
    [0.09]
    """
    ordered = tuple(sorted(values, key=lambda index: (sum(index), index)))
    matrix = np.array([_basis(ordered, place(index)) for index in ordered])
    known = np.array([values[index] for index in ordered], dtype=float)
    return Interpolation(indices=ordered, surpluses=solve_triangular(matrix, known, lower=True))


def up_to_degree(axes: int, degree: int) -> tuple[Index, ...]:
    """All points whose numbers add up to a degree at most, the middle first.

    Examples
    --------
    >>> up_to_degree(2, 1)
    ((0, 0), (0, 1), (1, 0))
    """
    every = product(range(degree + 1), repeat=axes)
    return tuple(sorted((each for each in every if sum(each) <= degree), key=lambda each: (sum(each), each)))


def further_points(accepted: Collection[Index], index: Index) -> Iterator[Index]:
    """The points next above one whose points below are all accepted, so that they may follow."""
    for axis in range(len(index)):
        above = (*index[:axis], index[axis] + 1, *index[axis + 1 :])
        below = [(*above[:d], above[d] - 1, *above[d + 1 :]) for d in range(len(above)) if above[d] > 0]
        if above[axis] < len(NODES) and all(each in accepted for each in below):
            yield above
