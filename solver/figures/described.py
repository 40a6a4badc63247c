"""The cross-sections of a scenario as they are described, before anything is solved."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from geometries.quantities import MM
from geometries.section.section import CrossSection, Role
from geometries.study.scenario import Scenario, Variant, whole_section
from solver.figures.section import BAND_TINTS, draw_copper, millimetre_axes, panel_title
from solver.figures.style import add_panel, new_sheet, shortened, styled

_LEFT, _WIDTH, _RIGHT, _TOP, _GAP = 0.5, 7.0, 0.5, 0.75, 0.55
_MARGIN = 0.15
_COMPACT = 4.0
"""Wider copper than so many times the driven one is a plane."""

_LOWEST, _HIGHEST = 0.25, 2.2
_MOST = 12
"""Variants that one sheet holds."""


@styled
def described_figure(scenario: Scenario) -> Figure:
    """Draw the copper and the dielectrics of every variant's section to scale, round its loop.

    Parameters
    ----------
    scenario : Scenario
        Read, not solved; the first twelve variants are drawn.

    Returns
    -------
    Figure
    """
    drawn = scenario.variants[:_MOST]
    boxes = [_box(whole_section(variant)) for variant in drawn]
    heights = [min(max(_WIDTH * (box[3] - box[1]) / (box[2] - box[0]), _LOWEST), _HIGHEST) for box in boxes]
    left_out = len(scenario.variants) - len(drawn)
    subtitle = "sections as described, to scale round the loop" + (f"; {left_out} more not drawn" if left_out else "")
    figure = new_sheet(_TOP + sum(heights) + _GAP * len(drawn), scenario.title, subtitle, width=_LEFT + _WIDTH + _RIGHT)
    top = _TOP
    for variant, box, height in zip(drawn, boxes, heights, strict=True):
        _draw(add_panel(figure, _LEFT, top, _WIDTH, height), variant, _to_scale(box, height))
        top += height + _GAP
    return figure


def _box(section: CrossSection) -> tuple[float, float, float, float]:
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


def _to_scale(box: tuple[float, float, float, float], height: float) -> tuple[float, float, float, float]:
    """The box enlarged to the shape of its panel, of which the height is given [in]."""
    left, bottom, right, top = box
    wide = max(right - left, (top - bottom) * _WIDTH / height)
    tall = wide * height / _WIDTH
    x, y = (left + right) / 2, (bottom + top) / 2
    return x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2


def _of_role(section: CrossSection, role: Role) -> list[tuple[float, float, float, float]]:
    return [region.outline.bounds for region in section.regions if region.role is role]


def _draw(axes: Axes, variant: Variant, box: tuple[float, float, float, float]) -> None:
    section = whole_section(variant)
    for index, band in enumerate(section.bands):
        corner, height = (box[0], band.bottom / MM), (band.top - band.bottom) / MM
        axes.add_patch(Rectangle(corner, box[2] - box[0], height, facecolor=BAND_TINTS[index % 2], linewidth=0))
    draw_copper(axes, section.regions)
    millimetre_axes(axes, box, upright=False)
    panel_title(axes, shortened(variant.name))
