"""The worst places of a loop: its inductance and resistance by squares of copper, each of a size with the loop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometries.layout.part_bodies import BODY
from geometries.quantities import MM, write_place
from geometries.section.outline import Point
from solver.board.as_drawn import DrawnLoop
from solver.plan import SheetEnergy

_SQUARES = 6
"""So many squares lie along the diagonal of the loop's hull."""
_SIDES = np.array([0.25, 0.5, 1.0, 2.0, 5.0, 10.0]) * MM
WORST = 6
"""Places that a note names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A square of one piece of copper, or a part's body: where it is [m], what it holds, and its share.

    Parameters
    ----------
    where : str
        Name of the copper or the part.
    place : (x, y)
        Middle of what it holds, weighted by that [m].
    side : float
        Of the square [m]; 0 for a part's body.
    inductance, resistance : float
        Its part of the loop's [H], [ohm].
    share : float
        Of the loop's inductance [1].
    """

    where: str
    place: Point
    side: float
    inductance: float
    resistance: float
    share: float

    @property
    def sentence(self) -> str:
        """What a layouter is told of it; the drop is that at a current slope of 1 A/ns."""
        size = f" within {self.side / MM:g} × {self.side / MM:g} mm" if self.side else ""
        return (
            f"{self.where}{size} at {write_place(self.place)} holds "
            f"{100 * self.share:.1f} % of the inductance; at 1 A/ns it drops {1e12 * self.inductance:.3g} mV."
        )


def worst_regions(drawn: DrawnLoop) -> tuple[Region, ...]:
    """Every region of a solved loop, the largest inductance first; they add up to all but the vias.

    Parameters
    ----------
    drawn : DrawnLoop
        The loop.
    """
    left, bottom, right, top = drawn.ends.hull.bounds
    wanted = float(np.hypot(right - left, top - bottom)) / _SQUARES
    side = float(_SIDES[np.argmin(np.abs(np.log(_SIDES / wanted)))])
    found = [region for sheet in drawn.energy.sheets for region in _of_sheet(sheet, side, drawn)]
    return tuple(sorted(found, key=lambda region: -region.inductance))


def _of_sheet(sheet: SheetEnergy, side: float, drawn: DrawnLoop) -> Iterator[Region]:
    places = sheet.points[sheet.triangles].mean(axis=1)
    whole = sheet.name.startswith(BODY)
    beside = drawn.of_ends[sheet.name.removeprefix(BODY)] if whole else 0.0
    cells = np.zeros((len(places), 2), dtype=int) if whole else np.floor(places / side).astype(int)
    stored, lost = (drawn.field_inductance / drawn.energy.stored, drawn.resistance / drawn.energy.lost)
    _, which = np.unique(cells, axis=0, return_inverse=True)
    for number in range(which.max() + 1):
        here = which.ravel() == number
        inductance, weights = stored * sheet.stored[here].sum() + beside, np.abs(sheet.stored[here])
        x, y = weights @ places[here] / weights.sum() if weights.any() else places[here].mean(axis=0)
        yield Region(
            where=sheet.name,
            place=(float(x), float(y)),
            side=0.0 if whole else side,
            inductance=float(inductance),
            resistance=float(lost * sheet.lost[here].sum()),
            share=float(inductance / drawn.inductance),
        )
