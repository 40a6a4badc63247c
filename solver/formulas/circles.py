"""Circular filaments: mutual inductance and field."""

import math

from scipy.special import ellipe, ellipk, ellipkm1

from solver.constants import MU_0
from solver.formulas.ranges import require_finite, require_positive, require_within

NEAREST = 1e-9
"""Closer to the filament than this share of its radius, rounding spoils the field."""


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


def circle_axis_field(radius: float, distance: float) -> float:
    r"""Magnetic field strength of one ampere in a circular filament, on its axis.

    .. math:: H = \frac{R^2}{2\,(R^2 + z^2)^{3/2}}

    Parameters
    ----------
    radius : float
        Radius :math:`R` [m], > 0.
    distance : float
        Distance from the circle's plane along the axis :math:`z` [m].

    Returns
    -------
    float
        Field strength along the axis [A/m per ampere].

    Raises
    ------
    ValueError
        If the radius is not positive or the distance not finite.

    Notes
    -----
    Range: thin conductor, no other metal near. Exact for a filament.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, 3rd ed., Wiley
       1994, section 2.3 (from memory).

    Examples
    --------
    >>> f"{MU_0 * circle_axis_field(2e-3, 1e-3) * 1e6:.5f}"
    '224.79407'
    """
    require_positive(radius, "radius", "m")
    require_finite(distance, "distance", "m")
    return 0.5 * radius**2 / math.hypot(radius, distance) ** 3


def circle_field(radius: float, x: float, y: float) -> tuple[float, float]:
    r"""Magnetic field strength of one ampere in a circular filament, at any point off the filament.

    .. math::
        H_y = \frac{1}{2\pi f}\left[K(k) + \frac{R^2 - x^2 - y^2}{d^2}E(k)\right], \qquad
        H_x = \frac{y}{2\pi x f}\left[-K(k) + \frac{R^2 + x^2 + y^2}{d^2}E(k)\right]

    with :math:`f^2 = (R+x)^2 + y^2,\; d^2 = (R-x)^2 + y^2,\; k^2 = 4Rx/f^2`.

    Parameters
    ----------
    radius : float
        Radius :math:`R` [m], > 0.
    x : float
        Distance of the point from the axis [m], >= 0.
    y : float
        Height of the point over the circle's plane [m].

    Returns
    -------
    tuple of float
        Components away from the axis and along it :math:`(H_x, H_y)` [A/m per ampere].

    Raises
    ------
    ValueError
        If an argument is outside its range or the point lies on the filament.

    Notes
    -----
    Range: thin conductor, no other metal near. Exact for a filament; close to the axis the first component keeps
    sixteen digits of the second, not of itself.

    References
    ----------
    .. [1] W. R. Smythe, *Static and Dynamic Electricity*, 3rd ed., McGraw-Hill 1968, section 7.10 (from memory).

    Examples
    --------
    >>> hx, hy = circle_field(2e-3, 1e-3, 0.5e-3)
    >>> f"{hx:.4f} {hy:.4f}"
    '60.6637 257.9074'
    """
    require_positive(radius, "radius", "m")
    require_finite(x, "distance from the axis", "m")
    require_within(x, 0.0, math.inf, "distance from the axis", "m")
    require_finite(y, "height", "m")
    near, far = math.hypot(radius - x, y), math.hypot(radius + x, y)
    require_within(near, NEAREST * radius, math.inf, "distance from the filament", "m")
    modulus = 4.0 * radius * x / far**2
    first, second = float(ellipk(modulus)), float(ellipe(modulus)) / near**2
    along = first + (radius**2 - x**2 - y**2) * second
    away = 0.0 if x == 0.0 else y / x * ((radius**2 + x**2 + y**2) * second - first)
    return away / (2.0 * math.pi * far), along / (2.0 * math.pi * far)


def helmholtz_pair_axis_field(radius: float, position: float) -> float:
    r"""Magnetic field strength on the axis of two equal circles one radius apart, one ampere in each.

    .. math:: H(z) = H_1(z - R/2) + H_1(z + R/2), \qquad
        H(0) = \left(\frac45\right)^{3/2}\frac1R, \qquad
        \frac{H(z)}{H(0)} = 1 - \frac{144}{125}\left(\frac zR\right)^4 + \dots

    Parameters
    ----------
    radius : float
        Radius of both circles and their distance :math:`R` [m], > 0.
    position : float
        Distance from the middle along the axis :math:`z` [m].

    Returns
    -------
    float
        Field strength along the axis [A/m per ampere].

    Raises
    ------
    ValueError
        If the radius is not positive or the position not finite.

    Notes
    -----
    Range: thin conductors, no other metal near. Exact for filaments.

    References
    ----------
    .. [1] W. R. Smythe, *Static and Dynamic Electricity*, 3rd ed., McGraw-Hill 1968, section 7.10 (from memory).

    Examples
    --------
    >>> f"{helmholtz_pair_axis_field(0.1, 0.0):.6f}"
    '7.155418'
    """
    require_finite(position, "position", "m")
    return sum(circle_axis_field(radius, position + side * 0.5 * radius) for side in (-1.0, 1.0))
