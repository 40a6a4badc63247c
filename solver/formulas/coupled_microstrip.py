"""Two equal microstrips side by side, by fitted formulas: both at one voltage (even) or at opposite ones (odd)."""

import math

from solver.constants import ETA_0
from solver.formulas.microstrip import hammerstad_jensen_effective_permittivity, hammerstad_jensen_impedance
from solver.formulas.ranges import require_positive, require_within


def _require_pair(width: float, gap: float, height: float, permittivity: float) -> tuple[float, float]:
    """Width and gap over height, within the range of the formulas."""
    for value, name in ((width, "width"), (gap, "gap"), (height, "height")):
        require_positive(value, name, "m")
    require_within(width / height, 0.1, 10.0, "width over height", "(ratio)")
    require_within(gap / height, 0.1, 10.0, "gap over height", "(ratio)")
    require_within(permittivity, 1.0, 18.0, "relative permittivity", "(ratio)")
    return width / height, gap / height


def _single(width: float, height: float, permittivity: float) -> tuple[float, float]:
    """Impedance and effective permittivity of one strip alone, without thickness."""
    return (
        hammerstad_jensen_impedance(width, height, 0.0, permittivity),
        hammerstad_jensen_effective_permittivity(width, height, 0.0, permittivity),
    )


def _crowding(gap: float, limit: float) -> float:
    """ln[g^10/(1 + (g/limit)^10)] of Q3 and Q6."""
    return math.log(gap**10 / (1.0 + (gap / limit) ** 10))


def _even_term(u: float, g: float) -> float:
    """Q4 of the even mode."""
    q1 = 0.8695 * float(u**0.194)
    q2 = _q2(g)
    q3 = 0.1975 + (16.6 + (8.4 / g) ** 6) ** -0.387 + _crowding(g, 3.4) / 241.0
    return 2.0 * q1 / q2 / float(math.exp(-g) * u**q3 + (2.0 - math.exp(-g)) * u**-q3)


def _q2(g: float) -> float:
    return 1.0 + 0.7519 * g + 0.189 * float(g**2.31)


def _odd_term(u: float, g: float) -> float:
    """Q10 of the odd mode."""
    q5 = 1.794 + 1.14 * math.log1p(0.638 / (g + 0.517 * g**2.43))
    q6 = 0.2305 + _crowding(g, 5.8) / 281.3 + math.log1p(0.598 * g**1.154) / 5.1
    q7 = (10.0 + 190.0 * g**2) / (1.0 + 82.3 * g**3)
    q8 = math.exp(-6.5 - 0.95 * math.log(g) - (g / 0.15) ** 5)
    q9 = math.log(q7) * (q8 + 1.0 / 16.5)
    q2 = _q2(g)
    return (q2 * _even_term(u, g) - q5 * math.exp(math.log(u) * q6 * u**-q9)) / q2


def coupled_microstrip_even_permittivity(
    width: float, gap: float, height: float, relative_permittivity: float
) -> float:
    r"""Effective relative permittivity of the even mode of two equal microstrips, by fitted formula.

    .. math::
        \varepsilon_e = \tfrac12(\varepsilon_r + 1) + \tfrac12(\varepsilon_r - 1)(1 + 10/v)^{-a(v)\,b(\varepsilon_r)},
        \qquad v = u\,\frac{20 + g^2}{10 + g^2} + g\,e^{-g}

    with u = w/h, g = s/h and a, b those of the single strip.

    Parameters
    ----------
    width, gap, height : float
        Width of each strip, gap between them and height over the plane [m].
    relative_permittivity : float
        Relative permittivity of the dielectric [1], 1 to 18.

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
    Range: 0.1 <= w/h <= 10, 0.1 <= s/h <= 10, permittivity 1 to 18; no thickness, static. Stated accuracy 0.7 %.

    References
    ----------
    .. [1] M. Kirschning, R. H. Jansen, "Accurate wide-range design equations for the frequency-dependent
       characteristic of parallel coupled microstrip lines", IEEE Trans. MTT-32 (1984) 83-90, eq. (3) (from memory).

    Examples
    --------
    >>> round(coupled_microstrip_even_permittivity(1e-3, 1e-3, 1e-3, 4.4), 3)
    3.382
    """
    u, g = _require_pair(width, gap, height, relative_permittivity)
    v = u * (20.0 + g**2) / (10.0 + g**2) + g * math.exp(-g)
    return hammerstad_jensen_effective_permittivity(v * height, height, 0.0, relative_permittivity)


