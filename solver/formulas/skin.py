"""Skin effect at flat conductor surfaces."""

import cmath
import math

from solver.constants import MU_0
from solver.formulas.ranges import require_positive


def skin_depth(frequency: float, conductivity: float) -> float:
    r"""Depth at which the current density in a good conductor falls to 1/e.

    .. math:: \delta = 1/\sqrt{\pi f \mu_0 \sigma}

    Parameters
    ----------
    frequency : float
        Frequency :math:`f` [Hz], > 0.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    float
        Skin depth [m].

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: flat surface of a non-magnetic conductor much thicker than the skin depth. Exact there.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, ch. 3
       (from memory).

    Examples
    --------
    >>> f"{skin_depth(1e6, 5.8e7):.4e}"
    '6.6085e-05'
    """
    require_positive(frequency, "frequency", "Hz")
    require_positive(conductivity, "conductivity", "S/m")
    return 1.0 / math.sqrt(math.pi * frequency * MU_0 * conductivity)


def diffusion_constant(frequency: float, conductivity: float) -> complex:
    r"""Propagation constant of the field inside a good conductor.

    .. math:: k = (1 + j)/\delta = \sqrt{j \omega \mu_0 \sigma}

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        :math:`k` [1/m], both parts positive.

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: non-magnetic good conductor, time factor exp(+jwt). Exact there.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, ch. 3
       (from memory).

    Examples
    --------
    >>> k = diffusion_constant(1e6, 5.8e7)
    >>> f"{k.real:.1f} {k.imag:.1f}"
    '15131.9 15131.9'
    """
    return (1.0 + 1.0j) / skin_depth(frequency, conductivity)


def surface_resistance(frequency: float, conductivity: float) -> float:
    r"""Resistance per square of a conductor much thicker than the skin depth.

    .. math:: R_s = 1/(\sigma \delta) = \sqrt{\pi f \mu_0 / \sigma}

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    float
        Surface resistance [ohm per square].

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: flat surface, thickness and radius of curvature much greater than the skin depth.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, ch. 3
       (from memory).

    Examples
    --------
    >>> f"{surface_resistance(1e6, 5.8e7):.4e}"
    '2.6090e-04'
    """
    return 1.0 / (conductivity * skin_depth(frequency, conductivity))


def sheet_resistance(thickness: float, conductivity: float) -> float:
    r"""Resistance per square of a sheet in which the current density is uniform.

    .. math:: R_\square = 1/(\sigma t)

    Parameters
    ----------
    thickness : float
        Sheet thickness :math:`t` [m], > 0.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    float
        Sheet resistance [ohm per square].

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: DC, or thickness much smaller than the skin depth.

    References
    ----------
    .. [1] Definition of resistivity; no source needed.

    Examples
    --------
    >>> f"{sheet_resistance(35e-6, 5.8e7):.5e}"
    '4.92611e-04'
    """
    require_positive(thickness, "thickness", "m")
    require_positive(conductivity, "conductivity", "S/m")
    return 1.0 / (conductivity * thickness)


def sheet_impedance_one_side(frequency: float, thickness: float, conductivity: float) -> complex:
    r"""Impedance per square of a plate that carries its current towards one face.

    .. math:: Z_\square = (k/\sigma) \coth(k t)

    The magnetic field is zero behind the other face.

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    thickness : float
        Plate thickness :math:`t` [m], > 0.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        Impedance [ohm per square]; limits :math:`1/(\sigma t) + j\omega\mu_0 t/3` and :math:`(1+j) R_s`.

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: flat plate, field uniform along it. Exact in one dimension.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, ch. 3
       (from memory).

    Examples
    --------
    >>> f"{sheet_impedance_one_side(10e6, 35e-6, 5.8e7).real:.6e}"
    '7.589817e-04'
    """
    require_positive(thickness, "thickness", "m")
    k = diffusion_constant(frequency, conductivity)
    return k / (conductivity * cmath.tanh(k * thickness))


def sheet_impedance_both_sides(frequency: float, thickness: float, conductivity: float) -> complex:
    r"""Impedance per square of a plate that carries equal currents towards both faces.

    .. math:: Z_\square = (k/2\sigma) \coth(k t/2)

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    thickness : float
        Plate thickness :math:`t` [m], > 0.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        Impedance [ohm per square]; limits :math:`1/(\sigma t) + j\omega\mu_0 t/12` and :math:`(1+j) R_s/2`.

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: flat plate with equal and opposite fields at its faces. Exact in one dimension. It is two plates of
    half the thickness, each one-sided, in parallel.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, ch. 3
       (from memory).

    Examples
    --------
    >>> f"{sheet_impedance_both_sides(10e6, 35e-6, 5.8e7).real:.6e}"
    '5.137472e-04'
    """
    return 0.5 * sheet_impedance_one_side(frequency, 0.5 * thickness, conductivity)
