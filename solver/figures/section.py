"""The cross-section of one variant: whole board, loop in close-up, and copper with its height stretched."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path as DrawnPath
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator
from matplotlib.tri import Triangulation
from numpy.typing import NDArray
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.geometry.base import BaseGeometry

from geometries.quantities import MM
from geometries.section.outline import Circle, Outline, Ring
from geometries.section.section import DielectricBand, Region, Role
from solver.figures.style import (
    COPPER,
    FAINT,
    INK,
    SHEET_WIDTH,
    SMALL,
    add_panel,
    keep_apart,
    leader_label,
    new_sheet,
    nice_step,
    open_frame,
    plain_number,
    shortened,
    styled,
    text_width,
)
from solver.notation import numbers
from solver.notation.labels import wording
from solver.section.results import FieldMap
from solver.variant.results import VariantResult

Box = tuple[float, float, float, float]

BAND_TINTS = ("#e6ebe3", "#d9e1dc")
"""Fills of neighbouring dielectrics."""

_LEFT, _TOP, _RIGHT = 0.62, 0.78, 2.6
_PANEL_WIDTH = SHEET_WIDTH - _LEFT - _RIGHT
_COLOURS = "magma_r"
_DECADES = 3
_FLUX_LINES = 28
_COMPACT = 3.0
"""A conductor wider than so many times the go copper does not belong to the close-up."""

_SIDE_MARGIN, _UPPER_MARGIN, _LOWER_MARGIN, _DIMENSIONED_MARGIN = 0.3, 0.26, 0.07, 0.13
"""Margins of the close-up as fractions of the loop's width; the last one below, if dimensions stand there."""

_TALLEST = 0.72
"""Greatest height of the board as a fraction of the loop's width; a higher board gets wider margins."""

_THINNEST_READABLE = 0.12
"""Copper drawn thinner than this [in] gets a stretched strip of its own."""

