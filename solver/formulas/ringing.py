"""A series circuit of resistor, inductor and capacitor that rings, and what damps it."""

import math

from solver.formulas.ranges import require_above, require_positive, require_within


def series_ring_damping(resistance: float, inductance: float, capacitance: float) -> float:
    r"""Damping ratio of a series circuit.

    .. math:: \zeta = \frac{R}{2}\sqrt{\frac{C}{L}}

    Parameters
    ----------
    resistance : float
        R [ohm], >= 0.
    inductance : float
        L [H], > 0.
    capacitance : float
        C [F], > 0.

    Returns
    -------
    float
        [1]; the circuit rings below 1. Its quality factor is 1/(2 zeta).

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Exact for constant R, L and C.

    References
    ----------
    .. [1] Any text on linear circuits; derived anew.

    Examples
    --------
    >>> f"{series_ring_damping(0.4, 1e-9, 500e-12):.6f}"
    '0.141421'
    """
    require_within(resistance, 0.0, math.inf, "resistance", "ohm")
    require_positive(inductance, "inductance", "H")
    require_positive(capacitance, "capacitance", "F")
    return resistance / 2 * math.sqrt(capacitance / inductance)


def series_ring_voltage(resistance: float, inductance: float, capacitance: float, time: float) -> float:
    r"""Voltage of the capacitor of a series circuit at rest, after a step of 1 V is applied to the circuit.

    .. math::
        v = 1 - e^{-\alpha t}\left(\cos\omega_d t + \frac{\alpha}{\omega_d}\sin\omega_d t\right), \qquad
        \alpha = \frac{R}{2L}, \qquad \omega_d = \sqrt{\frac{1}{LC} - \alpha^2}

    Parameters
    ----------
    resistance : float
        R [ohm], >= 0.
    inductance : float
        L [H], > 0.
    capacitance : float
        C [F], > 0.
    time : float
        t [s], >= 0.

    Returns
    -------
    float
        [V].

    Raises
    ------
    ValueError
        If an argument is out of its range, or the circuit does not ring.

    Notes
    -----
    Exact for constant R, L and C with a damping ratio below 1.

    References
    ----------
    .. [1] Any text on linear circuits; derived anew.

    Examples
    --------
    >>> f"{series_ring_voltage(0.4, 1e-9, 500e-12, 1e-9):.9f} V"
    '0.745582959 V'
    """
    damping = series_ring_damping(resistance, inductance, capacitance)
    require_within(damping, 0.0, math.nextafter(1.0, 0.0), "damping ratio", "(ratio)")
    require_within(time, 0.0, math.inf, "time", "s")
    alpha = resistance / (2 * inductance)
    omega = math.sqrt((1 - damping**2) / (inductance * capacitance))
    return 1 - math.exp(-alpha * time) * (math.cos(omega * time) + alpha / omega * math.sin(omega * time))


def series_ring_overshoot(damping: float) -> float:
    r"""Overshoot of the capacitor's voltage over the height of the step.

    .. math:: \exp\left(-\frac{\pi\zeta}{\sqrt{1 - \zeta^2}}\right)

    Parameters
    ----------
    damping : float
        Damping ratio zeta [1], 0 to 1, 1 excluded.

    Returns
    -------
    float
        [1].

    Raises
    ------
    ValueError
        If the damping ratio is out of its range.

    Notes
    -----
    Exact for a step; a slower edge overshoots less.

    References
    ----------
    .. [1] Any text on linear circuits; derived anew.

    Examples
    --------
    >>> f"{series_ring_overshoot(0.141421356):.6f}"
    '0.638394'
    """
    require_within(damping, 0.0, math.nextafter(1.0, 0.0), "damping ratio", "(ratio)")
    return math.exp(-math.pi * damping / math.sqrt(1 - damping**2))


