"""Rings of round wire: DC resistance, and inductance for three distributions of the current."""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import circulant
from scipy.special import ellipe, ellipk, ellipkm1, gammaln, hyp2f1

from solver.constants import MU_0
from solver.formulas.ranges import require_above, require_positive, require_within

# Thickest wire, as a share of the ring's radius, for which the series in a/R are good to 1e-4.
THICKEST_SERIES = 0.2
# The series of toroidal functions needs about 18/arcosh(R/a) terms.
FATTEST_TORUS = 1.0 / 1.05
# 128 points on the surface give seven digits at these clearances, ten at twice them.
FATTEST_OVER_PLANE = 1.0 / 1.2
LOWEST_OVER_PLANE = 1.05
POINTS = 128


def _require_ring(radius: float, wire_radius: float, thickest: float) -> None:
    require_positive(radius, "radius", "m")
    require_positive(wire_radius, "wire radius", "m")
    require_within(wire_radius / radius, 0.0, thickest, "wire radius over radius", "(ratio)")


def ring_dc_resistance(radius: float, wire_radius: float, conductivity: float) -> float:
    r"""DC resistance of a closed ring of round wire.

    .. math:: R_{dc} = \frac{1}{\sigma\,(R - \sqrt{R^2 - a^2})}

    The density falls as 1/r across the wire, because the inner path is shorter.

    Parameters
    ----------
    radius : float
        Radius of the ring to the wire's centre :math:`R` [m], > 0.
    wire_radius : float
        Radius of the wire :math:`a` [m], > 0 and below R.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    float
        Resistance [ohm].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: DC. Exact. A wire of length 2 pi R has more, by the share a^2/(4R^2).

    References
    ----------
    .. [1] Derived here: the conductance of a ring is the integral of sigma/(2 pi r) over its section.

    Examples
    --------
    >>> f"{ring_dc_resistance(2e-3, 0.1e-3, 5.8e7) * 1e3:.6f}"
    '6.892239'
    """
    require_positive(conductivity, "conductivity", "S/m")
    _require_ring(radius, wire_radius, math.nextafter(1.0, 0.0))
    # wire_radius**2 over the sum of the roots: R - sqrt(R^2 - a^2) without cancellation.
    reach = wire_radius**2 / (radius + math.sqrt((radius - wire_radius) * (radius + wire_radius)))
    return 1.0 / (conductivity * reach)


def ring_uniform_inductance(radius: float, wire_radius: float) -> float:
    r"""Inductance of a ring of round wire whose current density is the same all over the section.

    .. math::
        L = \mu_0R\left[\left(1 + \frac{a^2}{8R^2}\right)\ln\frac{8R}{a} + \frac{a^2}{24R^2} - \frac74\right]

    That is a coil of many insulated turns in series. In a solid ring the density falls as 1/r
    (:func:`ring_dc_inductance`) or keeps to the surface (:func:`ring_perfect_inductance`).

    Parameters
    ----------
    radius : float
        Radius of the ring to the wire's centre :math:`R` [m], > 0.
    wire_radius : float
        Radius of the wire :math:`a` [m], > 0 and at most R/5.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: no other metal near. The rest is of order (a/R)^4: 2e-7 of the inductance at a = R/10.

    References
    ----------
    .. [1] Lord Rayleigh and W. D. Niven (1881), as quoted by E. B. Rosa, F. W. Grover, "Formulas and tables for
       the calculation of mutual and self-inductance", NBS Bulletin 8 (1912) 1-237 (from memory).

    Examples
    --------
    >>> f"{ring_uniform_inductance(2e-3, 0.1e-3) * 1e9:.7f}"
    '8.3613211'
    """
    _require_ring(radius, wire_radius, THICKEST_SERIES)
    square = (wire_radius / radius) ** 2
    return MU_0 * radius * ((1.0 + square / 8.0) * math.log(8.0 * radius / wire_radius) + square / 24.0 - 1.75)


