"""A layout seen from above, to scale: how densely the current flows over its copper, and where it crowds."""

from __future__ import annotations

import math
from collections.abc import Collection

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path as DrawnPath
from matplotlib.ticker import FuncFormatter, LogLocator
from matplotlib.tri import Triangulation
from numpy.typing import NDArray
from scipy.spatial import KDTree
from shapely.geometry import Point as ShapelyPoint

from geometries.layout.layout import CopperSheet, EdgeTerminal, PlanLayout, Port, RingPort
from geometries.quantities import MM
from solver.figures.style import (
    COPPER,
    INK,
    SHEET_WIDTH,
    SMALL,
    add_panel,
    keep_apart,
    new_sheet,
    plain_number,
    shortened,
    styled,
)
from solver.notation import numbers
from solver.plan import PlanSolution, SheetDensity
from solver.plan.potentials import triangle_areas

Box = tuple[float, float, float, float]

_LEFT, _TOP, _RIGHT, _GAP, _FOOT = 0.62, 0.62, 0.25, 0.5, 0.75
_PANEL_WIDTH = SHEET_WIDTH - _LEFT - _RIGHT
_TALLEST = 4.2
"""Greatest height of one level [in]."""

_COLOURS = "magma_r"
_PORT = "#0072b2"
_DECADES = 2
_ARROWS = 18
"""Arrows along the longer side of the layout."""

_BAR = 5.0
"""Least width of the colour bar, so that its words fit under it [in]."""

_MARGIN = 0.06
_NAMES, _NAME_SPACING, _LONGEST_NAME = 1.15, 0.17, 18
"""Width of the column of names beside a panel, distance of two of them [in], and characters of one."""

_UPRIGHT = 0.55
"""Levels higher than this, in widths, stand side by side."""


@styled
def plan_figure(solution: PlanSolution, loop: int = 0) -> Figure:
    """Draw the current density of one loop over the copper, level under level.

    Parameters
    ----------
    solution : PlanSolution
        A solved layout.
    loop : int
        Index of the loop that carries one ampere.
        One panel per height of copper, the highest first, all to one scale; darker is denser, arrows show the
        direction, thick lines the terminals of ports.
    """
    levels = _levels(solution)
    norm = _norm(solution, loop)
    box = _box(solution, loop, norm.vmin or 0.0)
    width, height = box[2] - box[0], box[3] - box[1]
    columns = 2 if len(levels) > 1 and height > _UPRIGHT * width else 1
    across = (_PANEL_WIDTH - (columns - 1) * _GAP) / columns
    scale = min((across - _NAMES) / width, _TALLEST / height)
    rows = math.ceil(len(levels) / columns)
    sheet = _TOP + rows * (height * scale + _GAP) + _FOOT
    figure = new_sheet(sheet, f"Current density: {solution.layout.name}", _caption(solution, loop))
    for index, level in enumerate(levels):
        row, column = divmod(index, columns)
        left, top = _LEFT + column * (across + _GAP), _TOP + row * (height * scale + _GAP) + 0.2
        axes = add_panel(figure, left, top, width * scale, height * scale)
        _draw_level(axes, solution, level, loop, norm, box)
        _frame(axes, box, level[0].sheet.height, len(levels) > 1)
        name_ports(axes, solution.layout, {sheet.sheet.name for sheet in level}, spot=1.03)
    _colour_bar(figure, sheet - _FOOT + 0.1, max(width * scale, _BAR), norm)
    return figure


def _caption(solution: PlanSolution, loop: int) -> str:
    limits = {0.0: "DC", math.inf: "perfect conductors"}
    at = limits.get(solution.frequency) or numbers.frequency(solution.frequency)
    inductance = solution.inductance[loop, loop] * 1e9
    return (
        f"{at}, peak values for 1 A through {solution.loops[loop]!r}, copper that carries next to nothing cut off; "
        f"L = {numbers.significant(inductance, 3)} nH without the parts that close the ports"
    )


