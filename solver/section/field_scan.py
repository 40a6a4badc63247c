"""The field along lines above and below the board."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from geometries.section.analysis import Analysis
from geometries.section.section import View
from solver.errors import SolutionError
from solver.section.element_size import Points
from solver.section.extraction import field_from_currents, field_magnitude
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
    field: FieldSolution, surfaces: tuple[float, float], analysis: Analysis, span: tuple[float, float]
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
        FieldScan(
            side=side,
            distance=distance,
            x=x,
            magnitude=_magnitude(field, np.column_stack([x, np.full_like(x, y)])),
        )
        for side, distance, y in places
    )


def _magnitude(field: FieldSolution, points: Points) -> NDArray[np.float64]:
    """Root of |H_x|² + |H_y|²: summed over the currents in the section view, the slope of the flux in the round one."""
    if field.system.view is View.AXISYMMETRIC:
        return field_magnitude(field, points)
    return np.asarray(np.linalg.norm(field_from_currents(field, points), axis=1))


def nearest_scan(lines: Iterable[FieldScan], side: str) -> FieldScan:
    """The scan line closest to the board on one side of it."""
    return min((line for line in lines if line.side == side), key=lambda line: line.distance)
