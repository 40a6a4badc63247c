"""Pairs of round wires, a wire and its image among them."""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import binom, ive

from solver.constants import MU_0
from solver.formulas.ranges import require_above, require_finite, require_positive
from solver.formulas.round_wire import wire_internal_impedance
from solver.formulas.skin import diffusion_constant, surface_resistance

# Sixty harmonics give twelve digits down to this ratio of spacing to radius (2 is contact).
CLOSEST_SPACING = 2.05
HARMONICS = 60
# Below this |ka| the highest Bessel functions come near underflow and two terms of the series give 12 digits.
SMALL_ARGUMENT = 2e-3


def _require_pair(radius: float, spacing: float) -> None:
    require_positive(radius, "radius", "m")
    require_above(spacing, 2.0 * radius, "spacing of the centres", "m")


def two_wires_perfect_inductance(radius: float, spacing: float) -> float:
    r"""Loop inductance per metre of two equal round wires with surface currents only.

    .. math:: L' = (\mu_0/\pi)\,\mathrm{arcosh}(D/2a)

    Parameters
    ----------
    radius : float
        Wire radius :math:`a` [m], > 0.
    spacing : float
        Distance of the centres :math:`D` [m], > 2a.

    Returns
    -------
    float
        Inductance of the go-and-return loop [H/m].

    Raises
    ------
    ValueError
        If the radius is not positive or the wires touch.

    Notes
    -----
    Range: perfect conductors (high-frequency limit), proximity effect included. Exact.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics* (from
       memory).

    Examples
    --------
    >>> f"{two_wires_perfect_inductance(0.5e-3, 1.5e-3) * 1e9:.5f}"
    '384.96946'
    """
    _require_pair(radius, spacing)
    return MU_0 / math.pi * math.acosh(spacing / (2.0 * radius))


def two_wires_uniform_inductance(radius: float, spacing: float) -> float:
    r"""Loop inductance per metre of two equal round wires with uniform current.

    .. math:: L' = (\mu_0/\pi)\,[\ln(D/a) + 1/4]

    Parameters
    ----------
    radius : float
        Wire radius :math:`a` [m], > 0.
    spacing : float
        Distance of the centres :math:`D` [m], > 2a.

    Returns
    -------
    float
        Inductance of the go-and-return loop [H/m].

    Raises
    ------
    ValueError
        If the radius is not positive or the wires touch.

    Notes
    -----
    Range: DC. Exact at any spacing.

    References
    ----------
    .. [1] E. B. Rosa, F. W. Grover, "Formulas and tables for the calculation of mutual and self-inductance",
       Bulletin of the Bureau of Standards 8 (1912) 1-237, S169 (from memory).

    Examples
    --------
    >>> f"{two_wires_uniform_inductance(0.5e-3, 1.5e-3) * 1e9:.7f}"
    '539.4449155'
    """
    _require_pair(radius, spacing)
    return MU_0 / math.pi * (math.log(spacing / radius) + 0.25)


def two_wires_perfect_resistance(frequency: float, radius: float, spacing: float, conductivity: float) -> float:
    r"""Loop resistance per metre of two equal round wires in the thin-skin limit.

    .. math:: R' = \frac{R_s}{\pi a}\,\frac{x}{\sqrt{x^2 - 1}}, \qquad x = D/2a

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    radius : float
        Wire radius :math:`a` [m], > 0.
    spacing : float
        Distance of the centres :math:`D` [m], > 2a.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    float
        Resistance of the go-and-return loop [ohm/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: skin depth much smaller than the radius and than the gap D - 2a; at a/50 it is 0.2 % low for
    D = 3a. Follows from the inductance above by the rule of receding surfaces.

    References
    ----------
    .. [1] H. A. Wheeler, "Formulas for the skin effect", Proceedings of the IRE 30 (1942) 412-424 (from
       memory).

    Examples
    --------
    >>> f"{two_wires_perfect_resistance(1e9, 0.5e-3, 1.5e-3, 5.8e7):.6f}"
    '7.046643'
    """
    _require_pair(radius, spacing)
    crowding = 1.0 / math.sqrt(1.0 - (2.0 * radius / spacing) ** 2)
    return surface_resistance(frequency, conductivity) / (math.pi * radius) * crowding


def _reflections(argument: complex) -> NDArray[np.complex128]:
    """I_{n+1}(ka) / I_{n-1}(ka) for n = 1 ... HARMONICS: what a wire answers to a unit incoming harmonic."""
    order = np.arange(1, HARMONICS + 1)
    if abs(argument) < SMALL_ARGUMENT:
        square = (0.5 * argument) ** 2
        correction = 1.0 + square * (1.0 / (order + 2) - 1.0 / order)
        return np.asarray(square / (order * (order + 1)) * correction, dtype=np.complex128)
    return np.asarray(ive(order + 1, argument) / ive(order - 1, argument), dtype=np.complex128)


def _multipole_strengths(reflections: NDArray[np.complex128], ratio: float) -> NDArray[np.complex128]:
    """Outgoing harmonics of either wire in units of mu_0 I / 2 pi; ratio is radius over spacing."""
    order = np.arange(1, HARMONICS + 1)
    translation = binom(order[:, None] + order[None, :] - 1, order[:, None])
    translation = translation * ratio ** (order[:, None] + order[None, :])
    system = np.eye(HARMONICS) - reflections[:, None] * translation
    return np.asarray(np.linalg.solve(system, reflections * ratio**order / order), dtype=np.complex128)


