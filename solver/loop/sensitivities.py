"""What to change first: derivatives of a loop's inductance by its lengths, at the currents it has."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometries.errors import GeometryError
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import Dimension, with_dimension
from solver.errors import MeshError
from solver.loop.copper import CopperLoops, energy
from solver.loop.terms import Sensitivity

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_STEP = 0.01
"""Part of a dimension by which it is changed: small enough to be straight, far above rounding."""


def sensitivities(
    name: str, copper: CopperLoops, shares: Complexes, vary: tuple[Dimension, ...]
) -> tuple[Sensitivity, ...]:
    """Derivatives of the loop's inductance, the largest first.

    Parameters
    ----------
    name : str
        For messages.
    copper : CopperLoops
        The placement, solved.
    shares : (n,) complex array
        Current of each capacitor per ampere, kept as it is [A/A].
    vary : tuple of Dimension
        By what.

    Returns
    -------
    tuple of Sensitivity
        Of the dimensions that can be raised with all parts still fitting.
    """
    found = []
    for dimension in vary:
        try:
            derivative = _derivative(name, copper, shares, dimension)
        except (GeometryError, MeshError):  # the other dimensions still say what to change
            continue
        found.append(
            Sensitivity(
                dimension=dimension.name,
                value=dimension.value,
                derivative=derivative,
                step=_STEP * dimension.value,
            )
        )
    return tuple(sorted(found, key=lambda each: -abs(each.derivative)))


def _derivative(name: str, copper: CopperLoops, shares: Complexes, dimension: Dimension) -> float:
    """Difference at fixed currents [H/m]."""
    step = _STEP * dimension.value
    changed = with_dimension(copper.placed, dimension.name, dimension.value + step)
    return energy(copper.moved(placement_plan(name, changed), changed), shares) / step
