"""What the victims pick up: bars at the pin, mutual inductance against distance, potential, waveform and spectrum."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter
from numpy.typing import NDArray

from geometries.quantities import MM
from geometries.section.section import CrossSection, Region
from solver.figures.section import BAND_TINTS, Box, draw_copper, draw_level_lines, millimetre_axes, panel_title
from solver.figures.style import (
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
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
from solver.pickup.results import PickupResult, PinSignal, VictimReading
from solver.study.results import StudyResult
from solver.variant.results import VariantResult

MILLIVOLT = 1e-3
PICOHENRY_PER_MM = 1e-9

_MAGNETIC, _FURTHER, _ELECTRIC = "#2f5d7c", "#8fa9bd", "#e0a96d"
"""Magnetic parts and the electric one: dark to light, also in grey."""

_TOP = 0.82
_ROW = 0.42
_NAME_WIDTH = 3.1
_CURVE_HEIGHT = 3.4
_LABEL_SPACING = 0.165
_LEVELS = np.array([0.001, 0.003, 0.01, 0.03, 0.1, 0.2, 0.4, 0.6, 0.8])
_SPECTRUM_FLOOR = 1e-4
_EDGES_SHOWN = 6.0
_BANDS_PER_DECADE = 12


def affected(study: StudyResult) -> list[tuple[VariantResult, PickupResult, VictimReading]]:
    """Every victim of every solved variant."""
    return [
        (result, result.pickup, victim)
        for result in study.results
        if result.pickup is not None
        for victim in result.pickup.victims
    ]


@styled
def pickup_figure(study: StudyResult) -> Figure:
    """Bars of the peak at the pin, magnetic and electric part, with the budget.

    Parameters
    ----------
    study : StudyResult
        With at least one victim.
    """
    rows = affected(study)
    drive = rows[0][1].pickup.drive
    height = _ROW * len(rows)
    stated = math.isfinite(drive.budget)
    budget = f"; dashed: budget of {numbers.significant(drive.budget / MILLIVOLT, 2)} mV" if stated else ""
    figure = new_sheet(
        _TOP + height + 0.6,
        "Peak at the feedback pin",
        f"steps of {drive.current:g} A in {_nanoseconds(drive.rise_time)} and {drive.voltage:g} V in "
        f"{_nanoseconds(drive.voltage_rise_time)}; percent of the reference of {drive.reference_voltage:g} V{budget}",
    )
    axes = add_panel(figure, _NAME_WIDTH, _TOP, SHEET_WIDTH - _NAME_WIDTH - 1.5, height)
    _draw_peaks(axes, [each.signal for *_, each in rows], drive.reference_voltage)
    if stated:
        axes.axvline(drive.budget / MILLIVOLT, color=INK, linewidth=1.0, linestyle=(0, (4, 2)))
    name_rows(axes, [_title(result, pickup, each) for result, pickup, each in rows], 46)
    return figure


def _draw_peaks(axes: Axes, signals: Sequence[PinSignal], reference: float) -> None:
    """Bars of every signal's parts on a logarithmic scale, and the sum of both in words; `reference` is 100 % [V]."""
    places = np.arange(len(signals))
    axes.set_xscale("log")
    looks = [("magnetic, from the loop", _MAGNETIC), ("electric, from the switch node", _ELECTRIC)]
    if any(each.further for each in signals):
        looks.insert(1, ("magnetic, from further loops", _FURTHER))
    peaks = np.array([(*_bars(each)[: len(looks) - 1], each.electric_peak) for each in signals]) / MILLIVOLT
    lowest = 10.0 ** math.floor(math.log10(max(min(peaks.max(axis=1)), 1e-4)) - 0.5)
    height = 0.8 / len(looks)
    for part, (name, fill) in enumerate(looks):
        lengths = np.maximum(peaks[:, part] - lowest, 0)
        offset = height * (part - (len(looks) - 1) / 2)
        wide = 0.9 * height
        axes.barh(places + offset, lengths, wide, left=lowest, color=fill, edgecolor=INK, linewidth=0.4, label=name)
    for place, each in zip(places, signals, strict=True):
        words = (
            f"{numbers.significant(each.peak / MILLIVOLT, 3)} mV, "
            f"{numbers.significant(100 * each.peak / reference, 2)} %"
        )
        reach = max(peaks[place].max(), lowest)
        axes.annotate(words, (reach, place), (5, 0), textcoords="offset points", size=SMALL, va="center", weight="bold")
    axes.set_xlim(lowest, peaks.max() * 1.5)
    axes.xaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xlabel("peak at the pin, mV (number: all parts together at most)")
    left = 0.22 / (len(looks) - 1)
    axes.legend(loc="lower left", bbox_to_anchor=(left, 1.0), ncols=len(looks), borderaxespad=0.1, handlelength=1.2)


def _bars(signal: PinSignal) -> tuple[float, float]:
    """Peaks of the magnetic parts: of the loop, and of all further ones together."""
    return signal.magnetic_peak, sum(peak for _, peak in signal.further_peaks)


