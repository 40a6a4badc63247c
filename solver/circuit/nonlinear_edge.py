r"""Response of a series loop to a straight edge where the switch's capacitance depends on its voltage, in time.

The states are the loop's current, the switch's voltage, the currents of the cells and the snubber's voltage:

.. math::
    L\,\dot i = u - R\,i - \sum_k R_k (i - i_k) - v, \qquad C(v)\,\dot v = i - \frac{v - v_s}{R_s}, \qquad
    L_k\,\dot i_k = R_k (i - i_k), \qquad C_s\,\dot v_s = \frac{v - v_s}{R_s}

Charge is kept: the integrated current is the integral of C(v). Below zero volts the switch's diode would conduct;
there the capacitance stays as at zero.

A diode that recovers holds v at zero from the start of the edge, where its current crosses zero, until its charge has
flowed or its peak current is reached. The loop then has that current already, and what is left of the edge drives it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import LSODA, DenseOutput, OdeSolution
from scipy.optimize import brentq

from geometries.operation.capacitance import OutputCapacitance
from geometries.operation.recovery import NO_RECOVERY, NoRecovery, RecoveredCharge, Recovery, RecoveryCurrent
from solver.circuit.edge_response import Edge
from solver.circuit.series_loop import SeriesLoop
from solver.errors import SolutionError

_RELATIVE, _ABSOLUTE = 1e-8, 1e-10
"""Tolerances of the solver; the absolute one relative to the edge's height and the current that it can drive."""

_FOLLOWING, _UNSEEN = 10.0, 5e-5
"""Rates of cells, over the ring's angular frequency at the edge's height, from which on they follow it at once; and the
part of the loop's impedance up to which what they do otherwise is left out. Peaks of the built-in study are 3e-5 off by
it, and found in half the time."""

_PERIODS_AFTER = 1.5
"""Slow periods after the edge within which the highest peak lies."""

_LATEST_RELEASE = 100.0
"""Slow periods after the edge by which a diode has to have recovered."""

_EVERY = 10**9
_ROUNDING = 4 * np.finfo(float).eps

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
    recovery : Recovery
        Of the diode of the switch that turns off.
    """

    loop: SeriesLoop
    capacitance: OutputCapacitance
    recovery: Recovery = NO_RECOVERY

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
    released : float
        When the diode has recovered [s]; the voltage is zero up to then.
    pieces : tuple of (float, OdeSolution)
        When a piece ends [s] and its states: while the diode recovers, during the edge, and after it.
    maxima : (m, 2) array
        Times [s] and heights [V] of the voltage's maxima, in order.
    """

    edge: Edge
    released: float
    pieces: tuple[tuple[float, OdeSolution], ...]
    maxima: NDArray[np.float64]

    @property
    def end(self) -> float:
        """Up to when the waveforms are known [s]."""
        return self.pieces[-1][0]

    def voltage(self, times: State) -> State:
        """Voltage across the switch [V] at times [s] from 0 to the end, (t,)."""
        return np.where(times <= self.released, 0.0, self._state(times, 1))

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
        At rest before the edge.
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
    Adams and backward-differentiation formulas of variable order and step; maxima are found to rounding on the
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
    recovered, spans = _integrated(circuit, edge, until, kept=True)
    released = recovered[-1].end if recovered else 0.0
    pieces = tuple((each.end, each.states) for each in (*recovered, *spans) if each.states is not None)
    return NonlinearEdge(edge=edge, released=released, pieces=pieces, maxima=_maxima(spans))


def edge_maxima(circuit: NonlinearLoop, edge: Edge) -> State:
    """Maxima of the voltage up to the highest, (m, 2): as :func:`nonlinear_edge` has them, without the waveform."""
    return _maxima(_integrated(circuit, edge, None, kept=False)[1])


def _maxima(spans: Sequence[_Solved]) -> State:
    return np.concatenate([np.zeros((0, 2)), *(each.zeros[:, [0, 2]] for each in spans)])


def _integrated(
    circuit: NonlinearLoop, edge: Edge, until: float | None, *, kept: bool
) -> tuple[list[_Solved], list[_Solved]]:
    """While the diode recovers, if it has to, and from then to the end; the waveform may be kept or not."""
    circuit = replace(circuit, loop=_slower(circuit.loop, circuit.linear_at(edge.height).natural_frequency))
    recovered, state = _recover(circuit, edge, kept=kept)
    released = recovered[-1].end if recovered else 0.0
    late = max(released, edge.duration) + _PERIODS_AFTER * slow_period(circuit, edge.height)
    end = late if until is None else max(until, released * (1 + _RELATIVE))
    most = 1 if until is None and circuit.loop.snubber is None else _EVERY
    spans: list[_Solved] = []
    for start, stop in pairwise(sorted({released, min(max(edge.duration, released), end), end})):
        spans.append(_integrate(circuit, edge, (start, stop), state, most if stop == end else _EVERY, kept=kept))
        state = spans[-1].last
    return recovered, spans


def _slower(loop: SeriesLoop, ring: float) -> SeriesLoop:
    """The loop with its fastest cells as what they are to a ring of an angular frequency: inductance and some loss.

    A cell of rate r = R/L has the impedance jωL + ω²L/r and terms smaller by ω/r; its rate would set the time step.
    """
    fast = [
        (resistor, inductor)
        for resistor, inductor in loop.cells
        if resistor > _FOLLOWING * ring * inductor and ring * inductor**2 < _UNSEEN * resistor * loop.inductance
    ]
    return replace(
        loop,
        inductance=loop.inductance + sum(inductor for _, inductor in fast),
        resistance=loop.resistance + sum((ring * inductor) ** 2 / resistor for resistor, inductor in fast),
        cells=tuple(cell for cell in loop.cells if cell not in fast),
    )


