"""A circular loop over a perfect plane without thickness: a disc of finite radius, or a plane with a round hole."""

import math

import numpy as np
from numpy.typing import NDArray

from solver.constants import MU_0
from solver.formulas.circles import circle_axis_field
from solver.formulas.ranges import require_finite, require_positive, require_within

# The functions below are smooth over distances of the height, so panels of that size and 20 points each reach
# twelve digits.
LARGEST_RATIO = 1e4


def disc_shielding(height: float, disc_radius: float, offset: float = 0.0) -> float:
    r"""Moment of a small loop over a perfect disc of finite radius, relative to the same loop alone.

    .. math::
        \frac m{m_0} = 1 - \frac2\pi\left[\mathrm{arccot}\,\zeta - \frac\zeta{\zeta^2 + \mu^2}\right],
        \qquad h = b\mu\zeta, \quad x = b\sqrt{(1 + \zeta^2)(1 - \mu^2)}

    On the axis, with h much smaller than b, 4h/(pi b); off it :math:`(2 - x^2/b^2)/2(1 - x^2/b^2)^{3/2}` times as much.
    The loop lies parallel to the disc. By reciprocity the ratio is the field across the disc at the loop when the disc
    lies in a uniform field along its axis. It is what the far field, hence an antenna, sees of the loop.

    Parameters
    ----------
    height : float
        Height of the loop over the disc :math:`h` [m], > 0.
    disc_radius : float
        Radius of the disc :math:`b` [m], > 0.
    offset : float
        Distance of the loop from the disc's axis :math:`x` [m].

    Returns
    -------
    float
        Ratio of the moments [1]; above 1 beside the disc, where the field crowds.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: loop small against h and b, perfect disc without thickness. Exact.

    References
    ----------
    .. [1] Derived here. The field is that of flow across a circular disc: H. Lamb, *Hydrodynamics*, 6th ed.,
       Cambridge 1932, art. 108 (from memory).

    Examples
    --------
    >>> f"{disc_shielding(0.2e-3, 10e-3):.6f}"
    '0.025458'
    """
    require_positive(height, "height", "m")
    require_positive(disc_radius, "disc radius", "m")
    require_finite(offset, "offset", "m")
    up, out = (height / disc_radius) ** 2, (offset / disc_radius) ** 2
    excess = up + out - 1.0
    root = math.hypot(excess, 2.0 * math.sqrt(up))
    # Of zeta² and -mu², the roots of one quadratic equation, the larger magnitude first: their product is -up.
    zeta_squared = 0.5 * (excess + root) if excess > 0.0 else 2.0 * up / (root - excess)
    mu_squared = up / zeta_squared
    zeta = math.sqrt(zeta_squared)
    return 2.0 / math.pi * (math.atan(zeta) + zeta / (zeta_squared + mu_squared))


def disc_inductance_change(radius: float, height: float, disc_radius: float) -> float:
    r"""Change of a circular loop's inductance by a coaxial perfect disc of finite radius.

    .. math::
        \Delta L = -2\mu_0R^2\int_0^c G(t)^2\,dt, \qquad
        G(t) = -\frac1R\,\mathrm{Im}\frac{s}{\sqrt{s^2 + R^2}}, \qquad s = h - jt

    Parameters
    ----------
    radius : float
        Radius of the loop :math:`R` [m], > 0.
    height : float
        Height of the loop over the disc :math:`h` [m], > 0.
    disc_radius : float
        Radius of the disc :math:`c` [m], > 0 and at most 10 000 h.

    Returns
    -------
    float
        Change of the inductance [H], negative; for a large disc -M(R, R, 2h).

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, perfect disc without thickness. Exact but for the quadrature (ten digits).

    References
    ----------
    .. [1] E. T. Copson, "On the problem of the electrified disc", Proceedings of the Edinburgh Mathematical Society
       8 (1947) 14-19; I. N. Sneddon, *Mixed Boundary Value Problems in Potential Theory*, North-Holland 1966 (both
       from memory; the solution of the dual integral equations for this loop is derived).

    Examples
    --------
    >>> f"{disc_inductance_change(2e-3, 0.5e-3, 3e-3) * 1e9:.6f}"
    '-2.202277'
    """
    t, weights = _radii(radius, height, disc_radius, "disc radius")
    return -2.0 * MU_0 * radius**2 * float(np.sum(weights * _disc_function(t, radius, height) ** 2))


def disc_axis_field(depth: float, *, radius: float, height: float, disc_radius: float) -> float:
    r"""Magnetic field strength of a circular loop of one ampere on the axis, behind a coaxial perfect disc.

    .. math::
        H(z) = H_0(h + z) - \frac R\pi\int_0^c G(t)\,\frac{2zt}{(z^2 + t^2)^2}\,dt

    with G of :func:`disc_inductance_change` and :math:`H_0` the field of the loop alone.

    Parameters
    ----------
    depth : float
        Depth of the point below the disc :math:`z` [m], > 0.
    radius : float
        Radius of the loop :math:`R` [m], > 0.
    height : float
        Height of the loop over the disc :math:`h` [m], > 0.
    disc_radius : float
        Radius of the disc :math:`c` [m], > 0 and at most 10 000 times h and z.

    Returns
    -------
    float
        Field strength along the axis [A/m per ampere].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, perfect disc without thickness. Exact but for the quadrature: its error is 1e-12 of the field
    without disc.

    References
    ----------
    .. [1] As for :func:`disc_inductance_change`.

    Examples
    --------
    >>> shielded = disc_axis_field(1e-3, radius=2e-3, height=0.5e-3, disc_radius=3e-3)
    >>> f"{shielded / circle_axis_field(2e-3, 1.5e-3):.7f}"
    '0.0115190'
    """
    require_positive(depth, "depth", "m")
    require_within(disc_radius / depth, 0.0, LARGEST_RATIO, "disc radius over depth", "(ratio)")
    t, weights = _radii(radius, height, disc_radius, "disc radius", depth)
    spread = 2.0 * depth * t / (depth**2 + t**2) ** 2
    answer = float(np.sum(weights * spread * _disc_function(t, radius, height)))
    return circle_axis_field(radius, height + depth) - radius / math.pi * answer


