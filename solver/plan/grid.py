"""The smooth part of the kernel on one uniform grid for all layers: spread, convolve by Fourier transform, gather."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.fft
import scipy.sparse as sparse
from numpy.typing import NDArray

from solver.plan.kernel import smooth_kernel
from solver.plan.near import Cloud

Floats = NDArray[np.float64]
Numbers = NDArray[np.inexact]

_POINTS = 6
"""Points of the Lagrange interpolation in either direction."""

SOFTENING = 6
"""Radius within which the kernel is softened, in steps of the grid: it sets the accuracy, 1e-5 to 2e-5 of L."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Nodes at `corner` + `step` (i, j) [m], `shape` of them; transforms are of the size `padded`."""

    corner: tuple[float, float]
    step: float
    shape: tuple[int, int]

    @property
    def radius(self) -> float:
        """Radius within which the kernel is softened [m]."""
        return SOFTENING * self.step

    @property
    def padded(self) -> tuple[int, int]:
        """Twice the nodes, so that the circular convolution does not wrap around."""
        return tuple(scipy.fft.next_fast_len(2 * count - 1) for count in self.shape)  # type: ignore[return-value]


def grid_over(cloud: Cloud, step: float) -> Grid:
    """A grid that holds all points with the nodes that their interpolation needs."""
    margin = (_POINTS / 2 + 1) * step
    low = cloud.points.min(axis=(1, 2)) - margin
    counts = np.ceil((cloud.points.max(axis=(1, 2)) + margin - low) / step).astype(int) + 1
    return Grid(corner=(float(low[0]), float(low[1])), step=step, shape=(int(counts[0]), int(counts[1])))


def spreading(grid: Grid, cloud: Cloud, chosen: NDArray[np.int64]) -> sparse.csr_matrix:
    """Weights (triangles, nodes) of the integral over each chosen triangle by its three points [m²]."""
    places = (cloud.points[:, :, chosen] - np.reshape(grid.corner, (2, 1, 1))) / grid.step
    base = np.floor(places).astype(np.int32) - (_POINTS // 2 - 1)
    x, y = (_lagrange(each) for each in places - base)
    weights = x[:, None] * y[None, :] * (cloud.areas[chosen] / 3)
    steps = np.arange(_POINTS, dtype=np.int32)[:, None, None]
    columns = (base[0] + steps)[:, None] * grid.shape[1] + (base[1] + steps)[None, :]
    rows = np.broadcast_to(np.arange(len(chosen), dtype=np.int32), weights.shape)
    size = (len(chosen), grid.shape[0] * grid.shape[1])
    return sparse.csr_matrix((weights.ravel(), (rows.ravel(), columns.ravel())), shape=size)


def _lagrange(at: Floats) -> Floats:
    """Weights of the nodes 0, 1, ... at places among them, node by node."""
    weights = np.ones((_POINTS, *at.shape))
    for node in range(_POINTS):
        for other in range(_POINTS):
            if other != node:
                weights[node] *= (at - other) / (node - other)
    return weights


def transformed_kernel(grid: Grid, distance: complex) -> Numbers:
    """Fourier transform of the smooth kernel between two layers at a vertical distance [m]; real unless that is not."""
    x, y = (grid.step * np.minimum(np.arange(size), size - np.arange(size)) for size in grid.padded)
    kernel = smooth_kernel(x[:, None] ** 2 + y[None, :] ** 2, distance, grid.radius)
    if np.iscomplexobj(kernel):
        return scipy.fft.fft2(kernel).astype(np.complex64)
    return np.asarray(scipy.fft.fft2(kernel).real.astype(np.float32))


def convolve(grid: Grid, kernels: list[list[Any]], loads: list[Any]) -> list[Any]:
    """Potentials on the grid of every layer from the loads on it, each (nodes, k) complex; single precision."""
    spectra = [_forward(grid, load) for load in loads]
    return [_backward(grid, sum(kernel * each for kernel, each in zip(row, spectra, strict=True))) for row in kernels]


def _forward(grid: Grid, load: Any) -> Any:
    nodes = np.moveaxis(load.reshape(*grid.shape, -1), -1, 0)
    rows = scipy.fft.fft(nodes, grid.padded[1], axis=2)
    return scipy.fft.fft(rows, grid.padded[0], axis=1, overwrite_x=True)


def _backward(grid: Grid, spectrum: Any) -> Any:
    rows = scipy.fft.ifft(spectrum, axis=1, overwrite_x=True)[:, : grid.shape[0]]
    nodes = scipy.fft.ifft(rows, axis=2, overwrite_x=True)[:, :, : grid.shape[1]]
    return np.moveaxis(nodes, 0, -1).reshape(grid.shape[0] * grid.shape[1], -1)
