"""From a run to the pin: how the divider and the capacitances beside it pass on what the run picks up.

The run is a voltage source (the emf) between its ends, with half of its capacitance to quiet copper at each end, and
half of the current that the switch node injects into it. On the sense side it lies between the output, a low impedance,
and the divider; otherwise between the divider and the pin. Node voltages and branch currents x obey (G + sC) x = b,
whose finite eigenvalues are the poles. The run's own inductance, a few nanohenries against kilohms, is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg as dense
from numpy.typing import NDArray

from geometries.section.victims import Divider, Run
from solver.circuit.rl_network import BroadbandModel
from solver.pickup.waveform import Transfer

_FASTEST = 1e17
_PROBE = 1e8

Matrix = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoleSum:
    """A transfer that does not grow: H(s) = direct + sum of residues / (s - poles).

    Parameters
    ----------
    direct : float
        At infinite frequency.
    poles, residues : (m,) array
        Real poles [rad/s] and their residues.
    """

    direct: float
    poles: Matrix
    residues: Matrix

    def at(self, s: NDArray[np.complex128] | Matrix) -> NDArray[np.complex128]:
        """H at frequencies (n,) -> (n,)."""
        return np.asarray(self.direct + (self.residues / (s[:, None] - self.poles)).sum(axis=1))

    @property
    def level(self) -> float:
        """H(0)."""
        return float(self.direct - (self.residues / self.poles).sum())

    @property
    def slope(self) -> float:
        """H'(0)."""
        return float(-(self.residues / self.poles**2).sum())


OPEN_RUN = PoleSum(direct=1.0, poles=np.zeros(0), residues=np.zeros(0))
"""The emf itself, nothing connected."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PinCircuit:
    """What reaches the pin.

    Parameters
    ----------
    from_emf : PoleSum
        Pin voltage per volt of emf in the run [1].
    from_injection : PoleSum
        Pin voltage per ampere injected into the run [ohm].
    """

    from_emf: PoleSum
    from_injection: PoleSum


def pin_circuit(divider: Divider, run: Run, run_capacitance: float) -> PinCircuit:
    """What of a run's pick-up reaches the pin.

    Parameters
    ----------
    divider : Divider
        Resistors and capacitors.
    run : Run
        Where the run lies.
    run_capacitance : float
        Of the whole run to all other copper [F], > 0.

    Returns
    -------
    PinCircuit

    Raises
    ------
    ValueError
        If the capacitance is not positive.

    Examples
    --------
    At DC a run on the sense side is divided, one between divider and pin is not:

    >>> divider = Divider(upper=70e3, lower=10e3)
    >>> [float(round(pin_circuit(divider, run, 1e-12).from_emf.level, 6)) for run in Run]
    [0.125, 1.0]
    """
    if not run_capacitance > 0:
        raise ValueError(f"the run's capacitance is {run_capacitance:g} F; it must be positive")
    assemble = _sense_side if run is Run.SENSE else _divider_to_pin
    conductance, capacitance, emf, injection, pin = assemble(divider, run_capacitance / 2)
    poles, vectors = _poles(conductance, capacitance)
    norms = np.einsum("ni,nm,mi->i", vectors, capacitance, vectors)

    def transfer(source: Matrix) -> PoleSum:
        residues = (pin @ vectors) * (source @ vectors) / norms
        probed = float(pin @ np.linalg.solve(conductance + _PROBE * capacitance, source))
        return PoleSum(direct=probed - float((residues / (_PROBE - poles)).sum()), poles=poles, residues=residues)

    return PinCircuit(from_emf=transfer(emf), from_injection=transfer(injection))


def _sense_side(divider: Divider, end: float) -> tuple[Matrix, Matrix, Matrix, Matrix, Matrix]:
    """Unknowns: run's end at the output, its end at the divider, pin, current from the output, current in the run."""
    up, down = 1 / divider.upper, 1 / divider.lower
    conductance = np.array(
        [
            [0.0, 0.0, 0.0, -1.0, 1.0],
            [0.0, up, -up, 0.0, -1.0],
            [0.0, -up, up + down, 0.0, 0.0],
            [-1.0, 0.0, 0.0, -divider.source_resistance, 0.0],
            [1.0, -1.0, 0.0, 0.0, 0.0],
        ]
    )
    capacitance = np.zeros((5, 5))
    capacitance[0, 0] = capacitance[1, 1] = end
    across = divider.feed_forward
    capacitance[1:3, 1:3] += np.array([[across, -across], [-across, across + divider.pin_capacitance]])
    emf, injection = np.array([0.0, 0.0, 0.0, 0.0, -1.0]), np.array([0.5, 0.5, 0.0, 0.0, 0.0])
    return conductance, capacitance, emf, injection, np.array([0.0, 0.0, 1.0, 0.0, 0.0])


