"""A cable that a small board drives against itself: its impedance, its current and its field."""

import cmath
import math

import numpy as np
from numpy.typing import NDArray

from solver.constants import EPSILON_0, ETA_0, SPEED_OF_LIGHT
from solver.formulas.patches import disc_capacitance
from solver.formulas.radiation import QUARTER_WAVE_RESISTANCE, driven_wire_admittance_bound, mean_wire_impedance
from solver.formulas.ranges import require_above, require_positive

_STEPS_ON_CABLE = 400
_DIRECTIONS = np.linspace(0.005, math.pi - 0.005, 361)


def resonant_cable_impedance(length: float, diameter: float, frequency: float) -> complex:
    r"""Impedance of a cable whose length is known up to its own only, so that it may be resonant.

    .. math::
        Z = R - j\sqrt{|Z_b|^2 - R^2}, \qquad R = R_{\lambda/4} = 36.5\ \Omega

    with :math:`|Z_b|` the lowest impedance of :func:`driven_wire_admittance_bound`: an open line below a quarter wave,
    a resonant quarter wave from there on.

    Parameters
    ----------
    length : float
        [m], at least ten times the diameter.
    diameter : float
        [m], > 0.
    frequency : float
        [Hz], > 0.

    Returns
    -------
    complex
        [ohm].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    To be put in series with the board's capacitance. For stated lengths see :func:`cable_input_impedance`.

    References
    ----------
    .. [1] H. Shim, T. H. Hubing, "Model for estimating radiated emissions from a printed circuit board with attached
       cables due to voltage-driven sources", IEEE Trans. EMC 47 (2005) 899-907 (from memory): a resonant cable of 37
       ohm in series with the board.

    Examples
    --------
    >>> f"{resonant_cable_impedance(1.0, 4e-3, 100e6):.1f}"
    '36.5-0.0j'
    """
    magnitude = 1.0 / driven_wire_admittance_bound(length, diameter, frequency)
    return complex(QUARTER_WAVE_RESISTANCE, -math.sqrt(max(magnitude**2 - QUARTER_WAVE_RESISTANCE**2, 0.0)))


def board_cable_current(length: float, diameter: float, board_capacitance: float, frequency: float) -> float:
    r"""Current into a cable per volt between it and a small board, the cable's length known up to its own only.

    .. math:: \frac IV = \frac1{|Z + 1/j\omega C_b|}

    with Z of :func:`resonant_cable_impedance`.

    Parameters
    ----------
    length : float
        Of the cable [m], at least ten times the diameter.
    diameter : float
        [m], > 0.
    board_capacitance : float
        Of the board, and of all that hangs on it, to far away: C_b [F], > 0; see :func:`disc_capacitance`.
    frequency : float
        [Hz], > 0.

    Returns
    -------
    float
        [A/V].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Together with :func:`wire_far_field_bound` the field is that of a straight wire with an end disc within 10 dB, from
    0.3 to 1.5 m and 30 to 400 MHz (thin-wire integral equation, validation/emission/test_cable_estimate.py): where wire
    and disc are in series resonance 10 dB too low, elsewhere up to 5 dB too high.

    References
    ----------
    .. [1] As for :func:`resonant_cable_impedance`.

    Examples
    --------
    >>> board = disc_capacitance(math.sqrt(80e-3 * 60e-3 / math.pi))
    >>> below = board_cable_current(1.0, 4e-3, board, 100e6) / driven_wire_admittance_bound(1.0, 4e-3, 100e6)
    >>> f"{20 * math.log10(below):.1f} dB"
    '-24.0 dB'
    """
    require_positive(board_capacitance, "capacitance of the board", "F")
    reactance = 1.0 / (2.0 * math.pi * frequency * board_capacitance)
    return 1.0 / abs(resonant_cable_impedance(length, diameter, frequency) - 1j * reactance)


def cable_input_impedance(length: float, diameter: float, frequency: float) -> complex:
    r"""Input impedance of a straight wire of a stated length with an open end, with its resonances.

    .. math::
        Z = Z_m\coth\left[(\alpha + jk)l\right], \qquad
        Z_m = \frac{\eta_0}{2\pi}\left(\ln\frac{4l}d - 1\right), \qquad
        Z_m\tanh\frac{\alpha\lambda}4 = R_{\lambda/4}

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
    complex
        [ohm].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    A line of the wire's mean characteristic impedance, with the loss by which a quarter wave over a ground shows its
    radiation resistance, 36.5 ohm. Far below a quarter wave its real part is too large, where it does not count.

    References
    ----------
    .. [1] S. A. Schelkunoff, "Theory of antennas of arbitrary size and shape", Proc. IRE 29 (1941) 493-521 (from
       memory), for the mean characteristic impedance.

    Examples
    --------
    >>> quarter = SPEED_OF_LIGHT / 4 / 75e6
    >>> f"{cable_input_impedance(quarter, 4e-3, 75e6).real:.1f} ohm"
    '36.5 ohm'
    """
    propagation = _propagation(length, diameter, frequency)
    return mean_wire_impedance(length, diameter) / cmath.tanh(propagation * length)


