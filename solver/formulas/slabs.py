"""A line current, and a circular loop, over a conducting slab of finite or infinite thickness."""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import j1

from solver.constants import MU_0
from solver.formulas.ranges import require_finite, require_positive, require_within
from solver.formulas.skin import diffusion_constant

# Beyond this exponent the integrands are below 1e-22 of their largest value.
DECAY_SPAN = 50.0
WIDEST_LOOP = 1000.0


def _require_slab(height: float, thickness: float) -> None:
    require_positive(height, "height", "m")
    if not thickness > 0.0:
        raise ValueError(f"thickness is {thickness:g} m; allowed: above 0 m, infinite included")


def _panel_rule(decay_length: float, x: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wave numbers and weights for integrals over exp(-a decay_length) cos(a x), a from zero to infinity."""
    upper = DECAY_SPAN / decay_length
    waves = 1 + math.ceil(upper * abs(x) / math.pi)
    edges = np.unique(
        np.concatenate(([0.0], np.geomspace(1e-14 * upper, upper, 60), np.linspace(0.0, upper, waves + 1)))
    )
    nodes, weights = np.polynomial.legendre.leggauss(20)
    middle, half = 0.5 * (edges[1:] + edges[:-1]), 0.5 * np.diff(edges)
    return (middle[:, None] + half[:, None] * nodes).ravel(), (half[:, None] * weights).ravel()


def _inside(
    wave: NDArray[np.float64], frequency: float, thickness: float, conductivity: float
) -> tuple[NDArray[np.complex128], NDArray[np.complex128], NDArray[np.complex128]]:
    """Wave number in the metal, decay there and back, and the common denominator of the two ratios below."""
    metal = np.sqrt(wave**2 + diffusion_constant(frequency, conductivity) ** 2)
    trip = np.zeros_like(metal) if math.isinf(thickness) else np.exp(-2.0 * metal * thickness)
    return metal, trip, (wave + metal) ** 2 - (wave - metal) ** 2 * trip


def _passed(
    wave: NDArray[np.float64], distance: float, frequency: float, thickness: float, conductivity: float
) -> NDArray[np.complex128]:
    """T(a) exp(-a distance) of the slab."""
    metal, _, denominator = _inside(wave, frequency, thickness, conductivity)
    decay = np.exp(-(metal - wave) * thickness - wave * distance)
    return np.asarray(4.0 * wave * metal * decay / denominator)


def slab_excess_impedance(frequency: float, height: float, thickness: float, conductivity: float) -> complex:
    r"""Excess of the impedance per metre of a line current over a slab above that over a perfect plane.

    .. math::
        \Delta Z' = \frac{j\omega\mu_0}{2\pi}\int_0^\infty \frac{1 + \Gamma(a)}{a}\,e^{-2ah}\,da, \qquad
        \Gamma = \frac{(a - a_1)(a + a_1)(1 - e^{-2a_1t})}{(a + a_1)^2 - (a - a_1)^2 e^{-2a_1t}}, \qquad
        a_1^2 = a^2 + j\omega\mu_0\sigma

    The whole is :math:`Z' = j\omega(\mu_0/2\pi)\ln(2h/r) + \Delta Z'`: the real part is the loss of the
    plane, the imaginary part over the angular frequency the excess inductance over a perfect plane.

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    height : float
        Height of the line over the slab's upper face :math:`h` [m], > 0.
    thickness : float
        Slab thickness :math:`t` [m], > 0; infinite is allowed.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        Excess impedance [ohm/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, wide non-magnetic slab with air on both sides, displacement current neglected. Exact but
    for the quadrature (ten digits).

    References
    ----------
    .. [1] J. R. Carson, "Wave propagation in overhead wires with ground return", Bell System Technical
       Journal 5 (1926) 539-554, for the half space (from memory).
    .. [2] C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of
       Applied Physics 39 (1968) 2829-2838, for the reflection of a plate (re-derived).

    Examples
    --------
    >>> f"{slab_excess_impedance(1e6, 0.2e-3, 35e-6, 5.8e7).real:.6f}"
    '0.338703'
    """
    _require_slab(height, thickness)
    wave, weights = _panel_rule(2.0 * height, 0.0)
    metal, trip, denominator = _inside(wave, frequency, thickness, conductivity)
    # (1 + Gamma)/a expanded, so that nothing cancels where Gamma comes near -1.
    transparency = 2.0 * ((wave + metal) - (wave - metal) * trip) / denominator
    integral = complex(np.sum(weights * transparency * np.exp(-2.0 * wave * height)))
    return 1j * frequency * MU_0 * integral


def field_behind_slab(
    x: float, depth: float, *, frequency: float, height: float, thickness: float, conductivity: float
) -> tuple[complex, complex]:
    r"""Magnetic field strength of one ampere along +z, behind a conducting slab.

    .. math::
        H_x = \frac1{2\pi}\int_0^\infty T\cos(ax)\,e^{-a(h+z)}\,da, \quad
        H_y = \frac1{2\pi}\int_0^\infty T\sin(ax)\,e^{-a(h+z)}\,da, \quad
        T = \frac{4 a a_1 e^{-(a_1 - a)t}}{(a + a_1)^2 - (a - a_1)^2 e^{-2a_1t}}

    Parameters
    ----------
    x : float
        Distance from the line along the slab [m], at most 100 times the distance h + z.
    depth : float
        Depth of the point below the slab's upper face :math:`z` [m], at least the thickness.
    frequency : float
        Frequency [Hz], > 0.
    height : float
        Height of the line over the upper face :math:`h` [m], > 0.
    thickness : float
        Slab thickness :math:`t` [m], > 0 and finite.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    tuple of complex
        :math:`(H_x, H_y)` [A/m per ampere]; without a slab :math:`H_x = 1/(2\pi(h+z))` straight below.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, wide non-magnetic slab with air on both sides, displacement current neglected. Exact but
    for the quadrature.

    References
    ----------
    .. [1] C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of
       Applied Physics 39 (1968) 2829-2838, for the transmission of a plate (re-derived for the line current).

    Examples
    --------
    >>> hx, hy = field_behind_slab(
    ...     0.0, 0.5e-3, frequency=1e6, height=0.2e-3, thickness=35e-6, conductivity=5.8e7
    ... )
    >>> f"{abs(hx) * 2 * math.pi * 0.7e-3:.6f}"
    '0.166164'
    """
    _require_slab(height, thickness)
    require_finite(depth, "depth", "m")
    require_within(depth, thickness, math.inf, "depth", "m")
    distance = height + depth
    require_within(x, -100.0 * distance, 100.0 * distance, "distance along the slab", "m")
    wave, weights = _panel_rule(distance, x)
    spectrum = weights * _passed(wave, distance, frequency, thickness, conductivity) / (2.0 * math.pi)
    return complex(np.sum(spectrum * np.cos(wave * x))), complex(np.sum(spectrum * np.sin(wave * x)))


def circle_slab_impedance(
    frequency: float, radius: float, height: float, thickness: float, conductivity: float
) -> complex:
    r"""Change of a circular loop's impedance by a conducting slab below it.

    .. math::
        \Delta Z = j\omega\pi\mu_0R^2\int_0^\infty \Gamma(a)\,J_1(aR)^2\,e^{-2ah}\,da, \qquad
        \Gamma = \frac{(a - a_1)(a + a_1)(1 - e^{-2a_1t})}{(a + a_1)^2 - (a - a_1)^2 e^{-2a_1t}}, \qquad
        a_1^2 = a^2 + j\omega\mu_0\sigma

    The real part is the loss of the slab, the imaginary part over the angular frequency the change of the
    inductance, negative; a perfect slab gives -M(R, R, 2h).

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    radius : float
        Radius of the loop :math:`R` [m], > 0 and at most 1000 h.
    height : float
        Height of the loop over the slab's upper face :math:`h` [m], > 0.
    thickness : float
        Slab thickness :math:`t` [m], > 0; infinite is allowed.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        Change of the impedance [ohm].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, wide non-magnetic slab with air on both sides, displacement current neglected. Exact but
    for the quadrature (ten digits).

    References
    ----------
    .. [1] C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of
       Applied Physics 39 (1968) 2829-2838 (re-derived for one thin turn).

    Examples
    --------
    >>> change = circle_slab_impedance(1e6, 2e-3, 0.2e-3, 35e-6, 5.8e7)
    >>> f"{change.real * 1e3:.6f} mOhm, {change.imag / (2e6 * math.pi) * 1e9:.6f} nH"
    '4.034051 mOhm, -3.992256 nH'
    """
    _require_slab(height, thickness)
    require_positive(radius, "radius", "m")
    require_within(radius / height, 0.0, WIDEST_LOOP, "radius over height", "(ratio)")
    wave, weights = _panel_rule(2.0 * height, 2.0 * radius)
    _, trip, denominator = _inside(wave, frequency, thickness, conductivity)
    # (a - a1)(a + a1) expanded, so that nothing cancels where a1 comes near a.
    reflection = -(diffusion_constant(frequency, conductivity) ** 2) * (1.0 - trip) / denominator
    integral = complex(np.sum(weights * reflection * j1(wave * radius) ** 2 * np.exp(-2.0 * wave * height)))
    return 2j * math.pi**2 * frequency * MU_0 * radius**2 * integral


def circle_field_behind_slab(
    depth: float, *, frequency: float, radius: float, height: float, thickness: float, conductivity: float
) -> complex:
    r"""Magnetic field strength of a circular loop of one ampere on its axis, behind a conducting slab.

    .. math::
        H = \frac R2\int_0^\infty a\,J_1(aR)\,T\,e^{-a(h+z)}\,da, \qquad
        T = \frac{4 a a_1 e^{-(a_1 - a)t}}{(a + a_1)^2 - (a - a_1)^2 e^{-2a_1t}}

    Parameters
    ----------
    depth : float
        Depth of the point below the slab's upper face :math:`z` [m], at least the thickness.
    frequency : float
        Frequency [Hz], > 0.
    radius : float
        Radius of the loop :math:`R` [m], > 0 and at most 1000 times h + z.
    height : float
        Height of the loop over the upper face :math:`h` [m], > 0.
    thickness : float
        Slab thickness :math:`t` [m], > 0 and finite.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        Field strength along the axis [A/m per ampere]; it depends on h + z only.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, wide non-magnetic slab with air on both sides, displacement current neglected. Exact but
    for the quadrature.

    References
    ----------
    .. [1] C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of
       Applied Physics 39 (1968) 2829-2838 (re-derived for one thin turn).

    Examples
    --------
    >>> field = circle_field_behind_slab(
    ...     1e-3, frequency=1e6, radius=2e-3, height=0.2e-3, thickness=35e-6, conductivity=5.8e7
    ... )
    >>> f"{abs(field) / (0.5 * 2e-3**2 / math.hypot(2e-3, 1.2e-3) ** 3):.7f}"
    '0.0841828'
    """
    _require_slab(height, thickness)
    require_finite(depth, "depth", "m")
    require_within(depth, thickness, math.inf, "depth", "m")
    require_positive(radius, "radius", "m")
    distance = height + depth
    require_within(radius / distance, 0.0, WIDEST_LOOP, "radius over distance", "(ratio)")
    wave, weights = _panel_rule(distance, radius)
    spectrum = weights * _passed(wave, distance, frequency, thickness, conductivity)
    return 0.5 * radius * complex(np.sum(wave * j1(wave * radius) * spectrum))
