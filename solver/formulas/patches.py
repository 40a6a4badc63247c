"""A flat patch close over a plane of finite size: its electric dipole and its charge as seen from far away."""

import math

from solver.constants import EPSILON_0, ETA_0
from solver.formulas.microstrip import hammerstad_jensen_effective_permittivity, hammerstad_jensen_impedance
from solver.formulas.ranges import require_above, require_positive, require_within


def strip_dipole_width(width: float, height: float, relative_permittivity: float) -> float:
    r"""Width by which a long strip at a voltage over a near plane is an electric dipole.

    .. math:: p' = \varepsilon_0w_eV, \qquad w_e = \frac{C'h}{\varepsilon_0\varepsilon_r}

    with C' the capacitance per length of the strip. The dipole counts free charge less polarisation. By
    reciprocity it is the charge that a uniform field across the plane draws onto the strip, joined to the plane.

    Parameters
    ----------
    width : float
        Of the strip w [m], 0.01 to 100 heights.
    height : float
        Over the plane h [m], > 0.
    relative_permittivity : float
        Of the dielectric below it, 1 to 128.

    Returns
    -------
    float
        w_e [m]; w itself where w is much larger than h, whatever the dielectric.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Exact but for C' (0.2 %, as its source says): strip without thickness, plane and dielectric much wider.

    References
    ----------
    .. [1] Derived here; C' from E. Hammerstad, O. Jensen, "Accurate models for microstrip computer-aided design",
       IEEE MTT-S Digest 1980, 407-409.

    Examples
    --------
    >>> f"{strip_dipole_width(10e-3, 0.2e-3, 4.4) * 1e3:.2f} mm"
    '10.33 mm'
    """
    impedance = hammerstad_jensen_impedance(width, height, 0.0, 1.0)
    effective = hammerstad_jensen_effective_permittivity(width, height, 0.0, relative_permittivity)
    return effective / relative_permittivity * height * ETA_0 / impedance


def patch_dipole_area(patch_length: float, patch_width: float, height: float, relative_permittivity: float) -> float:
    r"""Area by which a patch at a voltage over a near plane is an electric dipole.

    .. math:: p = \varepsilon_0SV, \qquad S = l\,w_e(w) + w\,w_e(l) - l\,w

    with the fringes of :func:`strip_dipole_width` along all four sides.

    Parameters
    ----------
    patch_length, patch_width : float
        Sides of the patch l, w [m], 0.01 to 100 heights.
    height : float
        Over the plane h [m], > 0.
    relative_permittivity : float
        Of the dielectric below it, 1 to 128.

    Returns
    -------
    float
        S [m²].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: both sides at least four heights. The fringes of short sides are taken as those of long ones: 1 to 3 %
    too much (squares of 5, 10 and 20 heights in air against their integral equation).

    References
    ----------
    .. [1] As for :func:`strip_dipole_width`.

    Examples
    --------
    >>> f"{patch_dipole_area(10e-3, 10e-3, 0.2e-3, 4.4) * 1e6:.1f} mm²"
    '106.5 mm²'
    """
    require_above(min(patch_length, patch_width), 4.0 * height, "shorter side of the patch", "m")
    along, across = (strip_dipole_width(side, height, relative_permittivity) for side in (patch_width, patch_length))
    return patch_length * along + patch_width * across - patch_length * patch_width


def disc_capacitance(radius: float) -> float:
    r"""Capacitance of a thin disc to a far away surrounding, :math:`8\varepsilon_0a`.

    Parameters
    ----------
    radius : float
        Radius a [m], > 0.

    Returns
    -------
    float
        [F].

    Raises
    ------
    ValueError
        If the radius is not positive.

    Notes
    -----
    Exact in free space. Boards up to 2 : 1 of the same area have 0 to 4 % more (common practice).

    References
    ----------
    .. [1] W. R. Smythe, *Static and Dynamic Electricity*, 3rd ed., 1968, sec. 5.03 (from memory).

    Examples
    --------
    >>> f"{disc_capacitance(math.sqrt(80e-3 * 60e-3 / math.pi)) * 1e12:.2f} pF"
    '2.77 pF'
    """
    require_positive(radius, "radius", "m")
    return 8.0 * EPSILON_0 * radius


def patch_stray_capacitance(area: float, offset: float, disc_radius: float) -> float:
    r"""Capacitance of a patch close over a disc to far away, past the disc.

    .. math:: C_s = \frac{2\varepsilon_0S}{\pi a\sqrt{1 - \rho^2/a^2}}

    The charge on the patch when patch and disc together are raised to one volt: the disc's own charge density on one
    side, times the patch's area.

    Parameters
    ----------
    area : float
        Of the patch, as an electric dipole: see :func:`patch_dipole_area`, S [m²], >= 0.
    offset : float
        Distance of the patch from the disc's middle :math:`\rho` [m], 0 to 0.95 a.
    disc_radius : float
        a [m], > 0.

    Returns
    -------
    float
        [F].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: patch small against the disc and not at its very edge.

    References
    ----------
    .. [1] H. Shim, T. H. Hubing, "Model for estimating radiated emissions from a printed circuit board with attached
       cables due to voltage-driven sources", IEEE Trans. EMC 47 (2005) 899-907; C. Su, T. H. Hubing, "Improvements to
       a method for estimating the maximum radiated emissions from PCBs with cables", IEEE Trans. EMC 53 (2011) 1087
       (both from memory). The charge density of a disc: W. R. Smythe, as above.

    Examples
    --------
    >>> f"{patch_stray_capacitance(100e-6, 0.0, 39e-3) * 1e15:.1f} fF"
    '14.5 fF'
    """
    return 2.0 * EPSILON_0 * area / (math.pi * disc_radius) * _crowding(area, offset, disc_radius)


def patch_level_dipole_area(area: float, offset: float, disc_radius: float) -> float:
    r"""Area by which a patch off the middle of a disc is an electric dipole along the disc, outwards.

    .. math::
        p_\parallel = \varepsilon_0S_\parallel V, \qquad
        S_\parallel = \frac4\pi\,\frac{S\,\rho/a}{\sqrt{1 - \rho^2/a^2}}

    By reciprocity: the charge that a uniform field along the disc draws onto its upper side there.

    Parameters
    ----------
    area : float
        Of the patch, across the disc, S [m²], >= 0.
    offset : float
        Distance of the patch from the disc's middle :math:`\rho` [m], 0 to 0.95 a.
    disc_radius : float
        a [m], > 0.

    Returns
    -------
    float
        [m²].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: patch small against the disc, nothing attached to the disc. Exact for a thin disc.

    References
    ----------
    .. [1] Derived here from the charge of a disc in a uniform field along it, whose polarisability is
       :math:`16\varepsilon_0a^3/3`; L. D. Landau, E. M. Lifshitz, *Electrodynamics of Continuous Media*, sec. 4 (from
       memory).

    Examples
    --------
    >>> f"{patch_level_dipole_area(100e-6, 20e-3, 40e-3) * 1e6:.1f} mm²"
    '73.5 mm²'
    """
    return 4.0 / math.pi * area * offset / disc_radius * _crowding(area, offset, disc_radius)


def _crowding(area: float, offset: float, disc_radius: float) -> float:
    """1/sqrt(1 - rho²/a²), by which charge crowds towards the edge of a disc."""
    require_within(area, 0.0, math.inf, "area", "m²")
    require_positive(disc_radius, "disc radius", "m")
    require_within(offset, 0.0, 0.95 * disc_radius, "offset", "m")
    return 1.0 / math.sqrt(1.0 - (offset / disc_radius) ** 2)
