"""What was found on a board, in words and as tables."""

from __future__ import annotations

from math import isnan

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.board.stackup import CopperLayer
from geometries.drawn.loops import FoundLoop
from geometries.fabrication.board import Board
from geometries.fabrication.connectivity import NetDifferences
from geometries.quantities import MM, NANO, write_place
from geometries.section.victims import Drive
from solver.board.as_drawn import DrawnLoop
from solver.board.edits import TriedEdit
from solver.board.feedback import CoupledFeedback, FeedbackCoupling
from solver.board.node_field import NodeCapacitance
from solver.board.regions import WORST, worst_regions
from solver.board.wanted import SolvedLoops
from solver.notation import numbers
from solver.notation.numbers import MILLI

_SHOWN = 3
"""Capacitors of a loop, and nets of a difference, that a line names."""
_LAYERS_SHOWN = 2
_PICO, _FEMTO = 1e-12, 1e-15


def board_sentence(board: Board, loops: tuple[FoundLoop, ...]) -> str:
    """What the files hold, in one sentence."""
    left, bottom, right, top = (value / MM for value in board.outline.bounds)
    parts = {pad.reference for pad in board.pads} - {""}
    return (
        f"“{board.name}”: {len(board.layers)} copper layers on {right - left:.4g} × {top - bottom:.4g} mm, "
        f"{len(board.net_names)} nets, {len(parts)} parts, {len(board.vias)} vias; "
        f"{len(loops)} converter{'s' if len(loops) != 1 else ''} found."
    )


def board_remarks(board: Board, differences: NetDifferences) -> tuple[str, ...]:
    """What was assumed, what is doubtful, and where copper and net names differ."""
    remarks = [f"stack: {board.stack.source}", *board.stack.assumptions, *board.remarks]
    remarks += [f"nets {' and '.join(nets[:_SHOWN])} touch each other" for nets in differences.merged]
    if differences.split:
        split = ", ".join(f"{net} into {pieces}" for net, pieces in differences.split[:_SHOWN])
        remarks.append(f"the copper of {len(differences.split)} of {differences.nets} nets falls apart: {split}")
    return tuple(remarks)


def stack_table(board: Board) -> Table:
    """The construction, layer by layer."""
    table = _table(("layer", "thickness\n[mm]", "εr", "copper\n[mm²]", "nets"), left=1)
    copper = {layer.name: layer for layer in board.layers}
    for layer in board.stack.stackup.layers:
        thickness = f"{layer.thickness / MM:.4g}"
        if isinstance(layer, CopperLayer):
            here = copper[layer.name]
            table.add_row(layer.name, thickness, "", numbers.significant(here.area / MM**2, 5), str(len(here.nets)))
        else:
            table.add_row(Text(layer.name), thickness, f"{layer.relative_permittivity:g}", "", "")
    return table


def loops_table(loops: tuple[FoundLoop, ...]) -> Table:
    """Every converter with its loop, longest path first."""
    headings = (
        "converter",
        "at\n[mm]",
        "kind",
        "switch node",
        "supply / ground",
        "capacitor (path [mm])",
        "ground under",
    )
    table = _table(headings, left=len(headings))
    for loop in loops:
        found = loop.converter
        table.add_row(
            Text(found.name),
            _place(loop),
            str(found.kind),
            Text(found.switch_net),
            Text(f"{found.supply_net} / {found.ground_net}"),
            Text(_capacitors(loop)),
            _ground(loop),
        )
    return table


def _table(headings: tuple[str, ...], left: int) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for index, heading in enumerate(headings):
        table.add_column(Text(heading), justify="left" if index < left else "right")
    return table


def _place(loop: FoundLoop) -> str:
    x, y = loop.place
    return f"{x / MM:.4g}, {y / MM:.4g}"


def _capacitors(loop: FoundLoop) -> str:
    if not loop.capacitors:
        return "none between these nets"
    named = [
        f"{one.capacitor}{f' via {one.shunt}' if one.shunt else ''} ({one.path / MM:.1f})"
        for one in loop.capacitors[:_SHOWN]
    ]
    more = len(loop.capacitors) - len(named)
    return ", ".join(named) + (f", {more} more" if more else "")


