"""Drawing of cost against what it buys."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from solver.figures.style import (
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
    add_panel,
    keep_apart,
    line_look,
    new_sheet,
    open_frame,
    shortened,
    styled,
)
from solver.study.figures_of_merit import AnyFigure
from solver.study.summary import Summary, SummaryRow
from solver.variant.figure import DECIBEL, Sense

_TOP = 0.8
_HEIGHT = 2.2
_GAP = 0.75
_LONGEST_NAME = 26
_SPACING = 0.18
_CLOSE = 0.15


@styled
def cost_figure(summary: Summary) -> Figure:
    """Price per board against every figure of the summary; the line runs through the variants that none beats in both.

    Parameters
    ----------
    summary : Summary
        At least two variants with a price.
    """
    shown = [figure for figure in summary.figures if any(_known(row, figure) for row in summary.priced)]
    figure = new_sheet(
        _TOP + -(-len(shown) // 2) * (_HEIGHT + _GAP) - 0.1,
        "Cost against every figure of the summary",
        "upwards is better; the line runs through the variants that no other beats in both; bars: uncertainty",
    )
    for number, each in enumerate(shown):
        line, column = divmod(number, 2)
        left = 0.75 + column * SHEET_WIDTH / 2
        panel = add_panel(figure, left, _TOP + line * (_HEIGHT + _GAP), SHEET_WIDTH / 2 - 2.1, _HEIGHT)
        _draw(panel, summary, each)
    return figure


def _known(row: SummaryRow, figure: AnyFigure) -> bool:
    return math.isfinite(row.readings[figure.key].value)


def _draw(axes: Axes, summary: Summary, figure: AnyFigure) -> None:
    points, names = [], []
    for number, row in enumerate(summary.rows):
        reading = row.readings[figure.key]
        if row.price is None or not _known(row, figure):
            continue
        value, error = reading.value / figure.scale, reading.uncertainty / figure.scale
        points.append((row.price.amount, value))
        names.append(shortened(row.name, _LONGEST_NAME))
        look = line_look(number)
        axes.errorbar(
            [row.price.amount],
            [value],
            yerr=[[error], [error]],
            color=look.colour,
            marker=look.marker,
            markersize=6,
            capsize=3,
            linewidth=1.0,
        )
    up = 1 if figure.sense is Sense.MORE else -1
    front = [(price, up * value) for price, value in pareto_front([(price, up * value) for price, value in points])]
    axes.plot(
        [x for x, _ in front], [y for _, y in front], color=FAINT, linewidth=1.2, zorder=0, drawstyle="steps-post"
    )
    if figure.shown == DECIBEL:
        axes.axhline(0, color=INK, linewidth=1.4, linestyle=(0, (5, 2)))
    _finish(axes, summary, figure)
    _label(axes, points, names)


def _finish(axes: Axes, summary: Summary, figure: AnyFigure) -> None:
    """Axes named, the better end up."""
    currency = summary.priced[0].price.currency if summary.priced[0].price is not None else ""
    axes.set_xlabel(f"price per board, {currency}")
    axes.set_ylabel(f"{figure.title}, {figure.unit}")
    axes.margins(x=0.1, y=0.12)
    if figure.sense is not Sense.MORE:
        axes.invert_yaxis()
    axes.grid(True, color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)


def _label(axes: Axes, points: list[tuple[float, float]], names: list[str]) -> None:
    """Names at the right of their points, kept apart where prices are close to each other."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    scale = _HEIGHT / (high - low)  # negative on an axis that runs downwards, so that places still rise
    order = sorted(range(len(points)), key=lambda index: points[index][0])
    clusters: list[list[int]] = []
    for index in order:
        close = clusters and points[index][0] - points[clusters[-1][-1]][0] < _CLOSE * (right - left)
        if close:
            clusters[-1].append(index)
        else:
            clusters.append([index])
    for cluster in clusters:
        wanted = np.array([(points[index][1] - low) * scale for index in cluster])
        for index, place in zip(cluster, keep_apart(wanted, _SPACING, 0.0, _HEIGHT), strict=True):
            axes.annotate(
                names[index],
                (points[index][0], low + place / scale),
                (8, 6),
                textcoords="offset points",
                size=SMALL,
                va="center",
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.2},
            )


def pareto_front(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Points that no other one beats, in order of price: none is both cheaper (or as cheap) and better.

    Examples
    --------
    >>> pareto_front([(1.0, 2.0), (2.0, 1.0), (2.0, 5.0), (3.0, 4.0)])
    [(1.0, 2.0), (2.0, 5.0)]
    """
    front: list[tuple[float, float]] = []
    for price, value in sorted(points, key=lambda point: (point[0], -point[1])):
        if not front or value > front[-1][1]:
            front.append((price, value))
    return front
