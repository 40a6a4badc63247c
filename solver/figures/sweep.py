"""Charts of a sweep: curves for one key, maps with labelled contours for two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, LogNorm, Normalize
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator
from numpy.typing import NDArray

from geometries.quantities import convenient_unit
from geometries.study.keys import key_words, value_at
from geometries.study.sweep import Sweep, SweepAxis
from solver.figures.style import (
    COPPER,
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
    add_panel,
    new_sheet,
    open_frame,
    plain_number,
    shortened,
    styled,
)
from solver.study.budgets import Limit, limits_of
from solver.study.figures_of_merit import AnyFigure
from solver.study.sweep import SweepResult, SweepRow
from solver.variant.figure import Change

_TOP = 0.66
_LEFT, _RIGHT = 0.85, 0.25
_CURVE_HEIGHT, _CURVE_STEP = 1.9, 2.25
_MAP_WIDTH, _MAP_HEIGHT, _MAP_STEP = 3.75, 3.2, 4.05
_TINTS = LinearSegmentedColormap.from_list("paper to copper", ["#fbf7f1", "#e9cfb4", COPPER])
_MANY_POINTS = 40
_STEPS = (1, 2, 5, 10)
_LABEL_MARGIN = 0.05
_LEAST_DECIBELS = 2.0
_WIDE_RATIO = 8.0
_ROUND_STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)

_SUBTITLE_LENGTH = 110

_MARKS = "dots: solved points; cross: as described; broken line: budget"

_Grid = NDArray[np.float64]


@styled
def sweep_figure(result: SweepResult, basis: str) -> Figure:
    """Curves of every figure over one key, or maps over two.

    Parameters
    ----------
    result : SweepResult
        At least two solved points.
    basis : str
        What its loop values stand for.

    Raises
    ------
    ValueError
        If fewer than two points were solved.
    """
    if len(result.rows) < 2:
        raise ValueError(f"{len(result.rows)} points were solved; a drawing needs at least two")
    known = [figure for figure in result.figures if np.isfinite(_values(result.rows, figure)).sum() > 1]
    return (_curves if len(result.sweep.axes) == 1 else _maps)(result, known, basis)


def _values(rows: Sequence[SweepRow], figure: AnyFigure) -> _Grid:
    """In the figure's unit."""
    return np.array([row.value(figure.key) for row in rows]) / figure.scale


def _shown_values(result: SweepResult, rows: Sequence[SweepRow], figure: AnyFigure) -> _Grid:
    """In the figure's unit; a figure compared in decibels against the first point."""
    return np.array([_shown(result, figure, row.value(figure.key)) for row in rows])


def _shown(result: SweepResult, figure: AnyFigure, value: float) -> float:
    """The same of one value [SI]."""
    if figure.change is Change.DIFFERENCE:
        return value / figure.scale
    return figure.decibels(value, result.rows[0].value(figure.key))


def _label(figure: AnyFigure) -> str:
    return f"{figure.title}, {figure.unit if figure.change is Change.DIFFERENCE else 'dB'}"


def _subtitle(result: SweepResult, basis: str) -> str:
    briefly = basis.partition(",")[0].partition(":")[0]
    return shortened(f"variant “{result.sweep.variant}”, {briefly}; dB: against the first point", _SUBTITLE_LENGTH)


def _curves(result: SweepResult, figures: Sequence[AnyFigure], basis: str) -> Figure:
    """Every figure with the band of its uncertainty, one panel under the other over the same axis."""
    (axis,) = result.sweep.axes
    rows = sorted(result.rows, key=lambda row: row.values[0])
    height = _TOP + len(figures) * _CURVE_STEP + 0.35
    sheet = new_sheet(height, f"Sweep of {key_words(axis.key)}", _subtitle(result, basis))
    x, unit = _in_convenient_unit(np.array([row.values[0] for row in rows]), axis)
    for step, each in enumerate(figures):
        panel = add_panel(sheet, _LEFT, _TOP + step * _CURVE_STEP, SHEET_WIDTH - _LEFT - _RIGHT, _CURVE_HEIGHT)
        _draw_curve(panel, x, result, rows, each)
        scale_side(panel, "x", axis, x)
        _mark_described_value(panel, result.sweep, labelled=step == 0)
        if step < len(figures) - 1:
            panel.tick_params(axis="x", labelbottom=False)
    sheet.axes[-1].set_xlabel(f"{key_words(axis.key)}, {unit}")
    return sheet


