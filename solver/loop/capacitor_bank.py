r"""Capacitors in parallel: how they share a loop's current, their impedance together, and where they resonate.

Each capacitor closes a loop of its own through the same switch. With the loops' inductances and resistances from the
plan view, mutual ones included,

.. math:: Z_{ik} = R_{ik} + sL_{ik} + \delta_{ik}\,(R_i + sL_i + 1/sC_i), \qquad
          \sum_k Z_{ik} I_k = V, \qquad \sum_k I_k = I

which is solved as it stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.board.capacitors import Capacitor

_QUIET = 1e-6
"""What turns slower than this part of the fastest root is no oscillation, but charge that capacitors exchange."""

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True)
class Resonance:
    """A natural oscillation of a bank: its frequency [Hz] and its quality factor [1]."""

    frequency: float
    quality: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CapacitorBank:
    """Parallel branches with mutual inductance.

    Parameters
    ----------
    names : tuple of str
        One per branch.
    inductance : (n, n) array
        Of the loops, capacitors' own included [H]; symmetric, positive definite.
    resistance : (n, n) array
        The same for resistance [ohm].
    capacitance : (n,) array
        Of each branch [F], > 0; infinite for a branch without one.

    Raises
    ------
    ValueError
        If the sizes differ, a matrix is not symmetric, the inductance not positive definite, or a capacitance not
        above zero.
    """

    names: tuple[str, ...]
    inductance: Floats
    resistance: Floats
    capacitance: Floats

    def __post_init__(self) -> None:
        size = len(self.names)
        for name, matrix in (("inductance", self.inductance), ("resistance", self.resistance)):
            if matrix.shape != (size, size):
                raise ValueError(f"{name} has the shape {matrix.shape}; allowed: ({size}, {size})")
            if not np.allclose(matrix, matrix.T, rtol=1e-6, atol=1e-6 * np.abs(matrix).max()):
                raise ValueError(f"{name} is not symmetric; two loops act on each other alike")
        if self.capacitance.shape != (size,) or not (self.capacitance > 0).all():
            raise ValueError(f"capacitances are {self.capacitance.tolist()}; allowed: {size} values above 0 F")
        if not np.linalg.eigvalsh(self.inductance).min() > 0:
            raise ValueError("the loops' inductances store negative energy for some currents; check the mutual ones")

    def branch_impedance(self, frequency: float) -> Complexes:
        """Impedance matrix of the branches, (n, n) [ohm]."""
        s = 2j * math.pi * frequency
        return np.asarray(self.resistance + s * self.inductance + np.diag(1 / self.capacitance) / s)

    def shares(self, frequency: float) -> Complexes:
        """Current of each branch per ampere of all together at a frequency [Hz] above zero, (n,) [A/A]; sums to 1."""
        currents = np.linalg.solve(self.branch_impedance(frequency), np.ones(len(self.names)))
        return np.asarray(currents / currents.sum())

    def impedance(self, frequency: float) -> complex:
        """Impedance of all branches in parallel [ohm]."""
        return complex(1 / np.linalg.solve(self.branch_impedance(frequency), np.ones(len(self.names))).sum())

    def inductive_shares(self) -> Floats:
        """Shares far above all resonances, by inductance alone, (n,) [A/A]."""
        currents = np.linalg.solve(self.inductance, np.ones(len(self.names)))
        return np.asarray(currents / currents.sum())

    def series_resonances(self) -> tuple[Resonance, ...]:
        """Natural oscillations with the terminals shorted: dips of the impedance."""
        return _resonances(self.inductance, self.resistance, np.diag(1 / self.capacitance))

    def anti_resonances(self) -> tuple[Resonance, ...]:
        """Natural oscillations with the terminals open, current going round among the branches: peaks of the impedance.

        One fewer than branches, less what is overdamped.
        """
        differences = np.vstack([np.eye(len(self.names) - 1), -np.ones(len(self.names) - 1)])
        parts = (self.inductance, self.resistance, np.diag(1 / self.capacitance))
        return _resonances(*(differences.T @ part @ differences for part in parts))


def capacitor_bank(
    names: Iterable[str], capacitors: Iterable[Capacitor], loop_inductance: Floats, loop_resistance: Floats
) -> CapacitorBank:
    """Bank of capacitors from the matrices of the loops they close.

    Parameters
    ----------
    names : iterable of str
        One per capacitor.
    capacitors : iterable of Capacitor
        In the order of the matrices.
    loop_inductance, loop_resistance : (n, n) array
        Of the loops without what the capacitors add [H], [ohm].
    """
    listed = tuple(capacitors)
    return CapacitorBank(
        names=tuple(names),
        inductance=loop_inductance + np.diag([each.inductance for each in listed]),
        resistance=loop_resistance + np.diag([each.resistance for each in listed]),
        capacitance=np.array([each.capacitance for each in listed]),
    )


def _resonances(inductance: Floats, resistance: Floats, elastance: Floats) -> tuple[Resonance, ...]:
    """Oscillations of s²L + sR + S = 0, by the eigenvalues of the equivalent system of first order, scaled to 1."""
    size = len(inductance)
    if not size or not elastance.any():
        return ()
    pace = math.sqrt(np.abs(elastance).max() / np.abs(inductance).max())
    stiffness = np.linalg.solve(inductance, elastance) / pace**2
    damping = np.linalg.solve(inductance, resistance) / pace
    system = np.block([[np.zeros((size, size)), np.eye(size)], [-stiffness, -damping]])
    roots = np.linalg.eigvals(system)
    turning = sorted((root for root in roots if root.imag > _QUIET * np.abs(roots).max()), key=abs)
    return tuple(
        Resonance(frequency=float(abs(root)) * pace / (2 * math.pi), quality=float(abs(root) / (-2 * root.real)))
        if root.real < 0
        else Resonance(frequency=float(abs(root)) * pace / (2 * math.pi), quality=math.inf)
        for root in turning
    )
