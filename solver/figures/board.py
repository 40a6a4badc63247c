"""A board's loop on its real copper: where the inductance sits, layer under layer, with numbered marks."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path as DrawnPath
from matplotlib.tri import Triangulation
from numpy.typing import NDArray

from geometries.layout.layout import CopperSheet
from geometries.layout.part_bodies import BODY
from geometries.quantities import MM
from geometries.section.outline import Point
from solver.figures.style import INK, add_panel, new_sheet
from solver.plan import PlanEnergy, PlanSolution, SheetEnergy
from solver.plan.potentials import triangle_areas

_WIDTH, _LEFT, _TOP, _GAP, _FOOT, _TALLEST = 6.6, 0.75, 0.85, 0.8, 0.3, 4.2
_ROOM = 0.5
"""Around the parts, in diagonals of what encloses them."""
_DECADES = 2
_COLOURS = "YlOrRd"


def board_figure(
    solution: PlanSolution, energy: PlanEnergy, marks: Sequence[tuple[int, str, Point]], title: str
) -> Figure:
    """Draw a loop's inductance per area over its copper.

    Parameters
    ----------
    solution : PlanSolution
        The solved layout.
    energy : PlanEnergy
        Its inductance by triangle.
    marks : sequence of (number, name, place)
        Number, copper, and place [m] of each mark.
    title : str
        Over the picture.
        One panel per height of copper, the highest first, all to one scale.
    """
    sheets = {sheet.name: sheet for sheet in solution.layout.sheets}
    heights = sorted({sheet.height for sheet in sheets.values()}, reverse=True)
    levels = [[each for each in energy.sheets if sheets[each.name].height == height] for height in heights]
    levels = _bodies_together(levels, sheets)
    left, bottom, right, top = _around_parts(energy)
    scale = min(_WIDTH / (right - left), _TALLEST / (top - bottom))
    height = (top - bottom) * scale
    sheet = _TOP + len(levels) * (height + _GAP) + _FOOT
    caption = "Inductance per area around the parts; darker is more, numbers are the worst places."
    figure = new_sheet(sheet, title, caption)
    norm = _norm(energy)
    for index, level in enumerate(levels):
        axes = add_panel(figure, _LEFT, _TOP + index * (height + _GAP) + 0.2, (right - left) * scale, height)
        for each in level:
            _draw(axes, each, sheets[each.name], norm)
        names = {each.name for each in level}
        for number, name, place in marks:
            if name in names:
                _mark(axes, number, place)
        axes.set(xlim=(left, right), ylim=(bottom, top), aspect="equal", xlabel="x in mm", ylabel="y in mm")
        axes.set_title(", ".join(sorted(names)), loc="left", fontsize=8)
    return figure


def _around_parts(energy: PlanEnergy) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the parts' bodies with room about them, no farther than the copper goes [mm]."""
    copper = np.vstack([each.points for each in energy.sheets]) / MM
    parts = np.vstack([each.points for each in energy.sheets if each.name.startswith(BODY)]) / MM
    low, high = parts.min(axis=0), parts.max(axis=0)
    room = _ROOM * float(np.hypot(*(high - low)))
    (left, bottom), (right, top) = (
        np.maximum(low - room, copper.min(axis=0)),
        np.minimum(high + room, copper.max(axis=0)),
    )
    return float(left), float(bottom), float(right), float(top)


def _bodies_together(levels: list[list[SheetEnergy]], sheets: dict[str, CopperSheet]) -> list[list[SheetEnergy]]:
    """Levels closer than a copper's thickness in one panel: the parts' bodies lie a little over one another."""
    joined: list[list[SheetEnergy]] = []
    for level in levels:
        height = sheets[level[0].name].height
        if (
            joined
            and sheets[joined[-1][0].name].height - height < min(sheets[each.name].thickness for each in level) / 2
        ):
            joined[-1] += level
        else:
            joined.append(list(level))
    return joined


def _density(sheet: SheetEnergy) -> NDArray[np.float64]:
    return np.asarray(sheet.stored / triangle_areas(sheet.points[sheet.triangles]) * 1e9 * MM**2)


def _norm(energy: PlanEnergy) -> LogNorm:
    highest = float(np.quantile(np.concatenate([_density(sheet) for sheet in energy.sheets]), 0.98))
    return LogNorm(vmin=highest / 10**_DECADES, vmax=highest, clip=True)


def _draw(axes: Axes, energy: SheetEnergy, sheet: CopperSheet, norm: LogNorm) -> None:
    shown = np.maximum(_density(energy), norm.vmin or math.ulp(0.0))
    x, y = energy.points.T / MM
    axes.tripcolor(Triangulation(x, y, energy.triangles), facecolors=shown, cmap=_COLOURS, norm=norm, rasterized=True)
    shape = sheet.shape
    rings = [DrawnPath(np.asarray(ring.coords) / MM, closed=True) for ring in (shape.exterior, *shape.interiors)]
    axes.add_patch(PathPatch(DrawnPath.make_compound_path(*rings), facecolor="none", edgecolor=INK, linewidth=0.6))


def _mark(axes: Axes, number: int, place: Point) -> None:
    axes.annotate(
        str(number),
        (place[0] / MM, place[1] / MM),
        ha="center",
        va="center",
        fontsize=8,
        fontweight="bold",
        color="white",
        bbox={"boxstyle": "circle,pad=0.25", "facecolor": "#0072b2", "edgecolor": "white"},
        zorder=9,
    )