def two_wires_impedance(frequency: float, radius: float, spacing: float, conductivity: float) -> complex:
    r"""Loop impedance per metre of two equal round wires with skin and proximity effect.

    Outside each wire :math:`A = (\mu_0 I/2\pi)[-\ln\rho + \sum_n a_n (a/\rho)^n \cos n\varphi]`; a wire
    answers an incoming :math:`p_n(\rho/a)^n\cos n\varphi` with :math:`a_n = -p_n I_{n+1}(ka)/I_{n-1}(ka)`.
    Moving the other wire's series to this wire's centre gives

    .. math::
        p_n = -\left(\frac aD\right)^n
              \left[\frac1n + \sum_m \binom{m+n-1}{n}\left(\frac aD\right)^m a_m\right], \qquad
        Z' = 2 Z'_{wire} + \frac{j\omega\mu_0}{\pi}
             \left[\ln\frac Da - \sum_m a_m\left(\frac aD\right)^m\right]

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    radius : float
        Wire radius :math:`a` [m], > 0.
    spacing : float
        Distance of the centres :math:`D` [m], > 2.05 a.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        Impedance of the go-and-return loop [ohm/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: equal non-magnetic wires, displacement current neglected. Exact but for the series' end after 60
    harmonics, which is below rounding at 2.1 a and 1e-12 at 2.05 a.

    References
    ----------
    .. [1] J. R. Carson, "Wave propagation over parallel wires: the proximity effect", Philosophical Magazine
       41 (1921) 607-633 (the problem, from memory; the series as written here is derived).

    Examples
    --------
    >>> z = two_wires_impedance(1e6, 0.5e-3, 1.5e-3, 5.8e7)
    >>> f"{z.real:.7f} ohm/m, {z.imag / (2e6 * math.pi) * 1e9:.4f} nH/m"
    '0.2267319 ohm/m, 420.2791 nH/m'
    """
    require_positive(radius, "radius", "m")
    require_above(spacing, CLOSEST_SPACING * radius, "spacing of the centres", "m")
    ratio = radius / spacing
    reflections = _reflections(diffusion_constant(frequency, conductivity) * radius)
    strengths = _multipole_strengths(reflections, ratio)
    answer = complex(np.sum(strengths * ratio ** np.arange(1, HARMONICS + 1)))
    external = 2j * frequency * MU_0 * (math.log(1.0 / ratio) - answer)
    return 2.0 * wire_internal_impedance(frequency, radius, conductivity) + external


def wire_over_plane_inductance(radius: float, height: float) -> float:
    r"""Inductance per metre of a round wire over an infinite perfect plane.

    .. math:: L' = (\mu_0/2\pi)\,\mathrm{arcosh}(h/a)

    Parameters
    ----------
    radius : float
        Wire radius :math:`a` [m], > 0.
    height : float
        Height of the wire's centre over the plane :math:`h` [m], > a.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If the radius is not positive or the wire touches the plane.

    Notes
    -----
    Range: perfect conductors, proximity effect included. Exact; half of two wires 2h apart.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics* (from
       memory).

    Examples
    --------
    >>> f"{wire_over_plane_inductance(100e-6, 200e-6) * 1e9:.7f}"
    '263.3915794'
    """
    require_positive(radius, "radius", "m")
    require_above(height, radius, "height of the wire's centre", "m")
    return MU_0 / (2.0 * math.pi) * math.acosh(height / radius)


def filaments_over_plane_mutual(first_height: float, second_height: float, distance: float) -> float:
    r"""Mutual inductance per metre of two filaments over an infinite perfect plane.

    .. math:: M' = \frac{\mu_0}{4\pi}\ln\left[1 + \frac{4 h_1 h_2}{d^2 + (h_1 - h_2)^2}\right]

    Parameters
    ----------
    first_height, second_height : float
        Heights over the plane :math:`h_1, h_2` [m], > 0.
    distance : float
        Distance along the plane :math:`d` [m]; not zero when the heights are equal.

    Returns
    -------
    float
        Mutual inductance [H/m].

    Raises
    ------
    ValueError
        If a height is not positive or the filaments coincide.

    Notes
    -----
    Range: conductors thin against their distances, perfect plane. Exact for filaments.

    References
    ----------
    .. [1] J. R. Carson, "Wave propagation in overhead wires with ground return", Bell System Technical
       Journal 5 (1926) 539-554, the perfect-ground term (from memory).

    Examples
    --------
    >>> f"{filaments_over_plane_mutual(200e-6, 200e-6, 1e-3) * 1e9:.8f}"
    '14.84200051'
    """
    require_positive(first_height, "first height", "m")
    require_positive(second_height, "second height", "m")
    require_finite(distance, "distance", "m")
    square = distance**2 + (first_height - second_height) ** 2
    require_positive(math.sqrt(square), "distance of the filaments", "m")
    return MU_0 / (4.0 * math.pi) * math.log1p(4.0 * first_height * second_height / square)