def board_cable_admittance(length: float, diameter: float, board_radius: float, frequency: float) -> complex:
    r"""Current into a cable of a stated length per volt between it and a round board at its end.

    .. math::
        \frac IV = \left[Z + \frac1{j\omega}\left(\frac1{8\varepsilon_0a} -
        \frac{2}{4\pi\varepsilon_0l}\ln\frac{a + l}a\right)\right]^{-1}

    with Z of :func:`cable_input_impedance`. The second member is what the charges of cable and board do to each other.

    Parameters
    ----------
    length : float
        Of the cable l [m], at least ten times the diameter and five times the board's radius.
    diameter : float
        [m], > 0.
    board_radius : float
        Of a disc of the board's area, a [m], > 0.
    frequency : float
        [Hz], > 0.

    Returns
    -------
    complex
        [A/V].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Range: up to a wavelength; the board small against it.

    Examples
    --------
    >>> f"{1 / board_cable_admittance(1.0, 4e-3, 39e-3, 75e6):.0f} ohm"
    '37-643j ohm'
    """
    require_positive(board_radius, "radius of the board", "m")
    require_above(length, 5.0 * board_radius, "length of the cable", "m")
    elastance = 1.0 / disc_capacitance(board_radius)
    elastance -= math.log((board_radius + length) / board_radius) / (2.0 * math.pi * EPSILON_0 * length)
    board = elastance / (2j * math.pi * frequency)
    return 1.0 / (cable_input_impedance(length, diameter, frequency) + board)


def board_cable_field(length: float, diameter: float, board_radius: float, frequency: float, distance: float) -> float:
    r"""Largest far field of a cable of a stated length per volt between it and a round board at its end.

    .. math::
        |E| = \frac{\eta_0k}{4\pi r}\max_\vartheta\left|\sin\vartheta\int_0^lI(z)\,e^{jkz\cos\vartheta}\,dz\right|,
        \qquad I(z) = I(0)\,\frac{\sinh(\alpha + jk)(l - z)}{\sinh(\alpha + jk)l}

    with I(0) of :func:`board_cable_admittance`.

    Parameters
    ----------
    length, diameter, board_radius, frequency : float
        As for :func:`board_cable_admittance`.
    distance : float
        r [m], > 0.

    Returns
    -------
    float
        Field strength in free space [V/m per volt].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Within 2 dB of a straight wire with an end disc for quarter-wave and half-wave cables from 0.3 to 1.5 m (thin-wire
    integral equation, validation/emission/test_cable_estimate.py), within 4 dB up to 0.6 wavelengths.

    Examples
    --------
    >>> f"{board_cable_field(1.0, 4e-3, 39e-3, 75e6, 3.0) * 1e3:.1f} mV/m"
    '15.5 mV/m'
    """
    require_positive(distance, "distance", "m")
    k = 2.0 * math.pi * frequency / SPEED_OF_LIGHT
    current = board_cable_admittance(length, diameter, board_radius, frequency)
    places, shape = _standing_wave(length, _propagation(length, diameter, frequency))
    lobes = np.exp(1j * k * np.outer(np.cos(_DIRECTIONS), places)) @ shape
    largest = float(np.max(np.abs(lobes) * np.sin(_DIRECTIONS)))
    return ETA_0 * k * abs(current) * largest / (4.0 * math.pi * distance)


def _standing_wave(length: float, propagation: complex) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
    """Middles of short pieces of a cable [m], and their current per ampere at its beginning times their length [m]."""
    places = (np.arange(_STEPS_ON_CABLE) + 0.5) * length / _STEPS_ON_CABLE
    current = np.sinh(propagation * (length - places)) / cmath.sinh(propagation * length)
    return places, np.asarray(current * length / _STEPS_ON_CABLE)


def _propagation(length: float, diameter: float, frequency: float) -> complex:
    """Loss and phase per length of a cable, alpha + jk [1/m]."""
    require_positive(frequency, "frequency", "Hz")
    k = 2.0 * math.pi * frequency / SPEED_OF_LIGHT
    loss = math.atanh(QUARTER_WAVE_RESISTANCE / mean_wire_impedance(length, diameter))
    return complex(loss * k / (math.pi / 2.0), k)