def slow_period(circuit: NonlinearLoop, height: float) -> float:
    """Longest period of the ring [s]: with all inductance, the capacitance by its charge, and the snubber's."""
    loop = circuit.loop
    inductance = loop.inductance + sum(inductor for _, inductor in loop.cells)
    beside = 0.0 if loop.snubber is None else loop.snubber.capacitance
    return 2 * math.pi * math.sqrt(inductance * (circuit.capacitance.charge(height) / height + beside))


def _recover(circuit: NonlinearLoop, edge: Edge, *, kept: bool) -> tuple[list[_Solved], State]:
    """While the diode holds the voltage at zero, charge stands in the voltage's place; then the voltage is zero."""
    loop = circuit.loop
    state = np.zeros(2 + len(loop.cells) + (loop.snubber is not None))
    if isinstance(circuit.recovery, NoRecovery):
        return [], state
    row, goal = _released_at(circuit.recovery)
    matrix, drive = _matrices(loop)
    matrix[0, 1], matrix[1, 1:], matrix[len(state) - (loop.snubber is not None) :] = 0.0, 0.0, 0.0

    def derivatives(time: float, values: State) -> State:
        slopes: State = matrix.dot(values)  # a quarter of the time that @ takes for so few states
        slopes[0] += drive * _source(edge, time)
        return slopes

    def held(values: State) -> float:
        return goal - float(values[row])

    latest = edge.duration + _LATEST_RELEASE * slow_period(circuit, edge.height)
    scales = np.maximum(_scales(circuit, edge), goal)
    scales[1] = goal if row == 1 else circuit.capacitance.charge(edge.height)
    solved = _solved(derivatives, (0.0, latest), state, scales, held, 1, kept=kept)
    if not len(solved.zeros):
        raise SolutionError(
            f"the diode has not recovered after {latest:g} s: the loop cannot bring its charge or current; check both"
        )
    after = solved.last.copy()
    after[1] = 0.0
    return [solved], after


def _released_at(recovery: RecoveryCurrent | RecoveredCharge) -> tuple[int, float]:
    """Row of the states that says when a diode blocks, and its value then."""
    return (0, recovery.current) if isinstance(recovery, RecoveryCurrent) else (1, recovery.charge)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """When a span ended and the state then, the rows (time, states) at which what was watched for fell through zero.

    `states` are those over the span, if they were kept.
    """

    end: float
    last: State
    zeros: State
    states: OdeSolution | None


def _integrate(
    circuit: NonlinearLoop, edge: Edge, span: tuple[float, float], state: State, most: int, *, kept: bool
) -> _Solved:
    """States over a span, or until so many maxima of the voltage."""
    matrix, drive = _matrices(circuit.loop)
    capacitance = circuit.capacitance.at

    def derivatives(time: float, values: State) -> State:
        slopes: State = matrix.dot(values)  # a quarter of the time that @ takes for so few states
        slopes[0] += drive * _source(edge, time)
        slopes[1] /= capacitance(max(float(values[1]), 0.0))
        return slopes

    def rising(values: State) -> float:
        return float(matrix[1].dot(values))

    return _solved(derivatives, span, state, _scales(circuit, edge), rising, most, kept=kept)


def _solved(
    derivatives: Callable[[float, State], State],
    span: tuple[float, float],
    state: State,
    scales: State,
    watched: Callable[[State], float],
    most: int,
    *,
    kept: bool,
) -> _Solved:
    """Up to the end of a span, or until what is watched has fallen through zero so many times."""
    solver = LSODA(derivatives, span[0], state, span[1], rtol=_RELATIVE, atol=_ABSOLUTE * scales)
    times, pieces = [span[0]], []
    zeros: list[State] = []
    before = watched(state)
    while solver.status != "finished" and len(zeros) < most:
        message = solver.step()
        if solver.status == "failed":
            raise SolutionError(f"the edge's waveform could not be integrated: {message}")
        after = watched(solver.y)
        fallen = before > 0 >= after
        if kept or fallen:
            pieces.append(solver.dense_output())
            times.append(solver.t)
        if fallen:
            zero = _fallen(watched, pieces[-1])
            zeros.append(np.append(zero, pieces[-1](zero)))
        before = after
    end, last = solver.t, solver.y
    if len(zeros) == most:
        times[-1] = end = zeros[-1][0]
        last = zeros[-1][1:]
    # of two steps the earlier one's, at the time between them
    states = OdeSolution(times, pieces, alt_segment=True) if kept else None
    return _Solved(end=float(end), last=last, zeros=np.reshape(zeros, (-1, 1 + len(state))), states=states)


def _fallen(watched: Callable[[State], float], piece: DenseOutput) -> float:
    """When what is watched falls through zero within a step, after which it is not above zero [s]."""
    first = math.nextafter(piece.t_old, math.inf)
    if watched(piece(first)) <= 0:
        return first
    return float(brentq(lambda time: watched(piece(time)), first, piece.t, xtol=_ROUNDING * piece.t, rtol=_ROUNDING))


def _scales(circuit: NonlinearLoop, edge: Edge) -> State:
    """Sizes of the states: the edge's height, and the current that it drives into the ring's impedance."""
    loop = circuit.linear_at(edge.height)
    scales = np.full(2 + len(loop.cells), edge.height / loop.characteristic_impedance)
    scales[1] = edge.height
    return scales if loop.snubber is None else np.append(scales, edge.height)


def _source(edge: Edge, time: float) -> float:
    return edge.height if time >= edge.duration else edge.height * time / edge.duration


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
