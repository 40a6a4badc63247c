"""What a tolerance study yields: solved points, and the spread of every headline figure of every variant."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.study.tolerance import Tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class TolerancePoint:
    """A solved point: its variant, its offsets, the figures there in SI units, and the time it took [s]."""

    variant: str
    offsets: tuple[float, ...]
    values: tuple[float, ...]
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FigureSpread:
    """One figure of one variant.

    Parameters
    ----------
    key, title, unit : str
        Name in files, name on pages, unit it is shown in.
    scale : float
        That unit in SI units.
    nominal : float
        As described [SI].
    alone : (n, 2) array
        With each tolerance at its lower and at its upper end and all else nominal, solved [SI].
    lowest, highest : float
        At the worst corners, solved [SI].
    lowest_at, highest_at : tuple of float
        Offsets of those corners.
    samples : (m,) array
        Of the boards drawn, from the surface [SI].
    deviation : float
        Largest distance between the surface and what was solved beside it: at all worst corners and at the first
        boards drawn [SI].
    """

    key: str
    title: str
    unit: str
    scale: float
    nominal: float
    alone: NDArray[np.float64]
    lowest: float
    highest: float
    lowest_at: tuple[float, ...]
    highest_at: tuple[float, ...]
    samples: NDArray[np.float64]
    deviation: float

    def quantile(self, part: float) -> float:
        """Value below which a part of the boards lies [SI]."""
        return float(np.quantile(self.samples, part))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VariantSpread:
    """One variant.

    Parameters
    ----------
    name : str
        The variant.
    figures : tuple of FigureSpread
        The same ones for all variants.
    solved, reused : int
        Points that were solved, and points that needed no solution because nothing that is computed had changed.
    """

    name: str
    figures: tuple[FigureSpread, ...]
    solved: int
    reused: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToleranceResult:
    """A finished tolerance study.

    Parameters
    ----------
    tolerance : Tolerance
        What was asked.
    variants : tuple of VariantSpread
        In the order asked.
    finding : str
        What it shows.
    versions : tuple of (str, str)
        Program and library versions.
    """

    tolerance: Tolerance
    variants: tuple[VariantSpread, ...]
    finding: str
    versions: tuple[tuple[str, str], ...]
