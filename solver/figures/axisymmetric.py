"""Drawings of the axisymmetric view: the body cut through its axis, what its discs shield, the field on the axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator
from numpy.typing import NDArray

from geometries.quantities import MM
from geometries.section.outline import Outline, Polygon, Rectangle
from geometries.section.section import CrossSection, Region, Role, View
from solver.figures.section import BAND_TINTS, Body, body_figure, flux_caption
from solver.figures.style import (
    FAINT,
    SHEET_WIDTH,
    SMALL,
    LineLook,
    add_panel,
    line_look,
    new_sheet,
    open_frame,
    plain_number,
    shortened,
    styled,
)
from solver.notation import numbers
from solver.notation.labels import wording
from solver.section.axisymmetric_results import AxisymmetricResult
from solver.section.results import FieldMap

_TOP, _LEFT = 0.66, 0.75
_PANEL_WIDTH, _PANEL_HEIGHT, _COLUMN, _ROW = 4.0, 2.05, 4.6, 2.7
_LONGEST_NAME = 34
_SMOOTH = 121
_LEAST_DECIBELS = 2.0
_AXIS_HEIGHT = 3.4
_GRID = "#e1e4e8"


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisymmetricCurve:
    """One line of a drawing: an axisymmetric view, and the names of the variants that share it.

    Parameters
    ----------
    names : tuple of str
        Of all variants that share it.
    view : AxisymmetricResult
        What is drawn.
    surfaces : tuple of float
        Heights of the board's upper and lower surface [m].
    number : int
        Of the first of these variants in the study, so that its line looks the same in every drawing.
    """

    names: tuple[str, ...]
    view: AxisymmetricResult
    surfaces: tuple[float, float]
    number: int = 0

    @property
    def name(self) -> str:
        """All names as one."""
        return "; ".join(self.names)

    @property
    def has_discs(self) -> bool:
        """Whether there is anything besides the ring."""
        return self.view.reading is not self.view.alone


@styled
def axisymmetric_section_figure(section: CrossSection, field_map: FieldMap, title: str, frequency: float) -> Figure:
    """An axisymmetric section and its mirror image, with flux lines and current density.

    Parameters
    ----------
    section : CrossSection
        In the axisymmetric view.
    field_map : FieldMap
        Its field.
    title : str
        Headline.
    frequency : float
        At which the field was solved [Hz].
        As :func:`solver.figures.section_figure` draws a section.
    """
    body = _mirrored(section, field_map)
    caption = flux_caption(body, frequency, wording(View.AXISYMMETRIC).flux_unit)
    return body_figure(body, title, f"axisymmetric view, cut through its axis (dash-dotted); {caption}")


def _mirrored(section: CrossSection, field_map: FieldMap) -> Body:
    """The half-plane and its mirror image; a conductor that reaches the axis is one piece with its image."""
    regions = [_this_side(region) for region in section.regions]
    image = np.arange(len(regions))
    for number, region in enumerate(section.regions):
        if not _reaches_axis(region):
            image[number] = len(regions)
            regions.append(replace(region, outline=_mirror(region.outline)))
    owner = np.where(field_map.regions >= 0, image[field_map.regions], -1)
    both = replace(
        field_map,
        points=np.vstack([field_map.points, field_map.points * (-1, 1)]),
        triangles=np.vstack([field_map.triangles, field_map.triangles[:, ::-1] + len(field_map.points)]),
        regions=np.concatenate([field_map.regions, owner]),
        potential=np.tile(field_map.potential, 2),
        density=np.tile(field_map.density, 2),
    )
    return Body(
        regions=tuple(regions),
        bands=section.bands,
        field_map=both,
        directions=((Role.GO, "⊙ "), (Role.RETURN, "⊗ "), (Role.FLOATING, "")),
        gap="ø ",
        axis=0.0,
    )


def _this_side(region: Region) -> Region:
    """At r > 0 the current of the ring, along phi, goes into the paper."""
    if _reaches_axis(region):
        _, bottom, right, top = region.outline.bounds
        return replace(region, outline=Rectangle(left=-right, right=right, bottom=bottom, top=top))
    return replace(region, role=Role.RETURN) if region.role is Role.GO else region


def _reaches_axis(region: Region) -> bool:
    return region.outline.bounds[0] == 0


def _mirror(outline: Outline) -> Outline:
    if isinstance(outline, Rectangle):
        return replace(outline, left=-outline.right, right=-outline.left)
    if isinstance(outline, Polygon):
        return Polygon(vertices=tuple((-x, y) for x, y in reversed(outline.vertices)))
    x, y = outline.centre
    return replace(outline, centre=(-x, y))


@styled
def shielding_figure(curves: Sequence[AxisymmetricCurve]) -> Figure:
    """What discs take off inductance, field above, field below and moment of the ring alone, over frequency.

    Parameters
    ----------
    curves : sequence of RoundCurve
        Axisymmetric views with discs, at least one.
        Four panels; marks on the lower edge and dotted lines show the frequency below which discs are transparent.

    Raises
    ------
    ValueError
        If there is none.
    """
    if not curves:
        raise ValueError("no axisymmetric view has discs whose shielding could be drawn")
    legend = _legend_height(len(curves))
    top = _TOP + legend + 0.15
    figure = new_sheet(
        top + 2 * _ROW,
        "What the discs take off the ring alone",
        "axisymmetric view; marks on the lower edge: shielding corner frequency (half of their effect on inductance)",
    )
    quantities = ("inductance", "moment along the axis", "peak |H| above the board", "peak |H| below the board")
    for number, quantity in enumerate(quantities):
        place = (_LEFT + _COLUMN * (number % 2), top + _ROW * (number // 2))
        axes = add_panel(figure, *place, _PANEL_WIDTH, _PANEL_HEIGHT)
        for curve in curves:
            _draw_shielding(axes, curve, number, line_look(curve.number))
        _finish_shielding(axes, curves, quantity)
    _add_legend(figure)
    return figure


def _draw_shielding(axes: Axes, curve: AxisymmetricCurve, number: int, look: LineLook) -> None:
    view = curve.view
    values = (view.inductance_db, view.moment_db, view.above_db, view.below_db)[number]
    frequencies, smooth = (view.frequencies, values) if number else _smooth_inductance(view)
    style = {"color": look.colour, "linestyle": look.dashes, "linewidth": 1.4}
    axes.plot(view.frequencies, values, look.marker, color=look.colour, markersize=4)
    axes.plot(frequencies, smooth, label="_", **style)
    axes.plot([], [], marker=look.marker, markersize=4, label=shortened(curve.name, _LONGEST_NAME), **style)
    if view.corner is not None:
        axes.axvline(view.corner, color=look.colour, linewidth=0.7, linestyle=(0, (1, 2)))
        edge = axes.get_xaxis_transform()
        axes.plot([view.corner], [0], look.marker, color=look.colour, mfc="white", ms=6, transform=edge, clip_on=False)


def _smooth_inductance(view: AxisymmetricResult) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Inductance against the ring alone over the band of both models [dB]."""
    models = view.reading.impedance.broadband, view.alone.impedance.broadband
    low = min(view.frequencies[0], view.corner or np.inf)
    frequencies = np.geomspace(max(low, *(model.band[0] for model in models)), view.frequencies[-1], _SMOOTH)
    values = [[model.impedance(float(each))[0, 0].imag for each in frequencies] for model in models]
    return frequencies, np.asarray(20 * np.log10(np.array(values[0]) / np.array(values[1])))