def ring_pair_capacitance(frequency: float, loaded_frequency: float, added: float) -> float:
    r"""Capacitance of a ring whose frequency falls when a known capacitance is added to it.

    .. math:: C_0 = \frac{C_{add}}{(f_0/f_1)^2 - 1}

    Parameters
    ----------
    frequency : float
        f_0, without the added capacitance [Hz], > 0.
    loaded_frequency : float
        f_1, with it [Hz], 0 to f_0, both excluded.
    added : float
        C_add [F], > 0.

    Returns
    -------
    float
        [F].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Exact without damping; a ring of quality factor Q lies below its undamped frequency by 1/(8 Q²) of it. The added
    capacitor must lie close to the switch: its own inductance is left out.

    References
    ----------
    .. [1] Common practice; derived from Thomson's formula f = 1/(2 pi sqrt(LC)).

    Examples
    --------
    >>> f"{ring_pair_capacitance(200e6, 150e6, 470e-12) * 1e12:.4f} pF"
    '604.2857 pF'
    """
    require_positive(loaded_frequency, "frequency with the added capacitance", "Hz")
    require_above(frequency, loaded_frequency, "frequency without the added capacitance", "Hz")
    require_positive(added, "added capacitance", "F")
    return added / ((frequency / loaded_frequency) ** 2 - 1)


def ring_inductance(frequency: float, capacitance: float) -> float:
    r"""Inductance that rings with a capacitance at a frequency.

    .. math:: L = \frac{1}{(2\pi f)^2 C}

    Parameters
    ----------
    frequency : float
        f [Hz], > 0.
    capacitance : float
        C [F], > 0.

    Returns
    -------
    float
        [H].

    Raises
    ------
    ValueError
        If an argument is not positive.

    Notes
    -----
    Exact without damping.

    References
    ----------
    .. [1] W. Thomson, "On transient electric currents", Philosophical Magazine (4) 5 (1853) 393-405 (from memory).

    Examples
    --------
    >>> f"{ring_inductance(200e6, 604.285714e-12) * 1e9:.6f} nH"
    '1.047944 nH'
    """
    require_positive(frequency, "frequency", "Hz")
    require_positive(capacitance, "capacitance", "F")
    return 1 / ((2 * math.pi * frequency) ** 2 * capacitance)


def damper_resistance(ratio: float) -> float:
    r"""Resistance of a damper (R and C in series, across the capacitor of a tank) that makes the impedance peak least.

    .. math:: \frac{R_d}{R_0} = \sqrt{\frac{(2 + n)(4 + 3n)}{2n^2(4 + n)}}, \qquad R_0 = \sqrt{L/C}

    Parameters
    ----------
    ratio : float
        n, capacitance of the damper over that of the tank [1], > 0.

    Returns
    -------
    float
        R_d/R_0 [1].

    Raises
    ------
    ValueError
        If the ratio is not positive.

    Notes
    -----
    Exact for a tank without losses. It is the least peak of |Z|, not the least overshoot of a step, whose resistance
    is larger.

    References
    ----------
    .. [1] R. D. Middlebrook, "Design techniques for preventing input-filter oscillations in switched-mode regulators",
       Proc. Powercon 5 (1978); R. W. Erickson, D. Maksimović, *Fundamentals of Power Electronics*, 2nd ed., 2001,
       ch. 10 (both from memory; confirmed numerically).

    Examples
    --------
    >>> f"{damper_resistance(3.0):.6f}"
    '0.718243'
    """
    require_positive(ratio, "capacitance ratio", "(ratio)")
    return math.sqrt((2 + ratio) * (4 + 3 * ratio) / (2 * ratio**2 * (4 + ratio)))


def damper_peak_impedance(ratio: float) -> float:
    r"""Peak of the impedance of a tank with the damper of :func:`damper_resistance`.

    .. math:: \frac{Z_{pk}}{R_0} = \frac{\sqrt{2(2 + n)}}{n}

    Parameters
    ----------
    ratio : float
        n, capacitance of the damper over that of the tank [1], > 0.

    Returns
    -------
    float
        Z_pk/R_0 [1].

    Raises
    ------
    ValueError
        If the ratio is not positive.

    Notes
    -----
    Exact for a tank without losses.

    References
    ----------
    .. [1] As for :func:`damper_resistance`.

    Examples
    --------
    >>> f"{damper_peak_impedance(4.0):.6f}"
    '0.866025'
    """
    require_positive(ratio, "capacitance ratio", "(ratio)")
    return math.sqrt(2 * (2 + ratio)) / ratio
