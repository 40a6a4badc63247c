"""Coaxial circular loops."""

import math

from scipy.special import ellipe, ellipkm1

from solver.formulas.constants import MU_0
from solver.formulas.ranges import require_finite, require_positive


def coaxial_circles_mutual(first_radius: float, second_radius: float, distance: float) -> float:
    r"""Mutual inductance of two coaxial circular filaments.

    .. math::
        M = \mu_0\sqrt{ab}\left[\left(\frac2k - k\right)K(k) - \frac2k E(k)\right], \qquad
        k^2 = \frac{4ab}{(a+b)^2 + d^2}

    Parameters
    ----------
    first_radius, second_radius : float
        Radii :math:`a, b` [m], > 0.
    distance : float
        Distance of their planes along the axis :math:`d` [m]; not zero when the radii are equal.

    Returns
    -------
    float
        Mutual inductance [H].

    Raises
    ------
    ValueError
        If a radius is not positive or the circles coincide.

    Notes
    -----
    Range: thin conductors. Exact for filaments; for far or very unequal circles, where k is small, digits are
    lost as 1/k^4 (nine are left at k = 0.03).

    References
    ----------
    .. [1] J. C. Maxwell, *A Treatise on Electricity and Magnetism*, art. 701 (from memory).
    .. [2] NIST Digital Library of Mathematical Functions, section 19.34, eq. 19.34.5 (checked against the
       text).

    Examples
    --------
    >>> f"{coaxial_circles_mutual(2e-3, 1e-3, 0.5e-3) * 1e9:.10f}"
    '0.9593293994'
    """
    require_positive(first_radius, "first radius", "m")
    require_positive(second_radius, "second radius", "m")
    require_finite(distance, "distance", "m")
    nearest = math.hypot(first_radius - second_radius, distance)
    require_positive(nearest, "shortest distance of the circles", "m")
    farthest = math.hypot(first_radius + second_radius, distance)
    complement = (nearest / farthest) ** 2
    modulus = 2.0 * math.sqrt(first_radius * second_radius) / farthest
    bracket = (2.0 / modulus - modulus) * float(ellipkm1(complement))
    bracket -= 2.0 / modulus * float(ellipe(1.0 - complement))
    return MU_0 * math.sqrt(first_radius * second_radius) * bracket