def ring_dc_inductance(radius: float, wire_radius: float) -> float:
    r"""DC inductance of a closed ring of round wire.

    .. math::
        L = \mu_0R\left[\left(1 - \frac{a^2}{8R^2}\right)\ln\frac{8R}{a} + \frac{5a^2}{24R^2} - \frac74\right]

    The density falls as 1/r across the wire.

    Parameters
    ----------
    radius : float
        Radius of the ring to the wire's centre :math:`R` [m], > 0.
    wire_radius : float
        Radius of the wire :math:`a` [m], > 0 and at most R/5.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: DC, no other metal near. The rest is of order (a/R)^4: 5e-6 of the inductance at a = R/10.

    References
    ----------
    .. [1] Fitted to numerical integration, which validation/formulas/test_rayleigh_niven_1881.py repeats; no published
       source is known to us.

    Examples
    --------
    >>> f"{ring_dc_inductance(2e-3, 0.1e-3) * 1e9:.5f}"
    '8.35440'
    """
    _require_ring(radius, wire_radius, THICKEST_SERIES)
    square = (wire_radius / radius) ** 2
    logarithm = (1.0 - square / 8.0) * math.log(8.0 * radius / wire_radius)
    return MU_0 * radius * (logarithm + 5.0 * square / 24.0 - 1.75)


def ring_perfect_inductance(radius: float, wire_radius: float) -> float:
    r"""Inductance of a perfectly conducting ring of round wire: the limit of high frequency.

    .. math::
        \frac1L = \frac{1}{2\pi^2\mu_0c}\left|\sum_{n=0}^\infty
        \frac{\varepsilon_n}{n^2 - \frac14}
        \frac{Q^1_{n-1/2}(R/a)}{P^1_{n-1/2}(R/a)}\right|, \qquad c^2 = R^2 - a^2

    with Neumann's factors :math:`\varepsilon_0 = 1, \varepsilon_n = 2`. For thin wire it tends to
    :math:`\mu_0R[\ln(8R/a) - 2]`.

    Parameters
    ----------
    radius : float
        Radius of the ring to the wire's centre :math:`R` [m], > 0.
    wire_radius : float
        Radius of the wire :math:`a` [m], > 0 and at most R/1.05.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: perfect conductor, no other metal near. Exact. Real copper adds the flux within a skin depth.

    References
    ----------
    .. [1] V. Belevitch, J. Boersma, "Some electrical problems for a torus", Philips Journal of Research 38 (1983)
       79-137 (from memory; the series is derived here in toroidal coordinates).

    Examples
    --------
    >>> f"{ring_perfect_inductance(2e-3, 0.1e-3) * 1e9:.8f}"
    '7.70380712'
    """
    _require_ring(radius, wire_radius, FATTEST_TORUS)
    focal_radius = math.sqrt((radius - wire_radius) * (radius + wire_radius))
    return 2.0 * math.pi**2 * MU_0 * focal_radius / _torus_sum(radius / wire_radius)


def _torus_sum(x: float) -> float:
    """Sum over n of eps_n Q'/P' / (1/4 - n^2), the functions being of degree n - 1/2 at x."""
    eta = math.acosh(x)
    p_below = 2.0 / math.pi / math.cosh(0.5 * eta) * float(ellipk(math.tanh(0.5 * eta) ** 2))
    p = 2.0 / math.pi * math.exp(0.5 * eta) * float(ellipe(-math.expm1(-2.0 * eta)))
    q_below, q = _toroidal_q(-0.5, x), _toroidal_q(0.5, x)
    total = 4.0 * (q - x * q_below) / (p - x * p_below)
    for n in range(1, 10 + math.ceil(20.0 / eta)):
        degree = n - 0.5
        total += 2.0 * (x * q - q_below) / (x * p - p_below) / (0.25 - n * n)
        p_below, p = p, (2.0 * n * x * p - degree * p_below) / (degree + 1.0)
        q_below, q = q, _toroidal_q(degree + 1.0, x)
    return total


def _toroidal_q(degree: float, x: float) -> float:
    """Legendre function of the second kind of a half-integral degree, x > 1."""
    scale = 0.5 * math.log(math.pi) + float(gammaln(degree + 1.0) - gammaln(degree + 1.5))
    series = float(hyp2f1(0.5 * degree + 1.0, 0.5 * degree + 0.5, degree + 1.5, 1.0 / x**2))
    return math.exp(scale - (degree + 1.0) * math.log(2.0 * x)) * series


