"""Fields of small loops and of wires, in free space."""

import math
from typing import Final

from solver.constants import ETA_0, SPEED_OF_LIGHT
from solver.formulas.ranges import require_above, require_positive, require_within

#: Radiation resistance of a thin quarter-wave wire over a perfect ground at resonance, half of that of the half-wave
#: dipole, eta_0/(4 pi) Cin(2 pi) = 73.08 ohm (73.13 with 120 pi for eta_0) [ohm].
QUARTER_WAVE_RESISTANCE: Final = ETA_0 / (8.0 * math.pi) * 2.437653393057  # Cin(2 pi), DLMF 6.2.12

_STANDING_WAVE_PATTERN: Final = 2.4
"""Largest of |exp(jkl cos t) - cos kl - j cos t sin kl| / sin t over all directions t and lengths up to a wavelength,
2.38, rounded up."""


def small_loop_electric_field(moment: float, frequency: float, distance: float) -> float:
    r"""Electric field strength of a small current loop in its own plane, where it is largest.

    .. math:: |E_\varphi| = \frac{\eta_0 k^2 m}{4\pi r}\sqrt{1 + \frac{1}{(kr)^2}}, \qquad k = \frac{2\pi f}{c}

    Parameters
    ----------
    moment : float
        Magnetic moment, current times area, m [A m²], >= 0.
    frequency : float
        f [Hz], > 0.
    distance : float
        From the loop, r [m], > 0.

    Returns
    -------
    float
        Field strength [V/m], peak or root mean square as the moment is.

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Exact for a point dipole in free space, near and far. For a real loop: its size is small against the distance and
    against the wavelength (a tenth, common practice).

    References
    ----------
    .. [1] C. A. Balanis, *Antenna Theory*, 3rd ed., 2005, sec. 5.2 (from memory); the exact magnetic dipole.

    Examples
    --------
    >>> far = small_loop_far_field(1e-3 * 1e-4, 100e6, 3.0)
    >>> near = small_loop_electric_field(1e-3 * 1e-4, 100e6, 3.0)
    >>> f"{20 * math.log10(far / 1e-6):.2f} and {20 * math.log10(near / 1e-6):.2f} dBuV/m"
    '12.85 and 12.96 dBuV/m'
    """
    far = small_loop_far_field(moment, frequency, distance)
    return far * math.sqrt(1.0 + 1.0 / (_wavenumber(frequency) * distance) ** 2)


def small_loop_far_field(moment: float, frequency: float, distance: float) -> float:
    r"""Far part of the electric field strength of a small current loop in its plane, :math:`\eta_0k^2m/4\pi r`.

    Parameters
    ----------
    moment : float
        Magnetic moment m [A m²], >= 0.
    frequency : float
        f [Hz], > 0.
    distance : float
        r [m], > 0.

    Returns
    -------
    float
        Field strength [V/m].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Range: kr well above 1; at kr = 1 the whole field is larger by a factor of 1.41.

    References
    ----------
    .. [1] H. W. Ott, *Electromagnetic Compatibility Engineering*, 2009 (from memory), writes 131.6e-16 f² A I / r;
       with eta_0 in full the constant is 131.686e-16.

    Examples
    --------
    >>> f"{small_loop_far_field(1.0, 1.0, 1.0):.5e}"
    '1.31686e-14'
    """
    require_within(moment, 0.0, math.inf, "moment", "A m²")
    require_positive(distance, "distance", "m")
    return ETA_0 * _wavenumber(frequency) ** 2 * moment / (4.0 * math.pi * distance)


