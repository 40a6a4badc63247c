"""The estimate of a cable's common-mode current, beside the bound: what a board of its own size can drive."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.operation.emission import Cable
from geometries.operation.product import Board
from solver.formulas import board_cable_current, disc_capacitance, wire_far_field_bound

CABLE_BAND = 10.0
"""What the estimate is uncertain by, to both sides [dB]: resonances of the cable with the board (10 dB at most, checked
against thin wires), its routing, and the voltage between both, none of which a description holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CableDrive:
    """What drives a cable at one frequency.

    Parameters
    ----------
    current : float
        In the loop [A].
    ground_inductance : float
        Net partial inductance of the ground conductor along the loop [H].
    node_voltage : float
        Of the switch node [V].
    stray_capacitance : float
        Of the switch node past the board to far away [F].
    """

    current: float
    ground_inductance: float
    node_voltage: float
    stray_capacitance: float

    def current_driven(self, frequency: float) -> float:
        """Voltage along the ground conductor, between the cable and the rest of the board [V]."""
        return 2 * math.pi * frequency * abs(self.ground_inductance) * self.current

    def voltage_driven(self, board: Board) -> float:
        """Voltage that the switch node's charge gives the board against far away [V]."""
        return self.node_voltage * self.stray_capacitance / board_capacitance(board)


def board_capacitance(board: Board) -> float:
    """Capacitance of a board, with what is tied to it, to far away [F].

    Examples
    --------
    >>> f"{board_capacitance(Board(width=60e-3, length=80e-3)) * 1e12:.2f} pF"
    '2.77 pF'
    """
    return disc_capacitance(board.radius) + board.attached_capacitance


def estimated_current(drive: CableDrive, board: Board, cable: Cable, frequency: float) -> float:
    """Common-mode current on a cable, both mechanisms by power [A].

    Parameters
    ----------
    drive : CableDrive
        Peak or root mean square.
    board : Board
        That the cable hangs on.
    cable : Cable
        Attached to it.
    frequency : float
        [Hz].

    Returns
    -------
    float
        In the same measure as the drive, within ``CABLE_BAND``.
    """
    voltage = math.hypot(drive.current_driven(frequency), drive.voltage_driven(board))
    return voltage * board_cable_current(cable.length, cable.diameter, board_capacitance(board), frequency)


def estimated_field(drive: CableDrive, board: Board, cable: Cable, frequency: float, distance: float) -> float:
    """Field strength of that current without reflection [V/m]."""
    current = estimated_current(drive, board, cable, frequency)
    return wire_far_field_bound(current, cable.length, frequency, distance)
