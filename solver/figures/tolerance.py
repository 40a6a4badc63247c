"""Charts of a tolerance study: what every tolerance does alone, and how the random samples spread."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from geometries.quantities import Quantity
from solver.figures.style import (
    COPPER,
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
    add_panel,
    new_sheet,
    open_frame,
    shortened,
    styled,
)
from solver.notation import numbers
from solver.study.tolerance import FigureSpread, ToleranceResult, VariantSpread

_TOP = 0.95
_ROW = 0.34
_NAMES = 1.55
_LOWER, _UPPER = "#2f5d7c", "#e0b48c"
"""Tolerance at its lower and at its upper end: dark and light, also in grey."""

_PANELS_PER_ROW = 3
_HISTOGRAM_ROW = 0.95
_HISTOGRAMS_PER_ROW = 3
_BINS = 40


@styled
def tornado_figure(result: ToleranceResult, variant: VariantSpread) -> Figure:
    """What each tolerance alone does to every headline figure of a variant, largest first for each figure.

    Parameters
    ----------
    result : ToleranceResult
        For what varies.
    variant : VariantSpread
        One of its variants.
    """
    labels = [str(spread) for spread in result.tolerance.spreads]
    height = _ROW * len(labels)
    lines = -(-len(variant.figures) // _PANELS_PER_ROW)
    step = height + 1.0
    figure = new_sheet(
        _TOP + lines * step - 0.45,
        f"Each tolerance alone: {variant.name}",
        "dark: at its lower end; light: at its upper end; all else nominal; longest bars first",
    )
    width = (SHEET_WIDTH - 0.2) / _PANELS_PER_ROW - _NAMES
    for index, each in enumerate(variant.figures):
        row, column = divmod(index, _PANELS_PER_ROW)
        left = _NAMES + column * (width + _NAMES)
        _draw_tornado(add_panel(figure, left, _TOP + row * step, width, height), each, labels)
    return figure


def _draw_tornado(axes: Axes, figure: FigureSpread, labels: list[str]) -> None:
    changes = shown_changes(figure)
    order = np.argsort(-np.abs(changes).max(axis=1), kind="stable")
    places = np.arange(len(labels))
    for column, fill in ((0, _LOWER), (1, _UPPER)):
        axes.barh(places, changes[order, column], 0.62, color=fill, edgecolor=INK, linewidth=0.4)
    axes.axvline(0, color=INK, linewidth=0.8)
    reach = 1.08 * max(float(np.abs(changes).max()), 1e-9)
    axes.set_xlim(-reach, reach)
    axes.set_ylim(len(labels) - 0.5, -0.5)
    axes.set_yticks(places, [labels[index] for index in order])
    axes.tick_params(axis="y", length=0, labelsize=SMALL)
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.xaxis.set_major_formatter(FuncFormatter(_signed))
    open_frame(axes, keep=("bottom",))
    axes.set_title(figure.figure.title)
    axes.set_xlabel(change_unit(figure), size=SMALL)


def shown_changes(figure: FigureSpread) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Changes by each tolerance alone, (n, 2): in its unit or in percent of its nominal value."""
    change = figure.alone - figure.nominal
    return change / figure.figure.scale if _in_unit(figure) else 100 * change / figure.nominal


def change_unit(figure: FigureSpread) -> str:
    """Unit of :func:`shown_changes`."""
    return figure.figure.unit if _in_unit(figure) else "%"


def _in_unit(figure: FigureSpread) -> bool:
    """Whether changes are shown in the figure's unit: those of a level, and those from nothing."""
    return figure.figure.quantity is Quantity.DECIBEL or figure.nominal == 0


@styled
def histogram_figure(result: ToleranceResult) -> Figure:
    """How every figure spreads over the random samples, for all variants.

    Parameters
    ----------
    result : ToleranceResult
        Finished.
    """
    figures = [each.figure for each in result.variants[0].figures]
    lines = -(-len(figures) // _HISTOGRAMS_PER_ROW)
    block = _HISTOGRAM_ROW * len(result.variants) + 0.35
    sheet = new_sheet(
        _TOP + lines * block + 0.1,
        f"{result.tolerance.samples} random samples",
        f"{result.tolerance.distribution} between the limits, seed {result.tolerance.seed}; line: nominal; "
        "triangles: worst corners",
    )
    width = (SHEET_WIDTH - 1.9 - 0.25) / _HISTOGRAMS_PER_ROW - 0.35
    for number, figure in enumerate(figures):
        line, column = divmod(number, _HISTOGRAMS_PER_ROW)
        corner = 1.9 + column * (width + 0.35), _TOP + line * block
        panels = [
            add_panel(sheet, corner[0], corner[1] + row * _HISTOGRAM_ROW, width, _HISTOGRAM_ROW - 0.42)
            for row in range(len(result.variants))
        ]
        panels[0].set_title(f"{figure.title}, {figure.unit}", size=SMALL)
        for panel, variant in zip(panels, result.variants, strict=True):
            _draw_histogram(panel, variant.figures[number])
            if column == 0:
                name = shortened(variant.name, 26)
                panel.set_ylabel(name, rotation=0, ha="right", va="center", labelpad=8, size=SMALL)
    return sheet


def _draw_histogram(axes: Axes, figure: FigureSpread) -> None:
    low, high = (value / figure.figure.scale for value in (figure.lowest, figure.highest))
    axes.hist(figure.samples / figure.figure.scale, bins=_BINS, color=COPPER, edgecolor="white", linewidth=0.2)
    axes.axvline(figure.nominal / figure.figure.scale, color=INK, linewidth=1.1)
    axes.plot([low, high], [0, 0], linestyle="none", marker="^", color=INK, markersize=5, clip_on=False, zorder=5)
    margin = 0.06 * max(high - low, abs(figure.nominal / figure.figure.scale) * 1e-6)
    axes.set_xlim(low - margin, high + margin)
    axes.set_yticks([])
    axes.xaxis.set_major_locator(MaxNLocator(6))
    axes.xaxis.set_major_formatter(FuncFormatter(_plain))
    axes.tick_params(axis="x", length=2.5, color=FAINT)
    open_frame(axes, keep=("bottom",))


def _plain(value: float, _position: object = None) -> str:
    return f"{value:.4g}".replace("-", "−")


def _signed(value: float, _position: object = None) -> str:
    return numbers.fixed(value, 0 if abs(value) >= 10 or value == round(value) else 1, signed=True)
