r"""What the rim of two joined faces lacks beside that of real copper, whose side walls carry current too.

Far from the edge of a conductor the field is that of a thin sheet whose edge lies farther out. For a plate of
thickness t with square edges and a thin skin that is, at a distance z,

.. math:: \delta_{plate} = \frac t{2\pi}\left(1 + \ln\frac{4\pi z}t\right), \qquad
          \delta_{faces} = \frac t{2\pi}\left(1 + \ln\frac{2\pi z}t\right)

the second for two thin faces of one potential (both by conformal maps: of the half-infinite plate, and Maxwell's of two
half-infinite sheets, of which the even solution is taken). Faces whose edges lie :math:`w = \frac{\ln 2}{2\pi}t`
farther out are therefore as good as a plate of perfect metal. With a skin of some depth they must lie S(t/δ) w farther
out: up to twice as far where it is a quarter of the thickness, since faces store more in the metal at a rim, where
their density goes like the inverse root of the distance down to a skin depth, and real copper has two corners and a
wall; and half as far where it is thick and the walls carry their share of an even density.

For the same reason they lose more there. The strength of that root is the same for both; its square is what the
inductance falls by when the rim moves out by ds at the same currents, so that per unit of rim

.. math:: R_{plate} - R_{faces} = -D(t/\delta)\,\frac{R_s}{\mu_0}\,\frac{dL}{ds}

with one S and one D for all edges whose neighbours are farther away than some thicknesses. Both were measured on a wide
strip in the section view; for a thin skin the faces lose :math:`(2/\pi)\ln(t/\delta)` more and more, and store as
much, so that :math:`S - 1 = \frac{\delta}{2w}\frac2\pi\ln\frac t\delta` beside a constant; real copper does not.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint

from geometries.layout.layout import NEAR, CopperSheet, EdgeTerminal, Faces, PlanLayout
from geometries.section.outline import Point
from solver.formulas import MU_0, skin_depth, surface_resistance
from solver.plan.meshing import sheet_rings

Floats = NDArray[np.float64]

_WALL = math.log(2) / (2 * math.pi)
_REACH_SPREAD = 0.15, 0.25, 1.0
"""By how much S may be off: at least, of what it is above 1, and of what it is below, where copper is seven times as
wide as thick, or another edge or a plane as near as one and a half to three thicknesses."""

_OPAQUE = 50.0
"""Thickness over skin depth beyond which nothing changes."""

_SKINS = np.array([0.4, 0.6, 0.8, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 14, 20, 30])
"""Thickness over skin depth at which S and D were measured."""

_REACH = np.array(
    [0.196, 0.321, 0.458, 0.599, 0.967, 1.322, 1.604, 1.79, 1.919, 1.879, 1.808, 1.702, 1.627, 1.523, 1.421, 1.326]
)
"""S there, of the same strip as D; of strips 1 and 0.5 mm wide it is within 0.02 from 1.5 on, and 0.1 and 0.25 more at
0.4, where the walls' own thickness tells."""

_MORE_LOSS = np.array(
    [0, 0.025, 0.056, 0.097, 0.213, 0.3, 0.328, 0.299, 0.138, -0.031, -0.151, -0.309, -0.434, -0.628, -0.837, -1.077]
)
"""D there, of a strip 3 mm x 35 µm, its return 47 mm away: two faces as an integral equation in two dimensions against
the section view (validation/plan/test_rim_losses.py does it again); with strips 0.5 to 10 mm wide it is within 0.03."""

_LOSS_SPREAD = 0.08
"""By how much it differs where other edges or a plane are as near as three to six thicknesses."""

_STRAIGHT = 1e-3
"""Sine of the turn below which an outline goes straight on."""


def skins(sheet: CopperSheet, frequency: float) -> float:
    """Thickness over skin depth [1]: 0 at DC."""
    if frequency == 0:
        return 0.0
    return (
        sheet.thickness / skin_depth(frequency, sheet.material.conductivity) if math.isfinite(frequency) else math.inf
    )


def thin_skin(sheet: CopperSheet, frequency: float) -> float:
    """How far the skin is thin against the copper: 0 at DC, 1 where one face no longer feels the other [1]."""
    return float(1 - 1 / abs(cmath.cosh((1 + 1j) * min(skins(sheet, frequency), _OPAQUE))))