def small_loop_magnetic_field(moment: float, frequency: float, distance: float, *, polar_angle: float) -> float:
    r"""Magnetic field strength of a small current loop.

    .. math::
        H_r &= \frac{m\cos\vartheta}{2\pi r^3}(1 + jkr)e^{-jkr} \\
        H_\vartheta &= \frac{m\sin\vartheta}{4\pi r^3}(1 + jkr - k^2r^2)e^{-jkr}

    Parameters
    ----------
    moment : float
        Magnetic moment m [A m²], >= 0.
    frequency : float
        f [Hz], > 0.
    distance : float
        r [m], > 0.
    polar_angle : float
        From the loop's axis, :math:`\vartheta` [rad], 0 to pi; pi/2 is broadside of the dipole, in the loop's plane.

    Returns
    -------
    float
        Root of |H_r|² + |H_theta|² [A/m].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Exact for a point dipole in free space. Near the loop the field on its axis is the largest, twice that in its
    plane; far from it the field in its plane is.

    References
    ----------
    .. [1] C. A. Balanis, *Antenna Theory*, 3rd ed., 2005, sec. 5.2 (from memory); the exact magnetic dipole.

    Examples
    --------
    >>> near = [small_loop_magnetic_field(1e-7, 1e6, 0.1, polar_angle=angle) for angle in (0.0, math.pi / 2)]
    >>> f"{near[0] / near[1]:.3f}"
    '2.000'
    """
    require_within(moment, 0.0, math.inf, "moment", "A m²")
    require_positive(distance, "distance", "m")
    require_within(polar_angle, 0.0, math.pi, "polar angle", "rad")
    kr = _wavenumber(frequency) * distance
    scale = moment / (4.0 * math.pi * distance**3)
    radial = 2.0 * scale * math.cos(polar_angle) * abs(1 + 1j * kr)
    across = scale * math.sin(polar_angle) * abs(1 + 1j * kr - kr**2)
    return math.hypot(radial, across)


def short_wire_far_field(current: float, length: float, frequency: float, distance: float) -> float:
    r"""Far electric field strength of a short wire with the same current all along, broadside.

    .. math:: |E_\vartheta| = \frac{\eta_0 k I l}{4\pi r}

    Parameters
    ----------
    current : float
        I [A], >= 0.
    length : float
        l [m], > 0.
    frequency : float
        f [Hz], > 0.
    distance : float
        r [m], > 0.

    Returns
    -------
    float
        Field strength [V/m].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    An upper bound for every wire of that length whose current is nowhere larger, at distances where only the far field
    counts (kr above 1; there the near terms of a short wire lower the field). For a longer wire see
    :func:`wire_far_field_bound`.

    References
    ----------
    .. [1] C. R. Paul, *Introduction to Electromagnetic Compatibility*, 2nd ed., 2006, ch. 8 (from memory): 6.28e-7 f I
       l / r, and 12.6e-7 for a line with its reflection in the ground.

    Examples
    --------
    >>> f"{2 * short_wire_far_field(5e-6, 1.0, 50e6, 3.0) * 1e6:.1f} uV/m with reflection"
    '104.7 uV/m with reflection'
    """
    require_within(current, 0.0, math.inf, "current", "A")
    require_positive(length, "length", "m")
    require_positive(distance, "distance", "m")
    return ETA_0 * _wavenumber(frequency) * current * length / (4.0 * math.pi * distance)


def wire_far_field_bound(current: float, length: float, frequency: float, distance: float) -> float:
    r"""Upper bound of the far field of a straight wire of any length, by the largest current on it.

    .. math::
        |E| \le \frac{\eta_0 I}{4\pi r}\,\min\left(kl,\ 2.4\max\left(1, \sqrt{l/\lambda}\right)\right)

    Parameters
    ----------
    current : float
        Largest amplitude anywhere on the wire, I [A], >= 0.
    length : float
        l [m], > 0.
    frequency : float
        f [Hz], > 0.
    distance : float
        r [m], > 0.

    Returns
    -------
    float
        Field strength [V/m], without any reflection.

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    The first member holds for every distribution of current. The second is the largest lobe of a standing wave on a
    wire with an open end, in every direction and for all lengths (computed; tests/test_radiation.py scans it): the
    field saturates at about three eighths of a wavelength and grows with the root of the length beyond one wavelength.
    Range: far field, straight wire, sinusoidal current.

    References
    ----------
    .. [1] Far field of a sinusoidal current on a straight wire, derived; compare C. A. Balanis, *Antenna Theory*,
       3rd ed., 2005, sec. 4.5 (from memory).

    Examples
    --------
    >>> short = wire_far_field_bound(5e-6, 1.0, 50e6, 3.0) / short_wire_far_field(5e-6, 1.0, 50e6, 3.0)
    >>> f"{short:.3f}"
    '1.000'
    """
    require_within(current, 0.0, math.inf, "current", "A")
    require_positive(length, "length", "m")
    require_positive(distance, "distance", "m")
    electric_length = _wavenumber(frequency) * length
    wavelengths = electric_length / (2.0 * math.pi)
    factor = min(electric_length, _STANDING_WAVE_PATTERN * max(1.0, math.sqrt(wavelengths)))
    return ETA_0 * current * factor / (4.0 * math.pi * distance)


