"""Strips of zero thickness and perfect conductivity, in air."""

import math

from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipkinc, ellipkm1, expit

from solver.constants import MU_0
from solver.formulas.ranges import require_positive, require_within

# Widest stripline: beyond it the hyperbolic functions overflow. Such a line is a parallel-plate line.
WIDEST_STRIPLINE = 100.0


def _period_ratio(complement: float, parameter: float) -> float:
    """K(k')/K(k), given k'^2 and k^2 = 1 - k'^2 each without loss of digits."""
    return float(ellipkm1(parameter) / ellipkm1(complement))


def _relative_width(logit: float) -> float:
    """Width over height of the strip over a plane whose elliptic parameter is expit(logit)."""
    parameter, complement = float(expit(logit)), float(expit(-logit))
    first, second = float(ellipkm1(complement)), float(ellipe(parameter))
    angle = math.asin(math.sqrt((1.0 - second / first) / parameter))
    zeta = first * float(ellipeinc(angle, parameter)) - second * float(ellipkinc(angle, parameter))
    return 4.0 / math.pi * zeta


def strip_over_plane_inductance(width: float, height: float) -> float:
    r"""Inductance per metre of a thin strip over an infinite perfect plane.

    .. math::
        \frac wh = \frac4\pi\left[K E(\varphi) - E F(\varphi)\right], \qquad
        \sin^2\varphi = \frac{1 - E/K}{k^2}, \qquad
        L' = \frac{\mu_0}{2}\,\frac{K(k')}{K(k)}

    The bracket is :math:`K` times Jacobi's zeta function, which is Love's logarithmic derivative of a theta
    function.

    Parameters
    ----------
    width : float
        Strip width :math:`w` [m], > 0.
    height : float
        Height over the plane :math:`h` [m], > 0.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If a length is not positive, or w/h is outside 0.001 to 200.

    Notes
    -----
    Range: 0.001 <= w/h <= 200; perfect conductors, zero thickness, air. Exact.

    References
    ----------
    .. [1] A. E. H. Love, "Some electrostatic distributions in two dimensions", Proceedings of the London
       Mathematical Society 22 (1923) 337-369 (from memory).
    .. [2] H. B. Palmer, Proceedings of the Cambridge Philosophical Society 23 (1927) 685 (from memory).
    .. [3] M. V. Schneider, "Microstrip lines for microwave integrated circuits", Bell System Technical
       Journal 48 (1969) 1421-1444 (from memory).

    Examples
    --------
    >>> f"{strip_over_plane_inductance(1e-3, 0.2e-3) * 1e9:.7f}"
    '164.6662771'
    """
    require_positive(width, "width", "m")
    require_positive(height, "height", "m")
    ratio = width / height
    require_within(ratio, 1e-3, 200.0, "width over height", "(ratio)")
    logit = brentq(lambda trial: _relative_width(trial) - ratio, -8.0, 325.0, xtol=1e-13, rtol=1e-14)
    return 0.5 * MU_0 * _period_ratio(float(expit(-logit)), float(expit(logit)))


def facing_strips_inductance(width: float, gap: float) -> float:
    r"""Loop inductance per metre of two equal thin strips lying face to face.

    .. math:: L'(w, d) = 2\,L'_{plane}(w, d/2)

    The plane midway between go and return is a mirror: each strip over it makes half of the loop.

    Parameters
    ----------
    width : float
        Strip width :math:`w` [m], > 0.
    gap : float
        Distance of the strips :math:`d` [m], > 0.

    Returns
    -------
    float
        Inductance of the go-and-return loop [H/m].

    Raises
    ------
    ValueError
        If a length is not positive, or 2w/d is outside 0.001 to 200.

    Notes
    -----
    Range: 0.001 <= 2w/d <= 200; perfect conductors, zero thickness, air. Exact.

    References
    ----------
    .. [1] A. E. H. Love, "Some electrostatic distributions in two dimensions", Proceedings of the London
       Mathematical Society 22 (1923) 337-369 (from memory).

    Examples
    --------
    >>> f"{facing_strips_inductance(1e-3, 0.4e-3) * 1e9:.7f}"
    '329.3325543'
    """
    require_positive(gap, "gap", "m")
    return 2.0 * strip_over_plane_inductance(width, 0.5 * gap)


