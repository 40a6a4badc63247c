r"""Response of a series loop to a straight edge, exact: by the eigenvalues of its state equations.

States are the currents of the inductors and the voltages of the capacitors, each times the root of its inductance or
capacitance, so that their squares are twice the stored energy:

.. math:: \dot x = A x + b u, \qquad v = \sum_k c_k x_k

After a step of 1 V every state is its final value plus a sum of exponentials :math:`r_k e^{\lambda_k t}`; after a
straight edge of duration T it is that sum integrated, less itself T later, over T.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.circuit.series_loop import SeriesLoop
from solver.errors import SolutionError

_TRUSTED = 1e-6
"""Largest deviation of the state matrix from its own decomposition, relative to its largest element."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A straight rise from 0 to `height` [V] within `duration` [s]; a step if that is zero."""

    height: float
    duration: float

    def __post_init__(self) -> None:
        if not (self.height > 0 and 0 <= self.duration < math.inf):
            raise ValueError(
                f"edge of {self.height:g} V in {self.duration:g} s; the height must be above zero, the time not below"
            )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EdgeResponse:
    """Voltage of the switch and current of the loop after an edge that starts at t = 0.

    Parameters
    ----------
    edge : Edge
        What drives it.
    rates : (n,) complex array
        Eigenvalues [1/s], all with negative real part.
    voltage_parts, current_parts : (n,) complex array
        r_k of both after a step of 1 V [1], [S].
    """

    edge: Edge
    rates: NDArray[np.complex128]
    voltage_parts: NDArray[np.complex128]
    current_parts: NDArray[np.complex128]

    def voltage(self, times: NDArray[np.float64]) -> NDArray[np.float64]:
        """Voltage across the switch [V] at times [s], (t,)."""
        return self._shape(times, self.voltage_parts, 1.0)

    def current(self, times: NDArray[np.float64]) -> NDArray[np.float64]:
        """Current of the loop [A] at times [s], (t,)."""
        return self._shape(times, self.current_parts, 0.0)

    def slope(self, time: float) -> float:
        """Rate of change of the voltage [V/s] at one time."""
        if self.edge.duration == 0:
            terms = self.voltage_parts * self.rates * np.exp(self.rates * time)
            return self.edge.height * float(np.sum(terms).real)
        rising = self._step(np.array([time]), self.voltage_parts, 1.0)[0]
        risen = self._step(np.array([time - self.edge.duration]), self.voltage_parts, 1.0)[0]
        return self.edge.height / self.edge.duration * float(rising - risen)

    @property
    def deviation_parts(self) -> NDArray[np.complex128]:
        """Amplitudes of the parts of the voltage's distance from its final value, at the end of the edge, (n,) [V]."""
        if self.edge.duration == 0:
            return self.edge.height * self.voltage_parts
        turned = self.rates * self.edge.duration
        return np.asarray(self.edge.height * self.voltage_parts * np.expm1(turned) / turned)

    def _shape(self, times: NDArray[np.float64], parts: NDArray[np.complex128], final: float) -> NDArray[np.float64]:
        if self.edge.duration == 0:
            return self.edge.height * self._step(times, parts, final)
        rise = self._ramp(times, parts, final) - self._ramp(times - self.edge.duration, parts, final)
        return self.edge.height / self.edge.duration * rise

    def _step(self, times: NDArray[np.float64], parts: NDArray[np.complex128], final: float) -> NDArray[np.float64]:
        """After a step of 1 V at t = 0; zero before."""
        after = np.maximum(times, 0.0)
        values = final + (np.exp(np.outer(after, self.rates)) @ parts).real
        return np.where(times < 0, 0.0, values)

    def _ramp(self, times: NDArray[np.float64], parts: NDArray[np.complex128], final: float) -> NDArray[np.float64]:
        """The step's response, integrated."""
        after = np.maximum(times, 0.0)
        return np.asarray(final * after + (np.expm1(np.outer(after, self.rates)) @ (parts / self.rates)).real)


def edge_response(loop: SeriesLoop, edge: Edge) -> EdgeResponse:
    """Decompose a loop's state equations for an edge.

    Parameters
    ----------
    loop : SeriesLoop
        At rest before the edge.
    edge : Edge
        In series with it.

    Returns
    -------
    EdgeResponse

    Raises
    ------
    SolutionError
        If the eigenvectors do not give the state equations back (two eigenvalues fall together), or a part grows.

    Notes
    -----
    Exact for the linear circuit. A switch's capacitance falls with its voltage: an effective value stands for it.

    Examples
    --------
    >>> loop = SeriesLoop(resistance=0.4, inductance=1e-9, capacitance=500e-12)
    >>> response = edge_response(loop, Edge(height=1.0, duration=0.0))
    >>> f"{response.voltage(np.array([1e-9]))[0]:.9f} V"
    '0.745582959 V'
    """
    matrix, drive = _state_equations(loop)
    unit = loop.natural_frequency
    scaled = matrix / unit
    rates, vectors = np.linalg.eig(scaled)
    try:
        back = np.linalg.inv(vectors)
    except np.linalg.LinAlgError as failure:
        raise SolutionError(_FALLEN_TOGETHER) from failure
    deviation = np.abs(vectors * rates @ back - scaled).max() / np.abs(scaled).max()
    if not deviation <= _TRUSTED:
        raise SolutionError(_FALLEN_TOGETHER)
    if not rates.real.max() <= _TRUSTED:
        raise SolutionError("a part of the loop's response grows; its elements do not make a passive circuit")
    rest = np.linalg.solve(scaled, drive / unit)
    parts = vectors * (back @ rest)
    return EdgeResponse(
        edge=edge,
        rates=rates.astype(np.complex128) * unit,
        voltage_parts=parts[1].astype(np.complex128) / math.sqrt(loop.capacitance),
        current_parts=parts[0].astype(np.complex128) / math.sqrt(loop.inductance),
    )


_FALLEN_TOGETHER = (
    "two natural frequencies of the loop fall together, so that its waveform is not a sum of exponentials; change a "
    "resistance by a thousandth"
)


def _state_equations(loop: SeriesLoop) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Matrix and drive for the states: loop current, switch voltage, cell currents, snubber voltage."""
    size = 2 + len(loop.cells) + (loop.snubber is not None)
    root_l, root_c = math.sqrt(loop.inductance), math.sqrt(loop.capacitance)
    matrix = np.zeros((size, size))
    matrix[0, 0] = -loop.resistance / loop.inductance
    matrix[0, 1] = -1 / (root_l * root_c)
    matrix[1, 0] = 1 / (root_l * root_c)
    for index, (resistor, inductor) in enumerate(loop.cells, start=2):
        matrix[0, 0] -= resistor / loop.inductance
        matrix[0, index] = matrix[index, 0] = resistor / (root_l * math.sqrt(inductor))
        matrix[index, index] = -resistor / inductor
    if loop.snubber is not None:
        conductance, root_s = 1 / loop.snubber.resistance, math.sqrt(loop.snubber.capacitance)
        matrix[1, 1] -= conductance / loop.capacitance
        matrix[1, -1] = matrix[-1, 1] = conductance / (root_c * root_s)
        matrix[-1, -1] = -conductance / loop.snubber.capacitance
    drive = np.zeros(size)
    drive[0] = 1 / root_l
    return matrix, drive