def _finish_shielding(axes: Axes, curves: Sequence[AxisymmetricCurve], quantity: str) -> None:
    axes.set_xscale("log")
    corners = [curve.view.corner for curve in curves if curve.view.corner is not None]
    lowest = min([*corners, *(curve.view.frequencies[0] for curve in curves)])
    highest = max(curve.view.frequencies[-1] for curve in curves)
    axes.set_xlim(lowest / 1.3, highest * 1.3)
    axes.xaxis.set_major_locator(LogLocator(numticks=12))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: numbers.frequency(value)))
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, high - _LEAST_DECIBELS), high)
    axes.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.set_title(f"{quantity}, dB", size=SMALL, pad=4)
    axes.grid(True, color=_GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)


@styled
def axis_figure(curves: Sequence[AxisymmetricCurve], frequency: float) -> Figure:
    """Field strength on the axis, with discs and of the ring alone.

    Parameters
    ----------
    curves : sequence of RoundCurve
        At least one axisymmetric view.
    frequency : float
        At which the field was solved [Hz].
    """
    rings = _rings_alone(curves)
    shown = [curve for curve in curves if curve.has_discs]
    legend = _legend_height(len(shown) + len(rings))
    top = _TOP + legend + 0.1
    figure = new_sheet(
        top + _AXIS_HEIGHT + 0.6,
        f"Field strength on the axis at {numbers.frequency(frequency)}",
        "axisymmetric view; |H_z| per ampere of loop current, A/m per A; tinted: the board of the first variant",
    )
    axes = add_panel(figure, _LEFT, top, SHEET_WIDTH - _LEFT - 0.35, _AXIS_HEIGHT)
    upper, lower = curves[0].surfaces
    axes.axvspan(lower / MM, upper / MM, color=BAND_TINTS[1], linewidth=0, zorder=0)
    for number, (name, curve) in enumerate(rings):
        dashes = ("-", (0, (3, 1)), (0, (1, 1)))[number % 3]
        height, strength = curve.view.alone.axis / MM, np.abs(curve.view.alone.axis_field)
        axes.plot(height, strength, color=FAINT, linewidth=2.6, linestyle=dashes, label=name)
    for curve in shown:
        look, reading = line_look(curve.number), curve.view.reading
        name = shortened(curve.name, _LONGEST_NAME)
        line = axes.plot(reading.axis / MM, np.abs(reading.axis_field), color=look.colour, linewidth=1.4, label=name)[0]
        line.set(linestyle=look.dashes, marker=look.marker, markersize=3.6, markevery=12)
    axes.set_yscale("log")
    axes.set_xlabel("height z, mm")
    axes.xaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.grid(True, color=_GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)
    _add_legend(figure)
    return figure


def _rings_alone(curves: Sequence[AxisymmetricCurve]) -> list[tuple[str, AxisymmetricCurve]]:
    """Every different ring once, named by its radius if there are several."""
    found: dict[object, AxisymmetricCurve] = {}
    for curve in curves:
        section = curve.view.loop.section
        driven = tuple(region.outline for region in section.regions if region.group in section.voltage_groups)
        found.setdefault(driven, curve)
    if len(found) == 1:
        return [("ring alone", next(iter(found.values())))]
    return [(f"ring alone, radius {numbers.length(curve.view.loop.radius)}", curve) for curve in found.values()]


def _legend_height(entries: int) -> float:
    return 0.2 * -(-entries // 3)


def _add_legend(figure: Figure) -> None:
    handles, labels = figure.axes[0].get_legend_handles_labels()
    anchor = (0.6 / SHEET_WIDTH, 1 - 0.52 / figure.get_figheight())
    figure.legend(handles, labels, loc="upper left", bbox_to_anchor=anchor, ncols=3, handlelength=3.4, borderpad=0)
