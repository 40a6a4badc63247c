"""A thin conducting sheet: the field behind it, and the frequency below which it is transparent.

The one number that counts is p = j omega mu_0 sigma t D/2 with D the distance from the source through the sheet to
the point: not the thickness against the skin depth.
"""

import math

from scipy.special import exp1

from solver.constants import MU_0
from solver.formulas.ranges import require_positive, require_within
from solver.formulas.skin import skin_depth

# Beyond these the field varies across the sheet, and the metal shields better than a sheet would.
THICKEST_IN_SKIN_DEPTHS = 2.0 / 3.0
THICKEST_IN_DISTANCES = 0.1


def sheet_corner_frequency(distance: float, thickness: float, conductivity: float) -> float:
    r"""Frequency below which a thin conducting sheet lets the field of a loop through.

    .. math:: f_c = \frac{1}{\pi\mu_0\sigma t D}

    There |p| = 1, with p as in :func:`sheet_behind_line`. A loop at the height h over the sheet sees its own image
    at D = 2h; below the corner the sheet does not lower its inductance, however many skin depths it is thick.

    Parameters
    ----------
    distance : float
        Distance from the source through the sheet to the point :math:`D` [m], > 0; for the inductance twice the
        height of the loop.
    thickness : float
        Thickness of the sheet :math:`t` [m], > 0.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    float
        Corner frequency [Hz].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: t below D/10, sheet wide against D. A place on a slope, not a step: straight behind the sheet the field of
    a line is then down to 0.51, of a close pair of lines to 0.76, of a small parallel loop to 0.87. A round loop of
    radius R has lost half of the inductance that it can lose at 0.27 times the corner for D = 2h if h = R/20, and at
    2.4 times if h = 2.5R: near the sheet the size of the loop counts too.

    References
    ----------
    .. [1] J. C. Maxwell, *A Treatise on Electricity and Magnetism*, art. 654-668 (from memory): the angular corner
       frequency is the speed of the receding image, 2/(mu_0 sigma t), over D.

    Examples
    --------
    >>> f"{sheet_corner_frequency(0.4e-3, 35e-6, 5.8e7) / 1e3:.0f} kHz"
    '312 kHz'
    """
    require_positive(conductivity, "conductivity", "S/m")
    _require_thin(distance, thickness)
    return 1.0 / (math.pi * MU_0 * conductivity * thickness * distance)


def receding_image_speed(thickness: float, conductivity: float) -> float:
    r"""Speed at which the image of a suddenly switched current recedes from a thin conducting sheet.

    .. math:: v = \frac{2}{\mu_0\sigma t}

    At the time tau after the step the field behind the sheet is what the source alone makes at its place, less
    what it would make if it were farther away by v tau.

    Parameters
    ----------
    thickness : float
        Thickness of the sheet :math:`t` [m], > 0.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    ValueError
        If an argument is not positive.

    Notes
    -----
    Range: sheet thin against its distance from the source and, in time, later than its own diffusion time
    mu_0 sigma t^2.

    References
    ----------
    .. [1] J. C. Maxwell, *A Treatise on Electricity and Magnetism*, art. 654-668 (from memory).

    Examples
    --------
    >>> f"{receding_image_speed(35e-6, 5.8e7):.3f}"
    '784.014'
    """
    require_positive(thickness, "thickness", "m")
    require_positive(conductivity, "conductivity", "S/m")
    return 2.0 / (MU_0 * conductivity * thickness)


