r"""Response of a series loop to a straight edge where the switch's capacitance depends on its voltage, in time.

The states are the loop's current, the switch's voltage, the currents of the cells and the snubber's voltage:

.. math::
    L\,\dot i = u - R\,i - \sum_k R_k (i - i_k) - v, \qquad C(v)\,\dot v = i - \frac{v - v_s}{R_s}, \qquad
    L_k\,\dot i_k = R_k (i - i_k), \qquad C_s\,\dot v_s = \frac{v - v_s}{R_s}

Charge is kept: the integrated current is the integral of C(v). Below zero volts the switch's diode would conduct;
there the capacitance stays as at zero.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import OdeSolution, solve_ivp

from geometries.operation.capacitance import OutputCapacitance
from solver.circuit.edge_response import Edge
from solver.circuit.series_loop import SeriesLoop
from solver.errors import SolutionError

_RELATIVE, _ABSOLUTE = 1e-9, 1e-11
"""Tolerances of the solver; the absolute one relative to the edge's height and the current that it can drive."""

_PERIODS_AFTER = 1.5
"""Slow periods after the edge within which the highest peak lies."""

_EVERY = 10**9

State = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class NonlinearLoop:
    """A loop whose switch has a capacitance that depends on its voltage.

    Parameters
    ----------
    loop : SeriesLoop
        All else; its own capacitance does not count.
    capacitance : OutputCapacitance
        Of the switch.
    initial_current : float
        Current of the loop when the edge starts, towards the switch that is off: what its diode has just ceased to
        recover [A].
    """

    loop: SeriesLoop
    capacitance: OutputCapacitance
    initial_current: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.initial_current) and self.initial_current >= 0):
            raise ValueError(f"initial current is {self.initial_current:g} A; it must not be below zero")

    def linear_at(self, voltage: float) -> SeriesLoop:
        """The loop for small changes about a voltage: what rings once the peak is over."""
        return replace(self.loop, capacitance=self.capacitance.at(voltage))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NonlinearEdge:
    """Waveforms of a loop after an edge that starts at t = 0.

    Parameters
    ----------
    edge : Edge
        What drove it.
    pieces : tuple of (float, OdeSolution)
        When a piece ends [s] and its states: during the edge, and after it.
    maxima : (m, 2) array
        Times [s] and heights [V] of the voltage's maxima, in order.
    """

    edge: Edge
    pieces: tuple[tuple[float, OdeSolution], ...]
    maxima: NDArray[np.float64]

    @property
    def end(self) -> float:
        """Up to when the waveforms are known [s]."""
        return self.pieces[-1][0]

    def voltage(self, times: State) -> State:
        """Voltage across the switch [V] at times [s] from 0 to the end, (t,)."""
        return self._state(times, 1)

    def current(self, times: State) -> State:
        """Current of the loop [A], likewise."""
        return self._state(times, 0)

    def _state(self, times: State, row: int) -> State:
        if times.min() < 0 or times.max() > self.end * (1 + 1e-12):
            raise ValueError(f"the waveform is known from 0 to {self.end:g} s")
        values = np.empty(len(times))
        start = -math.inf
        for end, states in self.pieces:
            inside = (times > start) & (times <= end * (1 + 1e-12))
            if inside.any():
                values[inside] = states(times[inside])[row]
            start = end * (1 + 1e-12)
        return values


def nonlinear_edge(circuit: NonlinearLoop, edge: Edge, *, until: float | None = None) -> NonlinearEdge:
    """Integrate a loop's equations through an edge and beyond it.

    Parameters
    ----------
    circuit : NonlinearLoop
        At rest before the edge, but for its initial current.
    edge : Edge
        In series with it.
    until : float, optional
        End of the waveform [s]; by default so late that the highest peak is in it.

    Returns
    -------
    NonlinearEdge

    Raises
    ------
    SolutionError
        If the integration fails.

    Notes
    -----
    Adams and backward-differentiation formulas of variable order and step; maxima are events, found to rounding on the
    solver's own interpolation. Once the edge is over nothing feeds the loop, so that without a snubber the first
    maximum after it is the highest of those that follow; the default end is there.

    References
    ----------
    .. [1] L. Petzold, "Automatic selection of methods for solving stiff and nonstiff systems of ordinary differential
       equations", SIAM J. Sci. Stat. Comput. 4 (1983) 136-148 (from memory), as scipy carries it.

    Examples
    --------
    >>> from geometries.operation.capacitance import JunctionCapacitance
    >>> junction = JunctionCapacitance(zero_bias=1670.3e-12, junction_voltage=0.8, exponent=0.5)
    >>> loop = SeriesLoop(resistance=0.305, inductance=1.16e-9, capacitance=300e-12)
    >>> solved = nonlinear_edge(NonlinearLoop(loop=loop, capacitance=junction), Edge(height=24.0, duration=2e-9))
    >>> f"{solved.maxima[:, 1].max():.1f} V"
    '47.3 V'
    """
    end = edge.duration + _PERIODS_AFTER * slow_period(circuit, edge.height) if until is None else until
    most = 1 if until is None and circuit.loop.snubber is None else _EVERY
    corners = sorted({0.0, min(edge.duration, end), end})
    state = _initial_state(circuit)
    pieces, maxima = [], []
    for start, stop in pairwise(corners):
        states, found, state = _integrate(circuit, edge, (start, stop), state, most if stop == end else _EVERY)
        pieces.append((float(states.t_max), states))
        maxima.append(found)
    return NonlinearEdge(edge=edge, pieces=tuple(pieces), maxima=np.concatenate(maxima))