def _draw_curve(axes: Axes, x: _Grid, result: SweepResult, rows: Sequence[SweepRow], figure: AnyFigure) -> None:
    y = _shown_values(result, rows, figure)
    if figure.change is Change.DIFFERENCE:
        errors = np.array([row.uncertainty(figure.key) for row in rows]) / figure.scale
        axes.fill_between(x, y - errors, y + errors, color=COPPER, alpha=0.35, lw=0)
    size = 3.6 if len(x) <= _MANY_POINTS else 0
    axes.plot(x, y, marker="o", markersize=size, color=INK, linewidth=1.4)
    _mark_budget(axes, result, figure)
    axes.set_title(_label(figure), size=SMALL, pad=4)
    _finish(axes)
    if figure.change is Change.DECIBELS:
        _widen(axes, _LEAST_DECIBELS)


def _budgets_of(result: SweepResult, figure: AnyFigure) -> Sequence[Limit]:
    budgets = tuple(each for each in result.sweep.scenario.budgets if each.key == figure.key)
    return limits_of(replace(result.sweep.scenario, budgets=budgets))


def _budget_levels(result: SweepResult, figure: AnyFigure) -> list[float]:
    """Where the budgets of a figure lie on its map."""
    return [_shown(result, figure, limit.value) for limit in _budgets_of(result, figure)]


def _mark_budget(axes: Axes, result: SweepResult, figure: AnyFigure) -> None:
    """A labelled line across the panel where the scenario has a budget of the figure."""
    for limit in _budgets_of(result, figure):
        level = _shown(result, figure, limit.value)
        axes.axhline(level, color=INK, linewidth=1.0, linestyle=(0, (4, 2)))
        axes.annotate(
            f"budget: {figure.sense.value} {plain_number(limit.value / figure.scale)} {figure.unit}",
            (1, level),
            (-2, 3),
            xycoords=axes.get_yaxis_transform(),
            textcoords="offset points",
            size=SMALL,
            ha="right",
        )


def _mark_described_value(axes: Axes, sweep: Sweep, *, labelled: bool) -> None:
    """A thin upright line at the value that the scenario itself has for the varied key, if the sweep passes it."""
    (axis,) = sweep.axes
    value = value_at(sweep.description, axis.path.steps)
    if value is None or not min(axis.values) <= value <= max(axis.values):
        return
    (place,), unit = _in_convenient_unit(np.array([value]), axis)
    axes.axvline(place, color=FAINT, linewidth=0.8)
    if labelled:
        on_left = 2 * _fraction_across(axes, place) < 1
        axes.annotate(
            f"as described: {plain_number(place)} {unit}",
            (place, 1),
            (3 if on_left else -3, -2),
            xycoords=axes.get_xaxis_transform(),
            textcoords="offset points",
            size=SMALL,
            color=FAINT,
            ha="left" if on_left else "right",
            va="top",
        )


def _fraction_across(axes: Axes, x: float) -> float:
    """Where a value lies between the left side of a panel, 0, and its right side, 1."""
    return float((axes.transData + axes.transAxes.inverted()).transform((x, axes.get_ylim()[0]))[0])


def _widen(axes: Axes, least: float) -> None:
    """Show at least so much of the upright axis, so that small changes look small."""
    low, high = axes.get_ylim()
    missing = max(0.0, least - (high - low)) / 2
    axes.set_ylim(low - missing, high + missing)


def _finish(axes: Axes) -> None:
    axes.yaxis.set_major_locator(MaxNLocator(5, steps=_STEPS))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.yaxis.set_label_coords(-0.065, 0.5)
    axes.grid(True, color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)


