"""A loop as a SPICE subcircuit, and a deck to try it out, in plain Berkeley syntax."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from geometries.study.scenario import Variant
from solver.circuit.rl_network import Cell, RLNetwork, SeriesInductor, SeriesResistor
from solver.notation.labels import wording
from solver.report.remarks import commented
from solver.report.spice_edge import DrivenLoop, edge_run, written
from solver.report.victim_circuit import VictimNodes

_POINTS_PER_DECADE = 20
_PERIODS = 20
_STEPS_PER_PERIOD = 100
_RISE = 0.05

Element = SeriesResistor | SeriesInductor | Cell


def subcircuit_name(slug: str) -> str:
    """Name of the subcircuit of a variant: letters, digits and underscores, a letter first.

    Examples
    --------
    >>> subcircuit_name("4-layers-one-end")
    'loop_4_layers_one_end'
    """
    return "loop_" + slug.replace("-", "_")


def subcircuit(
    circuit: RLNetwork, variant: Variant, remarks: Sequence[str], slug: str, victims: VictimNodes | None = None
) -> str:
    """Subcircuit of a variant's loops.

    Parameters
    ----------
    circuit : RLNetwork
        Of the loop of record.
    variant : Variant
        Gives the names of the loops for the comments.
    remarks : sequence of str
        Comments at the head.
    slug : str
        The variant's name as a file name, from :func:`solver.report.file_names.file_names`.
    victims : VictimNodes, optional
        Nodes and capacitors of the victims, where the circuit holds their loops.

    Returns
    -------
    str
        The file's content: with one loop a chain of resistors and inductors, with several one such chain for each
        term, coupled to every loop by an ideal transformer of controlled sources.
    """
    nodes = " ".join(str(node) for node in range(1, _last_node(circuit, victims) + 1))
    loops = variant.loop_names if victims is None else victims.loops
    lines = commented([*remarks, *_node_remarks(variant, loops), *(() if victims is None else victims.remarks)], "*")
    lines.append(f".subckt {subcircuit_name(slug)} {nodes}")
    lines += _chain(circuit) if circuit.loops == 1 else _coupled(circuit)
    for number, (first, second, value) in enumerate(() if victims is None else victims.capacitors, start=1):
        lines.append(f"C{number} {first} {second} {written(value)}")
    lines.append(f".ends {subcircuit_name(slug)}")
    return "\n".join(lines) + "\n"


def _last_node(circuit: RLNetwork, victims: VictimNodes | None) -> int:
    return 2 * circuit.loops + (0 if victims is None else victims.extra)


def deck(
    circuit: RLNetwork,
    frequency: float,
    remarks: Sequence[str],
    slug: str,
    victims: VictimNodes | None = None,
    driven: DrivenLoop | None = None,
) -> str:
    """Deck that runs the subcircuit ``<slug>.sub`` twice: its impedance over the band, and an edge that makes it ring.

    The parameters are those of :func:`subcircuit`, but for the switching edge and its switch; without it a step, and
    the frequency [Hz] at which the first loop rings with the capacitor that is chosen.

    Returns
    -------
    str
        The file's content.
    """
    loops, omega = circuit.loops, 2 * math.pi * frequency
    tied = "0 " * (0 if victims is None else victims.extra)
    name = tied + subcircuit_name(slug)
    if driven is None:
        inductance = float(circuit.impedance(frequency)[0, 0].imag) / omega
        ring = _ring_run(frequency, 1 / (omega**2 * inductance), loops, name)
    else:
        others = "".join(f"{loops + 2 + other} 0 " for other in range(1, loops))
        ring = edge_run(driven, circuit, f"{loops + 2} {others}{name}", str(loops + 1))
    lines = [
        f"Try-out of {slug}.sub: impedance over the band, and an edge that makes it ring",
        *commented(remarks, "*"),
        f".include {slug}.sub",
        *_impedance_run(circuit.band, loops, name),
        *ring,
        ".end",
    ]
    return "\n".join(lines) + "\n"


def _impedance_run(band: tuple[float, float], loops: int, name: str) -> list[str]:
    """Loop k lies between node k and 0; the first is driven and the others are open."""
    remark = (
        "Impedance: 1 A flows into the first loop, so that the voltage of node 1 is its impedance in ohms; that of the "
        "nodes of further loops, which are open, is their mutual impedance."
    )
    ports = range(1, loops + 1)
    return [
        *commented([remark], "*"),
        "I1 0 1 DC 0 AC 1",
        " ".join(["X1", *(f"{port} 0" for port in ports), name]),
        f".ac dec {_POINTS_PER_DECADE} {written(band[0])} {written(band[1])}",
        " ".join([".print ac", *(f"vr({port}) vi({port})" for port in ports)]),
    ]


def _ring_run(frequency: float, capacitance: float, loops: int, name: str) -> list[str]:
    """The first loop between source and capacitor; the nodes follow those of the impedance run."""
    remark = (
        f"Ring: a step of 1 V through the first loop into a capacitor, with which it rings at {frequency:.6g} Hz; put "
        "in the capacitance of your switch, and the resistances that damp it."
    )
    period, source, switch = 1 / frequency, loops + 1, loops + 2
    rise, stop = period * _RISE, period * _PERIODS
    others = [f"{switch + other} 0" for other in range(1, loops)]
    return [
        *commented([remark], "*"),
        f"V1 {source} 0 PULSE(0 1 0 {written(rise)} {written(rise)} {written(2 * stop)} {written(4 * stop)})",
        " ".join(["X2", f"{source} {switch}", *others, name]),
        f"C1 {switch} 0 {written(capacitance)}",
        f".tran {written(period / _STEPS_PER_PERIOD)} {written(stop)}",
        f".print tran v({switch})",
    ]


def _node_remarks(variant: Variant, loops: tuple[str, ...]) -> list[str]:
    words = wording(variant.view)
    near, far = words.sides
    pairs = [
        f"{2 * number - 1} {near}, {2 * number} {far}, of loop {number}" + ("" if len(loops) == 1 else f" ({name})")
        for number, name in enumerate(loops, start=1)
    ]
    remarks = [f"Nodes: {'; '.join(pairs)}; {words.ends}."]
    if len(loops) > 1:
        remarks.append("Terms lie between inner nodes and 0; E and F sources couple each of them to every loop.")
    return remarks


def _chain(circuit: RLNetwork) -> Iterator[str]:
    """One loop: all elements in series from node 1 to node 2."""
    here = 1
    for number, element in enumerate(circuit.elements, start=1):
        there = 2 if number == len(circuit.elements) else 10 + number
        yield from _element(number, element, here, there)
        here = there


def _coupled(circuit: RLNetwork) -> Iterator[str]:
    """Several loops: each element from a node of its own to 0, the voltage of which every loop sees times its turns."""
    inner = {number: 10 * circuit.loops + number for number in range(1, len(circuit.elements) + 1)}
    fresh = max(inner.values())
    for number, element in enumerate(circuit.elements, start=1):
        yield from _element(number, element, inner[number], 0)
    for loop in range(1, circuit.loops + 1):
        fresh += 1
        here, last = fresh, 2 * loop
        yield f"V{loop} {2 * loop - 1} {here} DC 0"
        for number, element in enumerate(circuit.elements, start=1):
            fresh += 1
            there = last if number == len(circuit.elements) else fresh
            turns = written(element.turns[loop - 1])
            yield f"E{loop}_{number} {here} {there} {inner[number]} 0 {turns}"
            yield f"F{loop}_{number} 0 {inner[number]} V{loop} {turns}"
            here = there


def _element(number: int, element: Element, here: int, there: int) -> Iterator[str]:
    if not isinstance(element, SeriesInductor):
        yield f"R{number} {here} {there} {written(element.resistance)}"
    if not isinstance(element, SeriesResistor):
        yield f"L{number} {here} {there} {written(element.inductance)}"
