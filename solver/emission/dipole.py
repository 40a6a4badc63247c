"""A dipole moment as a vector in the board's axes, with where it comes from and how well it is known."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray


class DipoleKind(Enum):
    """What radiates: a current loop, or charge."""

    MAGNETIC = "magnetic"
    ELECTRIC = "electric"


@dataclass(frozen=True, slots=True, kw_only=True)
class DipoleMoment:
    """A moment per unit of what drives it.

    Parameters
    ----------
    kind : DipoleKind
        Magnetic: per ampere [m²]. Electric: per volt [C m/V].
    across, along, normal : complex
        Components in the board's axes; phasors relative to what drives it.
    band : float
        What its magnitude is uncertain by, to both sides [dB].
    source : str
        Where it comes from.
    """

    kind: DipoleKind
    across: complex
    along: complex
    normal: complex
    band: float
    source: str

    def __post_init__(self) -> None:
        if not np.isfinite(self.vector).all():
            raise ValueError(f"{self.source}: a component of the moment is {self.vector}; give finite numbers")
        if not self.band >= 0:
            raise ValueError(f"{self.source}: the band of the moment is {self.band:g} dB; give zero or more")

    @property
    def vector(self) -> NDArray[np.complex128]:
        """Components (across, along, normal), (3,)."""
        return np.array([self.across, self.along, self.normal], dtype=complex)

    @property
    def magnitude(self) -> float:
        """Root of the sum of the components' squares."""
        return float(np.linalg.norm(self.vector))

    def vectors(self, frequencies: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Components at many frequencies [Hz], (n, 3); the same at all of them."""
        return np.repeat(self.vector[None, :], len(frequencies), axis=0)

    def scaled(self, factor: complex) -> DipoleMoment:
        """The same moment times a number."""
        across, along, normal = (complex(each) for each in self.vector * factor)
        return replace(self, across=across, along=along, normal=normal)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DipoleCurve:
    """A moment that changes with frequency.

    Parameters
    ----------
    reported : DipoleMoment
        At the frequency of all tables.
    vectors : callable
        Components at many frequencies, as those of a `DipoleMoment`.
    """

    reported: DipoleMoment
    vectors: Callable[[NDArray[np.float64]], NDArray[np.complex128]]

    @property
    def kind(self) -> DipoleKind:
        """Which dipole."""
        return self.reported.kind

    @property
    def band(self) -> float:
        """What its magnitude is uncertain by, to both sides [dB]."""
        return self.reported.band


def added_moments(parts: Sequence[DipoleMoment], source: str) -> DipoleMoment:
    """Vector sum of moments that the same current or voltage drives.

    Parameters
    ----------
    parts : sequence of DipoleMoment
        One or more of one kind.
    source : str
        What to call the sum.

    Returns
    -------
    DipoleMoment
        Each part's band counts by its share of the sum, along the sum; the parts err independently.

    Raises
    ------
    ValueError
        If the parts are of two kinds, or cancel.

    Examples
    --------
    >>> loop = DipoleMoment(kind=DipoleKind.MAGNETIC, across=0, along=0, normal=3e-6, band=1.0, source="plan view")
    >>> body = DipoleMoment(kind=DipoleKind.MAGNETIC, across=4e-6, along=0, normal=0, band=3.5, source="capacitor")
    >>> total = added_moments([loop, body], "loop with its capacitor")
    >>> f"{total.magnitude * 1e6:.1f} mm², ±{total.band:.1f} dB"
    '5.0 mm², ±2.3 dB'
    """
    kinds = {part.kind for part in parts}
    if len(kinds) != 1:
        raise ValueError(f"{source}: moments of {len(kinds)} kinds cannot be added; give one or more of one kind")
    total = np.sum([part.vector for part in parts], axis=0)
    square = float(np.vdot(total, total).real)
    if not square > 0:
        raise ValueError(f"{source}: the moments cancel, so that no band can be stated")
    shares = [float(np.vdot(total, part.vector).real) / square for part in parts]
    return DipoleMoment(
        kind=kinds.pop(),
        across=complex(total[0]),
        along=complex(total[1]),
        normal=complex(total[2]),
        band=math.hypot(*(share * part.band for share, part in zip(shares, parts, strict=True))),
        source=source,
    )
