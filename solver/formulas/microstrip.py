"""Strips of finite thickness over a plane."""

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root
from scipy.special import ellipe, ellipkm1

from solver.constants import ETA_0, MU_0, SPEED_OF_LIGHT
from solver.formulas.ranges import require_positive, require_within
from solver.formulas.strips import strip_over_plane_inductance


def _air_impedance(ratio: float) -> float:
    """Z01(u) of Hammerstad & Jensen, eqs (1) and (2)."""
    factor = 6.0 + (2.0 * math.pi - 6.0) * math.exp(-((30.666 / ratio) ** 0.7528))
    return ETA_0 / (2.0 * math.pi) * math.log(factor / ratio + math.sqrt(1.0 + (2.0 / ratio) ** 2))


def _effective_permittivity(ratio: float, permittivity: float) -> float:
    """Permittivity of the equivalent medium for a strip without thickness, eqs (3) to (5)."""
    a = 1.0 + math.log((ratio**4 + (ratio / 52.0) ** 2) / (ratio**4 + 0.432)) / 49.0
    a += math.log1p((ratio / 18.1) ** 3) / 18.7
    b = 0.564 * ((permittivity - 0.9) / (permittivity + 3.0)) ** 0.053
    share: float = (1.0 + 10.0 / ratio) ** (-a * b)
    return 0.5 * (permittivity + 1.0) + 0.5 * (permittivity - 1.0) * share


def _widened_ratios(width: float, height: float, thickness: float, permittivity: float) -> tuple[float, float]:
    """Width over height with the thickness correction, for air and for the dielectric, eqs (6) to (9)."""
    require_positive(width, "width", "m")
    require_positive(height, "height", "m")
    require_within(thickness / height, 0.0, 1.0, "thickness over height", "(ratio)")
    require_within(permittivity, 1.0, 128.0, "relative permittivity", "(ratio)")
    ratio = width / height
    require_within(ratio, 0.01, 100.0, "width over height", "(ratio)")
    if thickness == 0.0:
        return ratio, ratio
    cotangent = 1.0 / math.tanh(math.sqrt(6.517 * ratio))
    growth = math.log1p(4.0 * math.e * height / (thickness * cotangent**2))
    growth *= thickness / (math.pi * height)
    share = 0.5 * (1.0 + 1.0 / math.cosh(math.sqrt(permittivity - 1.0)))
    return ratio + growth, ratio + share * growth


def hammerstad_jensen_impedance(width: float, height: float, thickness: float, relative_permittivity: float) -> float:
    r"""Characteristic impedance of a microstrip, by fitted formula.

    .. math::
        Z_0 = \frac{Z_{01}(u_r)}{\sqrt{\varepsilon_e(u_r)}}, \quad
        Z_{01}(u) = \frac{\eta_0}{2\pi}\ln\left[\frac{f(u)}{u} + \sqrt{1 + \frac{4}{u^2}}\right], \quad
        f = 6 + (2\pi - 6)\,e^{-(30.666/u)^{0.7528}}

    with :math:`u_r = w/h + \Delta u_r` the width corrected for thickness.

    Parameters
    ----------
    width : float
        Trace width :math:`w` [m], > 0.
    height : float
        Dielectric thickness from plane to trace :math:`h` [m], > 0.
    thickness : float
        Copper thickness :math:`t` [m], 0 to h.
    relative_permittivity : float
        Relative permittivity of the dielectric [1], 1 to 128.

    Returns
    -------
    float
        Characteristic impedance [ohm].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: 0.01 <= w/h <= 100, 0 <= t/h <= 1, permittivity 1 to 128; quasi-static, perfect conductors. Stated
    accuracy without thickness 0.2 % for the permittivity, 0.01 % (w/h <= 1) and 0.03 % (w/h <= 1000) for
    :math:`Z_{01}`. The thickness correction is within 0.7 % of the exact map for t/h <= 0.7, w/h 0.13 to 50.

    References
    ----------
    .. [1] E. Hammerstad, O. Jensen, "Accurate models for microstrip computer-aided design", IEEE MTT-S
       International Microwave Symposium Digest (1980) 407-409, eqs (1) to (9) (from memory).

    Examples
    --------
    >>> f"{hammerstad_jensen_impedance(0.36e-3, 0.2e-3, 35e-6, 4.4):.6f}"
    '49.424694'
    """
    _, widened = _widened_ratios(width, height, thickness, relative_permittivity)
    return _air_impedance(widened) / math.sqrt(_effective_permittivity(widened, relative_permittivity))


