r"""What the feedback trace picks up of a loop and of its switch node, all as they are drawn.

The trace from the divider to the pin and the ground under it enclose the flux :math:`\int (A_{trace} - A_{ground})\cdot
dl` of the loop's currents, those induced in the planes among them; at one ampere that is the mutual inductance. The
switch node's voltage drives a current through its capacitance to the trace's net (:mod:`solver.board.node_field`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point as ShapelyPoint

from geometries.drawn.choice import choose_loop
from geometries.drawn.ends import LoopEnds
from geometries.drawn.errors import BoardError
from geometries.drawn.loops import FeedbackNet, FoundLoop, divider_on
from geometries.drawn.parts import Part, parts_of
from geometries.drawn.trace import TracePath, trace_path
from geometries.drawn.window import faces_up
from geometries.fabrication.board import Board, Pad
from geometries.quantities import MM, write_place
from geometries.section.victims import Drive, Run
from solver.board.as_drawn import DrawnLoop
from solver.board.node_field import NodeCapacitance, node_capacitance
from solver.pickup.divider import electric_transfer, pin_circuit
from solver.pickup.pin import PinTransfers, pin_signal, pin_sources
from solver.pickup.results import PinSignal
from solver.pickup.waveform import Transfer
from solver.plan.vector_potential import CurrentLayer, coarse_currents, fine_currents, vector_potential

_STEP = 0.25 * MM
"""Length of the pieces along which the potential is taken as constant [m]."""
_RUN_CAPACITANCE = 1e-10
"""Of a trace over ground, per length [F/m]: 60 to 150 pF/m (common practice); kilohms make it matter little."""

_ACTIVE = frozenset({"U", "IC", "Q"})
"""Letters of parts that a feedback net leads to (IEEE 315, clause 22, from memory)."""

_LEFT_OVER = 2.0
"""Part of the change from the coarser mesh that may be left over: the flux is a small rest of two large ones."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FeedbackCoupling:
    """A feedback trace in the field of a loop.

    Parameters
    ----------
    path : TracePath
        From the divider to the pin.
    divider : tuple of str
        Resistors at which it begins.
    mutual : float
        Mutual inductance with the loop, its sign left out [H].
    error : float
        Of it: its change from the coarser mesh, and the loop's own beside that of its mesh in the same part [H].
    node : NodeCapacitance
        Of the switch node to the net.
    """

    path: TracePath
    divider: tuple[str, ...]
    mutual: float
    error: float
    node: NodeCapacitance

    def signal(self, drive: Drive) -> PinSignal:
        """What arrives at the pin by the loop's current and by the switch node's voltage."""
        circuit = pin_circuit(drive.divider, Run.PIN, _RUN_CAPACITANCE * self.path.length)
        magnetic = Transfer(
            level=0.0,
            slope=self.mutual * circuit.from_emf.level,
            poles=circuit.from_emf.poles,
            residues=self.mutual * circuit.from_emf.residues * circuit.from_emf.poles,
        )
        electric = electric_transfer(self.node.value, circuit.from_injection)
        return pin_signal(pin_sources(drive, PinTransfers(magnetic=magnetic, electric=electric)))


def feedback_coupling(
    board: Board, parts: Mapping[str, Part], loop: FoundLoop, drawn: DrawnLoop
) -> FeedbackCoupling | None:
    """The coupling of a converter's feedback trace with its solved loop; none if it has no feedback net.

    Raises
    ------
    BoardError
        If the trace's copper does not join divider and pin, or no ground lies over or under it.
    """
    found = loop.feedback
    if found is None:
        return None
    divider = (*found.upper, *found.lower)
    path = trace_path(board, [pad for name in divider for pad in parts[name].on(found.net)], _pin(parts, loop, found))
    fine, coarse = (
        abs(_flux(board, drawn.ends, path, tuple(currents(drawn.solution, drawn.shares))))
        for currents in (fine_currents, coarse_currents)
    )
    rest = math.hypot(drawn.window_error, drawn.parts_error) / drawn.inductance
    error = math.hypot(_LEFT_OVER * (fine - coarse), fine * rest)
    node = node_capacitance(board, loop.converter.switch_net, found.net, drawn.ends.ground_net)
    return FeedbackCoupling(path=path, divider=divider, mutual=fine, error=error, node=node)


