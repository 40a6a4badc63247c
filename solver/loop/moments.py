"""The moment of a loop's own copper at other frequencies than that at which it was solved."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometries.layout.layout import PlanLayout
from solver.loop.copper import joined_moments
from solver.loop.layout_loop import SETTINGS, LayoutLoop
from solver.loop.section_loop import MESH, SectionLoop, joined_sides
from solver.loop.terms import WholeLoop
from solver.plan import PlanMeshSettings, copper_moments

Complexes = NDArray[np.complex128]


def own_moments(loop: WholeLoop | SectionLoop | LayoutLoop, frequencies: Sequence[float]) -> Complexes:
    """Magnetic moment per ampere of a loop's own currents at several frequencies.

    Parameters
    ----------
    loop : WholeLoop, SectionLoop or LayoutLoop
        As it was solved at one frequency.
    frequencies : sequence of float
        [Hz], > 0.

    Returns
    -------
    (f, 3) complex array
        [m²]. What it is at the loop's own frequency, and what a coarser mesh says that it changes; capacitors share the
        current as they do at each frequency.
    """
    if isinstance(loop, LayoutLoop):
        changes = _changes([loop.laid_out.layout], loop.driven.frequency, frequencies, SETTINGS.coarser())
        return np.stack([loop.moment_vector + loop.shares @ change for (change,) in changes])
    if isinstance(loop, SectionLoop):
        sides = [loop.plan.near, *([] if loop.plan.far is None else [loop.plan.far])]
        changes = _changes(sides, loop.frequency, frequencies, MESH)
        return np.stack([loop.moment_vector + joined_sides([side[0] for side in each]) for each in changes])
    size = len(loop.shares)
    changes = _changes(loop.plan.layouts, loop.frequency, frequencies, PlanMeshSettings())
    return np.stack(
        [
            loop.bank.shares(frequency) @ (loop.moments + joined_moments(each, size))
            for frequency, each in zip(frequencies, changes, strict=True)
        ]
    )


def _changes(
    layouts: Sequence[PlanLayout], solved: float, frequencies: Sequence[float], settings: PlanMeshSettings
) -> list[tuple[Complexes, ...]]:
    """Of every layout's moments from the frequency at which it was solved to each other, (loops, 3) each."""
    views = [copper_moments(layout, [solved, *frequencies], settings) for layout in layouts]
    return list(zip(*(view[1:] - view[0] for view in views), strict=True))