def _levels(solution: PlanSolution) -> list[list[SheetDensity]]:
    """Sheets of equal height together, the highest first."""
    heights = sorted({sheet.sheet.height for sheet in solution.sheets}, reverse=True)
    return [[sheet for sheet in solution.sheets if sheet.sheet.height == height] for height in heights]


def _box(solution: PlanSolution, loop: int, weakest: float) -> Box:
    """Left, bottom, right, top of the ports and of all copper with more current than the weakest coloured, in mm."""
    strong = [sheet.points[sheet.triangles[_magnitude(sheet, loop) > weakest].ravel()] for sheet in solution.sheets]
    everywhere = {sheet.sheet.name for sheet in solution.sheets}
    ends = [place for port in solution.layout.ports for place in _places(port, everywhere)]
    points = np.concatenate([*strong, np.reshape(ends, (-1, 2))]) / MM
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    margin = _MARGIN * max(right - left, top - bottom)
    return left - margin, bottom - margin, right + margin, top + margin


def _magnitude(sheet: SheetDensity, loop: int) -> NDArray[np.float64]:
    """Root of the squares of both components in each triangle, A/mm."""
    return np.asarray(np.linalg.norm(np.abs(sheet.density[loop]), axis=1) * MM)


def _norm(solution: PlanSolution, loop: int) -> LogNorm:
    """From a hundredth of the density that only a thousandth of the copper exceeds."""
    values = np.concatenate([_magnitude(sheet, loop) for sheet in solution.sheets])
    areas = np.concatenate([triangle_areas(sheet.points[sheet.triangles]) for sheet in solution.sheets])
    order = np.argsort(values)
    share = np.cumsum(areas[order]) / areas.sum()
    highest = float(values[order][np.searchsorted(share, 0.999)])
    return LogNorm(vmin=highest / 10**_DECADES, vmax=highest, clip=True)


def draw_layout(axes: Axes, layout: PlanLayout) -> None:
    """Outlines of all copper, the highest on top, with its ports and vias [mm]."""
    highest = max(sheet.height for sheet in layout.sheets)
    for sheet in sorted(layout.sheets, key=lambda each: each.height):
        fill = COPPER if sheet.height == highest else "#ead9c6"
        axes.add_patch(PathPatch(_outline(sheet), facecolor=fill, edgecolor=INK, linewidth=0.5, zorder=3, alpha=0.85))
        _draw_terminals(axes, layout, sheet)


def _outline(sheet: CopperSheet) -> DrawnPath:
    shape = sheet.shape
    rings = [DrawnPath(np.asarray(ring.coords) / MM, closed=True) for ring in (shape.exterior, *shape.interiors)]
    return DrawnPath.make_compound_path(*rings)


def _draw_level(
    axes: Axes, solution: PlanSolution, level: list[SheetDensity], loop: int, norm: LogNorm, box: Box
) -> None:
    for sheet in level:
        x, y = sheet.points.T / MM
        axes.tripcolor(
            Triangulation(x, y, sheet.triangles),
            facecolors=_magnitude(sheet, loop),
            cmap=_COLOURS,
            norm=norm,
            rasterized=True,
            zorder=2,
        )
        axes.add_patch(PathPatch(_outline(sheet.sheet), facecolor="none", edgecolor=INK, linewidth=0.7, zorder=4))
        _draw_arrows(axes, sheet, loop, box, norm.vmin or 0.0)
        _draw_terminals(axes, solution.layout, sheet.sheet)


def _draw_arrows(axes: Axes, sheet: SheetDensity, loop: int, box: Box, weakest: float) -> None:
    """Direction of the in-phase current on a regular grid, where there is more than the weakest that is coloured."""
    step = max(box[2] - box[0], box[3] - box[1]) / _ARROWS
    grid = np.stack(np.meshgrid(np.arange(box[0], box[2], step), np.arange(box[1], box[3], step)), axis=-1)
    places = np.array([spot for spot in grid.reshape(-1, 2) if sheet.sheet.shape.contains(ShapelyPoint(spot * MM))])
    if not len(places):
        return
    centroids = sheet.points[sheet.triangles].mean(axis=1) / MM
    flow = sheet.density[loop].real[KDTree(centroids).query(places)[1]]
    size = np.linalg.norm(flow, axis=1, keepdims=True)
    strong = size[:, 0] * MM > weakest
    places, flow = places[strong], flow[strong] / size[strong]
    for colour, line in (("white", 2.4), (INK, 0.8)):  # a light rim keeps the arrows readable on dark copper
        axes.quiver(
            *places.T,
            *flow.T,
            pivot="mid",
            angles="xy",
            scale_units="xy",
            scale=1.4 / step,
            width=0.0016,
            headwidth=4.5,
            color=INK,
            edgecolor=colour,
            linewidth=line if colour == "white" else 0,
            zorder=5 if colour == "white" else 6,
        )


