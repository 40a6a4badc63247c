"""Round wires and the coaxial line."""

import cmath
import math

import numpy as np
from scipy.special import ive, kve

from solver.constants import MU_0
from solver.formulas.ranges import require_above, require_positive
from solver.formulas.skin import diffusion_constant

# The shell's direct-current term subtracts two numbers that grow as (radius/thickness)^2.
THINNEST_SHELL = 1.001


def wire_dc_resistance(radius: float, conductivity: float) -> float:
    r"""Direct-current resistance per metre of a round wire.

    .. math:: R' = 1/(\sigma \pi a^2)

    Parameters
    ----------
    radius : float
        Wire radius :math:`a` [m], > 0.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    float
        Resistance [ohm/m].

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: uniform current. Exact.

    References
    ----------
    .. [1] Definition of resistivity; no source needed.

    Examples
    --------
    >>> f"{wire_dc_resistance(100e-6, 5.8e7):.9f}"
    '0.548810149'
    """
    require_positive(radius, "radius", "m")
    require_positive(conductivity, "conductivity", "S/m")
    return 1.0 / (conductivity * math.pi * radius**2)


def wire_dc_internal_inductance() -> float:
    r"""Inductance per metre inside a round wire with uniform current, whatever its radius.

    .. math:: L'_{int} = \mu_0 / 8\pi

    Returns
    -------
    float
        Inductance [H/m], 50 nH/m.

    Notes
    -----
    Range: DC in a non-magnetic wire. Exact.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, ch. 3
       (from memory).

    Examples
    --------
    >>> f"{wire_dc_internal_inductance():.3e}"
    '5.000e-08'
    """
    return MU_0 / (8.0 * math.pi)


def wire_internal_impedance(frequency: float, radius: float, conductivity: float) -> complex:
    r"""Impedance per metre of an isolated round wire without its outer field, with skin effect.

    .. math:: Z' = \frac{k}{2\pi a\sigma}\,\frac{I_0(ka)}{I_1(ka)}, \qquad k = (1 + j)/\delta

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    radius : float
        Wire radius :math:`a` [m], > 0.
    conductivity : float
        Conductivity :math:`\sigma` [S/m], > 0.

    Returns
    -------
    complex
        Impedance [ohm/m]: resistance, and angular frequency times the internal inductance.

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Range: non-magnetic wire far from others (no proximity effect), displacement current neglected; exact
    there. Exponentially scaled Bessel functions, so thick wires at high frequency do not overflow.

    References
    ----------
    .. [1] S. A. Schelkunoff, "The electromagnetic theory of coaxial transmission lines and cylindrical
       shields", Bell System Technical Journal 13 (1934) 532-579 (formula checked against published text;
       number of the equation not noted).

    Examples
    --------
    >>> f"{wire_internal_impedance(1e6, 0.5e-3, 5.8e7).real:.8f}"
    '0.08880174'
    """
    require_positive(radius, "radius", "m")
    k = diffusion_constant(frequency, conductivity)
    argument = np.complex128(k * radius)
    ratio = complex(ive(0, argument) / ive(1, argument))
    return k / (2.0 * math.pi * radius * conductivity) * ratio


def _require_coax(inner_radius: float, shell_inner_radius: float, shell_outer_radius: float) -> None:
    require_positive(inner_radius, "inner radius", "m")
    require_above(shell_inner_radius, inner_radius, "inner radius of the shell", "m")
    smallest = THINNEST_SHELL * shell_inner_radius
    require_above(shell_outer_radius, smallest, "outer radius of the shell", "m")


