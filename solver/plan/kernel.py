r"""The kernel 1/R between flat layers, parted into what a coarse grid can carry and what only near pairs need.

Two layers at a vertical distance z see each other by :math:`k(s) = 1/\sqrt{s + z^2}` with s the square of the
horizontal distance. Within a radius a the smooth part is the Taylor polynomial of k in s about :math:`a^2`, which joins
k with as many continuous derivatives as its order; it is analytic in z, so that the complex depth of an image in a
lossy plane needs nothing special. Layers at least a apart have no near part.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.inexact]

_ORDER = 4
_TAYLOR = tuple(math.prod((-0.5 - j) / (j + 1) for j in range(k)) for k in range(_ORDER + 1))
"""Coefficients of (1 + x)^(-1/2)."""


def smooth_kernel(square: Any, distance: Any, radius: float) -> Numbers:
    """Smooth part of 1/R.

    Parameters
    ----------
    square : array
        Square of the horizontal distance s [m²].
    distance : number or array
        Vertical distance z [m]; complex for images in a lossy plane.
    radius : float
        Radius a within which the kernel is softened [m].

    Returns
    -------
    array
        1/R where the layers are a or more apart or the points horizontally so, else the polynomial [1/m].
    """
    edge = np.where(np.abs(distance) < radius, radius**2, 0.0)
    drop = np.square(distance)
    width = edge + drop
    inside = np.minimum(square - edge, 0.0) / np.where(width == 0, 1.0, width)
    return np.asarray(_polynomial(_TAYLOR, inside) / np.sqrt(np.maximum(square, edge) + drop))


def sharp_kernel(square: Any, distance: Any, radius: float) -> Numbers:
    """What the smooth part leaves of 1/R [1/m]; zero where the smooth part is exact."""
    return np.asarray(1 / np.sqrt(square + np.square(distance)) - smooth_kernel(square, distance, radius))


def sharp_kernel_derivatives(square: Any, distance: Any, radius: float) -> tuple[Numbers, Numbers, Numbers]:
    """The same for points within the radius, with its first and second derivative by the square of the distance."""
    drop = np.square(distance)
    inverse = 1 / np.sqrt(square + drop)
    scale = 1 / (radius**2 + drop)
    root, inside = np.sqrt(scale), (square - radius**2) * scale
    first = tuple(k * _TAYLOR[k] for k in range(1, _ORDER + 1))
    second = tuple(k * first[k] for k in range(1, _ORDER))
    cube = inverse**3
    return (
        np.asarray(inverse - root * _polynomial(_TAYLOR, inside)),
        np.asarray(-cube / 2 - root * scale * _polynomial(first, inside)),
        np.asarray(0.75 * cube * inverse**2 - root * scale**2 * _polynomial(second, inside)),
    )


def _polynomial(coefficients: tuple[float, ...], at: Any) -> Any:
    value = np.full(np.shape(at), coefficients[-1], dtype=np.result_type(at, float))
    for coefficient in coefficients[-2::-1]:
        value *= at
        value += coefficient
    return value
