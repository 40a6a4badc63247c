"""The switching edge in a SPICE deck: the switch with its capacitance, its recovery and its snubber, as it is solved.

A junction is the simulator's own, of a diode that blocks. Points of a data sheet, and exponents that a diode does not
take, are the charge as a function of the voltage: a source puts one volt per nanocoulomb across a capacitor of 1 nF,
whose current is then that of the switch, so that charge is kept.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from geometries.operation.capacitance import CapacitanceCurve, ConstantCapacitance, CurvePiece, JunctionCapacitance
from geometries.operation.recovery import NoRecovery, RecoveredCharge, Recovery
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.rl_network import RLNetwork
from solver.report.remarks import commented

SWITCH = "switch"
"""Node of the switch."""

_LARGEST_EXPONENT = 0.9
"""Of a diode's junction in the simulators."""

_STEPS_PER_PERIOD, _PERIODS = 400, 15
_NANO = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenLoop:
    """A loop with all that is in it, and the edge that drives it."""

    circuit: NonlinearLoop
    edge: Edge


def edge_run(driven: DrivenLoop, copper: RLNetwork, ports: str, source: str) -> list[str]:
    """Cards of the edge.

    Parameters
    ----------
    driven : DrivenLoop
        What is solved.
    copper : RLNetwork
        The part of it that the subcircuit holds.
    ports : str
        Nodes of the subcircuit after the first, the switch's side first, and its name.
    source : str
        Its first node.
    """
    circuit, edge = driven.circuit, driven.edge
    remark = (
        f"Edge: {edge.height:.6g} V within {edge.duration:.6g} s through the loop into the switch that is off, with "
        "what damps the ring and the package beside the copper; the switch's capacitance is that of the report at "
        "every voltage."
    )
    period = 2 * math.pi / circuit.linear_at(edge.height).natural_frequency
    step, stop = period / _STEPS_PER_PERIOD, edge.duration + _PERIODS * period
    return [
        *commented([remark], "*"),
        f"V1 {source} 0 PWL(0 0 {written(edge.duration)} {written(edge.height)})",
        f"X2 {source} {ports}",
        *_beside(circuit, copper, ports.split()[0]),
        *_capacitance(circuit),
        *_recovery(circuit.recovery),
        *_snubber(circuit),
        f".tran {written(step)} {written(stop)} 0 {written(step)} uic",
        f".print tran v({SWITCH})",
    ]


def _beside(circuit: NonlinearLoop, copper: RLNetwork, node: str) -> Iterator[str]:
    """Resistance and inductance that are not the copper's, from a node to the switch."""
    resistance = circuit.loop.resistance - sum(each.resistance * each.turns[0] ** 2 for each in copper.resistors)
    inductance = circuit.loop.inductance - sum(each.inductance * each.turns[0] ** 2 for each in copper.inductors)
    yield f"RB {node} damped {written(max(resistance, 1e-9))}"
    yield f"LB damped {SWITCH} {written(max(inductance, 1e-15))} IC=0"


def _capacitance(circuit: NonlinearLoop) -> Iterator[str]:
    """Of the switch."""
    curve = circuit.capacitance
    if isinstance(curve, ConstantCapacitance):
        yield f"CS {SWITCH} 0 {written(curve.value)} IC=0"
    elif isinstance(curve, CapacitanceCurve):
        yield from _charge(curve.pieces)
    elif isinstance(curve, JunctionCapacitance):
        if curve.fixed > 0:
            yield f"CF {SWITCH} 0 {written(curve.fixed)} IC=0"
        if curve.exponent <= _LARGEST_EXPONENT:
            shape = f"CJO={written(curve.zero_bias)} VJ={written(curve.junction_voltage)} M={written(curve.exponent)}"
            yield f"D1 0 {SWITCH} junction"
            yield f".model junction D(IS=1e-30 {shape} TT=0 RS=0)"
        else:
            yield from _charge((curve.piece,))
    else:
        raise TypeError(f"{type(curve).__name__} has no cards; give a constant, a junction or points")


def _charge(pieces: tuple[CurvePiece, ...]) -> Iterator[str]:
    """A charge that follows from the voltage; below zero volts the capacitance stays as at zero."""
    at_zero = pieces[0].zero_bias
    terms = [*map(_piece_charge, pieces), f"-{written(at_zero)}*uramp(-v({SWITCH}))"]
    yield "BQ charge 0 V=1e9*("
    yield from (f"+ {'' if index == 0 or term.startswith('-') else '+'}{term}" for index, term in enumerate(terms))
    yield "+ )"
    yield "CQ charge sensed 1n IC=0"
    yield "VQ sensed 0 DC 0"
    yield f"F1 {SWITCH} 0 VQ 1"


def _piece_charge(piece: CurvePiece) -> str:
    """Integral of C0/x^m with x = 1 + v/Vj over a piece, as far as the voltage has come [C]."""
    power, scale = 1 - piece.exponent, piece.zero_bias * piece.junction_voltage
    start = 1 + piece.low / piece.junction_voltage
    beyond = "" if math.isinf(piece.high) else f"-uramp(v({SWITCH})-{written(piece.high)})"
    reached = f"({written(start)}+(uramp(v({SWITCH})-{written(piece.low)}){beyond})/{written(piece.junction_voltage)})"
    if power == 0:
        return f"{written(scale)}*ln({reached}/{written(start)})"
    return f"{written(scale / power)}*({reached}^({written(power)})-{written(start**power)})"


def _recovery(recovery: Recovery) -> Iterator[str]:
    """A switch that holds the voltage at zero until the charge has flowed, or the current has been reached."""
    if isinstance(recovery, NoRecovery):
        return
    if isinstance(recovery, RecoveredCharge):
        yield "BR 0 flowed I=-i(V1)"
        yield "CR flowed 0 1n IC=0"
        yield f"VR goal 0 DC {written(recovery.charge / _NANO)}"
    else:
        yield f"BR 0 flowed I=u(-i(V1)-{written(recovery.current)})"
        yield "CR flowed 0 1p IC=0"
        yield "VR goal 0 DC 0.5"
    yield "RR flowed 0 1e12"
    yield f"S1 {SWITCH} 0 goal flowed recovering"
    yield ".model recovering SW(VT=0 VH=0 RON=1e-3 ROFF=1e9)"


def _snubber(circuit: NonlinearLoop) -> Iterator[str]:
    snubber = circuit.loop.snubber
    if snubber is not None:
        yield f"RD {SWITCH} snubbed {written(snubber.resistance)}"
        yield f"CD snubbed 0 {written(snubber.capacitance)} IC=0"


def written(value: float) -> str:
    """As every simulator reads it."""
    return f"{value:.12e}"