def _draw_terminals(axes: Axes, layout: PlanLayout, sheet: CopperSheet) -> None:
    for _, terminal in layout.terminals():
        if terminal.sheet != sheet.name:
            continue
        if isinstance(terminal, EdgeTerminal):
            ends = np.array([terminal.start, terminal.end]) / MM
            axes.plot(*ends.T, color=_PORT, linewidth=3.2, solid_capstyle="butt", zorder=7)
        else:
            ring = np.array([*terminal.outline.vertices, terminal.outline.vertices[0]]) / MM
            axes.fill(*ring.T, facecolor="white", edgecolor=_PORT, linewidth=1.4, zorder=7)


def name_ports(axes: Axes, layout: PlanLayout, sheets: Collection[str], *, spot: float) -> None:
    """Names of the ports that end on some of these sheets, one under another at a place across the panel.

    A thin line leads from each to its port, so that no name hides copper, port or other name. Limits are set before.
    """
    named = [(port.name, place) for port in layout.ports for place in _places(port, sheets)]
    if not named:
        return
    bottom, top = axes.get_ylim()
    height = axes.get_position().height * axes.figure.get_figure(root=True).get_size_inches()[1]
    wanted = np.array([(place[1] / MM - bottom) / (top - bottom) * height for _, place in named])
    placed = keep_apart(wanted, _NAME_SPACING, 0.1, height - 0.1) / height
    for (name, place), level in zip(named, placed, strict=True):
        axes.annotate(
            shortened(name, _LONGEST_NAME),
            (place[0] / MM, place[1] / MM),
            (spot, float(level)),
            textcoords="axes fraction",
            size=SMALL,
            ha="left",
            va="center",
            zorder=8,
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": _PORT, "linewidth": 0.7, "shrinkA": 1, "shrinkB": 0},
        )
        axes.plot(place[0] / MM, place[1] / MM, "o", color=_PORT, markersize=3, zorder=8)


def _places(port: Port | RingPort, sheets: Collection[str]) -> list[tuple[float, float]]:
    """Middle of what a port has on these sheets [m], if it has anything there."""
    if isinstance(port, RingPort):
        return [port.inside] if port.sheet in sheets else []
    ends = [end.middle for end in port.terminals() if end.sheet in sheets]
    return [(float(np.mean([x for x, _ in ends])), float(np.mean([y for _, y in ends])))] if ends else []


def _frame(axes: Axes, box: Box, height: float, several: bool) -> None:
    axes.set_xlim(box[0], box[2])
    axes.set_ylim(box[1], box[3])
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_formatter(FuncFormatter(plain_number))
    axes.tick_params(length=2.5, pad=2)
    axes.annotate("mm", (1, 0), (4, -4), xycoords="axes fraction", textcoords="offset points", size=SMALL, va="top")
    if several:
        axes.set_title(f"copper at {height / MM:.4g} mm".replace("-", "−"), size=SMALL, pad=3)


def _colour_bar(figure: Figure, top: float, width: float, norm: LogNorm) -> None:
    axes = add_panel(figure, _LEFT, top, width, 0.11)
    bar = figure.colorbar(ScalarMappable(norm=norm, cmap=_COLOURS), cax=axes, orientation="horizontal")
    bar.ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0), numticks=40))
    bar.ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    bar.ax.minorticks_off()
    bar.outline.set_linewidth(0.5)
    bar.set_label("current density |K|, A/mm of width per ampere, log scale; weaker: lightest colour", size=SMALL)
