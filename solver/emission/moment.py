"""The magnetic moment by which a loop radiates: what lies on the board, and what stands on it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.variant.skin_curves import SkinCurve

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopMoment:
    """Magnetic moment per ampere of a loop with the currents that it drives in ground layers.

    Parameters
    ----------
    lying : float
        Part upright to the board, of the area that lies on it [m²]; a ground layer's currents take most of it away.
    upright : float
        Part along the board, of the area that stands on it between the copper and the layer of its return [m²].
    added : float
        Area that stands on the board beside the section's: bodies of capacitor and switches [m²]. A ground layer does
        not shield upright areas.
    source : str
        Which view the numbers come from.
    """

    lying: float
    upright: float
    added: float
    source: str

    def __post_init__(self) -> None:
        if min(self.lying, self.upright, self.added) < 0:
            raise ValueError("parts of a moment per ampere are areas; give them as zero or more square metres")

    @property
    def total(self) -> float:
        """Magnitude [m²]: both parts stand at right angles; upright areas are taken as if they added up."""
        return math.hypot(self.lying, self.upright + self.added)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RadiatedMoment:
    """A loop's moment over the frequencies of its emission.

    Parameters
    ----------
    reported : LoopMoment
        At the report frequency.
    curve : SkinCurve, optional
        What lies and what stands over frequency; without it the moment is that at the report frequency throughout.
    """

    reported: LoopMoment
    curve: SkinCurve | None = None

    def vectors(self, frequencies: Floats) -> NDArray[np.complex128]:
        """Across the loop, along it and upright to the board, (n, 3) [m²]; all that stands counts across the loop."""
        lying, standing = self._parts(frequencies).T
        across = standing + self.reported.added
        return np.stack([across, np.zeros_like(across), lying], axis=1).astype(complex)

    def totals(self, frequencies: Floats) -> Floats:
        """Magnitudes, (n,) [m²]."""
        return np.asarray(np.linalg.norm(self.vectors(frequencies), axis=1))

    def _parts(self, frequencies: Floats) -> Floats:
        if self.curve is None:
            return np.tile([self.reported.lying, self.reported.upright], (len(frequencies), 1))
        return self.curve.at(frequencies)