def slow_period(circuit: NonlinearLoop, height: float) -> float:
    """Longest period of the ring [s]: with all inductance, the capacitance by its charge, and the snubber's."""
    loop = circuit.loop
    inductance = loop.inductance + sum(inductor for _, inductor in loop.cells)
    beside = 0.0 if loop.snubber is None else loop.snubber.capacitance
    return 2 * math.pi * math.sqrt(inductance * (circuit.capacitance.charge(height) / height + beside))


def _initial_state(circuit: NonlinearLoop) -> State:
    """The recovered current has flowed long enough to fill the cells' inductors."""
    state = np.zeros(2 + len(circuit.loop.cells) + (circuit.loop.snubber is not None))
    state[0] = circuit.initial_current
    state[2 : 2 + len(circuit.loop.cells)] = circuit.initial_current
    return state


def _integrate(
    circuit: NonlinearLoop, edge: Edge, span: tuple[float, float], state: State, most: int
) -> tuple[OdeSolution, State, State]:
    """States over a span or until so many maxima of the voltage, these maxima, and the last state."""
    scales = np.full(len(state), edge.height / circuit.linear_at(edge.height).characteristic_impedance)
    scales[1] = edge.height
    if circuit.loop.snubber is not None:
        scales[-1] = edge.height
    slope = _derivatives(circuit, edge)

    def rising(time: float, values: State) -> float:
        return float(slope(time, values)[1])

    rising.direction, rising.terminal = -1.0, most  # type: ignore[attr-defined]  # how the solver is told of maxima
    solved = solve_ivp(
        slope, span, state, method="LSODA", rtol=_RELATIVE, atol=_ABSOLUTE * scales, events=rising, dense_output=True
    )
    if not solved.success or solved.sol is None or solved.t_events is None or solved.y_events is None:
        raise SolutionError(f"the edge's waveform could not be integrated: {solved.message}")
    times, heights = solved.t_events[0], solved.y_events[0].reshape(-1, len(state))[:, 1]
    return solved.sol, np.column_stack([times, heights]), solved.y[:, -1]


def _derivatives(circuit: NonlinearLoop, edge: Edge) -> Callable[[float, State], State]:
    matrix, drive = _matrices(circuit.loop)
    capacitance, rate = circuit.capacitance.at, math.inf if edge.duration == 0 else edge.height / edge.duration

    def derivatives(time: float, state: State) -> State:
        source = edge.height if time >= edge.duration else rate * time
        slopes = matrix @ state
        slopes[0] += drive * source
        slopes[1] /= capacitance(max(float(state[1]), 0.0))
        return slopes

    return derivatives


def _matrices(loop: SeriesLoop) -> tuple[State, float]:
    """Of the states, the second row being the current into the switch; and what a volt of drive adds to the first."""
    size = 2 + len(loop.cells) + (loop.snubber is not None)
    matrix = np.zeros((size, size))
    matrix[0, 0], matrix[0, 1] = -loop.resistance / loop.inductance, -1 / loop.inductance
    matrix[1, 0] = 1.0
    for index, (resistor, inductor) in enumerate(loop.cells, start=2):
        matrix[0, 0] -= resistor / loop.inductance
        matrix[0, index] = resistor / loop.inductance
        matrix[index, 0], matrix[index, index] = resistor / inductor, -resistor / inductor
    if loop.snubber is not None:
        conductance = 1 / loop.snubber.resistance
        matrix[1, 1], matrix[1, -1] = -conductance, conductance
        matrix[-1, 1] = conductance / loop.snubber.capacitance
        matrix[-1, -1] = -matrix[-1, 1]
    return matrix, 1 / loop.inductance