def _divider_to_pin(divider: Divider, end: float) -> tuple[Matrix, Matrix, Matrix, Matrix, Matrix]:
    """Unknowns: the divider's node, the pin, the current in the run."""
    node = 1 / divider.upper + 1 / divider.lower
    conductance = np.array([[node, 0.0, 1.0], [0.0, 0.0, -1.0], [1.0, -1.0, 0.0]])
    capacitance = np.diag([divider.feed_forward + end, divider.pin_capacitance + end, 0.0])
    emf, injection = np.array([0.0, 0.0, -1.0]), np.array([0.5, 0.5, 0.0])
    return conductance, capacitance, emf, injection, np.array([0.0, 1.0, 0.0])


def _poles(conductance: Matrix, capacitance: Matrix) -> tuple[Matrix, Matrix]:
    """Finite eigenvalues of (G + pC) v = 0 and their vectors; both matrices are symmetric."""
    values, vectors = dense.eig(-conductance, capacitance)
    finite = np.isfinite(values) & (np.abs(values) < _FASTEST)
    return np.asarray(values[finite].real), np.asarray(vectors[:, finite].real)


def magnetic_transfer(
    model: BroadbandModel, victim: int, length: float, circuit: PoleSum, *, source: int = 0
) -> Transfer:
    """From the current of a model's loop to what a circuit makes of the emf in another.

    Parameters
    ----------
    model : BroadbandModel
        Z'(s) = R + sL + sum of s w_i/(s + lambda_i) of loop and victims per length.
    victim : int
        Index of the victim's loop.
    length : float
        Along which both run side by side [m].
    circuit : PoleSum
        Output per volt of emf.
    source : int
        Index of the loop that carries the current.

    Returns
    -------
    Transfer
        Output per ampere.
    """
    resistance, inductance = model.resistance[source, victim], model.inductance[source, victim]
    weights, corners = model.weights[:, source] * model.weights[:, victim], -model.rates

    def mutual(s: Matrix) -> Matrix:
        return np.asarray(resistance + s * inductance + (s[:, None] * weights / (s[:, None] - corners)).sum(axis=1))

    total = inductance - (weights / corners).sum()
    return Transfer(
        level=length * float(resistance * circuit.level),
        slope=length * float(total * circuit.level + resistance * circuit.slope),
        poles=np.concatenate([corners, circuit.poles]),
        residues=length
        * np.concatenate([weights * corners * circuit.at(corners).real, circuit.residues * mutual(circuit.poles)]),
    )


def electric_transfer(capacitance: float, circuit: PoleSum) -> Transfer:
    """From the voltage of the switch node to what a circuit makes of the current that it injects, C dv/dt.

    Parameters
    ----------
    capacitance : float
        Between the node and the run [F].
    circuit : PoleSum
        Output per ampere injected [ohm].

    Returns
    -------
    Transfer
        Output per volt.
    """
    return Transfer(
        level=0.0,
        slope=capacitance * circuit.level,
        poles=circuit.poles,
        residues=capacitance * circuit.poles * circuit.residues,
    )
