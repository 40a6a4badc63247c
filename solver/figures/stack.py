"""A board's construction drawn to scale."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.quantities import MM
from solver.figures.section import BAND_TINTS
from solver.figures.style import COPPER, add_panel, keep_apart, leader_label, new_sheet, open_frame, shortened, styled
from solver.notation import numbers

_TOP, _BOTTOM = 0.72, 0.2
_SHEET, _LEFT, _WIDTH, _LEAD = 6.4, 2.4, 2.0, 0.3
_NOTE_LENGTH = 64
"""Letters of a construction's note that fit beside its thickness."""

_BOARD_HEIGHT = 2.6
_SPACING = 0.19


@styled
def stack_figure(stackup: Stackup) -> Figure:
    """Draw a construction to scale, with name, thickness and permittivity of every layer.

    Parameters
    ----------
    stackup : Stackup
        Layers from top to bottom.
    """
    height = max(_BOARD_HEIGHT, _SPACING * len(stackup.layers))
    total = f"{numbers.length(stackup.thickness)} over all layers, to scale"
    subtitle = f"{total}; {shortened(stackup.note, _NOTE_LENGTH)}" if stackup.note else total
    figure = new_sheet(_TOP + height + _BOTTOM, stackup.name, subtitle, width=_SHEET)
    axes = add_panel(figure, _LEFT, _TOP, _WIDTH, height)
    axes.set_xlim(0, 1)
    axes.set_ylim((stackup.top - stackup.thickness) / MM, stackup.top / MM)
    open_frame(axes, keep=())
    axes.set_xticks([])
    axes.set_yticks([])
    _draw_layers(axes, stackup)
    _label_layers(axes, stackup, height)
    return figure


def _draw_layers(axes: Axes, stackup: Stackup) -> None:
    shade = 0
    for layer, lower, upper in stackup.surfaces():
        metal = isinstance(layer, CopperLayer)
        fill = COPPER if metal else BAND_TINTS[shade % 2]
        axes.add_patch(Rectangle((0, lower / MM), 1, (upper - lower) / MM, facecolor=fill, linewidth=0))
        shade += not metal


def _label_layers(axes: Axes, stackup: Stackup, height: float) -> None:
    """Names at the left, thickness and permittivity at the right, kept apart, with leaders to the layers."""
    scale = height / (stackup.thickness / MM)
    floor = axes.get_ylim()[0]
    surfaces = stackup.surfaces()
    middles = np.array([(lower + upper) / 2 / MM for _, lower, upper in surfaces])
    apart = keep_apart((middles - floor) * scale, _SPACING, _SPACING / 2, height - _SPACING / 2) / scale + floor
    for (layer, _, _), middle, placed in zip(surfaces, middles, apart, strict=True):
        leader_label(axes, shortened(layer.name, 30), (0.0, middle), (-_LEAD / _WIDTH, placed))
        leader_label(axes, _properties(layer), (1.0, middle), (1 + _LEAD / _WIDTH, placed))


def _properties(layer: CopperLayer | DielectricLayer) -> str:
    if isinstance(layer, DielectricLayer):
        return f"{numbers.length(layer.thickness)}, εr {layer.relative_permittivity:g}"
    return f"{numbers.length(layer.thickness)} copper"