def driven_wire_admittance_bound(length: float, diameter: float, frequency: float) -> float:
    r"""Upper bound of the admittance that a cable shows to a voltage between its end and a large ground.

    .. math::
        |Y| \le \min\left(\frac{\tan kl}{Z_m}, \frac{1}{R_{\lambda/4}}\right) \text{ below } l = \lambda/4,
        \quad \frac{1}{R_{\lambda/4}} \text{ above}, \qquad Z_m = \frac{\eta_0}{2\pi}\left(\ln\frac{4l}{d} - 1\right)

    Parameters
    ----------
    length : float
        l [m], at least ten times the diameter.
    diameter : float
        d [m], > 0.
    frequency : float
        f [Hz], > 0.

    Returns
    -------
    float
        Admittance [S].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Below a quarter wave the cable is an open line of its mean characteristic impedance; from there on every length is
    taken as if it were resonant, at the radiation resistance of a quarter-wave wire, 36.5 ohm, which is the lowest of
    all its resonances. A board, which is no large ground, draws less: hence a bound.

    References
    ----------
    .. [1] S. A. Schelkunoff, "Theory of antennas of arbitrary size and shape", Proc. IRE 29 (1941) 493-521, for the
       mean characteristic impedance (from memory).
    .. [2] H.-W. Shim, T. H. Hubing, "Model for estimating radiated emissions from a printed circuit board with
       attached cables due to voltage-driven sources", IEEE Trans. EMC 47 (2005) 899-907 (from memory), for a cable as
       a resonant wire driven by the board.

    Examples
    --------
    >>> f"{1 / driven_wire_admittance_bound(1.0, 4e-3, 100e6):.1f} ohm"
    '36.5 ohm'
    """
    mean_impedance = mean_wire_impedance(length, diameter)
    electric_length = _wavenumber(frequency) * length
    resonant = 1.0 / QUARTER_WAVE_RESISTANCE
    if electric_length >= math.pi / 2.0:
        return resonant
    return min(math.tan(electric_length) / mean_impedance, resonant)


def mean_wire_impedance(length: float, diameter: float) -> float:
    r"""Mean characteristic impedance of a straight wire, :math:`\frac{\eta_0}{2\pi}(\ln\frac{4l}d - 1)`.

    Parameters
    ----------
    length : float
        l [m], at least ten times the diameter.
    diameter : float
        d [m], > 0.

    Returns
    -------
    float
        [ohm].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    References
    ----------
    .. [1] S. A. Schelkunoff, "Theory of antennas of arbitrary size and shape", Proc. IRE 29 (1941) 493-521 (from
       memory).

    Examples
    --------
    >>> f"{mean_wire_impedance(1.0, 4e-3):.0f} ohm"
    '354 ohm'
    """
    require_positive(diameter, "diameter", "m")
    require_above(length, 10.0 * diameter, "length of the cable", "m")
    return ETA_0 / (2.0 * math.pi) * (math.log(4.0 * length / diameter) - 1.0)


def _wavenumber(frequency: float) -> float:
    require_positive(frequency, "frequency", "Hz")
    return 2.0 * math.pi * frequency / SPEED_OF_LIGHT
