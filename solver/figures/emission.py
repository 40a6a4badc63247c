"""Levels against limits: what the loops emit, and how far cables could."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, NullLocator
from numpy.typing import NDArray

from geometries.operation.emission import Emission
from geometries.operation.limits import LimitLine
from geometries.quantities import MHZ
from solver.emission.product_results import SUM, ProductPrediction
from solver.emission.results import EmissionComparison
from solver.figures.style import (
    FAINT,
    INK,
    add_panel,
    keep_apart,
    leader_label,
    line_look,
    new_sheet,
    open_frame,
    plain_number,
    shortened,
    styled,
)

_TOP = 0.72
_LEFT, _WIDTH = 0.75, 6.55
_HEIGHT = 3.6
_LABEL_SPACING = 0.165
_LOWEST_SHOWN = 70.0
"""Levels further below the lowest limit [dB] are cut off."""

_MARKS = 9
_LONGEST_NAME = 30
_TICKS = (30, 50, 100, 200, 300, 500, 1000, 2000, 3000, 6000)
_LIMIT_DASHES = ("-", (0, (8, 2)), (0, (4, 2)), (0, (1.5, 1.5)))


@styled
def emission_figure(comparison: EmissionComparison) -> Figure:
    """Levels of all loops alone with the band of one of them, the limits, and below it the bounds of the cables.

    Parameters
    ----------
    comparison : EmissionComparison
        At least one variant.
    """
    emission = comparison.emission
    cables = any(each.cable is not None for each in comparison.predictions)
    panels = 2 if cables else 1
    figure = new_sheet(
        _TOP + panels * (_HEIGHT + 0.85) - 0.25,
        "Emission against the limits",
        f"at {emission.distance:g} m, {emission.site.value}; lines: largest level for any duty; "
        f"shaded: ±{emission.band:g} dB about the highest and the lowest of the loops",
    )
    upper = add_panel(figure, _LEFT, _TOP, _WIDTH, _HEIGHT)
    loops = [_Line(index, each.name, each.frequencies, each.bound) for index, each in enumerate(comparison.predictions)]
    _draw_panel(upper, comparison.emission, loops, comparison.emission.band)
    upper.set_title("the loop alone")
    if cables:
        lower = add_panel(figure, _LEFT, _TOP + _HEIGHT + 0.85, _WIDTH, _HEIGHT)
        bounds = [
            _Line(index, each.name, each.frequencies, each.cable.levels)
            for index, each in enumerate(comparison.predictions)
            if each.cable is not None
        ]
        _draw_panel(lower, comparison.emission, bounds, 0.0)
        length = 0.0 if emission.cable is None else emission.cable.length
        lower.set_title(f"a cable of {length:g} m, upper bound")
    return figure


@styled
def product_figure(comparison: EmissionComparison) -> Figure:
    """Levels of every source and of their sum with its band, of the reference and of the variant that emits least.

    Parameters
    ----------
    comparison : EmissionComparison
        With all sources together.

    Raises
    ------
    ValueError
        If the sources were not added up.
    """
    emission, product = comparison.emission, comparison.product
    if product is None:
        raise ValueError("the board is not described, so that its sources were not added up; give it a size")
    shown = [each for each in product.predictions if each.name in (product.reference, product.least.name)]
    figure = new_sheet(
        _TOP + len(shown) * (_HEIGHT + 0.85) - 0.25,
        "All sources together against the limits",
        f"at {emission.distance:g} m, {emission.site.value}; orientation of the board: {emission.orientation.value}; "
        "lines: largest level for any duty; shaded: the band of the sum",
    )
    for index, each in enumerate(shown):
        axes = add_panel(figure, _LEFT, _TOP + index * (_HEIGHT + 0.85), _WIDTH, _HEIGHT)
        _draw_sources(axes, emission, each)
    return figure


def _draw_sources(axes: Axes, emission: Emission, prediction: ProductPrediction) -> None:
    total = prediction.total
    lines = [_Line(0, SUM, total.frequencies, total.levels)]
    lines += [
        _Line(place, source.name, total.frequencies, source.levels)
        for place, source in enumerate(total.sources, start=1)
    ]
    _draw_panel(axes, emission, lines, 0.0)
    low, high = total.levels - total.bands, total.levels + total.bands
    axes.fill_between(total.frequencies / MHZ, low, high, color=line_look(0).colour, alpha=0.12, lw=0)
    axes.set_ylim(top=max(axes.get_ylim()[1], float(high.max()) + 2))
    axes.set_title(prediction.name)


class _Line(NamedTuple):
    """A variant's place in the study, its name, and its levels over frequency."""

    place: int
    name: str
    frequencies: NDArray[np.float64]
    levels: NDArray[np.float64]


