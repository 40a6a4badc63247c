"""Charts of a sweep: curves for one key, maps with labelled contours for two."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, LogNorm, Normalize
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator
from numpy.typing import NDArray

from geometries.quantities import NANO, convenient_unit
from geometries.study.sweep import SweepAxis
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
    styled,
)
from solver.notation import numbers
from solver.notation.labels import scenario_wording
from solver.study.sweep_rows import SweepResult, SweepRow

_TOP = 0.66
_LEFT, _RIGHT = 0.85, 0.25
_CURVE_HEIGHT, _CURVE_STEP = 1.9, 2.25
_MAP_WIDTH, _MAP_HEIGHT = 4.95, 4.6
_SMALL_WIDTH, _SMALL_HEIGHT = 2.9, 1.9
_ABOVE, _BELOW = "#2f5d7c", "#c2703d"
_TINTS = LinearSegmentedColormap.from_list("paper to copper", ["#fbf7f1", "#e9cfb4", COPPER])
_MANY_POINTS = 40
_STEPS = (1, 2, 5, 10)
_LABEL_MARGIN = 0.05
_LEAST_DECIBELS = 2.0
_WIDE_RATIO = 8.0
_ROUND_STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)

_Grid = NDArray[np.float64]


@styled
def sweep_figure(result: SweepResult) -> Figure:
    """What a sweep found: curves over one key, or maps over two.

    Parameters
    ----------
    result : SweepResult
        At least two solved points.

    Returns
    -------
    Figure

    Raises
    ------
    ValueError
        If fewer than two points were solved.
    """
    if len(result.rows) < 2:
        raise ValueError(f"{len(result.rows)} points were solved; a drawing needs at least two")
    return _curves(result) if len(result.sweep.axes) == 1 else _maps(result)


def _subtitle(result: SweepResult) -> str:
    frequencies = {row.frequency for row in result.rows}
    at = f"at {numbers.frequency(min(frequencies))}, " if len(frequencies) == 1 else ""
    return f"variant “{result.sweep.variant}”, {at}{scenario_wording(result.sweep.scenario).basis}"


def _curves(result: SweepResult) -> Figure:
    """Inductance with its error band, resistance and field, one under the other over the same axis."""
    (axis,) = result.sweep.axes
    rows = sorted(result.rows, key=lambda row: row.values[0])
    subtitle = f"{_subtitle(result)}; |H|: peak, against the first point of the sweep"
    figure = new_sheet(_TOP + 3 * _CURVE_STEP + 0.35, f"Sweep of {axis.key}", subtitle)
    width = SHEET_WIDTH - _LEFT - _RIGHT
    panels = [add_panel(figure, _LEFT, _TOP + step * _CURVE_STEP, width, _CURVE_HEIGHT) for step in range(3)]
    x, unit = _in_convenient_unit(np.array([row.values[0] for row in rows]), axis)
    inductance, resistance = _each(rows, lambda row: row.loop_inductance), _each(rows, lambda row: row.loop_resistance)
    _draw_banded(panels[0], x, inductance / NANO, _each(rows, lambda row: row.inductance_error) / NANO)
    panels[0].set_ylabel("loop inductance, nH")
    _draw_banded(
        panels[1], x, resistance / numbers.MILLI, _each(rows, lambda row: row.resistance_error) / numbers.MILLI
    )
    panels[1].set_ylabel("loop resistance, mΩ")
    _draw_curve(panels[2], x, _decibels(rows, lambda row: row.peak_above), _ABOVE, "^", "above the board")
    _draw_curve(panels[2], x, _decibels(rows, lambda row: row.peak_below), _BELOW, "v", "below the board")
    panels[2].set_ylabel("|H|, dB")
    _widen(panels[2], _LEAST_DECIBELS)
    for panel in panels:
        _finish(panel)
        scale_side(panel, "x", axis, x)
    for panel in panels[:2]:
        panel.tick_params(axis="x", labelbottom=False)
    for panel in panels[::2]:
        panel.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=2, borderaxespad=0.1, handlelength=2.4)
    panels[2].set_xlabel(f"{axis.key}, {unit}")
    return figure


def _draw_banded(axes: Axes, x: _Grid, values: _Grid, errors: _Grid) -> None:
    """A curve on a band of its errors."""
    axes.fill_between(x, values - errors, values + errors, color=COPPER, alpha=0.35, lw=0, label="estimated mesh error")
    _draw_curve(axes, x, values, INK, "o", "")


def _widen(axes: Axes, least: float) -> None:
    """Show at least so much of the upright axis, so that small changes look small."""
    low, high = axes.get_ylim()
    missing = max(0.0, least - (high - low)) / 2
    axes.set_ylim(low - missing, high + missing)


def _draw_curve(axes: Axes, x: _Grid, y: _Grid, colour: str, marker: str, label: str) -> None:
    size = 3.6 if len(x) <= _MANY_POINTS else 0
    axes.plot(x, y, marker=marker, markersize=size, color=colour, linewidth=1.4, label=label or None)


def _finish(axes: Axes) -> None:
    axes.yaxis.set_major_locator(MaxNLocator(5, steps=_STEPS))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.yaxis.set_label_coords(-0.065, 0.5)
    axes.grid(True, color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)


def _maps(result: SweepResult) -> Figure:
    """Inductance large at the left, the field above and below the board small at the right."""
    figure = new_sheet(
        _TOP + 0.3 + _MAP_HEIGHT + 0.65,
        "Sweep of " + " and ".join(axis.key for axis in result.sweep.axes),
        f"{_subtitle(result)}; dots: solved points; |H|: peak, against the first point of the sweep",
    )
    right = _LEFT + _MAP_WIDTH + 0.65
    lower = _TOP + 0.3 + _MAP_HEIGHT - _SMALL_HEIGHT
    maps = (
        ("loop inductance, nH", (_LEFT, _TOP + 0.3, _MAP_WIDTH, _MAP_HEIGHT), lambda row: row.loop_inductance / NANO),
        ("|H| above the board, dB", (right, _TOP + 0.3, _SMALL_WIDTH, _SMALL_HEIGHT), _against(result, "above")),
        ("|H| below the board, dB", (right, lower, _SMALL_WIDTH, _SMALL_HEIGHT), _against(result, "below")),
    )
    for number, (title, place, number_of) in enumerate(maps):
        panel = add_panel(figure, *place)
        _draw_map(panel, result, number_of)
        panel.set_title(title, size=SMALL, pad=4)
        panel.tick_params(labelsize=SMALL)
        if number != 1:
            panel.set_xlabel(_axis_title(result.sweep.axes[0]), size=SMALL)
        if number == 0:
            panel.set_ylabel(_axis_title(result.sweep.axes[1]))
    return figure


def _against(result: SweepResult, side: str) -> Callable[[SweepRow], float]:
    """Peak field on one side in decibels against the first solved point."""
    peaks = {row.index: row.peak_above if side == "above" else row.peak_below for row in result.rows}
    first = peaks[result.rows[0].index]
    return lambda row: float(20 * np.log10(peaks[row.index] / first))


def _draw_map(axes: Axes, result: SweepResult, number_of: Callable[[SweepRow], float]) -> None:
    """Filled and labelled contours; points that were not solved leave a hole."""
    across, upright = (_in_convenient_unit(np.sort(np.array(axis.values)), axis)[0] for axis in result.sweep.axes)
    grid = np.full((len(upright), len(across)), np.nan)
    order = [np.argsort(np.argsort(axis.values)) for axis in result.sweep.axes]
    for row in result.rows:
        column, line = divmod(row.index, len(upright))
        grid[order[1][line], order[0][column]] = number_of(row)
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
        axes.clabel(lines, fontsize=SMALL, fmt=plain_number, inline_spacing=4, manual=places)
    x, y = np.meshgrid(across, upright)
    solved = ~np.ma.getmaskarray(values)
    axes.plot(x[solved], y[solved], ".", color=FAINT, markersize=2.5, clip_on=False)


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


def _each(rows: Sequence[SweepRow], number_of: Callable[[SweepRow], float]) -> _Grid:
    return np.array([number_of(row) for row in rows])


def _decibels(rows: Sequence[SweepRow], number_of: Callable[[SweepRow], float]) -> _Grid:
    """Against the point that comes first in the sweep."""
    first = min(rows, key=lambda row: row.index)
    return np.asarray(20 * np.log10(_each(rows, number_of) / number_of(first)))


def _in_convenient_unit(values: _Grid, axis: SweepAxis) -> tuple[_Grid, str]:
    size, unit = convenient_unit(max(map(abs, axis.values)), axis.quantity)
    return values / size, unit


def _axis_title(axis: SweepAxis) -> str:
    return f"{axis.key}, {_in_convenient_unit(np.array(axis.values), axis)[1]}"


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
