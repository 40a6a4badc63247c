"""Fourier coefficients of periodic switching waveforms."""

import cmath
import math

from solver.formulas.ranges import require_positive, require_within


def trapezoid_harmonic(
    amplitude: float, frequency: float, duty: float, rise_time: float, fall_time: float, harmonic: int
) -> complex:
    r"""Peak phasor of one harmonic of a trapezoidal waveform that starts to rise at t = 0.

    .. math::
        2c_n = \frac{A}{j\pi n}\left[\operatorname{sinc}\frac{n t_r}{T}\,e^{-j\pi n t_r/T} -
        \operatorname{sinc}\frac{n t_f}{T}\,e^{-2\pi j n(d + t_r/2T)}\right], \qquad
        \operatorname{sinc}x = \frac{\sin\pi x}{\pi x}

    Parameters
    ----------
    amplitude : float
        Height A, from bottom to top [V or A], >= 0.
    frequency : float
        Repetition frequency 1/T [Hz], > 0.
    duty : float
        Time between the middles of both edges over the period, d [1].
    rise_time, fall_time : float
        Edges from bottom to top and back, 0 to 100 % [s], > 0; both fit into their part of the period.
    harmonic : int
        n, 1 or more.

    Returns
    -------
    complex
        In the unit of the amplitude.

    Raises
    ------
    ValueError
        If an argument is out of its range, or the edges do not fit into the period.

    Notes
    -----
    Exact for straight edges. With equal edges its magnitude is 2 A d |sinc(n d)| |sinc(n t_r/T)|.

    References
    ----------
    .. [1] C. R. Paul, *Introduction to Electromagnetic Compatibility*, 2nd ed., 2006, ch. 3 (from memory; derived
       anew and checked with a Fourier transform).

    Examples
    --------
    >>> f"{abs(trapezoid_harmonic(12.0, 500e3, 0.4, 5e-9, 3e-9, 3)):.6f} V"
    '1.496689 V'
    """
    require_within(amplitude, 0.0, math.inf, "amplitude", "V or A")
    require_positive(frequency, "frequency", "Hz")
    rise, fall = _edges_of_period(frequency, duty, rise_time, fall_time)
    require_within(harmonic, 1, math.inf, "harmonic", "(number)")
    up = _sinc(harmonic * rise) * cmath.exp(-1j * math.pi * harmonic * rise)
    down = _sinc(harmonic * fall) * cmath.exp(-2j * math.pi * harmonic * (duty + rise / 2))
    return amplitude / (1j * math.pi * harmonic) * (up - down)


def trapezoid_bound(amplitude: float, frequency: float, rise_time: float, fall_time: float, at: float) -> float:
    r"""Largest magnitude that a harmonic of a trapezoid can have at a frequency, whatever its duty.

    .. math::
        |2c_n| \le \frac{A}{\pi n}\left[\min\left(1, \frac{1}{\pi f t_r}\right) +
        \min\left(1, \frac{1}{\pi f t_f}\right)\right], \qquad n = fT

    Parameters
    ----------
    amplitude : float
        Height A, from bottom to top [V or A], >= 0.
    frequency : float
        Repetition frequency 1/T [Hz], > 0.
    rise_time, fall_time : float
        Edges, 0 to 100 % [s], > 0.
    at : float
        Frequency f [Hz], at least the repetition frequency.

    Returns
    -------
    float
        Peak value, in the unit of the amplitude.

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    The envelope with corners at 1/(pi t_r) and 1/(pi t_f); zeros of a line, which move with every small change of duty
    and edge, are filled. Above a corner a line can come as close to it as it likes.

    References
    ----------
    .. [1] C. R. Paul, *Introduction to Electromagnetic Compatibility*, 2nd ed., 2006, ch. 3 (from memory).

    Examples
    --------
    >>> f"{trapezoid_bound(5.0, 400e3, 1e-9, 1e-9, 100e6) * 1e3:.3f} mA"
    '12.732 mA'
    """
    require_within(amplitude, 0.0, math.inf, "amplitude", "V or A")
    require_positive(frequency, "frequency", "Hz")
    require_within(at, frequency, math.inf, "frequency of the line", "Hz")
    total = 0.0
    for name, edge in (("rise time", rise_time), ("fall time", fall_time)):
        require_positive(edge, name, "s")
        total += min(1.0, 1.0 / (math.pi * at * edge))
    return amplitude * frequency / (math.pi * at) * total


def damped_ring_harmonic(
    amplitude: float, frequency: float, ring_frequency: float, decay_rate: float, harmonic: int
) -> complex:
    r"""Peak phasor of one harmonic of a damped sine that starts anew every period and is cut off at its end.

    .. math::
        2c_n = \frac{A}{jT}\left[\frac{e^{s_1T} - 1}{s_1} - \frac{e^{s_2T} - 1}{s_2}\right], \qquad
        s_{1,2} = -\alpha \pm j\omega_r - jn\omega_0

    Parameters
    ----------
    amplitude : float
        A of A exp(-alpha t) sin(omega_r t) [V or A], >= 0.
    frequency : float
        Repetition frequency 1/T [Hz], > 0.
    ring_frequency : float
        omega_r / 2 pi [Hz], > 0.
    decay_rate : float
        alpha [1/s], > 0.
    harmonic : int
        n, 1 or more.

    Returns
    -------
    complex
        In the unit of the amplitude.

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Exact for the sine as described; what has not died out at the end of a period is cut off, not carried over.

    References
    ----------
    .. [1] Laplace transform of the damped sine, derived.

    Examples
    --------
    >>> f"{abs(damped_ring_harmonic(5.0, 500e3, 150e6, 2e7, 300)):.6f} V"
    '0.124993 V'
    """
    require_within(amplitude, 0.0, math.inf, "amplitude", "V or A")
    require_positive(frequency, "frequency", "Hz")
    require_positive(ring_frequency, "ring frequency", "Hz")
    require_positive(decay_rate, "decay rate", "1/s")
    require_within(harmonic, 1, math.inf, "harmonic", "(number)")
    total = 0j
    for sign in (1, -1):
        s = -decay_rate + 2j * math.pi * (sign * ring_frequency - harmonic * frequency)
        total += sign * (cmath.exp(s / frequency) - 1) / s
    return amplitude * frequency / 1j * total


def _edges_of_period(frequency: float, duty: float, rise_time: float, fall_time: float) -> tuple[float, float]:
    """Both edges as parts of the period, checked to fit."""
    require_positive(rise_time, "rise time", "s")
    require_positive(fall_time, "fall time", "s")
    rise, fall = rise_time * frequency, fall_time * frequency
    halves = (rise + fall) / 2
    require_within(duty, halves, 1 - halves, "duty, with room for half of both edges on either side,", "(ratio)")
    return rise, fall


def _sinc(x: float) -> float:
    return math.sin(math.pi * x) / (math.pi * x)