def hole_inductance_increase(radius: float, height: float, hole_radius: float) -> float:
    r"""Increase of the inductance of a circular loop over a perfect plane by a coaxial round hole in it.

    .. math::
        \Delta L = 2\mu_0R^2\int_0^c P(t)^2\,dt, \qquad
        P(t) = \frac1R\left[\frac{\mathrm{Im}\,q}{t} + \mathrm{Re}\frac sq\right], \qquad
        s = h - jt, \quad q = \sqrt{s^2 + R^2}

    Parameters
    ----------
    radius : float
        Radius of the loop :math:`R` [m], > 0.
    height : float
        Height of the loop over the plane :math:`h` [m], > 0.
    hole_radius : float
        Radius of the hole :math:`c` [m], > 0 and at most 10 000 h.

    Returns
    -------
    float
        Increase over the inductance with the whole plane [H]; for a large hole M(R, R, 2h).

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, perfect plane without thickness. Exact but for the quadrature and for rounding, which leaves
    a share (h/c)^2 x 1e-15.

    References
    ----------
    .. [1] As for :func:`disc_inductance_change`.

    Examples
    --------
    >>> f"{hole_inductance_increase(2e-3, 0.5e-3, 1.5e-3) * 1e9:.8f}"
    '0.03515850'
    """
    t, weights = _radii(radius, height, hole_radius, "hole radius")
    return 2.0 * MU_0 * radius**2 * float(np.sum(weights * _hole_function(t, radius, height) ** 2))


def hole_axis_field(depth: float, *, radius: float, height: float, hole_radius: float) -> float:
    r"""Magnetic field strength of a circular loop of one ampere on the axis, behind a round hole in a perfect plane.

    .. math:: H(z) = \frac R\pi\int_0^c P(t)\,\frac{2t^2}{(z^2 + t^2)^2}\,dt

    with P of :func:`hole_inductance_increase`.

    Parameters
    ----------
    depth : float
        Depth of the point below the plane :math:`z` [m], > 0.
    radius : float
        Radius of the loop :math:`R` [m], > 0.
    height : float
        Height of the loop over the plane :math:`h` [m], > 0.
    hole_radius : float
        Radius of the hole :math:`c` [m], > 0 and at most 10 000 times h and z.

    Returns
    -------
    float
        Field strength along the axis [A/m per ampere].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, perfect plane without thickness. Exact but for the quadrature and rounding.

    References
    ----------
    .. [1] As for :func:`disc_inductance_change`.

    Examples
    --------
    >>> leaked = hole_axis_field(1e-3, radius=2e-3, height=0.5e-3, hole_radius=1e-3)
    >>> f"{leaked / circle_axis_field(2e-3, 1.5e-3):.6f}"
    '0.023759'
    """
    require_positive(depth, "depth", "m")
    require_within(hole_radius / depth, 0.0, LARGEST_RATIO, "hole radius over depth", "(ratio)")
    t, weights = _radii(radius, height, hole_radius, "hole radius", depth)
    spread = 2.0 * t**2 / (depth**2 + t**2) ** 2
    return radius / math.pi * float(np.sum(weights * spread * _hole_function(t, radius, height)))


def _radii(
    radius: float, height: float, edge: float, name: str, depth: float = math.inf
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points and weights between the axis and the edge."""
    require_positive(radius, "radius", "m")
    require_positive(height, "height", "m")
    require_positive(edge, name, "m")
    require_within(edge / height, 0.0, LARGEST_RATIO, f"{name} over height", "(ratio)")
    panels = 2 + math.ceil(edge / min(height, depth))
    borders = np.linspace(0.0, edge, panels + 1)
    nodes, weights = np.polynomial.legendre.leggauss(20)
    middle, half = 0.5 * (borders[1:] + borders[:-1]), 0.5 * np.diff(borders)
    return (middle[:, None] + half[:, None] * nodes).ravel(), (half[:, None] * weights).ravel()


def _disc_function(t: NDArray[np.float64], radius: float, height: float) -> NDArray[np.float64]:
    s = height - 1j * t
    return np.asarray(-(s / np.sqrt(s**2 + radius**2)).imag / radius)


def _hole_function(t: NDArray[np.float64], radius: float, height: float) -> NDArray[np.float64]:
    s = height - 1j * t
    q = np.sqrt(s**2 + radius**2)
    return np.asarray((q.imag / t + (s / q).real) / radius)