_STRIP_HEIGHT, _STRIP_GAP = 0.34, 0.1
_MOST_STRIPS = 8
_LABEL_SPACING = 0.165
_LEADER = 0.2
_AXIS_DASHES = (0, (8, 2, 1.5, 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """What a sheet shows: conductors, dielectrics, and the field in and between them.

    Parameters
    ----------
    regions : tuple of Region
        Conductors; indices of the field map refer to them.
    bands : tuple of DielectricBand
        Dielectrics, drawn across the whole board.
    field_map : FieldMap
        Its flux lines are the contours of the potential's real part.
    directions : tuple of (Role, str)
        What stands before the width of a conductor of this role.
    gap : str
        What stands before the distance of two conductors side by side.
    axis : float, optional
        Where an axis of rotation lies [m].
    """

    regions: tuple[Region, ...]
    bands: tuple[DielectricBand, ...]
    field_map: FieldMap
    directions: tuple[tuple[Role, str], ...] = ((Role.GO, "go ⊙ "), (Role.RETURN, "return ⊗ "))
    gap: str = ""
    axis: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    """What the panels of one sheet share: lengths in mm from here on."""

    body: Body
    close_up: Box
    norm: LogNorm

    @property
    def inches_per_millimetre(self) -> float:
        return _PANEL_WIDTH / (self.close_up[2] - self.close_up[0])

    @property
    def close_up_height(self) -> float:
        return (self.close_up[3] - self.close_up[1]) * self.inches_per_millimetre

    @property
    def levels(self) -> list[list[Region]]:
        """Conductors seen in the close-up, from top to bottom, those at one height together."""
        seen: dict[tuple[float, float], list[Region]] = {}
        for region in self.body.regions:
            left, bottom, right, top = _box(region)
            if right > self.close_up[0] and left < self.close_up[2]:
                seen.setdefault((round(bottom, 6), round(top, 6)), []).append(region)
        return [seen[key] for key in sorted(seen, reverse=True)]

    @property
    def strips(self) -> list[list[Region]]:
        """Levels too thin to be read to scale."""
        limit = _THINNEST_READABLE / self.inches_per_millimetre
        return [level for level in self.levels if _thickness(level[0]) < limit][:_MOST_STRIPS]

    @property
    def stretch(self) -> float:
        """By how much the strips are higher than the close-up."""
        thickest = max(_thickness(level[0]) for level in self.strips)
        return nice_step(_STRIP_HEIGHT / (thickest * self.inches_per_millimetre))


@styled
def section_figure(result: VariantResult) -> Figure:
    """Draw the cross-section of a variant with flux lines and current density at the report frequency.

    Parameters
    ----------
    result : VariantResult
        A solved variant.
        From top to bottom: the whole board to scale where it is much wider than the loop; the loop to scale
        with dimensions, dielectrics and flux lines; every thin copper layer once more, its height stretched.
    """
    section = result.variant.own_section
    body = Body(regions=section.regions, bands=section.bands, field_map=result.sampled_field)
    frequency = float(result.frequencies[result.report_index])
    return body_figure(body, result.variant.name, flux_caption(body, frequency, wording(section.view).flux_unit))


def body_figure(body: Body, title: str, caption: str) -> Figure:
    """A sheet with the whole board, the close-up, and the thin copper stretched; see :func:`section_figure`."""
    scene = _Scene(body=body, close_up=_close_up(body), norm=_norm(body.field_map))
    wide = _overview_width(scene) > 1.3 * (scene.close_up[2] - scene.close_up[0])
    overview = _overview_height(scene) + 0.42 if wide else 0.0
    strips = sum(_strip_height(scene, level) + _STRIP_GAP for level in scene.strips)
    below = strips + 0.42 if strips else 0.0
    top = _TOP
    height = top + overview + scene.close_up_height + 0.4 + below + 0.62
    figure = new_sheet(height, title, caption)
    if wide:
        _draw_overview(add_panel(figure, _LEFT, top, _PANEL_WIDTH, overview - 0.42), scene)
        top += overview
    _draw_close_up(add_panel(figure, _LEFT, top, _PANEL_WIDTH, scene.close_up_height), scene)
    top += scene.close_up_height + 0.4
    if strips:
        _draw_strips(figure, top, scene)
        top += below
    _draw_colour_bar(figure, top, scene)
    return figure


def flux_caption(body: Body, frequency: float, unit: str) -> str:
    """Frequency, scale of all values, and the flux between two flux lines."""
    step = float(np.ptp(body.field_map.potential.real)) / (_FLUX_LINES + 1)
    return (
        f"{numbers.frequency(frequency)}, peak values for a loop current of 1 A in phase. Between "
        f"neighbouring flux lines "
        f"pass {numbers.significant(step * 1e9, 2)} {unit}."
    )


def _box(region: Region) -> Box:
    left, bottom, right, top = region.outline.bounds
    return left / MM, bottom / MM, right / MM, top / MM


def _thickness(region: Region) -> float:
    _, bottom, _, top = _box(region)
    return top - bottom


def _loop_regions(body: Body) -> list[Region]:
    """The go copper, the return beside it, and all conductors not much wider than it."""
    go = [_box(region) for region in body.regions if region.role is Role.GO]
    if not go:
        return list(body.regions)
    left, bottom, right, top = _joined(go)
    return [
        region
        for region in body.regions
        if _box(region)[2] - _box(region)[0] <= _COMPACT * (right - left)
        or (region.role is Role.RETURN and bottom <= sum(_box(region)[1::2]) / 2 <= top)
    ]


def _joined(boxes: Iterable[Box]) -> Box:
    left, bottom, right, top = zip(*boxes, strict=True)
    return min(left), min(bottom), max(right), max(top)


def _board(body: Body) -> Box:
    """Conductors and dielectrics together."""
    left, bottom, right, top = _joined(_box(region) for region in body.regions)
    bands = body.bands
    return (
        left,
        min([bottom, *(band.bottom / MM for band in bands)]),
        right,
        max([top, *(band.top / MM for band in bands)]),
    )


def _close_up(body: Body) -> Box:
    loop = _loop_regions(body)
    left, _, right, _ = _joined(_box(region) for region in loop)
    _, bottom, _, top = _board(body)
    width = max(right - left, (top - bottom) / _TALLEST)
    side, middle = (0.5 + _SIDE_MARGIN) * width, (left + right) / 2
    lower = _DIMENSIONED_MARGIN if _split_by_height(loop)[1] else _LOWER_MARGIN
    return middle - side, bottom - lower * width, middle + side, top + _UPPER_MARGIN * width


def _norm(field_map: FieldMap) -> LogNorm:
    inside = np.unique(field_map.triangles[field_map.regions >= 0])
    highest = float(np.abs(field_map.density[inside]).max()) * MM**2 if len(inside) else 1.0
    return LogNorm(vmin=highest / 10**_DECADES, vmax=highest, clip=True)


def _outline_path(shape: BaseGeometry) -> DrawnPath:
    """Outline of a conductor in mm, with its hole if it has one."""
    if not isinstance(shape, ShapelyPolygon):
        raise TypeError(f"a conductor's outline is a polygon, not a {shape.geom_type}")
    rings = [DrawnPath(np.asarray(ring.coords) / MM, closed=True) for ring in (shape.exterior, *shape.interiors)]
    return DrawnPath.make_compound_path(*rings)


def _draw_bands(axes: Axes, bands: tuple[DielectricBand, ...], left: float, right: float) -> None:
    if not bands:
        return
    floor, ceiling = min(band.bottom for band in bands) / MM, max(band.top for band in bands) / MM
    axes.add_patch(Rectangle((left, floor), right - left, ceiling - floor, facecolor=BAND_TINTS[0], linewidth=0))
    for index, band in enumerate(bands):
        corner, height = (left, band.bottom / MM), (band.top - band.bottom) / MM
        axes.add_patch(Rectangle(corner, right - left, height, facecolor=BAND_TINTS[index % 2], linewidth=0))


def draw_copper(axes: Axes, regions: Iterable[Region], *, fill: str = COPPER, edge: float = 0.5) -> None:
    """Conductors to scale, in mm."""
    for region in regions:
        path = _outline_path(region.outline.shape)
        axes.add_patch(PathPatch(path, facecolor=fill, edgecolor=INK, linewidth=edge, zorder=3))


def _draw_density(axes: Axes, scene: _Scene, regions: Iterable[Region]) -> None:
    field_map = scene.body.field_map
    wanted = np.isin(field_map.regions, [scene.body.regions.index(region) for region in regions])
    if not wanted.any():
        return
    used, triangles = np.unique(field_map.triangles[wanted], return_inverse=True)
    points, density = field_map.points[used] / MM, np.abs(field_map.density[used]) * MM**2
    axes.tripcolor(
        Triangulation(points[:, 0], points[:, 1], triangles.reshape(-1, 3)),
        density,
        shading="gouraud",
        cmap=_COLOURS,
        norm=scene.norm,
        rasterized=True,
        zorder=4,
    )


def _draw_outlines(axes: Axes, regions: Iterable[Region], width: float) -> None:
    for region in regions:
        path = _outline_path(region.outline.shape)
        axes.add_patch(PathPatch(path, facecolor="none", edgecolor=INK, linewidth=width, zorder=5))


def _draw_flux_lines(axes: Axes, field_map: FieldMap) -> None:
    """Contours of the real part of A."""
    potential = field_map.potential.real
    levels = np.linspace(potential.min(), potential.max(), _FLUX_LINES + 2)[1:-1]
    draw_level_lines(axes, field_map.points, field_map.triangles, potential, levels)


def draw_level_lines(
    axes: Axes,
    points: NDArray[np.float64],
    triangles: NDArray[np.int64],
    values: NDArray[np.float64],
    levels: NDArray[np.float64],
) -> None:
    """Lines of equal value on triangles, in mm; points that occur once per triangle are joined first."""
    grid = max(float(np.abs(points).max()), 1e-12) * 1e-9
    _, first, joined = np.unique(
        np.round(points / grid).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    points, values = points[first] / MM, values[first]
    triangles = joined.ravel()[triangles]
    triangles = triangles[_has_area(points, triangles)]
    contours = axes.tricontour(Triangulation(points[:, 0], points[:, 1], triangles), values, levels=levels)
    contours.remove()
    for segment in (piece for level in contours.allsegs for piece in level):
        # drawn as single lines, because the writer thins the points of lines but not those of contour sets
        axes.plot(segment[:, 0], segment[:, 1], color="#3f5f7f", linewidth=0.6, zorder=2)


def _has_area(points: NDArray[np.float64], triangles: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which triangles are left with three corners after joining."""
    a, b, c = triangles.T
    return np.asarray((a != b) & (b != c) & (c != a) & (points[a] != points[b]).any(axis=1))


def _fit(axes: Axes, box: Box) -> None:
    axes.set_xlim(box[0], box[2])
    axes.set_ylim(box[1], box[3])


def millimetre_axes(axes: Axes, box: Box, *, upright: bool) -> None:
    """Axes in mm round a box (left, bottom, right, top) [mm]."""
    _fit(axes, box)
    axes.xaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.yaxis.set_major_formatter(FuncFormatter(plain_number))
    axes.yaxis.set_major_locator(MaxNLocator(5 if upright else 2, steps=[1, 2, 5, 10]))
    axes.tick_params(length=2.5, pad=2)
    axes.annotate("mm", (1, 0), (4, -4), xycoords="axes fraction", textcoords="offset points", size=SMALL, va="top")


def panel_title(axes: Axes, words: str) -> None:
    """A small line over a panel."""
    axes.annotate(words, (0, 1), (0, 3), xycoords="axes fraction", textcoords="offset points", size=SMALL, va="bottom")


def _overview_width(scene: _Scene) -> float:
    left, _, right, _ = _board(scene.body)
    return right - left


def _overview_box(scene: _Scene) -> Box:
    left, bottom, right, top = _board(scene.body)
    side, edge = 0.02 * (right - left), 0.012 * (right - left)
    return left - side, bottom - edge, right + side, top + edge


def _overview_height(scene: _Scene) -> float:
    left, bottom, right, top = _overview_box(scene)
    return _PANEL_WIDTH / (right - left) * (top - bottom)


def _draw_overview(axes: Axes, scene: _Scene) -> None:
    box = _overview_box(scene)
    millimetre_axes(axes, box, upright=False)
    left, _, right, _ = _board(scene.body)
    _draw_bands(axes, scene.body.bands, left, right)
    draw_copper(axes, scene.body.regions, fill=INK, edge=0.8)
    open_frame(axes, keep=("bottom",))
    axes.set_yticks([])
    panel_title(axes, "whole board, to scale; thin copper drawn 0.8 pt thick")
    seen = scene.close_up
    start, stop = max(seen[0], box[0]), min(seen[2], box[2])
    frame = Rectangle((start, box[1]), stop - start, box[3] - box[1], facecolor="none", edgecolor=INK)
    frame.set(linewidth=0.8, linestyle=(0, (3, 2)), zorder=6, clip_on=False)
    axes.add_patch(frame)


def _draw_close_up(axes: Axes, scene: _Scene) -> None:
    box = scene.close_up
    millimetre_axes(axes, box, upright=True)
    _draw_bands(axes, scene.body.bands, box[0], box[2])
    _draw_flux_lines(axes, scene.body.field_map)
    if scene.body.axis is not None:
        axes.axvline(scene.body.axis / MM, color=INK, linewidth=0.7, linestyle=_AXIS_DASHES, zorder=6)
    shown = [region for level in scene.levels for region in level]
    draw_copper(axes, shown)
    _draw_density(axes, scene, shown)
    _draw_outlines(axes, shown, 0.35)
    panel_title(axes, "round the loop, to scale, with flux lines")
    _draw_dimensions(axes, scene)
    _draw_layer_labels(axes, scene)


def _draw_layer_labels(axes: Axes, scene: _Scene) -> None:
    """Name, thickness and permittivity of every layer in the right margin, kept apart, with leaders."""
    places = [((band.bottom + band.top) / 2 / MM, _band_label(band)) for band in scene.body.bands]
    places += [(sum(_box(level[0])[1::2]) / 2, _level_label(level)) for level in scene.levels]
    places.sort()
    wanted = np.array([height for height, _ in places]) * scene.inches_per_millimetre
    low, high = (limit * scene.inches_per_millimetre for limit in (scene.close_up[1], scene.close_up[3]))
    apart = keep_apart(wanted, _LABEL_SPACING, low, high) / scene.inches_per_millimetre
    for (height, words), placed in zip(places, apart, strict=True):
        leader_label(axes, words, (1.0, height), (1 + _LEADER / _PANEL_WIDTH, placed))


def _band_label(band: DielectricBand) -> str:
    thickness = numbers.length(band.top - band.bottom)
    return f"{shortened(band.name, 20)}, {thickness}, εr {band.relative_permittivity:g}"


def _level_label(level: list[Region]) -> str:
    names = shortened(", ".join(dict.fromkeys(region.name for region in level)), 26)
    return f"{names}: {_size(level[0].outline)}"


def _size(outline: Outline) -> str:
    """Thickness, or the diameter of what is round."""
    if isinstance(outline, Circle):
        return f"ø {numbers.length(2 * outline.radius)}"
    if isinstance(outline, Ring):
        return f"ø {numbers.length(2 * outline.inner_radius)} to {numbers.length(2 * outline.outer_radius)}"
    return numbers.length(outline.bounds[3] - outline.bounds[1])


def _draw_dimensions(axes: Axes, scene: _Scene) -> None:
    row = 0.22 / scene.inches_per_millimetre
    upper, lower = _split_by_height(_loop_regions(scene.body))
    top, bottom = _board(scene.body)[3], _board(scene.body)[1]
    _draw_spans(axes, scene, _spans(upper, scene.body), base=max(_box(region)[3] for region in upper), line=top + row)
    if lower:
        _draw_spans(
            axes, scene, _spans(lower, scene.body), base=min(_box(region)[1] for region in lower), line=bottom - row
        )
    _draw_height(axes, scene)


def _split_by_height(regions: list[Region]) -> tuple[list[Region], list[Region]]:
    """Conductors dimensioned above (those that start highest) and below the board."""
    highest = max(_box(region)[1] for region in regions)
    upper = [region for region in regions if _box(region)[1] >= highest - 1e-6]
    return upper, [region for region in regions if region not in upper]


def _spans(regions: list[Region], body: Body) -> list[tuple[float, float, str]]:
    """Widths of conductors side by side, and of the gaps between them: (left, right, prefix)."""
    spans: list[tuple[float, float, str]] = []
    for region in sorted(regions, key=lambda each: _box(each)[0]):
        left, _, right, _ = _box(region)
        if spans and left < spans[-1][1]:
            continue
        if spans:
            spans.append((spans[-1][1], left, body.gap))
        spans.append((left, right, dict(body.directions).get(region.role, f"{region.role.value} ")))
    return spans


def _draw_spans(axes: Axes, scene: _Scene, spans: list[tuple[float, float, str]], *, base: float, line: float) -> None:
    away = 1 if line > base else -1
    words = [f"{prefix}{numbers.length((right - left) * MM)}" for left, right, prefix in spans]
    rows = _rows([(left + right) / 2 * scene.inches_per_millimetre for left, right, _ in spans], words)
    for (left, right, _), label, row in zip(spans, words, rows, strict=True):
        for x in (left, right):
            axes.plot([x, x], [base, line], color=FAINT, linewidth=0.5, zorder=6)
        _draw_ticked_line(axes, (left, line), (right, line))
        place, offset = ((left + right) / 2, line), (0, away * (3 + 12 * row))
        note = axes.annotate(label, place, offset, textcoords="offset points", size=SMALL, ha="center")
        note.set(va="bottom" if away > 0 else "top", bbox=_PAPER, zorder=7)


def _rows(middles: list[float], words: list[str]) -> list[int]:
    """In which row each text [in] stands, the nearest in which it does not meet the one before it."""
    rows: list[int] = []
    ends: list[float] = []
    for middle, label in zip(middles, words, strict=True):
        half = text_width(label, SMALL) / 2 + 0.04
        row = next((number for number, end in enumerate(ends) if middle - half > end), len(ends))
        ends[row : row + 1] = [middle + half]
        rows.append(row)
    return rows


_PAPER = {"boxstyle": "square,pad=0.12", "facecolor": "white", "edgecolor": "none", "alpha": 0.85}


def _draw_ticked_line(axes: Axes, start: tuple[float, float], stop: tuple[float, float]) -> None:
    look = {
        "arrowstyle": "|-|,widthA=0.22,widthB=0.22",
        "color": INK,
        "linewidth": 0.8,
        "shrinkA": 0,
        "shrinkB": 0,
    }
    axes.annotate("", stop, start, arrowprops=look, zorder=7)


def _draw_height(axes: Axes, scene: _Scene) -> None:
    """Distance from the underside of the go copper to the next conductor under it."""
    go = max((r for r in scene.body.regions if r.role is Role.GO), key=lambda r: _box(r)[1], default=None)
    if go is None:
        return
    left, bottom, right, _ = _box(go)
    under = [
        _box(region)[3]
        for region in scene.body.regions
        if _box(region)[3] < bottom and _box(region)[0] < right and _box(region)[2] > left
    ]
    if not under:
        return
    loop_left = min(_box(region)[0] for region in _loop_regions(scene.body))
    x = loop_left - 0.16 / scene.inches_per_millimetre
    axes.plot([x, left], [bottom, bottom], color=FAINT, linewidth=0.5, zorder=6)
    axes.plot([x, left], [max(under), max(under)], color=FAINT, linewidth=0.5, zorder=6)
    _draw_ticked_line(axes, (x, bottom), (x, max(under)))
    words = f"height {numbers.length((bottom - max(under)) * MM)}"
    note = axes.annotate(words, (x, (bottom + max(under)) / 2), (-5, 0), textcoords="offset points", size=SMALL)
    note.set(ha="right", va="center", bbox=_PAPER, zorder=7)


def _strip_height(scene: _Scene, level: list[Region]) -> float:
    return _thickness(level[0]) * scene.inches_per_millimetre * scene.stretch


def _draw_strips(figure: Figure, top: float, scene: _Scene) -> None:
    top += 0.2
    for number, level in enumerate(scene.strips):
        height = _strip_height(scene, level)
        axes = add_panel(figure, _LEFT, top, _PANEL_WIDTH, height)
        _, bottom, _, upper = _joined(_box(region) for region in level)
        _fit(axes, (scene.close_up[0], bottom, scene.close_up[2], upper))
        axes.set_xticks([])
        axes.set_yticks([])
        open_frame(axes, keep=())
        draw_copper(axes, level)
        _draw_density(axes, scene, level)
        _draw_outlines(axes, level, 0.6)
        if number == 0:
            panel_title(axes, f"copper only, height stretched × {scene.stretch:g}; distances between layers left out")
        middle = (bottom + upper) / 2
        leader_label(axes, _level_label(level), (1.0, middle), (1 + _LEADER / _PANEL_WIDTH, middle))
        top += height + _STRIP_GAP


def _draw_colour_bar(figure: Figure, top: float, scene: _Scene) -> None:
    axes = add_panel(figure, _LEFT, top, _PANEL_WIDTH, 0.11)
    bar = figure.colorbar(ScalarMappable(norm=scene.norm, cmap=_COLOURS), cax=axes, orientation="horizontal")
    bar.ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0), numticks=40))
    bar.ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    bar.ax.minorticks_off()
    bar.outline.set_linewidth(0.5)
    bar.set_label(
        "current density |J|, A/mm² per ampere of loop current, log scale; weaker: lightest colour",
        size=SMALL,
    )
