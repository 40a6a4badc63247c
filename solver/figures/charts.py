"""Charts of a whole study: bars, curves over frequency, scan lines, and the benefit of ground layers."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator
from numpy.typing import NDArray

from geometries.quantities import MM, NANO
from solver.figures.style import (
    COPPER,
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
    LineLook,
    add_panel,
    keep_apart,
    leader_label,
    line_look,
    name_rows,
    new_sheet,
    open_frame,
    plain_number,
    shortened,
    styled,
)
from solver.notation import numbers
from solver.notation.labels import wording
from solver.section.results import FieldScan, LayerBenefit
from solver.study.basis import solved_basis
from solver.study.results import StudyResult
from solver.variant.loop_figures import PEAKS
from solver.variant.results import VariantResult

_TOP, _TOP_WITH_LEGEND = 0.66, 0.82
"""From the upper edge of the sheet to the first panel [in]; headline, subtitle and a legend stand there."""

_BAR_ROW = 0.46
_NAME_WIDTH, _CHANGE_WIDTH = 2.0, 1.5
_LONGEST_NAME = 30
_ABOVE, _BELOW = "#2f5d7c", "#a9c4d4"
"""Fields above and below the board: dark and light, also in grey."""

_CURVE_HEIGHT, _FIELD_ROW = 3.1, 2.8
_LABEL_SPACING = 0.165


@styled
def comparison_figure(study: StudyResult) -> Figure:
    """Bars of loop inductance with error bars and change, and of the field against the reference.

    Parameters
    ----------
    study : StudyResult
        At least one solved variant.
    """
    height = _BAR_ROW * len(study.results)
    at = numbers.frequency(study.scenario.analysis.report_frequency)
    figure = new_sheet(
        _TOP_WITH_LEGEND + height + 0.62,
        f"Loop inductance and field at {at}",
        f"{solved_basis(study.results)}; reference: {shortened(study.reference, 60)}",
    )
    bars = add_panel(figure, _NAME_WIDTH, _TOP_WITH_LEGEND, 4.45, height)
    _draw_inductance_bars(bars, study)
    if PEAKS["above"] not in study.figures:
        return figure
    names = [result.variant.name for result in study.results]
    changes = [(study.change(name, PEAKS["above"]), study.change(name, PEAKS["below"])) for name in names]
    if not np.isfinite(changes).any():  # the reference has no section
        return figure
    rest = SHEET_WIDTH - _NAME_WIDTH - 4.75 - 0.2
    field = add_panel(figure, _NAME_WIDTH + 4.75, _TOP_WITH_LEGEND, rest, height)
    _draw_field_bars(field, changes, "peak |H| against the reference, dB")
    return figure


def _draw_inductance_bars(axes: Axes, study: StudyResult) -> None:
    loops = [result.loop for result in study.results]
    values = np.array([loop.inductance for loop in loops]) / NANO
    errors = np.array([loop.inductance_uncertainty for loop in loops]) / NANO
    places = np.arange(float(len(loops)))
    names = [result.variant.name for result in study.results]
    fills = ["#8a8f98" if name == study.reference else COPPER for name in names]
    axes.barh(places, values, height=0.5, color=fills, edgecolor=INK, linewidth=0.5)
    axes.errorbar(values, places, xerr=errors, fmt="none", ecolor=INK, elinewidth=1.0, capsize=3)
    for place, result, end in zip(places, study.results, values + errors, strict=True):
        words = f"{numbers.nanohenry(result.loop_inductance, result.loop.inductance_uncertainty)} nH"
        _write_beside(axes, words, end, place, bold=True, raised=6)
        _write_beside(axes, _change(study, result), end, place, raised=-6)
    ceiling = float((values + errors).max())
    axes.set_xlim(0, ceiling / (1 - _CHANGE_WIDTH / _panel_width(axes)))
    axes.set_xticks([tick for tick in MaxNLocator(5).tick_values(0, ceiling) if tick <= ceiling])
    axes.xaxis.set_major_formatter(FuncFormatter(plain_number))
    name_rows(axes, names, _LONGEST_NAME)
    axes.set_xlabel("loop inductance, nH (whisker: uncertainty)")


def _change(study: StudyResult, result: VariantResult) -> str:
    if result is study.base:
        return "reference"
    value, before = result.loop_inductance, study.base.loop_inductance
    change = numbers.nanohenry_change(value - before, result.loop.inductance_uncertainty)
    return f"{change} nH, {numbers.percent(value / before - 1)} %"


def _panel_width(axes: Axes) -> float:
    return float(axes.get_position().width * axes.figure.get_figwidth())  # type: ignore[union-attr]


def _write_beside(
    axes: Axes,
    words: str,
    value: float,
    place: float,
    *,
    bold: bool = False,
    left: bool = False,
    raised: float = 0,
) -> None:
    """A number beside the end of a horizontal bar, `raised` [pt] above its middle."""
    axes.annotate(
        words,
        (value, place),
        (-5 if left else 5, raised),
        textcoords="offset points",
        size=SMALL,
        weight="bold" if bold else "normal",
        ha="right" if left else "left",
        va="center",
        annotation_clip=False,
    )


def _draw_field_bars(axes: Axes, changes: Sequence[tuple[float, float]], label: str) -> None:
    """Pairs of bars, above the board and below it, to both sides of zero."""
    places = np.arange(len(changes))
    falls = bool(np.nanmin(changes) < 0)
    for number, (side, fill) in enumerate((("above", _ABOVE), ("below", _BELOW))):
        values = np.array([change[number] for change in changes])
        offset = 0.4 * (number - 0.5)
        axes.barh(places + offset, values, 0.36, color=fill, edgecolor=INK, linewidth=0.4, label=f"{side} the board")
        for place, value in zip(places + offset, values, strict=True):
            if np.isfinite(value):
                _write_beside(axes, numbers.decibel(value), value, place, left=value < 0 or (value == 0 and falls))
    _leave_room(axes, np.array(changes).ravel(), 0.5 / _panel_width(axes))
    axes.axvline(0, color=INK, linewidth=0.8)
    name_rows(axes, [""] * len(changes), _LONGEST_NAME)
    open_frame(axes, keep=("bottom",))
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.xaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.set_xlabel(label)
    axes.legend(loc="lower left", bbox_to_anchor=(0, 1.0), ncols=2, borderaxespad=0.1, handlelength=1.2)


def _leave_room(axes: Axes, values: NDArray[np.float64], share: float) -> None:
    """Limits round zero and all values; a share of the width stays free for numbers where there are bars."""
    low, high = min(0.0, float(np.nanmin(values))), max(0.0, float(np.nanmax(values)))
    if low == high:
        low, high = -1.0, 1.0
    left, right = (share if limit else 0.04 for limit in (low, high))
    span = (high - low) / (1 - left - right)
    axes.set_xlim(low - left * span, high + right * span)


@styled
def frequency_figure(study: StudyResult) -> Figure:
    """Loop inductance and resistance of all variants over frequency, with their limits as marks at the sides.

    Parameters
    ----------
    study : StudyResult
        At least one solved variant.
    """
    height = max(_CURVE_HEIGHT, _LABEL_SPACING * len(study.results))
    figure = new_sheet(
        _TOP + 2 * height + 1.15,
        "Inductance and resistance over frequency",
        f"{solved_basis(study.results)}; marks, {wording(study.scenario.view).briefly}: at the left DC, at the "
        "right perfect conductor",
    )
    upper = add_panel(figure, 0.75, _TOP, 6.55, height)
    _draw_curves(upper, study, _inductance_curves(study), height)
    upper.set_ylabel("loop inductance, nH")
    lower = add_panel(figure, 0.75, _TOP + height + 0.55, 6.55, height)
    _draw_curves(lower, study, _resistance_curves(study), height)
    lower.set_ylabel("loop resistance, mΩ")
    lower.set_xlabel("frequency")
    return figure


_Curve = tuple[NDArray[np.float64], float, float]
"""Values at the frequencies, at DC and in the perfect-conductor limit (NaN if there is none)."""


def _inductance_curves(study: StudyResult) -> list[_Curve]:
    return [
        (
            result.loop_inductances / NANO,
            sum(result.dc_limits) / 2 / NANO,
            sum(result.perfect_limits) / 2 / NANO,
        )
        for result in study.results
    ]


def _resistance_curves(study: StudyResult) -> list[_Curve]:
    return [
        (
            result.loop_resistances / numbers.MILLI,
            result.section_dc_resistance / numbers.MILLI,
            float("nan"),
        )
        for result in study.results
    ]


def _draw_curves(axes: Axes, study: StudyResult, curves: list[_Curve], height: float) -> None:
    frequencies = [result.frequencies for result in study.results]
    lowest, highest = min(f[0] for f in frequencies), max(f[-1] for f in frequencies)
    margin = (highest / lowest) ** 0.06 if highest > lowest else 1.5
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(lowest / margin**1.6, highest * margin**1.6)
    for number, (result, (values, direct, perfect)) in enumerate(zip(study.results, curves, strict=True)):
        look = line_look(number)
        _draw_line(axes, result.frequencies, values, look)
        axes.plot([lowest / margin], [direct], look.marker, color=look.colour, mfc="white", markersize=5)
        axes.plot([highest * margin], [perfect], look.marker, color=look.colour, mfc="white", markersize=5)
    for limit in (lowest / margin**0.5, highest * margin**0.5):
        axes.axvline(limit, color=FAINT, linewidth=0.6, linestyle=(0, (2, 2)))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: numbers.frequency(value)))
    _label_log_axis(axes)
    axes.grid(True, which="major", color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)
    ends = [
        (result.frequencies[-1], values[-1]) if np.isnan(perfect) else (highest * margin, perfect)
        for result, (values, _, perfect) in zip(study.results, curves, strict=True)
    ]
    _label_ends(axes, [result.variant.name for result in study.results], np.array(ends), height)


def _draw_line(axes: Axes, x: NDArray[np.float64], y: NDArray[np.float64], look: LineLook) -> None:
    axes.plot(
        x,
        y,
        color=look.colour,
        linestyle=look.dashes,
        linewidth=1.4,
        marker=look.marker,
        markersize=3.6,
        markevery=max(1, len(x) // 9),
    )


def _label_log_axis(axes: Axes) -> None:
    """Ticks at 1, 2, 5 times powers of ten, as plain numbers; more of them where the axis is short."""
    low, high = axes.get_ylim()
    subs = (1.0, 2.0, 5.0) if high / low > 8 else (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)
    axes.yaxis.set_major_locator(LogLocator(subs=(1.0,) if high / low > 3000 else subs, numticks=40))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.minorticks_off()


def _label_ends(axes: Axes, names: Sequence[str], ends: NDArray[np.float64], height: float) -> None:
    """Names at the right of their lines' ends (x, y), kept apart, with leaders and the lines' markers."""
    low, high = np.log(axes.get_ylim())
    left, right = np.log(axes.get_xlim())
    wanted = (np.log(ends[:, 1]) - low) / (high - low) * height
    placed = np.exp(keep_apart(wanted, _LABEL_SPACING, 0.0, height) / height * (high - low) + low)
    panel = _panel_width(axes)
    for number, (name, (x, y), place) in enumerate(zip(names, ends, placed, strict=True)):
        start = (float((np.log(x) - left) / (right - left)) + 0.012, float(y))
        leader_label(axes, shortened(name, _LONGEST_NAME), start, (1 + 0.1 / panel, float(place)), indent=14)
        look, mixed = line_look(number), axes.get_yaxis_transform()
        axes.plot(
            [1 + 0.21 / panel],
            [place],
            look.marker,
            color=look.colour,
            markersize=5,
            clip_on=False,
            transform=mixed,
        )


@styled
def field_scan_figure(study: StudyResult) -> Figure:
    """Field strength of all variants along the scan lines above and below the board.

    Parameters
    ----------
    study : StudyResult
        At least one solved variant with scan lines.
        One panel per line; above at the left, below at the right, nearest first.

    Raises
    ------
    ValueError
        If no variant has a scan line.
    """
    lines = next((result.lines for result in study.results if result.lines), ())
    sides = [[each for each in lines if each.side == side] for side in ("above", "below")]
    if not any(sides):
        raise ValueError("no scan line was computed; give at least one height above or below the board")
    count, legend = max(map(len, sides)), 0.2 * -(-len(study.results) // 3)
    at = numbers.frequency(study.scenario.analysis.report_frequency)
    figure = new_sheet(
        _TOP + legend + count * _FIELD_ROW + 0.1,
        f"Field strength at {at}",
        "peak |H| per ampere of loop current, A/m per A",
    )
    for column, listed in enumerate(sides):
        for row, line in enumerate(listed):
            axes = add_panel(figure, 0.75 + 4.6 * column, _TOP + legend + 0.1 + row * _FIELD_ROW, 4.05, 2.2)
            _draw_field_scan(axes, study.results, line, wording(study.scenario.view).position)
    handles, labels = figure.axes[0].get_legend_handles_labels()
    anchor = (0.6 / SHEET_WIDTH, 1 - 0.52 / figure.get_figheight())
    figure.legend(handles, labels, loc="upper left", bbox_to_anchor=anchor, ncols=3, handlelength=3.4, borderpad=0)
    return figure


def _draw_field_scan(axes: Axes, results: Sequence[VariantResult], line: FieldScan, position: str) -> None:
    axes.set_yscale("log")
    for number, result in enumerate(results):
        same = [each for each in result.lines if each.side == line.side and each.distance == line.distance]
        for each in same:
            _draw_line(axes, each.x / MM, each.magnitude, line_look(number))
            axes.lines[-1].set_label(shortened(result.variant.name, _LONGEST_NAME))
    axes.set_title(f"{numbers.length(line.distance)} {line.side} the board", size=SMALL, pad=4)
    axes.set_xlabel(f"{position}, mm", size=SMALL, labelpad=2)
    axes.xaxis.set_major_formatter(FuncFormatter(plain_number))
    _label_log_axis(axes)
    axes.grid(True, color="#e1e4e8", linewidth=0.6)
    open_frame(axes)


@styled
def benefit_figure(study: StudyResult) -> Figure:
    """Benefit of every ground layer, added one after the other from the top: inductance and field.

    Parameters
    ----------
    study : StudyResult
        A study in which at least one variant has ground layers.

    Raises
    ------
    ValueError
        If no variant has a ground layer.
    """
    entries = [(result, benefit) for result in study.results for benefit in result.benefit]
    if not entries:
        raise ValueError("no variant has a ground layer whose benefit could be drawn")
    height = _BAR_ROW * len(entries)
    figure = new_sheet(
        _TOP_WITH_LEGEND + height + 0.62,
        "Benefit of each ground layer",
        "layers added one after the other from the top; change against the same section without that layer",
    )
    bars = add_panel(figure, 2.75, _TOP_WITH_LEGEND, 3.75, height)
    _draw_benefit_bars(bars, entries)
    field = add_panel(figure, 6.85, _TOP_WITH_LEGEND, SHEET_WIDTH - 6.85 - 0.2, height)
    _draw_field_bars(field, [(benefit.above_db, benefit.below_db) for _, benefit in entries], "change of peak |H|, dB")
    _draw_group_lines((bars, field), [result.variant.name for result, _ in entries])
    return figure


def _draw_benefit_bars(axes: Axes, entries: Sequence[tuple[VariantResult, LayerBenefit]]) -> None:
    changes = np.array([_benefit_change(*entry) for entry in entries]) / NANO
    places = np.arange(float(len(entries)))
    axes.barh(places, changes, height=0.5, color=COPPER, edgecolor=INK, linewidth=0.5)
    falls = changes.min() < 0
    for place, change, (result, benefit) in zip(places, changes, entries, strict=True):
        length = result.variant.length
        words = numbers.benefit(benefit.inductance_before * length, benefit.inductance_after * length)
        _write_beside(axes, words, change, place, left=change < 0 or (falls and words.startswith("less")))
    _leave_room(axes, changes, 1.35 / _panel_width(axes))
    axes.axvline(0, color=INK, linewidth=0.8)
    names = [f"{shortened(result.variant.name, 24)}: + {shortened(benefit.layer, 10)}" for result, benefit in entries]
    name_rows(axes, names, _LONGEST_NAME)
    axes.set_yticks(places, names)
    open_frame(axes, keep=("bottom",))
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.xaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.set_xlabel("change of loop inductance, nH")


def _benefit_change(result: VariantResult, benefit: LayerBenefit) -> float:
    return (benefit.inductance_after - benefit.inductance_before) * result.variant.length


def _draw_group_lines(panels: tuple[Axes, Axes], names: Sequence[str]) -> None:
    """A faint line where one variant ends and the next begins."""
    for number, (upper, lower) in enumerate(pairwise(names)):
        if upper != lower:
            for axes in panels:
                axes.axhline(number + 0.5, color=FAINT, linewidth=0.5)
