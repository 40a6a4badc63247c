"""A scenario as it is described, before anything is solved: its sections, and from above what lies along a loop."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from geometries.layout.laid_out import LaidOutLoop
from geometries.quantities import MM
from geometries.section.section import CrossSection, Role, View
from geometries.study.scenario import Scenario, Variant, whole_section
from solver.figures.plan import draw_layout, name_ports
from solver.figures.section import BAND_TINTS, draw_copper, millimetre_axes, panel_title
from solver.figures.style import (
    COPPER,
    FAINT,
    INK,
    POINTS_PER_INCH,
    SMALL,
    add_panel,
    new_sheet,
    shortened,
    styled,
)

_LEFT, _WIDTH, _RIGHT, _TOP, _GAP = 0.5, 7.0, 0.5, 0.75, 0.55
_MARGIN = 0.15
_COMPACT = 4.0
"""Wider copper than so many times the driven one is a plane."""

_LOWEST, _HIGHEST = 0.25, 2.2
_MOST = 12
"""Variants that one sheet holds."""

_ABOVE, _ABOVE_TOP = 2.0, 0.35
"""Height of a view from above, and room over it for the names of its stretches [in]."""

_LETTER = 0.6
"""Width of a letter over its size, at most."""

_MIDDLE = (0, (6, 2, 1, 2))
"""Dashes of a middle line."""

_NAMES = 0.35
"""Room for the names of ports beside a layout, in its widths."""

_OTHER_COPPER = "#ead9c6"
"""Planes and floating copper seen from above, under the loop's own."""

Box = tuple[float, float, float, float]


@styled
def described_figure(scenario: Scenario) -> Figure:
    """Draw the copper and the dielectrics of every variant's section to scale, round its loop.

    A loop of several sections is drawn from above too: what lies where along it.

    Parameters
    ----------
    scenario : Scenario
        Read, not solved; the first twelve variants are drawn.
    """
    drawn = scenario.variants[:_MOST]
    boxes = [_room(variant) for variant in drawn]
    heights = [min(max(_WIDTH * (box[3] - box[1]) / (box[2] - box[0]), _LOWEST), _HIGHEST) for box in boxes]
    above = [_ABOVE_TOP + _ABOVE if variant.stretches else 0.0 for variant in drawn]
    left_out = len(scenario.variants) - len(drawn)
    subtitle = "sections as described, to scale round the loop; x = 0 is the middle of the loop"
    subtitle += "; layouts from above" if any(variant.laid_out for variant in drawn) else ""
    subtitle += f"; {left_out} more not drawn" if left_out else ""
    total = _TOP + sum(heights) + sum(above) + _GAP * (len(drawn) + sum(map(bool, above)))
    figure = new_sheet(total, scenario.title, subtitle, width=_LEFT + _WIDTH + _RIGHT)
    top = _TOP
    for variant, box, height, room in zip(drawn, boxes, heights, above, strict=True):
        _draw(add_panel(figure, _LEFT, top, _WIDTH, height), variant, _to_scale(box, height))
        top += height + _GAP
        if room:
            _draw_from_above(add_panel(figure, _LEFT, top + _ABOVE_TOP, _WIDTH, _ABOVE), variant)
            top += room + _GAP
    return figure


@styled
def stretches_figure(variant: Variant) -> Figure:
    """Draw a loop of several sections from above: every stretch in its place along it.

    Parameters
    ----------
    variant : Variant
        With stretches.
    """
    subtitle = "from above, along and across to scales of their own; along the loop from its capacitor end"
    figure = new_sheet(_TOP + _ABOVE_TOP + _ABOVE + _GAP, variant.name, subtitle, width=_LEFT + _WIDTH + _RIGHT)
    _draw_from_above(add_panel(figure, _LEFT, _TOP + _ABOVE_TOP, _WIDTH, _ABOVE), variant)
    return figure


