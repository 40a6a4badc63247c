"""Upper bounds of the common-mode current on a cable, and of its field."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Cable
from solver.formulas import driven_wire_admittance_bound, wire_far_field_bound
from solver.variant.skin_curves import SkinCurve


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrivingGround:
    """The ground conductor whose voltage drives cables.

    Parameters
    ----------
    copper : str
        Its name.
    reported : float
        Its net partial inductance along the loop at the report frequency [H].
    curve : SkinCurve, optional
        The same over the frequencies of an emission; without it it is that at the report frequency throughout.
    """

    copper: str
    reported: float
    curve: SkinCurve | None = None

    def inductances(self, frequencies: NDArray[np.float64]) -> NDArray[np.float64]:
        """At many frequencies [Hz], (n,) [H]."""
        return np.full(len(frequencies), self.reported) if self.curve is None else self.curve.at(frequencies)[:, 0]

    @property
    def band(self) -> float:
        """What lines between the frequencies at which it was solved may miss, to both sides [dB]."""
        return 0.0 if self.curve is None else self.curve.missed


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
