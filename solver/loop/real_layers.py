"""What ground layers as large as they are change of a loop: the same closed copper over them and over endless ones."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometries.layout.ground_layers import RealPlanes
from geometries.layout.layout import PlanLayout
from solver.loop.copper import energy, passage_inductance
from solver.loop.layout_loop import MOMENT_OF_DIFFERENCE, driven_by, lying_moments
from solver.loop.terms import LAYERS, RealLayers, Term
from solver.plan import PlanMeshSettings, solve_plan

Complexes = NDArray[np.complex128]

_MESH = PlanMeshSettings().coarser()

_OF_CLOSING = 0.1
"""Part of what real ground layers change that hangs on the way of the current through the parts (our estimate)."""


def taken_words(layout: PlanLayout, real: RealPlanes | None) -> str:
    """How the ground layers of a plan are taken, as the end of a sentence."""
    if layout.plane is None:
        return "without a ground layer"
    if real is None:
        return "over a whole endless ground layer, since none has a length"
    return "over a whole endless ground layer; what its edges, slots and clearances change is a term of its own"


def over_real_layers(planes: RealPlanes, frequency: float, shares: Complexes) -> RealLayers:
    """Solve a loop over both.

    Parameters
    ----------
    planes : RealPlanes
        Its layouts.
    frequency : float
        [Hz], > 0.
    shares : (n,) complex array
        Current of each of its n drives [A/A].

    Raises
    ------
    SolverError
        If a layout cannot be meshed or solved.
    """
    real = solve_plan(planes.real, frequency, _MESH)
    endless = [solve_plan(each, frequency, _MESH) for each in planes.endless]
    own = shares if len(real.loops) == len(shares) else np.ones(1, dtype=complex)
    passage = passage_inductance(planes.passage)
    views, signs = (real, *endless), (1.0, *(-1.0 for _ in endless))
    change, rough, unshared, losses = (
        math.fsum(sign * energy(matrix, own) for sign, matrix in zip(signs, matrices, strict=True))
        for matrices in (
            [each.inductance for each in views],
            [each.coarse_inductance for each in views],
            [each.inductance_error * each.inductance for each in views],
            [each.resistance for each in views],
        )
    )
    change, rough = change - passage, rough - passage
    gross = math.fsum(float(np.abs(own) @ np.linalg.norm(each.copper_moment, axis=1)) for each in endless)
    alone = None if planes.alone is None else energy(solve_plan(planes.alone, frequency, _MESH).inductance, own)
    driven = driven_by(real, own)
    whole = complex(driven.copper_moment[0, 2])
    within_pads = abs(whole - sum(lying_moments(driven).values()))
    return RealLayers(
        planes=planes,
        term=Term(
            name=LAYERS,
            amount=change,
            uncertainty=math.hypot(change - rough, unshared, _OF_CLOSING * change),
            source="plan view over the ground layers as large as they are less that over whole endless ones, the loop "
            "closed by plates in place of its parts; uncertainty of mesh and vias as far as both do not share it, and "
            "10 % for where the parts' currents pass (our estimate)",
        ),
        more_resistance=losses,
        inductance=energy(real.inductance, own),
        alone=alone,
        lying=abs(whole),
        lying_error=math.hypot(MOMENT_OF_DIFFERENCE * gross, within_pads),
    )