def hammerstad_jensen_effective_permittivity(
    width: float, height: float, thickness: float, relative_permittivity: float
) -> float:
    r"""Effective relative permittivity of a microstrip, by fitted formula.

    .. math:: \varepsilon_{eff} = \varepsilon_e(u_r)\,[Z_{01}(u_1)/Z_{01}(u_r)]^2

    Parameters
    ----------
    width : float
        Trace width :math:`w` [m], > 0.
    height : float
        Dielectric thickness from plane to trace :math:`h` [m], > 0.
    thickness : float
        Copper thickness :math:`t` [m], 0 to h.
    relative_permittivity : float
        Relative permittivity of the dielectric [1], 1 to 128.

    Returns
    -------
    float
        Effective relative permittivity [1].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: 0.01 <= w/h <= 100, 0 <= t/h <= 1, permittivity 1 to 128; quasi-static. Stated accuracy 0.2 %
    without thickness.

    References
    ----------
    .. [1] E. Hammerstad, O. Jensen, "Accurate models for microstrip computer-aided design", IEEE MTT-S
       International Microwave Symposium Digest (1980) 407-409, eqs (3) to (9) (from memory).

    Examples
    --------
    >>> f"{hammerstad_jensen_effective_permittivity(0.36e-3, 0.2e-3, 35e-6, 4.4):.7f}"
    '3.1891866'
    """
    air, widened = _widened_ratios(width, height, thickness, relative_permittivity)
    lowered = (_air_impedance(air) / _air_impedance(widened)) ** 2
    return _effective_permittivity(widened, relative_permittivity) * lowered


def hammerstad_jensen_inductance(width: float, height: float, thickness: float) -> float:
    r"""Inductance per metre of a trace over an infinite plane, by fitted formula.

    .. math:: L' = Z_{01}(u_1)/c_0, \qquad
        u_1 = \frac wh + \frac{t}{\pi h}\ln\left[1 + \frac{4e\,h}{t\,\coth^2\sqrt{6.517\,w/h}}\right]

    Parameters
    ----------
    width : float
        Trace width :math:`w` [m], > 0.
    height : float
        Gap from the plane to the trace's bottom face :math:`h` [m], > 0.
    thickness : float
        Copper thickness :math:`t` [m], 0 to h.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: 0.01 <= w/h <= 100, 0 <= t/h <= 1; perfect conductors (high-frequency limit). Within 0.7 % of the
    exact map for t/h <= 0.7, w/h 0.13 to 50. The dielectric does not matter for the inductance.

    References
    ----------
    .. [1] E. Hammerstad, O. Jensen, "Accurate models for microstrip computer-aided design", IEEE MTT-S
       International Microwave Symposium Digest (1980) 407-409, eqs (1), (2) and (6) (from memory).

    Examples
    --------
    >>> f"{hammerstad_jensen_inductance(1e-3, 0.2e-3, 35e-6) * 1e9:.5f}"
    '159.39852'
    """
    air, _ = _widened_ratios(width, height, thickness, 1.0)
    return _air_impedance(air) / SPEED_OF_LIGHT


# Corners of the half section in order: below the trace on the plane; middle and edge of the bottom face; edge
# and middle of the top face. Interior angles pi/2 give -1/2, angles 3 pi/2 give +1/2.
_EXPONENTS = (-0.5, -0.5, 0.5, 0.5, -0.5)


@cache
def _end_clustered_rule() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Nodes x and 1 - x on (0, 1) and weights of a double-exponential rule."""
    step = np.linspace(-4.7, 4.7, 1201)
    stretch = np.pi * np.sinh(step)
    left, right = 1.0 / (1.0 + np.exp(-stretch)), 1.0 / (1.0 + np.exp(stretch))
    return left, right, left * right * np.pi * np.cosh(step) * (step[1] - step[0])


def _side_lengths(gaps: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lengths of the four sides between the corners, to a common factor, from the gaps of their preimages."""
    left, right, weights = _end_clustered_rule()
    lengths = np.empty(4)
    for side in range(4):
        integrand = weights * gaps[side]
        for corner, exponent in enumerate(_EXPONENTS):
            if corner <= side:
                distance = gaps[side] * left + gaps[corner:side].sum()
            else:
                distance = gaps[side] * right + gaps[side + 1 : corner].sum()
            integrand = integrand * distance**exponent
        lengths[side] = integrand.sum()
    return lengths