def _draw_panel(axes: Axes, emission: Emission, lines: Sequence[_Line], band: float) -> None:
    """Limits, levels and names; the highest and the lowest level with a band to both sides."""
    _scale(axes, emission, lines, band)
    for limit, dashes in zip(emission.limits, _LIMIT_DASHES * len(emission.limits), strict=False):
        _draw_limit(axes, limit, dashes)
    highest = max(lines, key=lambda line: float(line.levels.max()))
    lowest = min(lines, key=lambda line: float(line.levels.max()))
    for line in (highest,) if highest is lowest else (highest, lowest):
        _draw_band(axes, line, band)
    for line in lines:
        look = line_look(line.place)
        places = np.geomspace(float(line.frequencies[0]), float(line.frequencies[-1]), _MARKS)
        marks = np.unique(np.searchsorted(line.frequencies, places[:-1]))
        axes.plot(
            line.frequencies / MHZ,
            line.levels,
            color=look.colour,
            linestyle=look.dashes,
            linewidth=1.4,
            marker=look.marker,
            markersize=3.6,
            markevery=marks.tolist(),
        )
    _name_lines(axes, lines)


def _draw_band(axes: Axes, line: _Line, band: float) -> None:
    colour = line_look(line.place).colour
    axes.fill_between(line.frequencies / MHZ, line.levels - band, line.levels + band, color=colour, alpha=0.12, lw=0)


def _scale(axes: Axes, emission: Emission, lines: Sequence[_Line], band: float) -> None:
    low = min(limit.breakpoints[0] for limit in emission.limits) / MHZ
    high = emission.highest_frequency / MHZ
    axes.set_xscale("log")
    axes.set_xlim(low, high)
    axes.xaxis.set_major_locator(FixedLocator([tick for tick in _TICKS if low <= tick <= high]))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.set_xlabel("frequency, MHz")
    axes.set_ylabel("level, dBµV/m")
    values = np.concatenate([line.levels for line in lines])
    allowed = [each.level for limit in emission.limits for each in limit.bands if each.start < high * MHZ]
    floor = max(float(values.min()) - band, min(allowed) - _LOWEST_SHOWN)
    axes.set_ylim(floor - 2, max(float(values.max()) + band, *allowed) + 6)
    axes.yaxis.set_major_locator(MaxNLocator(8))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.grid(color=FAINT, linewidth=0.3, alpha=0.6)
    open_frame(axes)


def _draw_limit(axes: Axes, line: LimitLine, dashes: object) -> None:
    """The steps of a limit, with its name over their first."""
    right = axes.get_xlim()[1]
    edges = [(band.start / MHZ, min(band.stop / MHZ, right), band.level) for band in line.bands]
    shown = [edge for edge in edges if edge[0] < right]
    x = [value for start, stop, _ in shown for value in (start, stop)]
    y = [level for _, _, level in shown for _ in range(2)]
    axes.plot(x, y, color=INK, linestyle=dashes, linewidth=1.8, label=f"{line.name}, {line.distance:g} m")
    axes.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=4, borderaxespad=0.1, handlelength=3.0)


def _name_lines(axes: Axes, lines: Sequence[_Line]) -> None:
    """Names at the right ends of the lines, kept apart."""
    low, high = axes.get_ylim()
    spacing = _LABEL_SPACING / _HEIGHT * (high - low)
    wanted = np.clip(np.array([line.levels[-1] for line in lines]), low, high)
    for line, start, place in zip(lines, wanted, keep_apart(wanted, spacing, low, high), strict=True):
        leader_label(axes, shortened(line.name, _LONGEST_NAME), (1.0, float(start)), (1.03, float(place)))
