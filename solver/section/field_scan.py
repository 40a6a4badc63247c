"""The field along lines above and below the board."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from geometries.section.analysis import Analysis
from geometries.section.section import Region, View
from solver.errors import SolutionError
from solver.section.element_size import Points
from solver.section.extraction import field_from_currents, field_magnitude, line_currents
from solver.section.fields import FieldSolution
from solver.section.results import FieldScan

_FAR_FRACTION = 0.05
FIELD_FLOOR = 1e-5
"""Field strengths below this [A/m per A] are not resolved."""

_LINE_POINTS = 301
_ROUNDING = 1e-9


def far_distance(analysis: Analysis, span: tuple[float, float], view: View = View.SECTION) -> float:
    """Radius of the far circle that the lines of an analysis need [m]; they run over `span`."""
    return _farthest(analysis, _run(span, view)) / _FAR_FRACTION


def _farthest(analysis: Analysis, run: tuple[float, float]) -> float:
    return max(*analysis.heights_above, *analysis.heights_below, run[1] - run[0])


def _run(span: tuple[float, float], view: View) -> tuple[float, float]:
    """From where to where lines run; in the axisymmetric view from the axis."""
    return (0.0, max(abs(span[0]), abs(span[1]))) if view is View.AXISYMMETRIC else span


def field_scans(
    field: FieldSolution,
    surfaces: tuple[float, float],
    analysis: Analysis,
    span: tuple[float, float],
    *,
    lower: FieldSolution | None = None,
    length: float = math.inf,
) -> tuple[FieldScan, ...]:
    """Field along the lines above and below the board.

    Parameters
    ----------
    field : FieldSolution
        A solved section.
    surfaces : tuple of float
        Heights of the board's upper and lower surface [m].
    analysis : Analysis
        Distances of the lines.
    span : tuple of float
        From where to where they run [m]; in the axisymmetric view no further than the axis.
    lower : FieldSolution, optional
        The same on elements of one order less, for what the mesh misses of every line's largest value.
    length : float
        Of the loop [m], for what its length and ends change there; the section view has neither.

    Raises
    ------
    SolutionError
        If a line lies so far away that the far circle would show in it.
    """
    top, bottom = surfaces
    span = _run(span, field.system.view)
    farthest = _farthest(analysis, span)
    if farthest > _FAR_FRACTION * field.system.meshed.far_radius * (1 + _ROUNDING):
        raise SolutionError(
            f"a scan line lies {farthest:.3g} m from a section whose field is computed to "
            f"{field.system.meshed.far_radius:.3g} m; that far it would be off by more than 1 %: choose heights below "
            f"{_FAR_FRACTION * field.system.meshed.far_radius:.2g} m"
        )
    x = np.linspace(*span, _LINE_POINTS)
    places = [("above", distance, top + distance) for distance in analysis.heights_above]
    places += [("below", distance, bottom - distance) for distance in analysis.heights_below]
    return tuple(
        _scan(field, lower, length, side, distance, np.column_stack([x, np.full_like(x, y)]))
        for side, distance, y in places
    )


def _scan(
    field: FieldSolution, lower: FieldSolution | None, length: float, side: str, distance: float, points: Points
) -> FieldScan:
    magnitude = _magnitude(field, points)
    most = int(magnitude.argmax())
    there, peak = points[most : most + 1], float(magnitude[most])
    mesh = 0.0 if lower is None else float(_magnitude(lower, there)[0]) - peak
    straight = field.system.view is View.AXISYMMETRIC or math.isinf(length)
    ends = 0.0 if straight else _of_ends(field, there, length) * peak
    return FieldScan(
        side=side, distance=distance, x=points[:, 0], magnitude=magnitude, peak_error=math.hypot(mesh, ends)
    )


def _of_ends(field: FieldSolution, point: Points, length: float) -> float:
    """Part by which a loop's length and ends change the field over its middle, about.

    Its own currents count, with their images in the next ground layer behind them. Beyond a layer that is wider than
    the loop is long the section view says nothing: there it is the whole.
    """
    section = field.system.meshed.section
    up = 1.0 if point[0, 1] > 0.5 * (section.extent[1] + section.extent[3]) else -1.0
    layers = [section.region(name) for name in section.ground_layers]
    own = [each for each in section.regions if each not in layers]
    first, last = _heights(own, up)
    beyond = [each for each in layers if _heights([each], up)[0] >= last]
    behind = [each for each in layers if _heights([each], up)[1] <= first]
    if any(each.outline.bounds[2] - each.outline.bounds[0] > length for each in beyond):
        return 1.0
    counted = [*own, *(each for each in layers if each not in behind)]
    sources, currents = line_currents(field, point, counted)
    if behind:
        level = up * max(_heights([each], up)[1] for each in behind)
        sources = np.concatenate([sources, sources.conj() + 2j * level])
        currents = np.concatenate([currents, -currents])
    arms = complex(*point[0]) - sources
    endless = 1 / (2 * math.pi * arms)
    kernels = (
        endless,
        endless * (length / 2) / np.hypot(length / 2, np.abs(arms)) - _turned(sources, currents, point, length / 2),
    )
    without, with_ends = (np.linalg.norm([currents @ each.imag, currents @ each.real]) for each in kernels)
    return float(with_ends / without) - 1


def _turned(
    sources: NDArray[np.complex128], currents: NDArray[np.complex128], point: Points, half: float
) -> NDArray[np.complex128]:
    """Field per ampere, H_y + j H_x, of what crosses both ends of a loop: level to the middle of all, then upright.

    A short piece p at the distance h above the point's plane and one the other way below make h p / (2 pi R³) there.
    """
    here, weights = complex(*point[0]), np.abs(currents)
    middle = complex(weights @ sources / weights.sum())
    away = sources - middle
    level = np.hypot(half, np.abs(here - (middle.real + away.real / 2 + 1j * sources.imag)))
    upright = np.hypot(half, np.abs(here - (middle + 1j * away.imag / 2)))
    return np.asarray(half / (2 * math.pi) * (away.real / level**3 - 1j * away.imag / upright**3))


def _heights(regions: Iterable[Region], up: float) -> tuple[float, float]:
    """Lowest and highest of regions, counted upwards or downwards."""
    found = [up * height for each in regions for height in each.outline.bounds[1::2]]
    return min(found), max(found)


def _magnitude(field: FieldSolution, points: Points) -> NDArray[np.float64]:
    """Root of |H_x|² + |H_y|²: summed over the currents in the section view, the slope of the flux in the round one."""
    if field.system.view is View.AXISYMMETRIC:
        return field_magnitude(field, points)
    return np.asarray(np.linalg.norm(field_from_currents(field, points), axis=1))


def nearest_scan(lines: Iterable[FieldScan], side: str) -> FieldScan:
    """The scan line closest to the board on one side of it."""
    return min((line for line in lines if line.side == side), key=lambda line: line.distance)
