"""The whole loop of each placement: its terms in one bar, what to change first, and a sketch seen from above."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, PathPatch
from matplotlib.patches import Rectangle as Patch
from matplotlib.path import Path
from matplotlib.ticker import MaxNLocator

from geometries.layout.laid_out import bare_copper
from geometries.layout.layout import CopperSheet, EdgeTerminal, PlanLayout
from geometries.layout.placement_copper import SWITCH, PlacementPlan
from geometries.quantities import MM, NANO
from geometries.section.outline import Rectangle
from solver.figures.style import COPPER as COPPER_FILL
from solver.figures.style import (
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
    add_panel,
    new_sheet,
    nice_step,
    open_frame,
    shortened,
    styled,
)
from solver.loop.terms import CAPACITOR, COPPER, LAYERS, PACKAGE, VIAS, Sensitivity, WholeLoop
from solver.notation import numbers
from solver.study.results import StudyResult

_NH_PER_MM = NANO / MM
_FILLS = {COPPER: COPPER_FILL, CAPACITOR: "#2f5d7c", VIAS: "#a9c4d4", PACKAGE: "#e8e4dc", LAYERS: "#7d8f69"}
"""Terms from the board outwards; their greys differ."""

_FAR_FILL = "#ead9c6"
_TOP, _ROW, _NAME_WIDTH, _LABEL_WIDTH = 0.86, 0.5, 2.0, 1.55
_WHISKER = 0.36
"""How far the whisker lies below the middle of its bar, clear of the numbers."""

_TORNADO_ROW, _TORNADO_GAP = 0.24, 0.66
_SKETCHES_PER_ROW, _SKETCH_GAP = 2, 0.42
_TALLEST_SKETCH = 3.0
_MARGIN = 1.04


@styled
def whole_loop_figure(study: StudyResult) -> Figure:
    """Terms of every placement stacked in one bar, the smallest loop first.

    Parameters
    ----------
    study : StudyResult
        At least one variant with a placement.
    """
    loops = sorted(_loops(study), key=lambda pair: pair[1].inductance)
    height = _ROW * len(loops)
    at = numbers.frequency(study.scenario.analysis.report_frequency)
    figure = new_sheet(
        _TOP + height + 0.6,
        f"The whole loop at {at}, term by term",
        "smallest first; whisker: uncertainty of the sum; terms marked typical are no values of your parts"
        + (
            "; ground layers that take off cover the end" if any(_amount(each, LAYERS) < 0 for _, each in loops) else ""
        ),
    )
    axes = add_panel(figure, _NAME_WIDTH, _TOP, SHEET_WIDTH - _NAME_WIDTH - 0.2, height)
    _draw_stacks(axes, loops)
    axes.legend(loc="lower left", bbox_to_anchor=(0, 1), ncols=len(_FILLS), borderaxespad=0.2, handlelength=1.2)
    return figure


def _loops(study: StudyResult) -> list[tuple[str, WholeLoop]]:
    return [(each.variant.name, each.whole_loop) for each in study.results if each.whole_loop is not None]


def _draw_stacks(axes: Axes, loops: Sequence[tuple[str, WholeLoop]]) -> None:
    places = np.arange(float(len(loops)))
    start = np.zeros(len(loops))
    for name, fill in _FILLS.items():
        amounts = np.array([_amount(loop, name) for _, loop in loops]) / NANO
        if not amounts.any():
            continue
        axes.barh(places, amounts, left=start, height=0.52, color=fill, edgecolor=INK, linewidth=0.5, label=name)
        for place, left, amount in zip(places, start, amounts, strict=True):
            _write_inside(axes, left, amount, place, dark=name == CAPACITOR, widest=max(_totals(loops)))
        start = start + amounts
    errors = np.array([loop.uncertainty for _, loop in loops]) / NANO
    axes.errorbar(start, places + _WHISKER, xerr=errors, fmt="none", ecolor=INK, elinewidth=1.0, capsize=3)
    for place, total, error in zip(places, start, errors, strict=True):
        words = f"{numbers.with_uncertainty(total, error)} nH"
        axes.annotate(
            words, (total + error, place), (6, 0), textcoords="offset points", size=SMALL, weight="bold", va="center"
        )
    ceiling = float((start + errors).max())
    axes.set_xlim(0, ceiling / (1 - _LABEL_WIDTH / (SHEET_WIDTH - _NAME_WIDTH)))
    axes.set_xticks([tick for tick in MaxNLocator(6).tick_values(0, ceiling) if tick <= ceiling])
    axes.set_yticks(places, [shortened(name, 30) for name, _ in loops])
    axes.set_ylim(len(loops) - 0.5, -0.5)
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel("loop inductance, nH")
    open_frame(axes)


def _amount(loop: WholeLoop, name: str) -> float:
    """Of a term; over endless ground layers there is none of these. One below zero covers the end of the bar."""
    return sum(term.amount for term in loop.terms if term.name == name)


def _totals(loops: Sequence[tuple[str, WholeLoop]]) -> list[float]:
    return [loop.inductance / NANO for _, loop in loops]


def _write_inside(axes: Axes, left: float, amount: float, place: float, *, dark: bool, widest: float) -> None:
    """The amount inside its piece of the bar, where there is room."""
    if amount > 0.07 * widest:
        axes.text(
            left + amount / 2,
            place,
            f"{amount:.2f}",
            size=SMALL,
            ha="center",
            va="center",
            color="white" if dark else INK,
        )


@styled
def sensitivity_figure(study: StudyResult) -> Figure:
    """What to change first: derivative of the whole loop's inductance to every dimension, largest first.

    Parameters
    ----------
    study : StudyResult
        At least one placement.
    """
    loops = _loops(study)
    rows = [max(1, len(loop.sensitivities)) for _, loop in loops]
    height = sum(_TORNADO_ROW * count + _TORNADO_GAP for count in rows)
    figure = new_sheet(
        _TOP - 0.1 + height,
        "What to change first",
        "change of the whole loop per millimetre of a dimension; in brackets the dimension and what 10 % of it brings",
    )
    widest = max(abs(each.derivative) for _, loop in loops for each in loop.sensitivities) / _NH_PER_MM
    top = _TOP - 0.1
    for (name, loop), count in zip(loops, rows, strict=True):
        axes = add_panel(figure, _NAME_WIDTH + 0.1, top + 0.22, SHEET_WIDTH - _NAME_WIDTH - 0.5, _TORNADO_ROW * count)
        axes.set_title(name, size=SMALL, weight="bold", pad=4)
        _draw_tornado(axes, loop.sensitivities, widest)
        top += _TORNADO_ROW * count + _TORNADO_GAP
    axes.set_xlabel("nH per mm")
    return figure


def _draw_tornado(axes: Axes, found: Sequence[Sensitivity], widest: float) -> None:
    places = np.arange(float(len(found)))
    slopes = np.array([each.derivative for each in found]) / _NH_PER_MM
    fills = [COPPER_FILL if slope > 0 else "#a9c4d4" for slope in slopes]
    axes.barh(places, slopes, height=0.6, color=fills, edgecolor=INK, linewidth=0.5)
    axes.axvline(0, color=INK, lw=0.7)
    for place, slope, each in zip(places, slopes, found, strict=True):
        tenth = each.derivative * each.value / 10
        gain = numbers.fixed(tenth / NANO, 3, signed=True)
        words = f"{numbers.fixed(slope, 2, signed=True)} nH/mm  ({numbers.length(each.value)}: {gain} nH)"
        axes.annotate(
            words,
            (max(slope, 0.0), place),
            (5, 0),
            textcoords="offset points",
            size=SMALL,
            va="center",
        )
    axes.set_yticks(places, [each.dimension.replace("_", " ") for each in found])
    axes.set_ylim(max(1, len(found)) - 0.5, -0.5)
    axes.set_xlim(-0.25 * widest, 1.75 * widest)
    axes.tick_params(axis="both", length=2, labelsize=SMALL)
    open_frame(axes)


@styled
def placements_figure(study: StudyResult) -> Figure:
    """Sketch of every placement seen from above, all to one scale.

    Parameters
    ----------
    study : StudyResult
        At least one variant with a placement.
    """
    loops = _loops(study)
    boxes = [_extent(loop.plan) for _, loop in loops]
    wide, high = (_MARGIN * max(box[k + 2] - box[k] for box in boxes) for k in (0, 1))
    panel = (SHEET_WIDTH - 0.3 - _SKETCH_GAP * (_SKETCHES_PER_ROW - 1)) / _SKETCHES_PER_ROW
    scale = min(panel / wide, _TALLEST_SKETCH / high)
    rows = -(-len(loops) // _SKETCHES_PER_ROW)
    step = high * scale + 0.5
    figure = new_sheet(
        0.72 + rows * step,
        "The placements seen from above",
        "all to one scale; dark copper on the package's side, pale copper on the far side; dashed: the package"
        + (
            "; dotted: edges, slots and clearances of ground layers"
            if any(each.real_layers for _, each in loops)
            else ""
        ),
    )
    for number, ((name, loop), box) in enumerate(zip(loops, boxes, strict=True)):
        row, column = divmod(number, _SKETCHES_PER_ROW)
        axes = add_panel(figure, 0.15 + column * (panel + _SKETCH_GAP), 0.86 + row * step, panel, high * scale)
        _draw_sketch(axes, loop.plan, box, (panel / scale, high))
        _draw_layers(axes, loop)
        axes.set_title(name, size=SMALL, weight="bold", pad=4)
    return figure


def _extent(plan: PlacementPlan) -> tuple[float, float, float, float]:
    """Box around copper and parts [mm]."""
    shapes = [sheet.outline.bounds for layout in plan.layouts for sheet in layout.sheets]
    shapes += [part.outline.bounds for part in plan.parts]
    left, bottom, right, top = zip(*shapes, strict=True)
    return min(left) / MM, min(bottom) / MM, max(right) / MM, max(top) / MM


def _draw_sketch(
    axes: Axes, plan: PlacementPlan, box: tuple[float, float, float, float], size: tuple[float, float]
) -> None:
    for layout, fill, order in _by_side(plan):
        for sheet in bare_copper(layout):
            far = "far" in sheet.name.split() and plan.far is None and _is_below(sheet, layout)
            axes.add_patch(_copper(sheet, _FAR_FILL if far else fill, 1 if far else order))
        for via in layout.vias:
            place, outer = (via.centre[0] / MM, via.centre[1] / MM), max(via.shape.bounds[2] - via.centre[0], 0.0) / MM
            axes.add_patch(Circle(place, outer, facecolor="white", edgecolor=INK, lw=0.7, zorder=4))
        for port in layout.cut_ports:
            for end in port.terminals():
                if port.name.startswith(SWITCH) and isinstance(end, EdgeTerminal):
                    x, y = ([point[k] / MM for point in (end.start, end.end)] for k in (0, 1))
                    axes.plot(x, y, color=INK, lw=2.4, solid_capstyle="butt", zorder=5)
    for part in plan.parts:
        _draw_part(axes, part.outline, part.name)
    middle = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    axes.set_xlim(middle[0] - size[0] / 2, middle[0] + size[0] / 2)
    axes.set_ylim(middle[1] - size[1] / 2 - 0.05 * size[1], middle[1] + size[1] / 2 + 0.05 * size[1])
    axes.set_aspect("equal", adjustable="box")
    axes.set_xticks([])
    axes.set_yticks([])
    open_frame(axes, keep=())
    _draw_scale(axes, size)


def _by_side(plan: PlacementPlan) -> list[tuple[PlanLayout, str, int]]:
    """Far copper first, so that near copper covers it."""
    far = [] if plan.far is None else [(plan.far, _FAR_FILL, 1)]
    return [*far, (plan.near, COPPER_FILL, 2)]


def _is_below(sheet: CopperSheet, layout: PlanLayout) -> bool:
    return sheet.height < max(each.height for each in bare_copper(layout))


def _copper(sheet: CopperSheet, fill: str, order: int) -> PathPatch:
    corners = [(x / MM, y / MM) for x, y in sheet.outline.vertices]
    path = Path([*corners, corners[0]], closed=True)
    return PathPatch(path, facecolor=fill, edgecolor=INK, lw=0.5, zorder=order)


def _draw_layers(axes: Axes, loop: WholeLoop) -> None:
    """Ground layers that have a length, over the copper, as far as the panel reaches."""
    for sheet in () if loop.real_layers is None else loop.real_layers.planes.ground:
        for ring in (sheet.outline, *sheet.holes):
            x, y = np.transpose([*ring.vertices, ring.vertices[0]]) / MM
            axes.plot(x, y, color=INK, lw=0.9, linestyle=(0, (1, 1.6)), zorder=5, scalex=False, scaley=False)


def _draw_part(axes: Axes, outline: Rectangle, name: str) -> None:
    left, bottom, right, top = (edge / MM for edge in outline.bounds)
    package = name.startswith(SWITCH)
    axes.add_patch(
        Patch(
            (left, bottom),
            right - left,
            top - bottom,
            facecolor="none",
            edgecolor=INK,
            lw=1.0,
            linestyle=(0, (4, 2)) if package else "-",
            hatch=None if package else "////",
            zorder=6,
        )
    )
    axes.text(
        (left + right) / 2,
        (bottom + top) / 2,
        name,
        size=SMALL,
        ha="center",
        va="center",
        zorder=7,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.2, "alpha": 0.85},
    )


def _draw_scale(axes: Axes, size: tuple[float, float]) -> None:
    """A bar of a round length at the lower left."""
    step = nice_step(size[0] / 5)
    left, bottom = axes.get_xlim()[0], axes.get_ylim()[0]
    axes.plot([left, left + step], [bottom, bottom], color=INK, lw=1.5, clip_on=False)
    axes.annotate(
        f"{step:g} mm", (left + step, bottom), (4, 0), textcoords="offset points", size=SMALL, va="center", color=FAINT
    )