def coax_external_inductance(inner_radius: float, shell_inner_radius: float) -> float:
    r"""Inductance per metre of a coaxial line with surface currents only.

    .. math:: L' = (\mu_0/2\pi) \ln(b/a)

    Parameters
    ----------
    inner_radius : float
        Radius of the inner conductor :math:`a` [m], > 0.
    shell_inner_radius : float
        Inner radius of the shell :math:`b` [m], > a.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If the radii are not positive or do not increase.

    Notes
    -----
    Range: perfect conductors, concentric. Exact.

    References
    ----------
    .. [1] S. A. Schelkunoff, Bell System Technical Journal 13 (1934) 532-579 (from memory).

    Examples
    --------
    >>> f"{coax_external_inductance(0.5e-3, 1.75e-3) * 1e9:.7f}"
    '250.5525937'
    """
    require_positive(inner_radius, "inner radius", "m")
    require_above(shell_inner_radius, inner_radius, "inner radius of the shell", "m")
    return MU_0 / (2.0 * math.pi) * math.log(shell_inner_radius / inner_radius)


def coax_dc_resistance(
    inner_radius: float, shell_inner_radius: float, shell_outer_radius: float, conductivity: float
) -> float:
    r"""Direct-current loop resistance per metre of a coaxial line.

    .. math:: R' = \frac{1}{\pi\sigma}\left[\frac{1}{a^2} + \frac{1}{c^2 - b^2}\right]

    Parameters
    ----------
    inner_radius : float
        Radius of the inner conductor :math:`a` [m], > 0.
    shell_inner_radius : float
        Inner radius of the shell :math:`b` [m], > a.
    shell_outer_radius : float
        Outer radius of the shell :math:`c` [m], > 1.001 b.
    conductivity : float
        Conductivity of both conductors [S/m], > 0.

    Returns
    -------
    float
        Resistance of inner conductor and shell in series [ohm/m].

    Raises
    ------
    ValueError
        If the radii or the conductivity are outside their range.

    Notes
    -----
    Range: uniform current densities. Exact.

    References
    ----------
    .. [1] Definition of resistivity; no source needed.

    Examples
    --------
    >>> f"{coax_dc_resistance(0.5e-3, 1.75e-3, 2e-3, 5.8e7):.11f}"
    '0.02780638086'
    """
    _require_coax(inner_radius, shell_inner_radius, shell_outer_radius)
    shell_area = math.pi * (shell_outer_radius**2 - shell_inner_radius**2)
    return wire_dc_resistance(inner_radius, conductivity) + 1.0 / (conductivity * shell_area)


def coax_dc_inductance(inner_radius: float, shell_inner_radius: float, shell_outer_radius: float) -> float:
    r"""Direct-current loop inductance per metre of a coaxial line.

    .. math::
        L' = \frac{\mu_0}{2\pi}\left[\ln\frac{b}{a} + \frac14
           + \frac{c^4}{(c^2-b^2)^2}\ln\frac{c}{b} - \frac{3c^2-b^2}{4(c^2-b^2)}\right]

    Parameters
    ----------
    inner_radius : float
        Radius of the inner conductor :math:`a` [m], > 0.
    shell_inner_radius : float
        Inner radius of the shell :math:`b` [m], > a.
    shell_outer_radius : float
        Outer radius of the shell :math:`c` [m], > 1.001 b.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If the radii are outside their range.

    Notes
    -----
    Range: uniform current densities, concentric. Exact; a shell thinner than b/1000 is refused because the
    last two terms then cancel.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics* (from
       memory).

    Examples
    --------
    >>> f"{coax_dc_inductance(0.5e-3, 1.75e-3, 2e-3) * 1e9:.7f}"
    '310.0588908'
    """
    _require_coax(inner_radius, shell_inner_radius, shell_outer_radius)
    outer, difference = shell_outer_radius**2, shell_outer_radius**2 - shell_inner_radius**2
    shell = (outer / difference) ** 2 * math.log(shell_outer_radius / shell_inner_radius)
    shell -= (2.0 * outer + difference) / (4.0 * difference)
    external = coax_external_inductance(inner_radius, shell_inner_radius)
    return external + wire_dc_internal_inductance() + MU_0 / (2.0 * math.pi) * shell