def _draw_from_above(axes: Axes, variant: Variant) -> None:
    """The loop's own copper, and round it that of planes; what lies under other copper is dashed."""
    boxes = [_box(stretch.section) for stretch in variant.stretches]
    box = 0.0, min(each[0] for each in boxes), variant.whole_length / MM, max(each[2] for each in boxes)
    for stretch in variant.stretches:
        start, length = (stretch.start or 0.0) / MM, stretch.length / MM
        for region in sorted(stretch.section.regions, key=lambda each: each.outline.bounds[3]):
            left, _, right, _ = (edge / MM for edge in region.outline.bounds)
            own = region.role in (Role.GO, Role.RETURN)
            fill = COPPER if own else _OTHER_COPPER
            for face, line, order in ((fill, "-", 1), ("none", (0, (4, 3)), 3)):
                axes.add_patch(
                    Rectangle(
                        (start, left),
                        length,
                        right - left,
                        facecolor=face,
                        edgecolor=INK,
                        linewidth=0.5,
                        linestyle=line,
                        zorder=order,
                    )
                )
        axes.annotate(
            f"{shortened(stretch.name, _letters(length / box[2]))}\n{length:.4g} mm",
            (start + length / 2, box[3]),
            (0, 3),
            textcoords="offset points",
            ha="center",
            size=SMALL,
        )
    axes.axhline(0, color=FAINT, linewidth=0.7, linestyle=_MIDDLE)
    axes.annotate("x = 0", (1, 0), (4, -3), ("axes fraction", "data"), textcoords="offset points", size=SMALL)
    millimetre_axes(axes, box, upright=True)


def _letters(part: float) -> int:
    """Letters that fit over a part of the panel's width."""
    return max(4, int(part * _WIDTH * POINTS_PER_INCH / (_LETTER * SMALL)))


def _box(section: CrossSection) -> Box:
    """Round the copper that is not much wider than the driven one, over the height of the board [mm]."""
    bounds = [region.outline.bounds for region in section.regions]
    widest = max((box[2] - box[0] for box in _of_role(section, Role.GO)), default=0.0)
    loop = [box for box in bounds if box[2] - box[0] <= _COMPACT * widest] or bounds
    left, right = min(box[0] for box in loop) / MM, max(box[2] for box in loop) / MM
    bands = section.bands
    bottom = min([*(box[1] for box in bounds), *(band.bottom for band in bands)]) / MM
    top = max([*(box[3] for box in bounds), *(band.top for band in bands)]) / MM
    edge = _MARGIN * max(right - left, top - bottom)
    return left - 2 * edge, bottom - edge, right + 2 * edge, top + edge


def _to_scale(box: Box, height: float) -> Box:
    """The box enlarged to the shape of its panel, of which the height is given [in]."""
    left, bottom, right, top = box
    wide = max(right - left, (top - bottom) * _WIDTH / height)
    tall = wide * height / _WIDTH
    x, y = (left + right) / 2, (bottom + top) / 2
    return x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2


def _of_role(section: CrossSection, role: Role) -> list[Box]:
    return [region.outline.bounds for region in section.regions if region.role is role]


def _room(variant: Variant) -> Box:
    """What is drawn of a variant [mm]."""
    section = whole_section(variant)
    if section is not None:
        return _box(section)
    left, bottom, right, top = (edge / MM for edge in _laid_out(variant).bounds)
    margin = _MARGIN * (right - left)
    names = _NAMES * (right - left)
    return left - margin, bottom - margin, right + margin + names, top + margin


def _beside(variant: Variant, box: Box) -> float:
    """Where names stand beside a layout, as a fraction of the panel's width."""
    left, _, right, _ = (edge / MM for edge in _laid_out(variant).bounds)
    return (right + _MARGIN * (right - left) - box[0]) / (box[2] - box[0])


def _laid_out(variant: Variant) -> LaidOutLoop:
    if variant.laid_out is None:
        raise ValueError(f"variant {variant.name!r} is described by a section, not by its layout")
    return variant.laid_out


def _draw(axes: Axes, variant: Variant, box: Box) -> None:
    section = whole_section(variant)
    if section is None:
        draw_layout(axes, _laid_out(variant).layout)
    else:
        _draw_section(axes, variant, section, box)
    millimetre_axes(axes, box, upright=False)
    if section is None:
        layout = _laid_out(variant).layout
        name_ports(axes, layout, {sheet.name for sheet in layout.sheets}, spot=_beside(variant, box))
    panel_title(axes, shortened(variant.name))


def _draw_section(axes: Axes, variant: Variant, section: CrossSection, box: Box) -> None:
    for index, band in enumerate(section.bands):
        corner, height = (box[0], band.bottom / MM), (band.top - band.bottom) / MM
        axes.add_patch(Rectangle(corner, box[2] - box[0], height, facecolor=BAND_TINTS[index % 2], linewidth=0))
    draw_copper(axes, section.regions)
    if variant.stackups and section.view is View.SECTION:
        axes.axvline(0, color=FAINT, linewidth=0.7, linestyle=_MIDDLE)
