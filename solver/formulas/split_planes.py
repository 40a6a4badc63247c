"""A long loop over a perfect plane without thickness that is cut in two."""

import cmath
import math

from scipy.special import ellipe, ellipk

from solver.formulas.ranges import require_finite, require_positive, require_within


def split_strip_shielding(height: float, half_width: float, half_gap: float, offset: float) -> float:
    r"""Moment of a long flat loop over a strip that is cut in two along its middle, relative to the loop alone.

    .. math::
        \frac{m'}{m_0'} = \mathrm{Re}\,\frac{z^2 - c^2}{\sqrt{(z^2 - a^2)(z^2 - b^2)}}, \quad z = x + jh, \qquad
        c^2 = b^2\,\frac{E(k)}{K(k)}, \quad k^2 = 1 - \frac{a^2}{b^2}

    The loop lies parallel to the strip and is narrow against its height. By reciprocity the ratio is the field across
    the strip at the loop when both halves lie in a uniform field; c makes the net current of each half zero.

    Parameters
    ----------
    height : float
        Height of the loop over the strip h [m], > 0.
    half_width : float
        From the middle of the cut to the outer edges b [m], > 0.
    half_gap : float
        Half of the cut's width a [m], > 0 and below b.
    offset : float
        Distance of the loop from the middle of the cut x [m].

    Returns
    -------
    float
        Ratio of the moments [1]; above 1 close over the cut, where the field crowds.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: perfect halves without thickness, cut along their whole length and joined nowhere. Exact.

    References
    ----------
    .. [1] Derived here, as for one strip; the complete integrals: P. F. Byrd, M. D. Friedman, *Handbook of Elliptic
       Integrals*, 2nd ed., 1971, art. 218 (from memory).

    Examples
    --------
    >>> f"{split_strip_shielding(0.2e-3, 10e-3, 0.1e-3, 5e-3):.4f}"
    '0.0410'
    """
    require_positive(height, "height", "m")
    require_positive(half_width, "half width", "m")
    require_positive(half_gap, "half gap", "m")
    require_within(half_gap, 0.0, math.nextafter(half_width, 0.0), "half gap", "m")
    require_finite(offset, "offset", "m")
    modulus = 1.0 - (half_gap / half_width) ** 2
    turning = half_width**2 * float(ellipe(modulus) / ellipk(modulus))
    point = complex(offset, height)
    edges = cmath.sqrt(point - half_gap) * cmath.sqrt(point + half_gap)
    edges *= cmath.sqrt(point - half_width) * cmath.sqrt(point + half_width)
    return ((point**2 - turning) / edges).real