def coax_shell_impedance(
    frequency: float, shell_inner_radius: float, shell_outer_radius: float, conductivity: float
) -> complex:
    r"""Impedance per metre of a coaxial shell whose current returns inside it, without the outer field.

    .. math::
        Z'_{bb} = \frac{k}{2\pi b\sigma}\,
        \frac{I_0(kb)K_1(kc) + K_0(kb)I_1(kc)}{I_1(kc)K_1(kb) - I_1(kb)K_1(kc)}

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    shell_inner_radius : float
        Inner radius :math:`b` [m], > 0.
    shell_outer_radius : float
        Outer radius :math:`c` [m], > 1.001 b.
    conductivity : float
        Conductivity [S/m], > 0.

    Returns
    -------
    complex
        Impedance [ohm/m] seen at the inner face.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: non-magnetic shell, no field outside it. Exact. Numerator and denominator are both divided by
    exp(Re kc - kb), which leaves only decaying exponentials.

    References
    ----------
    .. [1] S. A. Schelkunoff, "The electromagnetic theory of coaxial transmission lines and cylindrical
       shields", Bell System Technical Journal 13 (1934) 532-579, eq. (75) (from memory).

    Examples
    --------
    >>> f"{coax_shell_impedance(1e6, 1.75e-3, 2e-3, 5.8e7).real:.6f}"
    '0.023316'
    """
    require_positive(shell_inner_radius, "inner radius of the shell", "m")
    require_above(shell_outer_radius, THINNEST_SHELL * shell_inner_radius, "outer radius of the shell", "m")
    k = diffusion_constant(frequency, conductivity)
    inner, outer = np.complex128(k * shell_inner_radius), np.complex128(k * shell_outer_radius)
    decay = cmath.exp(-(outer - inner) - (outer - inner).real)
    growing, falling = complex(ive(1, outer)), complex(kve(1, outer)) * decay
    above = complex(ive(0, inner)) * falling + complex(kve(0, inner)) * growing
    below = complex(kve(1, inner)) * growing - complex(ive(1, inner)) * falling
    return k / (2.0 * math.pi * shell_inner_radius * conductivity) * above / below


def coax_impedance(
    frequency: float,
    inner_radius: float,
    shell_inner_radius: float,
    shell_outer_radius: float,
    conductivity: float,
) -> complex:
    r"""Series impedance per metre of a coaxial line, with skin effect in both conductors.

    .. math:: Z' = Z'_{wire} + j\omega\,(\mu_0/2\pi)\ln(b/a) + Z'_{bb}

    Parameters
    ----------
    frequency : float
        Frequency [Hz], > 0.
    inner_radius : float
        Radius of the inner conductor :math:`a` [m], > 0.
    shell_inner_radius : float
        Inner radius of the shell :math:`b` [m], > a.
    shell_outer_radius : float
        Outer radius of the shell :math:`c` [m], > 1.001 b.
    conductivity : float
        Conductivity of both conductors [S/m], > 0.

    Returns
    -------
    complex
        Loop impedance [ohm/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: non-magnetic, concentric, displacement current in the conductors neglected. Exact.

    References
    ----------
    .. [1] S. A. Schelkunoff, Bell System Technical Journal 13 (1934) 532-579, eq. (75) for the shell (from
       memory).

    Examples
    --------
    >>> f"{coax_impedance(1e6, 0.5e-3, 1.75e-3, 2e-3, 5.8e7).real:.8f}"
    '0.11211786'
    """
    _require_coax(inner_radius, shell_inner_radius, shell_outer_radius)
    external = 2j * math.pi * frequency * coax_external_inductance(inner_radius, shell_inner_radius)
    shell = coax_shell_impedance(frequency, shell_inner_radius, shell_outer_radius, conductivity)
    return wire_internal_impedance(frequency, inner_radius, conductivity) + external + shell