def _ground(loop: FoundLoop) -> str:
    """The layers that ground covers under the loop, the best two of them."""
    best = sorted(loop.ground, key=lambda one: -round(one.share, 2))[:_LAYERS_SHOWN]
    return ", ".join(f"L{one.layer} {100 * one.share:.0f} %" for one in best)


def board_lines(board: Board, loops: tuple[FoundLoop, ...], differences: NetDifferences) -> tuple[str | Table, ...]:
    """All that was found, in the order in which it is printed."""
    remarks = [f"- {remark}" for remark in board_remarks(board, differences)]
    return board_sentence(board, loops), *remarks, stack_table(board), loops_table(loops)


def drawn_sentence(drawn: DrawnLoop) -> str:
    """What a loop as drawn comes to, in one sentence."""
    value, parts = drawn.inductance, drawn.of_parts
    tied = len(drawn.window.copper.barrels)
    words = (
        f"{drawn.ends.name} with {drawn.ends.capacitor}: the loop has "
        f"{numbers.with_uncertainty(value, drawn.error, NANO)} nH at {numbers.frequency(drawn.solution.frequency)}, of "
        f"which {numbers.nanohenry(parts, drawn.parts_error)} nH in the parts' bodies, {_over(drawn)}"
    )
    if not tied:
        return f"{words}; no via ties its ground to the plane inside the window."
    gain = drawn.untied - value
    if not drawn.window.joined_without_vias:
        return f"{words}; its pads are joined through {tied} vias."
    if abs(gain) <= drawn.mesh_error:
        return f"{words}; its {tied} vias change it by less than the mesh tells."
    return f"{words}; its {tied} vias take {numbers.nanohenry(gain, drawn.mesh_error)} nH off it."


def shares_sentence(drawn: DrawnLoop) -> str:
    """How capacitors in parallel share the current; empty for one alone."""
    if len(drawn.shares) == 1:
        return ""
    named = ", ".join(
        f"{name} {100 * share:.0f} %" for name, share in zip(drawn.solution.loops, drawn.shares, strict=True)
    )
    return f"The capacitors share the current by inductance: {named}."


def terms_table(drawn: DrawnLoop) -> Table:
    """Where the loop's inductance sits, the largest part first."""
    table = _table(("where", "L\n[nH]", "share\n[%]", "R\n[mΩ]"), left=1)
    for term in drawn.terms:
        share = 100 * term.inductance / drawn.inductance
        value = numbers.nanohenry(term.inductance, drawn.mesh_error)
        table.add_row(Text(term.name), value, f"{share:.1f}", numbers.milliohm(term.resistance))
    return table


def revision_lines(solved: SolvedLoops, before: SolvedLoops) -> tuple[str, ...]:
    """Every loop beside the same parts' on another revision; the parts' own uncertainty is the same in both."""
    lines = []
    for one in solved.drawn:
        for other in before.drawn:
            if (one.ends.name, one.ends.capacitors) == (other.ends.name, other.ends.capacitors):
                change = one.inductance - other.inductance
                spread = one.mesh_error + one.window_error + other.mesh_error + other.window_error
                words = "more" if change > 0 else "less"
                lines.append(
                    f"{one.ends.name} with {one.ends.capacitor}: "
                    f"{numbers.with_uncertainty(abs(change), spread, NANO)} nH {words} than on the other revision, "
                    f"which has {numbers.with_uncertainty(other.inductance, other.error, NANO)} nH."
                )
    return *lines, *(f"not compared: {reason}" for reason in before.refused)


def feedback_sentence(name: str, coupling: FeedbackCoupling, drive: Drive | None) -> str:
    """What a converter's feedback trace picks up of its loop."""
    value, error = coupling.mutual / _PICO, coupling.error / _PICO
    mutual = numbers.with_uncertainty(coupling.mutual, coupling.error, _PICO)
    words = (
        f"Feedback of {name}, net {coupling.path.net} from {', '.join(coupling.divider)} to the pin, "
        f"{coupling.path.length / MM:.1f} mm: {mutual} pH with the loop, which is "
        f"{numbers.significant(value, 2)} mV at a current slope of 1 A/ns"
    )
    words += f"; {_node_words(coupling.node)}"
    if drive is None:
        return f"{words}."
    signal = coupling.signal(drive)
    part = error / value if value else 0.0
    node = coupling.node.error / coupling.node.value if coupling.node.value else 0.0
    magnetic, electric = signal.magnetic_peak, signal.electric_peak
    return (
        f"{words}; at {drive.current:g} A within {drive.rise_time / NANO:g} ns the pin sees "
        f"{numbers.with_uncertainty(magnetic, part * magnetic, MILLI)} mV, of {drive.voltage:g} V within "
        f"{drive.voltage_rise_time / NANO:g} ns at the switch node "
        f"{numbers.with_uncertainty(electric, node * electric, MILLI)} mV."
    )


