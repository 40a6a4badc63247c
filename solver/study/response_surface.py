r"""How a figure answers to several small changes: a quadratic surface through solved points.

.. math:: y(x) = y_0 + \sum_i b_i x_i + \sum_i a_i x_i^2 + \sum_{i<j} c_{ij} x_i x_j, \qquad -1 \le x_i \le 1

It passes through the nominal point, through both ends of every tolerance alone, and through the corner where two
tolerances are at their upper ends together. What it leaves out (third powers, three at once) is measured at further
points that are solved.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

Offsets = tuple[float, ...]
"""Of every tolerance, from -1 to 1."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Response:
    """A quadratic surface.

    Parameters
    ----------
    nominal : float
        Value with no change.
    linear, square : (n,) array
        Coefficients of x_i and x_i².
    cross : (n, n) array
        Coefficients of x_i x_j above the diagonal, zero elsewhere.
    """

    nominal: float
    linear: NDArray[np.float64]
    square: NDArray[np.float64]
    cross: NDArray[np.float64]

    def values(self, offsets: NDArray[np.float64]) -> NDArray[np.float64]:
        """Values at points (m, n), as an (m,) array."""
        mixed = np.einsum("mi,ij,mj->m", offsets, self.cross, offsets)
        return np.asarray(self.nominal + offsets @ self.linear + offsets**2 @ self.square + mixed)


def design_points(count: int) -> tuple[Offsets, ...]:
    """Points that a surface is laid through: the nominal one first, both ends of every change, and upper pairs.

    Examples
    --------
    >>> design_points(2)
    ((0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (1.0, 1.0))
    """
    singles = [_point(count, {index: sign}) for index in range(count) for sign in (1.0, -1.0)]
    pairs = [_point(count, {first: 1.0, second: 1.0}) for first, second in combinations(range(count), 2)]
    return (_point(count, {}), *singles, *pairs)


def _point(count: int, moved: Mapping[int, float]) -> Offsets:
    return tuple(moved.get(index, 0.0) for index in range(count))


def lay_surface(values: Mapping[Offsets, float], count: int) -> Response:
    """Surface through the values at all of :func:`design_points`.

    Parameters
    ----------
    values : mapping of offsets to float
        Holds at least the design points.
    count : int
        Number of changes n.

    Returns
    -------
    Response
    """
    nominal = values[_point(count, {})]
    upper = np.array([values[_point(count, {index: 1.0})] for index in range(count)]) - nominal
    lower = np.array([values[_point(count, {index: -1.0})] for index in range(count)]) - nominal
    cross = np.zeros((count, count))
    for first, second in combinations(range(count), 2):
        both = values[_point(count, {first: 1.0, second: 1.0})] - nominal
        cross[first, second] = both - upper[first] - upper[second]
    return Response(nominal=nominal, linear=(upper - lower) / 2, square=(upper + lower) / 2, cross=cross)


def extreme_corners(response: Response) -> tuple[Offsets, Offsets]:
    """The corners at which a surface is lowest and highest.

    Changes that alone and in pairs do nothing stay at zero.
    """
    idle = (response.linear == 0) & (response.square == 0) & ~response.cross.any(axis=0) & ~response.cross.any(axis=1)
    corners = np.array(list(product(*((0.0,) if still else (-1.0, 1.0) for still in idle))))
    found = response.values(corners)
    lowest, highest = corners[int(found.argmin())], corners[int(found.argmax())]
    return tuple(map(float, lowest)), tuple(map(float, highest))


def largest_deviation(response: Response, solved: Mapping[Offsets, float], points: Sequence[Offsets]) -> float:
    """Largest distance of a surface from solved values at points it was not laid through; zero for none."""
    if not points:
        return 0.0
    expected = np.array([solved[point] for point in points])
    return float(np.abs(response.values(np.array(points)) - expected).max())
