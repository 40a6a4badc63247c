"""A loop's own moment, and what of a layout drives cables, at other frequencies than that at which it was solved."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometries.layout.layout import PlanLayout
from solver.loop.copper import joined_moments
from solver.loop.ground_drop import inductance_along
from solver.loop.layout_loop import SETTINGS, LayoutLoop, driven_by, loop_moment
from solver.loop.section_loop import MESH, SectionLoop, joined_sides
from solver.loop.terms import WholeLoop
from solver.plan import PlanMeshSettings, coarser_plan_over

Complexes = NDArray[np.complex128]


def own_moments(loop: WholeLoop | SectionLoop, frequencies: Sequence[float]) -> Complexes:
    """Magnetic moment per ampere of a loop's own currents at several frequencies.

    Parameters
    ----------
    loop : WholeLoop or SectionLoop
        As it was solved at one frequency.
    frequencies : sequence of float
        [Hz], > 0.

    Returns
    -------
    (f, 3) complex array
        [m²]. What it is at the loop's own frequency, and what a coarser mesh says that it changes; capacitors share the
        current as they do at each frequency.
    """
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


def layout_over(loop: LayoutLoop, frequencies: Sequence[float]) -> list[tuple[Complexes, float]]:
    """Moment per ampere of a layout (3,) [m²], and net partial inductance of its ground [H], at several frequencies.

    Both are what they are at the loop's own frequency, and what a coarser mesh says that they change; a layout without
    ground has none of the second.
    """
    own, *views = (
        driven_by(each, loop.shares)
        for each in coarser_plan_over(loop.laid_out.layout, [loop.driven.frequency, *frequencies], SETTINGS.coarser())
    )
    moments = [loop.moment_vector + loop_moment(each) - loop_moment(own) for each in views]
    if loop.ground is None:
        return [(moment, 0.0) for moment in moments]
    ground = loop.ground
    known, *drops = (inductance_along(each, ground.copper, ground.ends) for each in (own, *views))
    return [(moment, max(ground.inductance + drop - known, 0.0)) for moment, drop in zip(moments, drops, strict=True)]


def _changes(
    layouts: Sequence[PlanLayout], solved: float, frequencies: Sequence[float], settings: PlanMeshSettings
) -> list[tuple[Complexes, ...]]:
    """Of every layout's moments from the frequency at which it was solved to each other, (loops, 3) each."""
    views = [
        [each.copper_moment for each in coarser_plan_over(layout, [solved, *frequencies], settings)]
        for layout in layouts
    ]
    return list(zip(*([each - first for each in others] for first, *others in views), strict=True))
