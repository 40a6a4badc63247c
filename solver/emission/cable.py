"""Upper bounds of the common-mode current on a cable, and of its field."""

from __future__ import annotations

import math

from geometries.operation.emission import Cable
from solver.formulas import driven_wire_admittance_bound, wire_far_field_bound


def plane_driven_current(loop_current: float, plane_inductance: float, cable: Cable, frequency: float) -> float:
    """Largest current that the voltage along a ground conductor can drive into a cable [A].

    Parameters
    ----------
    loop_current : float
        Current in the loop [A].
    plane_inductance : float
        Net partial inductance of the ground conductor along the loop, times the loop's length [H].
    cable : Cable
        Attached at one end of that conductor, against everything at its other end.
    frequency : float
        [Hz].

    Returns
    -------
    float
        In the same measure, peak or root mean square, as the loop's current.

    Notes
    -----
    The voltage is 2 pi f times inductance times current; the cable is taken as if it stood on a large ground and were
    of the worst length up to its own. A real board is a small ground and the cable's end is not free, so a measurement
    comes out lower, by 10 to 30 dB (common practice).
    """
    voltage = 2 * math.pi * frequency * abs(plane_inductance) * loop_current
    return voltage * driven_wire_admittance_bound(cable.length, cable.diameter, frequency)


def node_driven_current(node_voltage: float, stray_capacitance: float, cable: Cable, frequency: float) -> float:
    """Largest current that the switch node's stray capacitance to the surroundings can drive into a cable [A].

    Parameters
    ----------
    node_voltage : float
        Voltage of the switch node [V].
    stray_capacitance : float
        From the switch node past the ground layer to the surroundings [F]; not the one to the layer itself, whose
        current stays on the board.
    cable : Cable
        By which the current returns.
    frequency : float
        [Hz].

    Returns
    -------
    float
        In the same measure as the voltage.

    Notes
    -----
    Displacement current, and never more than the same voltage drives into the cable directly. Range: stray capacitance
    much smaller than the cable's own, some picofarads per metre.
    """
    displacement = 2 * math.pi * frequency * stray_capacitance * node_voltage
    return min(displacement, node_voltage * driven_wire_admittance_bound(cable.length, cable.diameter, frequency))


def current_for_field(field: float, cable: Cable, frequency: float, distance: float) -> float:
    """Common-mode current whose bound is a given field strength without reflection [A].

    Examples
    --------
    >>> allowed = current_for_field(100e-6 / 2, Cable(length=1.0), 50e6, 3.0)
    >>> f"{allowed * 1e6:.1f} uA"
    '4.8 uA'
    """
    return field / wire_far_field_bound(1.0, cable.length, frequency, distance)