def _pin(parts: Mapping[str, Part], loop: FoundLoop, found: FeedbackNet) -> tuple[Pad, ...]:
    """Pads on the net of the controller, or of the first part that is no resistor or capacitor."""
    others = (part for part in parts.values() if part.letters in _ACTIVE and part.on(found.net))
    controller = parts.get(loop.converter.controller) or next(others, None)
    pads = controller.on(found.net) if controller else ()
    if not pads:
        raise BoardError(f"no part with a pin is on the feedback net {found.net!r} of {loop.converter.name}")
    return pads


def _flux(board: Board, ends: LoopEnds, path: TracePath, layers: Sequence[CurrentLayer]) -> float:
    """Flux of a loop's currents between a trace and the ground next to it [Wb]."""
    total = 0.0
    signs = 1.0 if faces_up(board, ends.layer) else -1.0
    for layer in np.unique(path.layers):
        middles, steps = _pieces(path, int(layer))
        grounds = np.array([_ground_beside(board, int(layer), point, ends.ground_net) for point in middles])
        for numbers, sign in ((np.full(len(middles), layer), 1), (grounds, -1)):
            heights = signs * np.array([board.stack.height(int(each)) for each in numbers])
            places = np.column_stack([middles, heights])
            total += sign * float((vector_potential(layers, places) * steps).sum().real)
    return total


def _pieces(path: TracePath, layer: int) -> tuple[Floats, Floats]:
    """Middles of pieces of the path on a layer, and their lengths as vectors, (n, 2) [m]."""
    every = max(1, round(_STEP * (len(path.points) - 1) / max(path.length, _STEP)))
    kept = np.unique([*range(0, len(path.points), every), *_changes(path), len(path.points) - 1])
    pairs = [(one, other) for one, other in pairwise(kept) if path.layers[one] == layer]
    pairs = [(one, other) for one, other in pairs if path.layers[other] == layer]
    start, stop = (np.array([path.points[pair[end]] for pair in pairs]).reshape(-1, 2) for end in (0, 1))
    return (start + stop) / 2, stop - start


def _changes(path: TracePath) -> list[int]:
    """Both points of every via."""
    jumps = np.flatnonzero(np.diff(path.layers))
    return [*jumps, *(jumps + 1)]


def _ground_beside(board: Board, layer: int, point: Floats, net: str) -> int:
    """The next layer on which ground lies at a point."""
    spot = ShapelyPoint(point)
    others = sorted(
        (abs(board.stack.height(one.number) - board.stack.height(layer)), one.number)
        for one in board.layers
        if one.number != layer
    )
    for _, number in others:
        if board.copper(number, net).intersects(spot):
            return number
    raise BoardError(f"no ground lies over or under the trace at {write_place(point)}; its return is unknown")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoupledFeedback:
    """Feedback traces of solved loops by their converters' names, and why others have none."""

    couplings: Mapping[str, FeedbackCoupling]
    refused: tuple[str, ...]


def coupled_feedback(
    board: Board, loops: Sequence[FoundLoop], drawn: Sequence[DrawnLoop], net: str = ""
) -> CoupledFeedback:
    """The feedback trace of every solved loop.

    Parameters
    ----------
    board, loops, drawn
        The board, what was found on it, and what was solved.
    net : str
        The feedback net, if it is not to be found by the names of pins; for a single solved loop.

    Raises
    ------
    FabricationError
        If there is no such net; the nearest is named.
    """
    parts, couplings, refused = parts_of(board), {}, []
    named = board.require_net(net) if net else ""
    for one in drawn:
        loop = choose_loop(tuple(loops), one.ends.name)
        if named:
            loop = replace(loop, feedback=divider_on(parts, loop.converter, named))
        try:
            found = feedback_coupling(board, parts, loop, one)
        except BoardError as reason:
            refused.append(f"{one.ends.name}, feedback: {reason}")
            continue
        if found is not None:
            couplings[one.ends.name] = found
    return CoupledFeedback(couplings=couplings, refused=tuple(refused))


NO_FEEDBACK = CoupledFeedback(couplings={}, refused=())
