"""The victims in the written circuits: loops that couple with the first, and capacitors at both ends of their runs.

Every run is a branch between its two ends, with the emf that the loops induce and with its own resistance and
inductance; so is every further switched loop. All begin at the same end, and two couple along the shorter of their
lengths.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from solver.circuit.rl_network import RLNetwork, SeriesInductor, in_series, network, relinked
from solver.pickup.results import PickupResult
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True)
class VictimNodes:
    """What a written circuit holds beside coupled loops.

    Parameters
    ----------
    loops : tuple of str
        Names of all loops, the variant's own first.
    extra : int
        Nodes after those of the loops: the switch node, if there is one, and all quiet copper.
    capacitors : tuple of (int, int, float)
        Two nodes and a capacitance [F] each.
    remarks : tuple of str
        What the nodes and capacitors are.
    """

    loops: tuple[str, ...]
    extra: int
    capacitors: tuple[tuple[int, int, float], ...]
    remarks: tuple[str, ...]


def with_victims(result: VariantResult, pickup: PickupResult) -> RLNetwork:
    """Loop and victims of a variant as one circuit, the loop's further segments included.

    The coupled part is that of the section. What a whole loop has beside it (ends, capacitor, vias, package) is added
    to the loop's own inductance and couples with no victim.

    Parameters
    ----------
    result : VariantResult
        With victims.
    pickup : PickupResult
        What they pick up.

    Returns
    -------
    RLNetwork
        One loop more than the variant's first for each victim, and for each further switched loop.
    """
    setup, own = pickup.pickup, result.variant.length
    lengths = [own, *(each.length for each in setup.victims), *(each.length for each in setup.further)]
    stretches = [
        relinked(network(pickup.model, length=stop - start), np.diag([float(length >= stop) for length in lengths]))
        for start, stop in pairwise(sorted({0.0, *lengths}))
    ]
    alone = np.eye(len(lengths), len(result.variant.own_section.loops))
    alone[1:] = 0.0
    further = [relinked(network(each.broadband, length=each.length), alone) for each in result.segments[1:]]
    return _with_rest(in_series([*stretches, *further]), result)


def _with_rest(circuit: RLNetwork, result: VariantResult) -> RLNetwork:
    """The circuit with what the loop of record has beside its section in the first loop's own inductance."""
    rest = result.loop.inductance - result.section_inductance
    if rest == 0:
        return circuit
    turns = (1.0, *(0.0 for _ in range(circuit.loops - 1)))
    return replace(circuit, inductors=(*circuit.inductors, SeriesInductor(inductance=rest, turns=turns)))


def victim_nodes(pickup: PickupResult) -> VictimNodes:
    """Nodes and capacitors of the victims of a variant.

    Parameters
    ----------
    pickup : PickupResult
        What they pick up.

    Returns
    -------
    VictimNodes
    """
    node = pickup.pickup.switch_node
    loops = tuple(loop.name for loop in pickup.pickup.section.loops)
    quiet = 2 * len(loops) + (1 if node is None else 2)
    jumping = quiet - 1
    capacitors, shared = [], 0.0
    for number, each in enumerate(pickup.victims, start=2):
        beside = 0.0 if node is None else each.node_capacitance * each.victim.beside(node.length)
        shared += beside
        to_quiet = each.line.capacitance * each.victim.length - beside
        for end in (2 * number - 1, 2 * number):
            capacitors.append((end, quiet, to_quiet / 2))
            if beside > 0:
                capacitors.append((end, jumping, beside / 2))
    remarks = [
        f"Node {quiet}: all quiet copper, planes included. Half of a run's capacitance lies at each of its ends."
    ]
    if node is not None and pickup.node is not None:
        capacitors.append((jumping, quiet, pickup.node.area_total - shared))
        remarks.insert(0, f"Node {jumping}: the switch node's copper, {node.length * 1e3:.6g} mm long.")
    return VictimNodes(
        loops=loops, extra=1 if node is None else 2, capacitors=tuple(capacitors), remarks=tuple(remarks)
    )
