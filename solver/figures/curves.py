"""Curves over one dimension that was varied, several panels under one another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, NullLocator

from geometries.quantities import MM
from solver.figures.style import SHEET_WIDTH, add_panel, line_look, new_sheet, open_frame, styled

_TOP, _BOTTOM = 0.66, 0.25
_LEFT, _RIGHT = 0.85, 0.3
_HEIGHT, _STEP, _LEGEND = 2.6, 3.0, 0.22


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One line: what it stands for, and its points (length [m], value), in any order."""

    label: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """Curves over one axis.

    Parameters
    ----------
    label : str
        What is drawn, with its unit.
    curves : tuple of Curve
        At least one.
    logarithmic : bool
        Whether values are spaced by their ratios.
    """

    label: str
    curves: tuple[Curve, ...]
    logarithmic: bool = False


@styled
def curves_figure(
    title: str, subtitle: str, across: str, panels: Sequence[Panel], *, linear_below: float = 0.0
) -> Figure:
    """Panels of curves over the same lengths.

    Parameters
    ----------
    title, subtitle : str
        Headline, and what holds for all curves.
    across : str
        What the lengths are; they are shown in mm, spaced by their ratios.
    panels : sequence of Panel
        From top to bottom.
    linear_below : float
        Below this length [m] the axis is linear and reaches zero; 0 for lengths that are all above zero.
    """
    figure = new_sheet(_TOP + _STEP * len(panels) + _BOTTOM, title, subtitle)
    for number, panel in enumerate(panels):
        top = _TOP + _LEGEND + _STEP * number
        axes = add_panel(figure, _LEFT, top, SHEET_WIDTH - _LEFT - _RIGHT, _HEIGHT)
        _draw(axes, panel)
        _space(axes, panel, linear_below)
        if number == len(panels) - 1:
            axes.set_xlabel(f"{across}, mm")
        else:
            axes.tick_params(axis="x", labelbottom=False)
    return figure


def _draw(axes: Axes, panel: Panel) -> None:
    for number, curve in enumerate(panel.curves):
        look = line_look(number)
        x, y = np.array(sorted(curve.points)).T
        axes.plot(
            x / MM,
            y,
            color=look.colour,
            linestyle=look.dashes,
            marker=look.marker,
            markersize=4.5,
            linewidth=1.4,
            label=curve.label,
        )
    axes.set_ylabel(panel.label)
    axes.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=len(panel.curves), borderaxespad=0.1, handlelength=3)
    axes.grid(True, color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)


def _space(axes: Axes, panel: Panel, linear_below: float) -> None:
    """Ticks where the points are; values from zero or by their ratios."""
    if linear_below > 0:
        axes.set_xscale("symlog", linthresh=linear_below / MM, linscale=0.5)
    else:
        axes.set_xscale("log")
    axes.xaxis.set_major_locator(FixedLocator(sorted({x / MM for curve in panel.curves for x, _ in curve.points})))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(FuncFormatter(_plain))
    if panel.logarithmic:
        axes.set_yscale("log")
        axes.yaxis.set_major_locator(FixedLocator([0.1, 0.2, 0.3, 0.5, 0.7, 1, 1.5, 2, 3, 4, 5, 7, 10]))
        axes.yaxis.set_minor_locator(NullLocator())
    else:
        axes.yaxis.set_major_locator(MaxNLocator(6))
    axes.yaxis.set_major_formatter(FuncFormatter(_plain))


def _plain(value: float, _position: object = None) -> str:
    return f"{value:.3g}".replace("-", "−")
