"""A ring whose node carries two capacitors, each behind an inductance of its own."""

import math

from solver.formulas.ranges import require_above, require_positive, require_within


def branch_capacitance(frequency: float, capacitance: float, inductance: float) -> float:
    r"""Capacitance that acts like a capacitor behind an inductance, at one frequency below their resonance.

    .. math:: C_{eff} = \frac{C}{1 - \omega^2 l\,C}

    Parameters
    ----------
    frequency : float
        omega / 2 pi [Hz], > 0 and below the branch's own resonance.
    capacitance : float
        C [F], > 0.
    inductance : float
        l [H], >= 0.

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
    Exact without losses.

    References
    ----------
    .. [1] Any text on linear circuits; derived.

    Examples
    --------
    >>> f"{branch_capacitance(100e6, 470e-12, 0.5e-9) * 1e12:.2f} pF"
    '518.06 pF'
    """
    require_positive(frequency, "frequency", "Hz")
    require_positive(capacitance, "capacitance", "F")
    require_within(inductance, 0.0, math.inf, "inductance", "H")
    part = (2 * math.pi * frequency) ** 2 * inductance * capacitance
    require_within(
        part, 0.0, math.nextafter(1.0, 0.0), "square of the frequency over the branch's resonance", "(ratio)"
    )
    return capacitance / (1 - part)


def two_branch_capacitance(
    frequency: float,
    loaded_frequency: float,
    added: float,
    die_inductance: float,
    added_inductance: float,
    probe: float,
) -> float:
    r"""Capacitance of a switch behind an inductance, from the ring's fall when a capacitor behind another is added.

    .. math::
        \frac{1}{L_a} = \frac{x_0\,C}{1 - x_0 l\,C} + x_0 C_p =
        \frac{x_1\,C}{1 - x_1 l\,C} + x_1 C_p + \frac{x_1 C_a}{1 - x_1 l_a C_a}, \qquad x_k = (2\pi f_k)^2

    so that, with K = x_1 C_a/(1 - x_1 l_a C_a) - (x_0 - x_1) C_p, the smaller root of

    .. math:: K x_0 x_1 l^2\,C^2 - [K l (x_0 + x_1) + x_0 - x_1]\,C + K = 0.

    Parameters
    ----------
    frequency : float
        f_0, without the added capacitor [Hz], above f_1.
    loaded_frequency : float
        f_1, with it [Hz], > 0 and below the added capacitor's own resonance.
    added : float
        C_a [F], > 0.
    die_inductance : float
        l, between the tap where capacitor and probe sit and the switch's own capacitance [H], >= 0.
    added_inductance : float
        l_a, of the added capacitor with its leads [H], >= 0.
    probe : float
        C_p [F], >= 0.

    Returns
    -------
    float
        C [F].

    Raises
    ------
    ValueError
        If an argument is out of its range, or no capacitance fits.

    Notes
    -----
    Exact without damping.

    References
    ----------
    .. [1] Kirchhoff's laws at the tap; derived.

    Examples
    --------
    Without inductances and probe it is the simple pair's:

    >>> f"{two_branch_capacitance(200e6, 150e6, 470e-12, 0.0, 0.0, 0.0) * 1e12:.4f} pF"
    '604.2857 pF'
    """
    require_above(frequency, loaded_frequency, "frequency without the added capacitance", "Hz")
    require_within(die_inductance, 0.0, math.inf, "inductance on the switch's side of the tap", "H")
    require_within(probe, 0.0, math.inf, "probe's capacitance", "F")
    x0, x1 = (2 * math.pi * frequency) ** 2, (2 * math.pi * loaded_frequency) ** 2
    gained = x1 * branch_capacitance(loaded_frequency, added, added_inductance) - (x0 - x1) * probe
    require_positive(gained, "what the added capacitor adds beyond the probe", "F/s²")
    linear = gained * die_inductance * (x0 + x1) + x0 - x1
    square = linear**2 - 4 * gained**2 * x0 * x1 * die_inductance**2
    return 2 * gained / (linear + math.sqrt(square))


def two_branch_inductance(frequency: float, capacitance: float, die_inductance: float, probe: float) -> float:
    r"""Inductance of the whole loop that rings with a switch behind an inductance and a probe at the tap.

    .. math:: L = l + \frac{1}{x_0\left(\frac{C}{1 - x_0 l\,C} + C_p\right)}, \qquad x_0 = (2\pi f_0)^2

    Parameters
    ----------
    frequency : float
        f_0 [Hz], > 0.
    capacitance : float
        C [F], > 0.
    die_inductance : float
        l, between tap and switch [H], >= 0.
    probe : float
        C_p [F], >= 0.

    Returns
    -------
    float
        L [H].

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Exact without damping.

    References
    ----------
    .. [1] Kirchhoff's laws at the tap; derived.

    Examples
    --------
    >>> f"{two_branch_inductance(200e6, 604.285714e-12, 0.0, 0.0) * 1e9:.6f} nH"
    '1.047944 nH'
    """
    require_within(probe, 0.0, math.inf, "probe's capacitance", "F")
    total = branch_capacitance(frequency, capacitance, die_inductance) + probe
    return die_inductance + 1 / ((2 * math.pi * frequency) ** 2 * total)
