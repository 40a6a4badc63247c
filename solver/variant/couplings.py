"""What several switched loops do to each other: self and mutual inductances, and the voltages of their edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.section.coupled_loops import SwitchedLoops


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopCouplings:
    """Switched loops and victims of one variant at the report frequency.

    Parameters
    ----------
    switched : SwitchedLoops
        Names, lengths, currents and edges.
    inductance_per_length : (n, n) array
        Loops, then victims [H/m]; in the main section.
    """

    switched: SwitchedLoops
    inductance_per_length: NDArray[np.float64]

    @property
    def names(self) -> tuple[str, ...]:
        """Of all rows and columns."""
        return (*(loop.name for loop in self.switched.loops), *(name for name, _ in self.switched.victims))

    @property
    def lengths(self) -> NDArray[np.float64]:
        """Of all rows and columns [m]."""
        own = [loop.length for loop in self.switched.loops]
        return np.array([*own, *(length for _, length in self.switched.victims)])

    @property
    def inductance(self) -> NDArray[np.float64]:
        """Self and mutual inductances over the length along which two loops run side by side, the shorter one [H]."""
        return np.asarray(self.inductance_per_length * np.minimum.outer(self.lengths, self.lengths))

    @property
    def voltages(self) -> NDArray[np.float64]:
        """Magnitude of what the edge of each switched loop (row) induces in every loop (column), (loops, n) [V]."""
        rates = np.array([loop.current / loop.edge for loop in self.switched.loops])
        return np.asarray(np.abs(self.inductance[: len(rates)]) * rates[:, None])