def _gaps(logarithms: NDArray[np.float64]) -> NDArray[np.float64]:
    """Four positive gaps that add up to one; the logarithms are those of the last three over the first."""
    shifted = np.concatenate(([0.0], logarithms))
    gaps = np.exp(shifted - shifted.max())
    return np.asarray(gaps / gaps.sum(), dtype=np.float64)


def _starting_logarithms(width: float, height: float, thickness: float) -> NDArray[np.float64]:
    """Preimages near the true ones: those of a thin, wider strip, its edge opened by the thickness."""
    ratio = min((width + thickness) / height, 190.0)
    rate = math.pi * MU_0 / (2.0 * strip_over_plane_inductance(ratio, 1.0))
    # K(1-m)/K(m) = mu_0/(2 L'); m from the nome's first terms, its complement's nome for narrow strips.
    small = rate >= math.pi
    nome = math.exp(-rate if small else -(math.pi**2) / rate)
    theta = (2.0 * nome**0.25 * (1.0 + nome**2) / (1.0 + 2.0 * nome)) ** 4
    parameter = theta if small else 1.0 - theta
    edge = float(ellipe(1.0 - parameter) / ellipkm1(parameter))
    scale = math.pi / float(ellipkm1(parameter))
    opening = 8.0 / math.pi * thickness / height * scale * math.sqrt(edge * (edge - parameter) * (1.0 - edge))
    half = min(0.5 * math.sqrt(opening), 0.45 * (edge - parameter), 0.45 * (1.0 - edge))
    gaps = np.array([parameter, edge - half - parameter, 2.0 * half, 1.0 - edge - half])
    return np.asarray(np.log(gaps[1:] / gaps[0]), dtype=np.float64)


def thick_strip_inductance(width: float, height: float, thickness: float) -> float:
    r"""Inductance per metre of a rectangular trace over an infinite perfect plane, by conformal map.

    Half of the cross-section is the image of the upper half plane under

    .. math::
        \frac{dz}{du} = C\,u^{-1/2}(u-u_2)^{-1/2}(u-u_3)^{1/2}(u-u_4)^{1/2}(u-1)^{-1/2},
        \qquad L' = \frac{\mu_0}{2}\,\frac{K(m)}{K(1-m)}, \quad m = u_2

    with corners (0, 0), (0, h), (w/2, h), (w/2, h+t), (0, h+t). The :math:`u_i` are found from the side
    lengths.

    Parameters
    ----------
    width : float
        Trace width :math:`w` [m], > 0.
    height : float
        Gap from the plane to the trace's bottom face :math:`h` [m], > 0.
    thickness : float
        Trace thickness :math:`t` [m], > 0.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If a length is not positive or a ratio is outside its range.
    ArithmeticError
        If the corner equations are not met to 1e-9.

    Notes
    -----
    Range: 0.02 <= w/h <= 50, 0.0001 <= t/h <= 5; perfect conductors (high-frequency limit), air. Exact.

    References
    ----------
    .. [1] Derived here by the Schwarz-Christoffel theorem (as in Z. Nehari, *Conformal Mapping*, McGraw-Hill
       1952, ch. V, from memory).

    Examples
    --------
    >>> f"{thick_strip_inductance(1e-3, 0.2e-3, 35e-6) * 1e9:.5f}"
    '159.68841'
    """
    require_positive(width, "width", "m")
    require_positive(height, "height", "m")
    require_within(width / height, 0.02, 50.0, "width over height", "(ratio)")
    require_within(thickness / height, 1e-4, 5.0, "thickness over height", "(ratio)")
    wanted = np.log([0.5 * width / height, thickness / height, 0.5 * width / height])

    def mismatch(logarithms: NDArray[np.float64]) -> NDArray[np.float64]:
        lengths = _side_lengths(_gaps(logarithms))
        return np.asarray(np.log(lengths[1:] / lengths[0]) - wanted, dtype=np.float64)

    solution = root(mismatch, _starting_logarithms(width, height, thickness), tol=1e-13).x
    if np.abs(mismatch(solution)).max() > 1e-9:
        raise ArithmeticError(f"no map found for width {width:g} m, height {height:g} m, thickness {thickness:g} m")
    gaps = _gaps(solution)
    return 0.5 * MU_0 * float(ellipkm1(gaps[1:].sum()) / ellipkm1(gaps[0]))
