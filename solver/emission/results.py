"""What is predicted of emission: levels over frequency, margins and differences; frozen values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Emission
from solver.emission.moment import LoopMoment
from solver.emission.product_results import ProductComparison
from solver.emission.quantities import HighestLine
from solver.emission.quantities import Margin as Margin


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CableBound:
    """Upper bound of what a cable radiates.

    Parameters
    ----------
    levels : (n,) array
        Bound at the frequencies of the prediction [dBµV/m].
    ground : str
        The conductor whose net partial inductance drives it.
    ground_inductance : float
        That inductance along the loop at the report frequency [H]; levels take that of their own.
    closest : Margin
        Where the bound comes closest to a limit.
    allowed_current, allowed_frequency : float
        Smallest common-mode current that reaches a limit, root mean square, and where [A], [Hz].
    """

    levels: NDArray[np.float64]
    ground: str
    ground_inductance: float
    closest: Margin
    allowed_current: float
    allowed_frequency: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EmissionPrediction:
    """One variant's emission.

    Parameters
    ----------
    name : str
        The variant.
    study : bool
        Whether a ground layer of it is tied nowhere, so that nobody builds it.
    moment : LoopMoment
        Per ampere, at the report frequency.
    frequencies : (n,) array
        Of the lines looked at [Hz].
    moments : (n,) array
        Magnitude of the moment per ampere at these [m²].
    bound : (n,) array
        Level of the loop alone, for any duty [dBµV/m].
    lines : (n,) array
        Level of the loop alone, at the stated duty [dBµV/m].
    highest : HighestLine
        Of the bound, wherever it lies.
    closest : Margin
        Where the bound comes closest to a limit.
    cable : CableBound, optional
        None if no cable was asked for or no ground conductor drives it.
    moment_db : float
        Moment against the reference [dB].
    difference_db : float
        Change of the highest line against the reference: negative is less emission [dB]. The change of the margin is
        another quantity: steps of the limit are in it.
    difference_band : float
        Uncertainty of `difference_db`, to both sides [dB]; zero for the reference.
    verdict : str
        What the margin means and what settles it it.
    """

    name: str
    study: bool
    moment: LoopMoment
    frequencies: NDArray[np.float64]
    moments: NDArray[np.float64]
    bound: NDArray[np.float64]
    lines: NDArray[np.float64]
    highest: HighestLine
    closest: Margin
    cable: CableBound | None
    moment_db: float
    difference_db: float
    difference_band: float
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EmissionComparison:
    """Emission of all variants.

    Parameters
    ----------
    emission : Emission
        What was asked.
    reference : str
        Variant that differences are against.
    predictions : tuple of EmissionPrediction
        In the scenario's order.
    sentence : str
        What the comparison shows.
    product : ProductComparison, optional
        All sources together; None where the board is not described.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import EmissionComparison, run_study
    >>> study = run_study(read_builtin_scenario("garden-lamp"), workers=1)
    >>> [each.name for each in study.outcome(EmissionComparison).predictions]
    ['lamp']
    """

    emission: Emission
    reference: str
    predictions: tuple[EmissionPrediction, ...]
    sentence: str
    product: ProductComparison | None = None