def coplanar_strips_inductance(width: float, gap: float) -> float:
    r"""Loop inductance per metre of two equal thin strips side by side.

    .. math:: L' = \mu_0\,K(k)/K(k'), \qquad k = s/(s + 2w)

    Parameters
    ----------
    width : float
        Width of each strip :math:`w` [m], > 0.
    gap : float
        Gap between the strips :math:`s` [m], > 0.

    Returns
    -------
    float
        Inductance of the go-and-return loop [H/m].

    Raises
    ------
    ValueError
        If a length is not positive.

    Notes
    -----
    Range: perfect conductors, zero thickness, air, no plane near. Exact.

    References
    ----------
    .. [1] K. C. Gupta, R. Garg, I. J. Bahl, *Microstrip Lines and Slotlines*, Artech House 1979, ch. 7
       (from memory).

    Examples
    --------
    >>> f"{coplanar_strips_inductance(1e-3, 0.5e-3) * 1e9:.7f}"
    '661.1546995'
    """
    require_positive(width, "width", "m")
    require_positive(gap, "gap", "m")
    overall = gap + 2.0 * width
    return MU_0 / _period_ratio(4.0 * width * (gap + width) / overall**2, (gap / overall) ** 2)


def coplanar_waveguide_inductance(width: float, gap: float) -> float:
    r"""Inductance per metre of a thin strip between two wide coplanar grounds.

    .. math:: L' = \frac{\mu_0}{4}\,\frac{K(k')}{K(k)}, \qquad k = s/(s + 2g)

    Parameters
    ----------
    width : float
        Width of the middle strip :math:`s` [m], > 0.
    gap : float
        Gap on either side :math:`g` [m], > 0.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If a length is not positive.

    Notes
    -----
    Range: perfect conductors, zero thickness, infinitely wide grounds, air, no plane near. Exact.

    References
    ----------
    .. [1] C. P. Wen, "Coplanar waveguide: a surface strip transmission line suitable for nonreciprocal
       gyromagnetic device applications", IEEE Transactions on Microwave Theory and Techniques 17 (1969)
       1087-1090 (from memory).

    Examples
    --------
    >>> f"{coplanar_waveguide_inductance(1e-3, 0.2e-3) * 1e9:.7f}"
    '311.2428864'
    """
    require_positive(width, "width", "m")
    require_positive(gap, "gap", "m")
    overall = width + 2.0 * gap
    return 0.25 * MU_0 * _period_ratio(4.0 * gap * (width + gap) / overall**2, (width / overall) ** 2)


def stripline_inductance(width: float, plane_spacing: float) -> float:
    r"""Inductance per metre of a thin strip midway between two infinite planes.

    .. math:: L' = \frac{\mu_0}{4}\,\frac{K(k')}{K(k)}, \qquad k = \tanh(\pi w/2b)

    Parameters
    ----------
    width : float
        Strip width :math:`w` [m], > 0.
    plane_spacing : float
        Distance of the planes :math:`b` [m], > 0.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If a length is not positive, or w/b is above 100.

    Notes
    -----
    Range: w/b <= 100; perfect conductors, zero thickness. Exact.

    References
    ----------
    .. [1] S. B. Cohn, "Characteristic impedance of the shielded-strip transmission line", IRE Transactions on
       Microwave Theory and Techniques 2 (July 1954) 52-57 (from memory).

    Examples
    --------
    >>> f"{stripline_inductance(1e-3, 1e-3) * 1e9:.7f}"
    '217.9962283'
    """
    require_positive(width, "width", "m")
    require_positive(plane_spacing, "spacing of the planes", "m")
    require_within(width / plane_spacing, 0.0, WIDEST_STRIPLINE, "width over spacing of the planes", "(ratio)")
    angle = 0.5 * math.pi * width / plane_spacing
    return 0.25 * MU_0 * _period_ratio(math.cosh(angle) ** -2, math.tanh(angle) ** 2)