def coupled_microstrip_odd_permittivity(width: float, gap: float, height: float, relative_permittivity: float) -> float:
    r"""Effective relative permittivity of the odd mode of two equal microstrips, by fitted formula.

    .. math::
        \varepsilon_o = \left[\tfrac12(\varepsilon_r + 1) + a_o - \varepsilon_{re}\right] e^{-c_o g^{d_o}}
        + \varepsilon_{re}

    with the single strip's :math:`\varepsilon_{re}`.

    Parameters
    ----------
    width, gap, height : float
        Width of each strip, gap between them and height over the plane [m].
    relative_permittivity : float
        Relative permittivity of the dielectric [1], 1 to 18.

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
    Range: 0.1 <= w/h <= 10, 0.1 <= s/h <= 10, permittivity 1 to 18; no thickness, static. Stated accuracy 0.5 %.

    References
    ----------
    .. [1] M. Kirschning, R. H. Jansen, "Accurate wide-range design equations for the frequency-dependent
       characteristic of parallel coupled microstrip lines", IEEE Trans. MTT-32 (1984) 83-90, eq. (4) (from memory).

    Examples
    --------
    >>> round(coupled_microstrip_odd_permittivity(1e-3, 1e-3, 1e-3, 4.4), 3)
    2.887
    """
    u, g = _require_pair(width, gap, height, relative_permittivity)
    _, single = _single(width, height, relative_permittivity)
    mean = 0.5 * (relative_permittivity + 1.0)
    a = 0.7287 * (single - mean) * (1.0 - math.exp(-0.179 * u))
    b = 0.747 * relative_permittivity / (0.15 + relative_permittivity)
    c = b - (b - 0.207) * math.exp(-0.414 * u)
    d = 0.593 + 0.694 * math.exp(-0.562 * u)
    return (mean + a - single) * math.exp(-c * g**d) + single


def coupled_microstrip_even_impedance(width: float, gap: float, height: float, relative_permittivity: float) -> float:
    r"""Characteristic impedance of each of two equal microstrips at equal voltages, by fitted formula.

    .. math:: Z_e = Z_L \sqrt{\varepsilon_{re}/\varepsilon_e} / [1 - (Z_L/\eta_0)\sqrt{\varepsilon_{re}}\,Q_4]

    Parameters
    ----------
    width, gap, height : float
        Width of each strip, gap between them and height over the plane [m].
    relative_permittivity : float
        Relative permittivity of the dielectric [1], 1 to 18.

    Returns
    -------
    float
        Impedance [ohm].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: 0.1 <= w/h <= 10, 0.1 <= s/h <= 10, permittivity 1 to 18; no thickness, static. Stated accuracy 0.6 %.

    References
    ----------
    .. [1] M. Kirschning, R. H. Jansen, "Accurate wide-range design equations for the frequency-dependent
       characteristic of parallel coupled microstrip lines", IEEE Trans. MTT-32 (1984) 83-90, eqs (8), (9)
       (from memory).

    Examples
    --------
    >>> round(coupled_microstrip_even_impedance(1e-3, 1e-3, 1e-3, 1.0), 2)
    148.79
    """
    u, g = _require_pair(width, gap, height, relative_permittivity)
    impedance, single = _single(width, height, relative_permittivity)
    even = coupled_microstrip_even_permittivity(width, gap, height, relative_permittivity)
    return _mode_impedance(impedance, single, even, _even_term(u, g))


def coupled_microstrip_odd_impedance(width: float, gap: float, height: float, relative_permittivity: float) -> float:
    r"""Characteristic impedance of each of two equal microstrips at opposite voltages, by fitted formula.

    .. math:: Z_o = Z_L \sqrt{\varepsilon_{re}/\varepsilon_o} / [1 - (Z_L/\eta_0)\sqrt{\varepsilon_{re}}\,Q_{10}]

    Parameters
    ----------
    width, gap, height : float
        Width of each strip, gap between them and height over the plane [m].
    relative_permittivity : float
        Relative permittivity of the dielectric [1], 1 to 18.

    Returns
    -------
    float
        Impedance [ohm].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: 0.1 <= w/h <= 10, 0.1 <= s/h <= 10, permittivity 1 to 18; no thickness, static. Stated accuracy 0.6 %; in air
    0.66 % was found against the exact solution, at w/h = 5 and s/h = 0.15.

    References
    ----------
    .. [1] M. Kirschning, R. H. Jansen, "Accurate wide-range design equations for the frequency-dependent
       characteristic of parallel coupled microstrip lines", IEEE Trans. MTT-32 (1984) 83-90, eqs (8), (10)
       (from memory).

    Examples
    --------
    >>> round(coupled_microstrip_odd_impedance(1e-3, 1e-3, 1e-3, 1.0), 2)
    102.86
    """
    u, g = _require_pair(width, gap, height, relative_permittivity)
    impedance, single = _single(width, height, relative_permittivity)
    odd = coupled_microstrip_odd_permittivity(width, gap, height, relative_permittivity)
    return _mode_impedance(impedance, single, odd, _odd_term(u, g))


def _mode_impedance(impedance: float, single: float, mode: float, term: float) -> float:
    """Z_L sqrt(e/e_mode)/(1 - (Z_L/eta_0) sqrt(e) Q)."""
    return impedance * math.sqrt(single / mode) / (1.0 - impedance / ETA_0 * math.sqrt(single) * term)