def _title(result: VariantResult, pickup: PickupResult, victim: VictimReading) -> str:
    alone = len(pickup.victims) == 1
    return result.variant.name if alone else f"{result.variant.name}: {victim.victim.name}"


@styled
def distance_figure(study: StudyResult) -> Figure:
    """Mutual inductance per length against the distance from the loop, one line per variant, victims as marks.

    Each line is that of a thin trace on the layer of the variant's first victim.

    Parameters
    ----------
    study : StudyResult
        With at least one victim on a board.
    """
    at = numbers.frequency(study.scenario.analysis.report_frequency)
    figure = new_sheet(
        0.66 + _CURVE_HEIGHT + 0.55,
        f"Mutual inductance against distance at {at}",
        "a thin trace on the layer of each variant's first victim, with that victim's reference; marks: as solved",
    )
    axes = add_panel(figure, 0.75, 0.66, 6.2, _CURVE_HEIGHT)
    axes.set_xscale("log")
    axes.set_yscale("log")
    ends, names = [], []
    pairs = [(result, result.pickup) for result in study.results if result.pickup is not None]
    for number, (result, pickup) in enumerate(pairs):
        look, index = line_look(number), result.report_index
        layer = pickup.pickup.victims[0].trace
        for curve in pickup.curves:
            if layer is not None and curve.layer == layer.layer:
                x, y = curve.distance / MM, curve.mutual / PICOHENRY_PER_MM
                axes.plot(x, y, color=look.colour, linestyle=look.dashes, linewidth=1.3)
                ends.append((x[-1], y[-1]))
                names.append(f"{result.variant.name}, {curve.layer}")
        for each in pickup.victims:
            trace = each.victim.trace
            if trace is not None and trace.distance > 0:
                x_middle = (trace.distance + trace.width / 2) / MM
                value = abs(float(each.mutual_inductance[index])) / PICOHENRY_PER_MM
                axes.plot([x_middle], [value], look.marker, color=look.colour, mfc="white", markersize=6)
    _log_axes(axes)
    axes.set_xlabel("distance of the trace's middle from the loop's edge, mm")
    axes.set_ylabel("mutual inductance, pH/mm")
    _label_ends(axes, names, ends)
    return figure


def _log_axes(axes: Axes) -> None:
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_formatter(FuncFormatter(plain_number))
        axis.set_minor_formatter(NullFormatter())
        axis.set_major_locator(LogLocator(numticks=12))
    axes.grid(True, which="major", color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)


def _label_ends(axes: Axes, names: Sequence[str], ends: Sequence[tuple[float, float]]) -> None:
    if not names:
        return
    low, high = (math.log10(limit) for limit in axes.get_ylim())
    inch = (high - low) / _CURVE_HEIGHT
    wanted = np.array([math.log10(end[1]) for end in ends])
    left, right = (math.log10(limit) for limit in axes.get_xlim())
    placed = keep_apart(wanted, _LABEL_SPACING * inch, low, high)
    for name, end, place in zip(names, ends, placed, strict=True):
        start = (math.log10(end[0]) - left) / (right - left), end[1]
        leader_label(axes, shortened(name, 34), start, (1.03, 10.0 ** float(place)))


@styled
def pickup_levels_figure(result: VariantResult) -> Figure:
    """Section of one variant with its victims and the switch node's potential; waveform and spectrum at the pin.

    Parameters
    ----------
    result : VariantResult
        With victims.

    Raises
    ------
    ValueError
        If the variant has none.
    """
    pickup = result.pickup
    if pickup is None:
        raise ValueError(f"variant {result.variant.name!r} has no victims to draw")
    box = _close_up(pickup.pickup.section)
    width = 7.4
    height = min(2.6, width / (box[2] - box[0]) * (box[3] - box[1]))
    width = height * (box[2] - box[0]) / (box[3] - box[1])
    lines = "; lines: potential, switch node at 1 V" if pickup.potential_map is not None else ""
    figure = new_sheet(0.9 + height + 3.35, f"Pick-up: {result.variant.name}", f"section to scale{lines}")
    section = add_panel(figure, 0.6, 0.8, width, height)
    _draw_section(section, pickup, box)
    half = (SHEET_WIDTH - 1.9) / 2
    _draw_waveform(add_panel(figure, 0.7, 1.35 + height, half, 2.2), pickup)
    _draw_spectrum(add_panel(figure, 1.6 + half, 1.35 + height, half, 2.2), pickup)
    return figure


def _close_up(section: CrossSection) -> Box:
    """Loop, victims and switch node [mm]; planes are cut off at the sides."""
    boxes = [region.outline.bounds for region in section.regions]
    widest = max(right - left for left, _, right, _ in boxes)
    narrow = [box for box in boxes if box[2] - box[0] < 0.8 * widest] or boxes
    left, right = min(box[0] for box in narrow), max(box[2] for box in narrow)
    bottom, top = min(box[1] for box in boxes), max(box[3] for box in boxes)
    margin = 0.08 * (right - left)
    return (left - margin) / MM, bottom / MM - 0.6, (right + margin) / MM, top / MM + 0.9


