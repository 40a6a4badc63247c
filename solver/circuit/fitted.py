r"""A passive circuit from a loop's resistance and inductance at a handful of frequencies.

.. math:: Z(s) = R_0 + sL_\infty + \sum_i \frac{a_i s}{s + \lambda_i}, \qquad R_0, L_\infty, a_i \ge 0

With the rates :math:`\lambda_i` laid down closely over the band, R and L are linear in the rest, which non-negative
least squares find: any R that rises and L that falls by eddy currents has that form.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from solver.circuit.rl_network import BroadbandModel

Floats = NDArray[np.float64]

_PER_DECADE = 4
_BEYOND = 30.0
"""How far beyond the band rates are laid down."""

_NEGLIGIBLE = 1e-9


def fitted_model(frequencies: Floats, resistance: Floats, inductance: Floats, at: float) -> BroadbandModel:
    """Fit a model of one loop, exact in its inductance at one of the frequencies.

    Parameters
    ----------
    frequencies : (f,) array
        [Hz], ascending; 0 is DC, infinite the limit of perfect conductors, whose resistance is not looked at.
    resistance, inductance : (f,) array
        [ohm], [H].
    at : float
        Where the inductance is exact, one of the frequencies [Hz].

    Returns
    -------
    BroadbandModel
        Of the whole loop; `residual` and `resistance_residual` are the largest relative deviations of L and of R.

    Examples
    --------
    >>> f = np.array([0.0, 1e4, 1e5, 1e6, 1e7, 1e8, np.inf])
    >>> corner = 1 / (1 + (f / 1e6) ** 2)
    >>> model = fitted_model(f, 2e-3 + 5e-3 * (1 - corner), 1e-9 + 0.8e-9 * corner, 1e8)
    >>> f"{model.impedance(1e8).imag[0, 0] / (2 * math.pi * 1e8) * 1e9:.4f} nH", model.resistance_residual < 0.2
    ('1.0001 nH', True)
    """
    omega = 2 * math.pi * frequencies
    finite = np.isfinite(omega)
    band = frequencies[finite & (frequencies > 0)]
    rates = 2 * math.pi * np.geomspace(band[0] / _BEYOND, band[-1] * _BEYOND, _rate_count(band))
    with np.errstate(invalid="ignore"):
        slope = 1 / (1 + (omega[:, None] / rates) ** 2)  # 1 at DC, 0 for perfect conductors
    lossy = np.hstack([np.ones((len(omega), 1)), np.zeros((len(omega), 1)), 1 - slope])[finite]
    stored = np.hstack([np.zeros((len(omega), 1)), np.ones((len(omega), 1)), slope / rates])
    # every column in the size that it has in the data, so that the least squares see nothing but relative deviations
    scale = np.concatenate([[resistance[finite].max()], [inductance.max()], np.full(len(rates), 1.0)])
    scale[2:] = np.minimum(resistance[finite].max(), inductance.max() * rates)
    rows = np.vstack([lossy / resistance[finite, None], stored / inductance[:, None]]) * scale
    found = scale * nnls(rows, np.ones(len(rows)))[0]
    kept = found[2:] > _NEGLIGIBLE * resistance[finite].max()
    place = int(np.flatnonzero(frequencies == at)[0])
    found[1] += inductance[place] - float(stored[place] @ found)
    return BroadbandModel(
        resistance=np.array([[found[0]]]),
        inductance=np.array([[found[1]]]),
        rates=rates[kept],
        weights=np.sqrt(found[2:][kept])[:, None],
        band=(float(band[0]), float(band[-1])),
        shifts=tuple(float(each) for each in band),
        residual=float(np.abs(stored @ found / inductance - 1).max()),
        resistance_residual=float(np.abs(lossy @ found / resistance[finite] - 1).max()),
    )


def _rate_count(band: Floats) -> int:
    return math.ceil(_PER_DECADE * math.log10(_BEYOND**2 * band[-1] / band[0])) + 1