def _node_words(node: NodeCapacitance) -> str:
    """What the switch node's voltage couples into the trace."""
    if not node.value:
        return f"nothing of the switch node's voltage: {node.remark}"
    return f"{numbers.with_uncertainty(node.value, node.error, _FEMTO)} fF to the switch node, {node.remark}"


def feedback_lines(feedback: CoupledFeedback, drive: Drive | None) -> tuple[str, ...]:
    """Every feedback trace, and why others were not solved."""
    told = (feedback_sentence(name, one, drive) for name, one in feedback.couplings.items())
    return *told, *(f"not solved: {reason}" for reason in feedback.refused)


def edits_lines(drawn: DrawnLoop, tried: tuple[TriedEdit, ...]) -> tuple[str | Table, ...]:
    """What to change first in a loop: every change that was solved, the best few together, then the largest gain."""
    table = _table(("change", "at\n[mm]", "L\n[nH]", "gain\n[nH]", "±\n[nH]", "first order\n[nH]"), left=2)
    for one in tried:
        value = numbers.nanohenry(one.inductance, one.error)
        gain = numbers.nanohenry_change(one.gain, one.error)
        place = f"{one.place[0] / MM:.4g}, {one.place[1] / MM:.4g}"
        near = one.no_first_order if isnan(one.first_order) else numbers.nanohenry_change(one.first_order, one.error)
        spread = numbers.nanohenry_error(one.inductance, one.error)
        table.add_row(Text(one.name), place, value, gain, spread, near)
    return f"What to change first in the loop of {drawn.ends.name} with {drawn.ends.capacitor}:", table


def change_sentence(one: TriedEdit) -> str:
    """What a change brings, with its place."""
    return f"{one.name} at {write_place(one.place)}: {numbers.with_uncertainty(one.gain, one.error, NANO)} nH less."


def regions_lines(drawn: DrawnLoop) -> tuple[str, ...]:
    """The worst places, numbered as in the picture."""
    worst = worst_regions(drawn)[:WORST]
    return "The worst places:", *(f"{number}. {one.sentence}" for number, one in enumerate(worst, start=1))


def drawn_lines(solved: SolvedLoops) -> tuple[str | Table, ...]:
    """The solved loops, where their inductance sits, and why others could not be solved."""
    lines: list[str | Table] = [drawn_table(solved.drawn)] if solved.drawn else []
    for one in solved.drawn:
        lines += [each for each in (drawn_sentence(one), shares_sentence(one), terms_table(one)) if each]
        lines += regions_lines(one)
    return *lines, *(f"not solved: {reason}" for reason in solved.refused)


def _over(drawn: DrawnLoop) -> str:
    layers = ", ".join(f"L{number}" for number in sorted(drawn.window.copper.layers))
    return f"on {layers} as they are drawn" if drawn.window.plane_layer else f"on {layers} without a plane"


def drawn_table(drawn: tuple[DrawnLoop, ...]) -> Table:
    """Every solved loop, the largest inductance first."""
    headings = (
        "converter",
        "capacitor",
        "plane",
        "L\n[nH]",
        "±\n[nH]",
        "without vias\n[nH]",
        "vias",
        "R\n[mΩ]",
        "window\n[mm]",
    )
    table = _table(headings, left=3)
    for one in sorted(drawn, key=lambda one: -one.inductance):
        table.add_row(
            Text(one.ends.name),
            Text(one.ends.capacitor),
            f"L{one.window.plane_layer}" if one.window.plane_layer else "none",
            numbers.nanohenry(one.inductance, one.error),
            numbers.nanohenry_error(one.inductance, one.error),
            numbers.nanohenry(one.untied, one.error),
            str(len(one.window.copper.barrels)),
            numbers.with_uncertainty(one.resistance, one.resistance_error, numbers.MILLI),
            f"{one.window.margin / MM:.1f}",
        )
    return table
