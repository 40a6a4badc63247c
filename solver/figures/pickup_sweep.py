"""What the first victim hears over the keys of a sweep."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter

from geometries.quantities import convenient_unit, write_quantity
from geometries.study.sweep import SweepAxis
from solver.figures.style import INK, SHEET_WIDTH, add_panel, line_look, new_sheet, open_frame, plain_number, styled
from solver.figures.sweep import scale_side
from solver.notation import numbers
from solver.study.sweep_rows import SweepResult, SweepRow

_PICOHENRY_PER_MM = 1e-9
_HEIGHT, _TOP = 2.5, 0.75


@styled
def pickup_sweep_figure(result: SweepResult) -> Figure:
    """Mutual inductance per length and peak at the pin over the first key, one line per value of the second.

    Parameters
    ----------
    result : SweepResult
        Every row with what its first victim hears.

    Returns
    -------
    Figure
    """
    axis, *others = result.sweep.axes
    lines = _lines(result, others)
    subtitle = "of the first victim; the mutual inductance at the report frequency"
    figure = new_sheet(_TOP + 2 * _HEIGHT + 1.05, f"What the victim hears over {axis.key}", subtitle)
    upper = add_panel(figure, 0.8, _TOP, SHEET_WIDTH - 1.0, _HEIGHT)
    lower = add_panel(figure, 0.8, _TOP + _HEIGHT + 0.4, SHEET_WIDTH - 1.0, _HEIGHT)
    size, unit = convenient_unit(max(map(abs, axis.values)), axis.quantity)
    for number, (name, rows) in enumerate(lines):
        look, x = line_look(number), np.array([row.values[0] for row in rows]) / size
        heard = [row.pickup for row in rows if row.pickup is not None]
        mutual = np.array([each.mutual_inductance for each in heard]) / _PICOHENRY_PER_MM
        peak = np.array([each.peak for each in heard]) / numbers.MILLI
        for axes, y in ((upper, mutual), (lower, peak)):
            axes.plot(
                x, y, look.marker, color=look.colour, linestyle=look.dashes, markersize=4, linewidth=1.3, label=name
            )
    pickup = next(each.pickup for each in result.sweep.scenario.variants if each.name == result.sweep.variant)
    budget = math.inf if pickup is None else pickup.drive.budget
    if math.isfinite(budget):
        lower.axhline(budget / numbers.MILLI, color=INK, linewidth=1.0, linestyle=(0, (4, 2)), label="budget")
    for axes, words in ((upper, "mutual inductance, pH/mm"), (lower, "peak at the pin, mV")):
        axes.set_ylabel(words)
        _finish(axes)
        scale_side(axes, "x", axis, np.array(axis.values) / size)
    if others or math.isfinite(budget):
        lower.legend(loc="best", handlelength=2.6)
    upper.tick_params(axis="x", labelbottom=False)
    lower.set_xlabel(f"{axis.key}, {unit}")
    return figure


def _lines(result: SweepResult, others: list[SweepAxis]) -> list[tuple[str, list[SweepRow]]]:
    """Rows along the first key, by the value of the second if there is one."""
    ordered = sorted(result.rows, key=lambda row: row.values[0])
    if not others:
        return [("first victim", ordered)]
    (second,) = others
    values = sorted({row.values[1] for row in ordered})
    return [
        (f"{second.key} = {write_quantity(value, second.quantity)}", [row for row in ordered if row.values[1] == value])
        for value in values
    ]


def _finish(axes: Axes) -> None:
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.grid(True, which="major", color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)
