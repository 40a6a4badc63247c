"""Partial inductances of thin flat tapes with uniform current: bars of no thickness."""

import itertools
import math

from solver.constants import MU_0
from solver.formulas.ranges import require_finite, require_positive
from solver.formulas.rectangles import second_difference


def _kernel(across: float, height: float, along: float) -> float:
    """Fourth integral of 1/r, twice across the tapes and twice along them; even in all three."""
    x, p, z = abs(across), abs(height), abs(along)
    r = math.sqrt(x * x + p * p + z * z)
    total = (2.0 * p * p - x * x - z * z) * r / 6.0
    if z > 0.0 and math.hypot(x, p) > 0.0:
        total += 0.5 * (x * x - p * p) * z * math.asinh(z / math.hypot(x, p))
    if x > 0.0 and math.hypot(z, p) > 0.0:
        total += 0.5 * (z * z - p * p) * x * math.asinh(x / math.hypot(z, p))
    if p > 0.0:
        total -= x * p * z * math.atan2(x * z, p * r)
    return total


def tapes_partial_mutual(length: float, width: float, *, across: float, distance: float, offset: float) -> float:
    r"""Partial mutual inductance of two equal parallel thin tapes with uniform current.

    .. math::
        M = \frac{\mu_0}{4\pi w^2}\sum\pm F(x_i, z_k), \qquad
        F = \frac{x^2-P^2}2 z\ln(z+r) + \frac{z^2-P^2}2 x\ln(x+r) - \frac{x^2-2P^2+z^2}6 r
          - xPz\arctan\frac{xz}{Pr}

    with the four distances of the sides across and the four of the ends along.

    Parameters
    ----------
    length, width : float
        Of either tape [m], > 0.
    across, distance, offset : float
        Displacement of the second tape: in its plane across the current, out of the plane, along the current [m].
        All zero gives the self-inductance.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If a dimension is not positive, or the tapes overlap in one plane without being the same.

    Notes
    -----
    Range: thickness much less than the width, current even over the width (DC). Exact but for
    rounding, which costs digits as (length/width)^2 and with the distance. The logarithms are written as area sines;
    what they differ by cancels in the sum.

    References
    ----------
    .. [1] C. Hoer, C. Love, "Exact inductance equations for rectangular conductors with applications to more
       complicated geometries", Journal of Research of the National Bureau of Standards 69C (1965) 127-137
       (from memory; checked by differentiation).

    Examples
    --------
    >>> f"{tapes_partial_mutual(10e-3, 1e-3, across=2e-3, distance=0.0, offset=0.0) * 1e9:.4f}"
    '3.0284'
    """
    require_positive(length, "length", "m")
    require_positive(width, "width", "m")
    for value, name in ((across, "displacement across"), (distance, "distance"), (offset, "offset")):
        require_finite(value, name, "m")
    same = across == distance == offset == 0.0
    if not same and distance == 0.0 and abs(across) < width and abs(offset) < length:
        raise ValueError(
            f"tapes overlap: displaced by {across:g} m and {offset:g} m in one plane; allowed: none, or no common area"
        )
    sides = second_difference(0.0, width, across, width)
    ends = second_difference(0.0, length, offset, length)
    total = math.fsum(p * q * _kernel(x, distance, z) for (p, x), (q, z) in itertools.product(sides, ends))
    return MU_0 / (4.0 * math.pi) * total / width**2


def tape_partial_inductance(length: float, width: float) -> float:
    r"""Partial self-inductance of a thin tape with uniform current.

    .. math::
        L = \frac{\mu_0 l}{6\pi}\left\{3\ln\left[u + \sqrt{u^2+1}\right] + u^2 + \frac1u
        + 3u\ln\left[\frac1u + \sqrt{\frac1{u^2}+1}\right]
        - \left[u^{4/3} + u^{-2/3}\right]^{3/2}\right\}, \qquad u = \frac lw

    Parameters
    ----------
    length, width : float
        Of the tape [m], > 0.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If a dimension is not positive.

    Notes
    -----
    Range: thickness much less than the width, current even over the width (DC). Exact; digits are lost
    to cancellation as (l/w)^2.

    References
    ----------
    .. [1] A. E. Ruehli, "Inductance calculations in a complex integrated circuit environment", IBM Journal of
       Research and Development 16 (1972) 470-481, for zero thickness (from memory; it agrees with the limit of
       C. Hoer, C. Love 1965).

    Examples
    --------
    >>> f"{tape_partial_inductance(5e-3, 1e-3) * 1e9:.4f}"
    '2.8676'
    """
    require_positive(length, "length", "m")
    require_positive(width, "width", "m")
    u = length / width
    total = 3.0 * math.asinh(u) + u * u + 1.0 / u + 3.0 * u * math.asinh(1.0 / u)
    total -= (u ** (4.0 / 3.0) + u ** (-2.0 / 3.0)) ** 1.5
    return float(MU_0 * length / (6.0 * math.pi) * total)