def rim_shift(sheet: CopperSheet, frequency: float) -> float:
    """How far the edges of joined faces must lie out to stand for their walls too [m]; nothing at DC, nor of others."""
    if sheet.faces is not Faces.JOINED or frequency == 0:
        return 0.0
    return _WALL * sheet.thickness * _reach(skins(sheet, frequency))


def _reach(thickness: float) -> float:
    """S of a thickness in skin depths."""
    last = _SKINS[-1]
    beyond = max(thickness / last, 1.0)
    tail = 1 if math.isinf(beyond) else 1 + math.log(beyond) * 2 / math.pi / (2 * _WALL * last * (_REACH[-1] - 1))
    more = float(np.interp(thickness, _SKINS, _REACH)) - 1
    return float(1 + more * tail / beyond)


def reach_doubt(sheet: CopperSheet, frequency: float) -> float:
    """Part by which the shift of a sheet may be off [1]; nothing for perfect metal."""
    if math.isinf(frequency):
        return 0.0
    least, above, below = _REACH_SPREAD
    reach = _reach(skins(sheet, frequency))
    return max(least, above * (reach - 1), below * (1 - reach)) / reach


def loss_share(sheet: CopperSheet, frequency: float) -> float:
    """Part of what the losses change by with the shift that counts: no more than that of perfect walls, none at DC."""
    return thin_skin(sheet, frequency) / _reach(skins(sheet, frequency))


def rim_loss(sheet: CopperSheet, frequency: float) -> tuple[float, float]:
    """What real copper loses more at its rims, per inductance that the shift takes off, and how much that may be off.

    Both [ohm/H]; of joined faces, nothing at DC and for perfect metal.
    """
    if frequency == 0 or math.isinf(frequency):
        return 0.0, 0.0
    through = math.log(skins(sheet, frequency) / _SKINS[-1])
    more = np.interp(through, np.log(_SKINS / _SKINS[-1]), _MORE_LOSS) - 2 / math.pi * max(through, 0.0)
    surface = surface_resistance(frequency, sheet.material.conductivity)
    scale = surface / (MU_0 * rim_shift(sheet, frequency))
    return float(more) * scale, _LOSS_SPREAD * thin_skin(sheet, frequency) * scale


def widened_rings(layout: PlanLayout, sheet: CopperSheet, frequency: float) -> list[list[Point]]:
    """Rings of a sheet with their edges moved out so; edges under a terminal stay where they are."""
    shift = rim_shift(sheet, frequency)
    lines = [end.line for _, end in layout.terminals() if isinstance(end, EdgeTerminal) and end.sheet == sheet.name]
    return [
        _moved_out(ring, [0.0 if _lies_on(edge, lines) else shift for edge in _edges(ring)])
        for ring in sheet_rings(layout, sheet)
    ]


def _edges(ring: list[Point]) -> list[tuple[Point, Point]]:
    return list(zip(ring, [*ring[1:], ring[0]], strict=True))


def _lies_on(edge: tuple[Point, Point], lines: list[LineString]) -> bool:
    middle = ShapelyPoint(np.mean(edge, axis=0))
    return any(line.distance(middle) < NEAR for line in lines)


def _moved_out(ring: list[Point], shifts: list[float]) -> list[Point]:
    """Every edge moved to its right, which is out of the copper, by its own shift; corners where the edges meet."""
    points, reach = np.array(ring), np.array(shifts)
    along = np.roll(points, -1, axis=0) - points
    out = np.column_stack([along[:, 1], -along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]
    before, reach_before = np.roll(out, 1, axis=0), np.roll(reach, 1)
    bend = before[:, 0] * out[:, 1] - before[:, 1] * out[:, 0]
    straight = np.abs(bend) < _STRAIGHT
    safe = np.where(straight, 1.0, bend)
    x = (reach_before * out[:, 1] - reach * before[:, 1]) / safe
    y = (reach * before[:, 0] - reach_before * out[:, 0]) / safe
    level = (reach_before + reach)[:, None] / 2 * out
    return [(float(a), float(b)) for a, b in points + np.where(straight[:, None], level, np.column_stack([x, y]))]
