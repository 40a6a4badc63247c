"""A few bars on a sheet that a telephone shows whole: the picture of a first page."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from solver.figures.style import COPPER, FAINT, INK, SMALL, add_panel, new_sheet, shortened, styled
from solver.notation import numbers
from solver.study.figures_of_merit import AnyFigure
from solver.variant.figure import Reading

_WIDTH, _LEFT, _VALUE_WIDTH = 3.25, 0.1, 1.1
_ROW, _TOP, _BOTTOM = 0.42, 0.72, 0.12
_LONGEST_NAME, _LONGEST_TITLE = 36, 38


@styled
def short_bars_figure(
    figure: AnyFigure,
    bars: Sequence[tuple[str, Reading]],
    limit: float | None = None,
    marked: str = "",
    *,
    whisker: str = "uncertainty",
) -> Figure:
    """Bars of one figure of merit with whiskers of its uncertainty, and its budget as a line.

    Parameters
    ----------
    figure : Figure
        What is drawn.
    bars : sequence of (str, Reading)
        From top to bottom.
    limit : float, optional
        Its budget [SI].
    marked : str
        Name of the bar in colour.
    whisker : str
        What the whiskers are.
    """
    height = _ROW * len(bars)
    budget = "" if limit is None else f"; dashed: budget, {numbers.significant(limit / figure.scale, 3)} {figure.unit}"
    sheet = new_sheet(
        _TOP + height + _BOTTOM,
        shortened(f"{figure.title[0].upper()}{figure.title[1:]}, {figure.unit}", _LONGEST_TITLE),
        f"whisker: {whisker}{budget}",
        width=_WIDTH,
    )
    axes = add_panel(sheet, _LEFT, _TOP - 0.1, _WIDTH - _LEFT - _VALUE_WIDTH, height)
    axes.set_axis_off()
    axes.set_ylim(len(bars), 0)
    widest = max([*(each.value + each.uncertainty for _, each in bars), limit or 0.0]) / figure.scale
    axes.set_xlim(0, widest)
    for place, bar in enumerate(bars):
        _draw_bar(axes, place, bar, figure, limit, marked=marked)
    return sheet


def _draw_bar(
    axes: Axes, place: int, bar: tuple[str, Reading], figure: AnyFigure, limit: float | None, *, marked: str
) -> None:
    """A bar under its name, its value at the right of bar and budget."""
    name, reading = bar
    middle, end = place + 0.7, (reading.value + reading.uncertainty) / figure.scale
    fill = COPPER if name == marked else FAINT
    axes.barh(middle, reading.value / figure.scale, height=0.36, color=fill, edgecolor=INK, linewidth=0.5)
    axes.errorbar(
        reading.value / figure.scale,
        middle,
        xerr=reading.uncertainty / figure.scale,
        fmt="none",
        ecolor=INK,
        elinewidth=1.0,
        capsize=2.5,
    )
    axes.text(0, place + 0.46, shortened(name, _LONGEST_NAME), size=SMALL, va="bottom", clip_on=False)
    if limit is not None:
        axes.plot([limit / figure.scale] * 2, [middle - 0.22, middle + 0.22], color=INK, lw=1.2, dashes=(2.5, 1.2))
        end = max(end, limit / figure.scale)
    words = numbers.with_uncertainty(reading.value, reading.uncertainty, figure.scale)
    axes.annotate(
        words, (end, middle), (5, 0), textcoords="offset points", size=SMALL, va="center", annotation_clip=False
    )
