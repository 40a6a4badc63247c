"""The estimate of a cable's common-mode current, beside the bound: what a board of its own size can drive."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Cable
from geometries.operation.product import Board
from solver.formulas import board_cable_current, disc_capacitance, wire_far_field_bound

Floats = NDArray[np.float64]

CABLE_SHARED = 8.0
"""What the estimate is uncertain by alike for all boards with the same cable, to both sides [dB]: its routing, and the
voltage between both, none of which a description holds."""

CABLE_OWN = 6.0
"""What it is uncertain by for each board [dB]: resonances of cable and board at the frequency at which its line lies.
Both together are 10 dB, the most by which the estimate differs from thin wires (validation)."""


def ground_voltage(current: Floats, ground_inductance: Floats, frequency: Floats) -> Floats:
    """Voltage along the ground conductor, between a cable and the rest of the board: current-driven, (n,) [V].

    Parameters
    ----------
    current : (n,) array
        In the loop [A].
    ground_inductance : (n,) array
        Net partial inductance of the ground conductor along the loop [H].
    frequency : (n,) array
        [Hz].
    """
    return 2 * math.pi * frequency * ground_inductance * current


def node_voltage_on_board(node_voltage: float, stray_capacitance: float, board: Board) -> float:
    """Voltage that the switch node's charge gives the board against far away: voltage-driven [V].

    Parameters
    ----------
    node_voltage : float
        Of the switch node [V].
    stray_capacitance : float
        Of the switch node past the board to far away [F].
    board : Board
        On which it stands.
    """
    return node_voltage * stray_capacitance / board_capacitance(board)


def board_capacitance(board: Board) -> float:
    """Capacitance of a board, with what is tied to it, to far away [F].

    Examples
    --------
    >>> f"{board_capacitance(Board(width=60e-3, length=80e-3)) * 1e12:.2f} pF"
    '2.77 pF'
    """
    return disc_capacitance(board.radius) + board.attached_capacitance


def estimated_current(voltage: float, board: Board, cable: Cable, frequency: float) -> float:
    """Common-mode current that a voltage between a board and its cable drives [A].

    Parameters
    ----------
    voltage : float
        Of one of the two mechanisms [V], peak or root mean square.
    board : Board
        That the cable hangs on.
    cable : Cable
        Attached to it.
    frequency : float
        [Hz].

    Returns
    -------
    float
        In the same measure as the voltage, within 10 dB.
    """
    return voltage * board_cable_current(cable.length, cable.diameter, board_capacitance(board), frequency)


def estimated_field(voltage: float, board: Board, cable: Cable, frequency: float, distance: float) -> float:
    """Field strength of that current without reflection [V/m]."""
    current = estimated_current(voltage, board, cable, frequency)
    return wire_far_field_bound(current, cable.length, frequency, distance)