def _maps(result: SweepResult, figures: Sequence[AnyFigure], basis: str) -> Figure:
    """A map of every figure, two beside each other."""
    lines = -(-len(figures) // 2)
    keys = " and ".join(key_words(axis.key) for axis in result.sweep.axes)
    height = _TOP + 0.3 + lines * _MAP_STEP + 0.2
    sheet = new_sheet(height, f"Sweep of {keys}", f"{_subtitle(result, basis)}\n{_MARKS}")
    for number, each in enumerate(figures):
        line, column = divmod(number, 2)
        left = _LEFT + column * (_MAP_WIDTH + 0.95)
        panel = add_panel(sheet, left, _TOP + 0.3 + line * _MAP_STEP, _MAP_WIDTH, _MAP_HEIGHT)
        _draw_map(panel, result, _shown_values(result, result.rows, each), _budget_levels(result, each))
        panel.set_title(_label(each), size=SMALL, pad=4)
        panel.tick_params(labelsize=SMALL)
        panel.set_xlabel(_axis_title(result.sweep.axes[0]), size=SMALL)
        if column == 0:
            panel.set_ylabel(_axis_title(result.sweep.axes[1]), size=SMALL)
    return sheet


def _draw_map(axes: Axes, result: SweepResult, numbers_there: _Grid, budgets: Sequence[float]) -> None:
    """Filled and labelled contours; points that were not solved leave a hole."""
    across, upright = (_in_convenient_unit(np.sort(np.array(axis.values)), axis)[0] for axis in result.sweep.axes)
    grid = np.full((len(upright), len(across)), np.nan)
    order = [np.argsort(np.argsort(axis.values)) for axis in result.sweep.axes]
    for row, number in zip(result.rows, numbers_there, strict=True):
        column, line = divmod(row.index, len(upright))
        grid[order[1][line], order[0][column]] = number
    values = np.ma.masked_invalid(grid)
    low, high = float(values.min()), float(values.max())
    levels = _levels(low, high)
    norm = LogNorm(low, high) if _is_wide(low, high) else Normalize(low, high)
    scale_side(axes, "x", result.sweep.axes[0], across)
    scale_side(axes, "y", result.sweep.axes[1], upright)
    axes.pcolormesh(across, upright, values, cmap=_TINTS, norm=norm, shading="gouraud", rasterized=True)
    if len(levels):
        lines = axes.contour(
            across, upright, values, levels=levels, corner_mask=False, colors=INK, linewidths=0.8, linestyles="solid"
        )
        places = _label_places(axes, [segment for level in lines.allsegs for segment in level])
        for label in axes.clabel(lines, fontsize=SMALL, fmt=plain_number, inline_spacing=4, manual=places):
            label.set_rotation(0)
    for level in budgets:
        if low < level < high:
            axes.contour(across, upright, values, levels=[level], colors=INK, linewidths=1.8, linestyles="dashed")
    x, y = np.meshgrid(across, upright)
    solved = ~np.ma.getmaskarray(values)
    axes.plot(x[solved], y[solved], ".", color=FAINT, markersize=2.5, clip_on=False)
    _mark_described_point(axes, result.sweep)


def _mark_described_point(axes: Axes, sweep: Sweep) -> None:
    """A cross at the values that the scenario itself has for both keys, if the map holds them."""
    place = []
    for axis in sweep.axes:
        value = value_at(sweep.description, axis.path.steps)
        if value is None or not min(axis.values) <= value <= max(axis.values):
            return
        place.append(_in_convenient_unit(np.array([value]), axis)[0][0])
    axes.plot(*place, "X", color=INK, mfc="white", markersize=8, clip_on=False, zorder=5)


def _label_places(axes: Axes, segments: Sequence[_Grid]) -> list[tuple[float, float]]:
    """Where each line is closest to the middle of the panel; lines that keep to its border get no label."""
    axes.set_xlim(axes.get_xlim())
    to_panel = axes.transData + axes.transAxes.inverted()
    places = []
    for segment in segments:
        corners = to_panel.transform(segment)
        steps = np.linspace(0, len(corners) - 1, 20 * len(corners))
        fine = np.column_stack([np.interp(steps, np.arange(len(corners)), corners[:, side]) for side in (0, 1)])
        inside = fine[np.abs(fine - 0.5).max(axis=1) < 0.5 - _LABEL_MARGIN]
        if len(inside):
            x, y = to_panel.inverted().transform(inside[np.argmin(np.hypot(*(inside - 0.5).T))])
            places.append((float(x), float(y)))
    return places


def _levels(low: float, high: float) -> list[float]:
    """Round values between the extremes; spaced by ratios where the extremes lie far apart."""
    if _is_wide(low, high):
        decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
        candidates = [step * 10.0**decade for decade in decades for step in _ROUND_STEPS]
    else:
        candidates = [float(level) for level in MaxNLocator(9, steps=_STEPS).tick_values(low, high)]
    return [level for level in candidates if low < level < high]


def _is_wide(low: float, high: float) -> bool:
    return low > 0 and high / low > _WIDE_RATIO


def _in_convenient_unit(values: _Grid, axis: SweepAxis) -> tuple[_Grid, str]:
    size, unit = convenient_unit(max(map(abs, axis.values)), axis.quantity)
    return values / size, unit


def _axis_title(axis: SweepAxis) -> str:
    return f"{key_words(axis.key)}, {_in_convenient_unit(np.array(axis.values), axis)[1]}"


def scale_side(axes: Axes, side: str, axis: SweepAxis, values: _Grid) -> None:
    """Scale and ticks of one side, as the values are spaced."""
    ticks = axes.xaxis if side == "x" else axes.yaxis
    if axis.logarithmic:
        (axes.set_xscale if side == "x" else axes.set_yscale)("log")
        ticks.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0) if values.max() / values.min() < 300 else (1.0,)))
        ticks.set_minor_locator(NullLocator())
    else:
        ticks.set_major_locator(MaxNLocator(6, steps=_STEPS))
    ticks.set_major_formatter(FuncFormatter(plain_number))