def sheet_behind_small_loop(frequency: float, distance: float, thickness: float, conductivity: float) -> complex:
    r"""Field of a small loop parallel to a thin sheet, on its axis behind the sheet, relative to that without it.

    .. math::
        S = 1 - \frac p2 + \frac{p^2}2 - \frac{p^3}2\,e^pE_1(p) \;\to\; \frac3p \quad (|p| \gg 1), \qquad
        p = \tfrac12 j\omega\mu_0\sigma t D

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    distance : float
        Distance from the loop through the sheet to the point :math:`D` [m], > 0.
    thickness : float
        Thickness of the sheet :math:`t` [m], > 0, below D/10 and two thirds of a skin depth.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    complex
        Ratio of the fields [1].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: loop small against D, sheet wide against D. A thicker plate shields better: see
    :func:`solver.formulas.slabs.circle_field_behind_slab`.

    References
    ----------
    .. [1] S. Levy, "Electromagnetic shielding effect of an infinite plane conducting sheet placed between circular
       coaxial coils", Proceedings of the IRE 24 (1936) 923-941 (from memory; the integral is derived).

    Examples
    --------
    >>> f"{abs(sheet_behind_small_loop(1e6, 1e-3, 35e-6, 5.8e7)):.6f}"
    '0.327317'
    """
    p = _sheet_number(frequency, distance, thickness, conductivity)
    return 1.0 - 0.5 * p + 0.5 * p**2 - 0.5 * p**3 * _scaled_integral(p)


def sheet_behind_line(frequency: float, distance: float, thickness: float, conductivity: float) -> complex:
    r"""Field of a line current straight behind a thin sheet, relative to that without it.

    .. math:: S = 1 - p\,e^pE_1(p) \;\to\; \frac1p \quad (|p| \gg 1), \qquad p = \tfrac12 j\omega\mu_0\sigma t D

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    distance : float
        Distance from the line through the sheet to the point :math:`D` [m], > 0.
    thickness : float
        Thickness of the sheet :math:`t` [m], > 0, below D/10 and two thirds of a skin depth.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    complex
        Ratio of the fields [1].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: sheet wide against D. A thicker slab shields better: see
    :func:`solver.formulas.slabs.field_behind_slab`.

    References
    ----------
    .. [1] J. R. Moser, "Low-frequency shielding of a circular loop electromagnetic field source", IEEE Transactions
       on Electromagnetic Compatibility 9 (1967) 6-18, for the method (from memory; the integral is derived).

    Examples
    --------
    >>> f"{abs(sheet_behind_line(1e6, 1e-3, 35e-6, 5.8e7)):.6f}"
    '0.118597'
    """
    p = _sheet_number(frequency, distance, thickness, conductivity)
    return 1.0 - p * _scaled_integral(p)


def sheet_behind_line_pair(frequency: float, distance: float, thickness: float, conductivity: float) -> complex:
    r"""Field of two close opposite line currents straight behind a thin sheet, relative to that without it.

    .. math:: S = 1 - p + p^2e^pE_1(p) \;\to\; \frac2p \quad (|p| \gg 1), \qquad p = \tfrac12 j\omega\mu_0\sigma t D

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    distance : float
        Distance from the pair through the sheet to the point :math:`D` [m], > 0.
    thickness : float
        Thickness of the sheet :math:`t` [m], > 0, below D/10 and two thirds of a skin depth.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    complex
        Ratio of the fields [1].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: pair narrow against D, sheet wide against D.

    References
    ----------
    .. [1] As for :func:`sheet_behind_line`.

    Examples
    --------
    >>> f"{abs(sheet_behind_line_pair(1e6, 1e-3, 35e-6, 5.8e7)):.6f}"
    '0.228211'
    """
    p = _sheet_number(frequency, distance, thickness, conductivity)
    return 1.0 - p + p**2 * _scaled_integral(p)


def _require_thin(distance: float, thickness: float) -> None:
    require_positive(distance, "distance", "m")
    require_positive(thickness, "thickness", "m")
    require_within(thickness / distance, 0.0, THICKEST_IN_DISTANCES, "thickness over distance", "(ratio)")


def _sheet_number(frequency: float, distance: float, thickness: float, conductivity: float) -> complex:
    """Return p; refuse a sheet in which the current is not spread evenly."""
    _require_thin(distance, thickness)
    depths = thickness / skin_depth(frequency, conductivity)
    require_within(depths, 0.0, THICKEST_IN_SKIN_DEPTHS, "thickness over skin depth", "(ratio)")
    return 1j * math.pi * frequency * MU_0 * conductivity * thickness * distance


def _scaled_integral(p: complex) -> complex:
    """e^p times the exponential integral E1(p)."""
    turn = complex(math.cos(p.imag), math.sin(p.imag))
    return turn * complex(exp1(p))