def _draw_section(axes: Axes, pickup: PickupResult, box: Box) -> None:
    section, shown = pickup.pickup.section, pickup.pickup
    millimetre_axes(axes, box, upright=True)
    for number, dielectric in enumerate(section.dielectrics):
        left, bottom, right, top = (edge / MM for edge in dielectric.outline.bounds)
        place = (max(left, box[0]), bottom)
        patch = Rectangle(
            place, min(right, box[2]) - place[0], top - bottom, facecolor=BAND_TINTS[number % 2], linewidth=0
        )
        axes.add_patch(patch)
    if pickup.potential_map is not None:
        seen = pickup.potential_map
        draw_level_lines(axes, seen.points, seen.triangles, np.abs(seen.potential), _LEVELS)
    draw_copper(axes, section.regions)
    for number, victim in enumerate(shown.victims):
        region = section.region(victim.conductor) if victim.trace is not None else _of_group(section, victim.conductor)
        _point_out(axes, region, victim.name, line_look(number).colour)
    if shown.switch_node is not None and shown.switch_node.conductor not in {each.conductor for each in shown.victims}:
        _point_out(axes, _of_group(section, shown.switch_node.conductor), "switch node", INK)
    panel_title(axes, "victims, loop and switch node")


def _of_group(section: CrossSection, group: str) -> Region:
    return next(region for region in section.regions if region.group == group)


def _point_out(axes: Axes, region: Region, name: str, colour: str) -> None:
    left, _, right, top = region.outline.bounds
    axes.annotate(
        name,
        ((left + right) / 2 / MM, top / MM),
        (0, 16),
        textcoords="offset points",
        size=SMALL,
        ha="center",
        color=colour,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.0},
        arrowprops={"arrowstyle": "-", "color": colour, "linewidth": 0.8},
        zorder=8,
    )


def _draw_waveform(axes: Axes, pickup: PickupResult) -> None:
    """All parts at the pin round the rising edges."""
    drive = pickup.pickup.drive
    span = _EDGES_SHOWN * max(drive.rise_time, drive.voltage_rise_time)
    for number, each in enumerate(pickup.victims):
        look, signal = line_look(number), each.signal
        times = np.concatenate([signal.times - signal.times[-1], signal.times])
        chosen = (times >= -0.1 * span) & (times <= span)
        parts = (
            (signal.magnetic, "-", "magnetic"),
            *((values, (0, (6, 1.5)), name) for name, values in signal.further),
            (signal.electric, (0, (2, 1.5)), "electric"),
        )
        for values, style, part in parts:
            joined = np.concatenate([values, values])[chosen] / MILLIVOLT
            label = f"{shortened(each.victim.name, 18)}, {part}"
            axes.plot(times[chosen] * 1e9, joined, color=look.colour, linestyle=style, linewidth=1.2, label=label)
    axes.axhline(0, color=FAINT, linewidth=0.6)
    axes.set_xlabel("time from the beginning of the edges, ns")
    axes.set_ylabel("at the pin, mV")
    panel_title(axes, "rising edges; the sign between the parts depends on the run's sense")
    axes.legend(loc="best", handlelength=2.0)
    open_frame(axes)


def _draw_spectrum(axes: Axes, pickup: PickupResult) -> None:
    """The largest harmonics at the pin, band by band of equal width on the logarithmic axis."""
    highest = 0.0
    for number, each in enumerate(pickup.victims):
        look, lines = line_look(number), each.spectrum
        frequencies, amplitude = _crests(lines.frequencies, lines.total / MILLIVOLT)
        label = shortened(each.victim.name, 24)
        axes.plot(frequencies, amplitude, color=look.colour, linestyle=look.dashes, linewidth=1.2, label=label)
        highest = max(highest, float(amplitude.max()))
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_ylim(highest * _SPECTRUM_FLOOR, highest * 2)
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: numbers.frequency(value)))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.grid(True, which="major", color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.set_ylabel("harmonics at the pin, mV peak")
    panel_title(axes, "spectrum: largest harmonics, magnitudes of all parts added")
    axes.legend(loc="best", handlelength=2.0)
    open_frame(axes)


def _crests(
    frequencies: NDArray[np.float64], amplitude: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The largest value in each band, and where it stands."""
    band = np.floor(_BANDS_PER_DECADE * np.log10(frequencies / frequencies[0])).astype(int)
    chosen = np.array(
        [np.flatnonzero(band == number)[amplitude[band == number].argmax()] for number in np.unique(band)]
    )
    return frequencies[chosen], amplitude[chosen]


def _nanoseconds(value: float) -> str:
    return f"{value * 1e9:g} ns"