def _coupled_angles(width: float, gap: float, plane_spacing: float) -> tuple[float, float]:
    """Pi w/2b and pi (w+s)/2b after checks."""
    require_positive(width, "width", "m")
    require_positive(gap, "gap", "m")
    require_positive(plane_spacing, "spacing of the planes", "m")
    ratio = (width + gap) / plane_spacing
    require_within(ratio, 0.0, WIDEST_STRIPLINE, "width and gap over spacing of the planes", "(ratio)")
    return 0.5 * math.pi * width / plane_spacing, 0.5 * math.pi * ratio


def coupled_stripline_even_inductance(width: float, gap: float, plane_spacing: float) -> float:
    r"""Inductance per metre of each of two equal strips midway between planes, equal currents.

    .. math::
        L'_e = \frac{\mu_0}{4}\,\frac{K(k_e')}{K(k_e)}, \qquad
        k_e = \tanh\frac{\pi w}{2b}\,\tanh\frac{\pi (w+s)}{2b}

    Parameters
    ----------
    width : float
        Width of each strip :math:`w` [m], > 0.
    gap : float
        Gap between the strips :math:`s` [m], > 0.
    plane_spacing : float
        Distance of the planes :math:`b` [m], > 0.

    Returns
    -------
    float
        Even-mode inductance [H/m], the sum of self and mutual inductance.

    Raises
    ------
    ValueError
        If a length is not positive, or (w+s)/b is above 100.

    Notes
    -----
    Range: (w+s)/b <= 100; perfect conductors, zero thickness. Exact.

    References
    ----------
    .. [1] S. B. Cohn, "Shielded coupled-strip transmission line", IRE Transactions on Microwave Theory and
       Techniques 3 (October 1955) 29-38 (from memory).

    Examples
    --------
    >>> f"{coupled_stripline_even_inductance(1e-3, 0.5e-3, 1e-3) * 1e9:.6f}"
    '227.476943'
    """
    near, far = _coupled_angles(width, gap, plane_spacing)
    complement = math.cosh(near) ** -2 + (math.tanh(near) / math.cosh(far)) ** 2
    return 0.25 * MU_0 * _period_ratio(complement, (math.tanh(near) * math.tanh(far)) ** 2)


def coupled_stripline_odd_inductance(width: float, gap: float, plane_spacing: float) -> float:
    r"""Inductance per metre of each of two equal strips midway between planes, opposite currents.

    .. math::
        L'_o = \frac{\mu_0}{4}\,\frac{K(k_o')}{K(k_o)}, \qquad
        k_o = \tanh\frac{\pi w}{2b}\,\coth\frac{\pi (w+s)}{2b}

    Parameters
    ----------
    width : float
        Width of each strip :math:`w` [m], > 0.
    gap : float
        Gap between the strips :math:`s` [m], > 0.
    plane_spacing : float
        Distance of the planes :math:`b` [m], > 0.

    Returns
    -------
    float
        Odd-mode inductance [H/m], the difference of self and mutual inductance.

    Raises
    ------
    ValueError
        If a length is not positive, or (w+s)/b is above 100.

    Notes
    -----
    Range: (w+s)/b <= 100; perfect conductors, zero thickness. Exact.

    References
    ----------
    .. [1] S. B. Cohn, "Shielded coupled-strip transmission line", IRE Transactions on Microwave Theory and
       Techniques 3 (October 1955) 29-38 (from memory).

    Examples
    --------
    >>> f"{coupled_stripline_odd_inductance(1e-3, 0.5e-3, 1e-3) * 1e9:.6f}"
    '207.333859'
    """
    near, far = _coupled_angles(width, gap, plane_spacing)
    # 1 - k_o^2, with tanh and coth expanded so that nothing cancels.
    complement = math.sinh(far - near) * math.sinh(far + near) / (math.cosh(near) * math.sinh(far)) ** 2
    return 0.25 * MU_0 * _period_ratio(complement, (math.tanh(near) / math.tanh(far)) ** 2)