def ring_over_plane_perfect_inductance(radius: float, wire_radius: float, height: float) -> float:
    r"""Inductance of a perfectly conducting ring of round wire over a perfect plane.

    .. math::
        \oint\left[M(s, s') - M(s, \bar s')\right]K(s')\,ds' = \Phi \quad\text{for all } s, \qquad
        L = \Phi\Big/\oint K\,ds

    The surface current K round the wire is found together with that of its mirror image, so the crowding of the
    current towards the plane is included.

    Parameters
    ----------
    radius : float
        Radius of the ring to the wire's centre :math:`R` [m], > 0.
    wire_radius : float
        Radius of the wire :math:`a` [m], > 0 and at most R/1.2.
    height : float
        Height of the wire's centre over the plane :math:`h` [m], at least 1.05a.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: perfect conductors, infinite plane. Ten digits, seven at the limits named. Thin wire and a filament for
    the image give 14 % more at R = 20a, h = 1.5a.

    References
    ----------
    .. [1] The integral equation is Maxwell's mutual inductance of coaxial circles (*Treatise*, art. 701, from
       memory) over the surfaces; solved by the quadrature of R. Kress, *Linear Integral Equations*, 2nd ed.,
       Springer 1999, section 12.3 (from memory), for kernels with a logarithm.

    Examples
    --------
    >>> f"{ring_over_plane_perfect_inductance(2e-3, 0.1e-3, 0.15e-3) * 1e9:.7f}"
    '2.3947871'
    """
    _require_ring(radius, wire_radius, FATTEST_OVER_PLANE)
    require_above(height, 0.0, "height of the wire's centre", "m")
    require_within(height, LOWEST_OVER_PLANE * wire_radius, math.inf, "height of the wire's centre", "m")
    angle = 2.0 * math.pi / POINTS * np.arange(POINTS)
    r, z = radius + wire_radius * np.cos(angle), wire_radius * np.sin(angle)
    near = (r[:, None] - r) ** 2 + (2.0 * height + z[:, None] + z) ** 2
    image = _circles_kernel(near / ((r[:, None] + r) ** 2 + (2.0 * height + z[:, None] + z) ** 2))
    kernel = _own_kernel(r, z, wire_radius) - image * 2.0 * math.pi / POINTS
    current = np.linalg.solve(MU_0 * np.sqrt(r[:, None] * r) * kernel, np.ones(POINTS))
    return POINTS / (2.0 * math.pi * float(np.sum(current)))


def _circles_kernel(complement: NDArray[np.float64]) -> NDArray[np.float64]:
    """Maxwell's M/(mu_0 sqrt(r r')) of two circles, from k'^2."""
    modulus = np.sqrt(1.0 - complement)
    return np.asarray((2.0 / modulus - modulus) * ellipkm1(complement) - 2.0 / modulus * ellipe(1.0 - complement))


def _own_kernel(r: NDArray[np.float64], z: NDArray[np.float64], wire_radius: float) -> NDArray[np.float64]:
    """Weighted kernel of the wire's surface on itself, split as A ln(4 sin^2((s - s')/2)) + B."""
    half_chord = np.sin(0.5 * (2.0 * math.pi / POINTS) * np.subtract.outer(np.arange(POINTS), np.arange(POINTS)))
    sine = 4.0 * half_chord**2
    np.fill_diagonal(sine, 1.0)
    near = wire_radius**2 * sine
    complement = near / ((r[:, None] + r) ** 2 + (z[:, None] - z) ** 2)
    np.fill_diagonal(complement, 0.5)  # stands in; what it leads to is replaced below
    modulus = np.sqrt(1.0 - complement)
    logarithm = -(2.0 / modulus * ellipe(complement) - modulus * ellipk(complement)) / math.pi
    smooth = _circles_kernel(complement) - logarithm * np.log(sine)
    np.fill_diagonal(logarithm, -0.5)
    np.fill_diagonal(smooth, np.log(8.0 * r / wire_radius) - 2.0)
    return np.asarray(_logarithm_weights() * logarithm + smooth * 2.0 * math.pi / POINTS)


def _logarithm_weights() -> NDArray[np.float64]:
    """Weights of equally spaced values in the integral of ln(4 sin^2((s - s')/2)) times a periodic function."""
    place, order = np.arange(POINTS), np.arange(1, POINTS // 2)
    waves = np.cos(2.0 * math.pi / POINTS * np.outer(place, order)) @ (1.0 / order)
    return np.asarray(circulant(-4.0 * math.pi / POINTS * (waves + (-1.0) ** place / POINTS)))
