"""Drawings of the switching edge: waveforms of all variants with the limit, and their peaks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from geometries.operation.recovery import NoRecovery
from geometries.operation.switching import Switching
from geometries.quantities import Quantity, convenient_unit
from solver.figures.style import (
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
    add_panel,
    line_look,
    new_sheet,
    open_frame,
    shortened,
    styled,
)
from solver.notation import numbers
from solver.switching.results import SwitchingComparison, SwitchingReading

_TOP = 0.75
_WAVE_HEIGHT = 3.1
_ROW_HEIGHT = 0.3
_LEFT = 2.55
_LONGEST_NAME = 34
_SHOWN_PERIODS = 8
_NAMES_A_ROW, _NAME_HEIGHT = 3, 0.2
"""Names of the curves stand over the picture, where no curve runs."""


@styled
def waveform_figure(comparison: SwitchingComparison) -> Figure:
    """Voltage at the switch of all variants over time, and below it every peak with its uncertainty and the limit.

    Parameters
    ----------
    comparison : SwitchingComparison
        At least one variant.
    """
    switching, readings = comparison.switching, comparison.readings
    rows = _ROW_HEIGHT * len(readings) + 0.25
    top = _TOP + _NAME_HEIGHT * (-(-len(readings) // _NAMES_A_ROW) if len(readings) > 1 else 0)
    snubber = "" if switching.snubber is None else ", with the stated snubber"
    figure = new_sheet(
        top + _WAVE_HEIGHT + 0.85 + rows + 0.6,
        "Voltage at the switch that is off, after the edge",
        f"{numbers.with_unit(switching.input_voltage, Quantity.VOLTAGE)} in "
        f"{numbers.with_unit(switching.full_edge, Quantity.TIME)} (0 to 100 %), straight, from rest{snubber}; "
        f"no load current{_recovered(switching)}",
    )
    waves = add_panel(figure, 0.75, top, SHEET_WIDTH - 1.0, _WAVE_HEIGHT)
    _draw_waves(waves, comparison)
    peaks = add_panel(figure, _LEFT, top + _WAVE_HEIGHT + 0.85, SHEET_WIDTH - _LEFT - 1.5, rows)
    _draw_peaks(peaks, comparison)
    return figure


def _recovered(switching: Switching) -> str:
    return ", and nothing recovered from a diode" if isinstance(switching.recovery, NoRecovery) else ""


def _draw_waves(axes: Axes, comparison: SwitchingComparison) -> None:
    end = _shown_until(comparison.readings)
    step, unit = convenient_unit(end, Quantity.TIME)
    for number, reading in enumerate(comparison.readings):
        wave, look = reading.built, line_look(number)
        shown = wave.times <= end
        axes.plot(
            wave.times[shown] / step,
            wave.voltage[shown],
            color=look.colour,
            linestyle=look.dashes,
            linewidth=1.3,
            marker=look.marker,
            markersize=3.6,
            markevery=(7 * number + 5, max(20, int(shown.sum()) // 6)),
            label=shortened(reading.name, _LONGEST_NAME),
        )
    axes.axhline(comparison.switching.input_voltage, color=FAINT, linewidth=0.8)
    _draw_limit(axes, comparison, axes.axhline)
    axes.set_xlim(0, end / step)
    low, high = axes.get_ylim()
    axes.set_ylim(
        bottom=low if min(each.built.voltage.min() for each in comparison.readings) < 0 else 0, top=1.03 * high
    )
    axes.set_xlabel(f"time, {unit}")
    axes.set_ylabel("voltage, V")
    if len(comparison.readings) > 1:
        axes.legend(loc="lower left", bbox_to_anchor=(0, 1), ncols=_NAMES_A_ROW, handlelength=4.5, borderaxespad=0.2)
    axes.grid(True, color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)
    _name_limit(axes, comparison.switching.voltage_limit)


def _name_limit(axes: Axes, limit: float | None) -> None:
    if limit is None:
        return
    axes.annotate(
        f"limit {limit:.3g} V",
        (1, limit),
        (-2, 3),
        xycoords=axes.get_yaxis_transform(),
        textcoords="offset points",
        size=SMALL,
        ha="right",
    )


def _shown_until(readings: tuple[SwitchingReading, ...]) -> float:
    """Time by which the slowest ring has swung some periods, or all have settled, or the first wave ends [s]."""
    periods = [1 / each.built.ring.frequency for each in readings if each.built.ring is not None]
    peaks = [each.built.peak.time for each in readings if np.isfinite(each.built.peak.time)]
    settled = max(each.built.settling for each in readings)
    wanted = max([*peaks, 0.0]) + _SHOWN_PERIODS * max([*periods, 0.0])
    return float(min(wanted or settled, 1.1 * settled, *(each.built.times[-1] for each in readings)))


def _draw_peaks(axes: Axes, comparison: SwitchingComparison) -> None:
    readings = comparison.readings
    for number, reading in enumerate(readings):
        look = line_look(number)
        axes.errorbar(
            [reading.built.peak.voltage],
            [number],
            xerr=[[reading.peak_error], [reading.peak_error]],
            color=look.colour,
            marker=look.marker,
            markersize=5,
            capsize=3,
            linewidth=1.2,
        )
        if reading.damped is not None:
            axes.plot([reading.plain.peak.voltage], [number], look.marker, color=look.colour, mfc="white", markersize=5)
        axes.annotate(
            f"{numbers.with_uncertainty(reading.built.peak.voltage, reading.peak_error)} V",
            (1, number),
            (6, 0),
            xycoords=axes.get_yaxis_transform(),
            textcoords="offset points",
            size=SMALL,
            va="center",
            annotation_clip=False,
        )
    axes.axvline(comparison.switching.input_voltage, color=FAINT, linewidth=0.8)
    _draw_limit(axes, comparison, axes.axvline)
    axes.set_yticks(range(len(readings)), [shortened(reading.name, _LONGEST_NAME) for reading in readings])
    axes.set_ylim(len(readings) - 0.4, -0.6)
    hollow = "; hollow: without snubber" if comparison.switching.snubber is not None else ""
    axes.set_xlabel(f"peak voltage with its uncertainty, V; thin line: input{_limit_words(comparison)}{hollow}")
    axes.grid(True, axis="x", color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)


def _limit_words(comparison: SwitchingComparison) -> str:
    return "" if comparison.switching.voltage_limit is None else "; thick broken line: limit"


def _draw_limit(axes: Axes, comparison: SwitchingComparison, draw: Callable[..., object]) -> None:
    limit = comparison.switching.voltage_limit
    if limit is not None:
        draw(limit, color=INK, linewidth=1.6, linestyle=(0, (5, 2)))
