"""What was found on a board and what its loops come to, as a document for machines."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from geometries.drawn.loops import FoundLoop
from geometries.fabrication.board import Board, BoardLayer
from geometries.fabrication.connectivity import NetDifferences
from geometries.quantities import Quantity
from geometries.section.victims import Drive
from solver.board.as_drawn import DrawnLoop
from solver.board.edits import TriedEdit
from solver.board.feedback import NO_FEEDBACK, CoupledFeedback, FeedbackCoupling
from solver.board.regions import WORST, worst_regions
from solver.board.wanted import NOTHING_SOLVED, SolvedLoops
from solver.report.board_cut import cut_document
from solver.report.board_text import board_remarks, board_sentence, drawn_sentence
from solver.report.documents import SCHEMA
from solver.report.figure_tables import figure_values
from solver.variant.figure import Reading
from solver.variant.loop_figures import LOOP
from solver.variant.results import VariantResult


def board_document(
    board: Board,
    loops: tuple[FoundLoop, ...],
    differences: NetDifferences,
    solved: SolvedLoops,
    tried: tuple[TriedEdit, ...] = (),
    before: SolvedLoops = NOTHING_SOLVED,
    section: VariantResult | None = None,
    feedback: CoupledFeedback = NO_FEEDBACK,
    drive: Drive | None = None,
) -> dict[str, Any]:
    """All that was found and solved as plain values; :func:`solver.report.schema.document_schema` describes them."""
    return {
        "schema": SCHEMA,
        "command": "board",
        "conventions": "SI units, per ampere of loop current; loop_inductance is that of the whole loop: the copper as "
        "drawn, its vias, and the parts' bodies; split says how much of it either is",
        "title": board.name,
        "finding": board_sentence(board, loops),
        "remarks": list(board_remarks(board, differences)),
        "stack": [_stack_document(layer, board) for layer in board.layers],
        "nets": list(board.net_names),
        "nets_that_touch": [list(nets) for nets in differences.merged],
        "nets_that_fall_apart": dict(differences.split),
        "vias": len(board.vias),
        "holes": len(board.holes),
        "converters": [_loop_document(loop) for loop in loops],
        "report_frequency": solved.drawn[0].solution.frequency if solved.drawn else None,
        "variants": [_drawn_document(one) for one in solved.drawn],
        "not_solved": list(solved.refused),
        "other_revision": [_drawn_document(one) for one in before.drawn],
        "feedback": [_coupling_document(name, one, drive) for name, one in feedback.couplings.items()],
        "section": cut_document(section) if section else None,
        "changes_of_the_largest_loop": edits_document(tried),
    }


def _coupling_document(name: str, coupling: FeedbackCoupling, drive: Drive | None) -> dict[str, Any]:
    signal = coupling.signal(drive) if drive else None
    return {
        "converter": name,
        "net": coupling.path.net,
        "length": coupling.path.length,
        "mutual_inductance": _plain_reading(Reading(value=coupling.mutual, uncertainty=coupling.error)),
        "switch_node_capacitance": _plain_reading(Reading(value=coupling.node.value, uncertainty=coupling.node.error)),
        "switch_node_remark": coupling.node.remark,
        "magnetic_peak": signal.magnetic_peak if signal else None,
        "electric_peak": signal.electric_peak if signal else None,
        "pin_peak": signal.peak if signal else None,
    }


def _stack_document(layer: BoardLayer, board: Board) -> dict[str, Any]:
    return {
        "layer": layer.name,
        "file": layer.file,
        "height": board.stack.height(layer.number),
        "thickness": board.stack.thickness(layer.number),
        "copper_area": layer.area,
    }


def _loop_document(loop: FoundLoop) -> dict[str, Any]:
    found = loop.converter
    return {
        "name": found.name,
        "kind": str(found.kind),
        "place": list(loop.place),
        "switch_net": found.switch_net,
        "supply_net": found.supply_net,
        "ground_net": found.ground_net,
        "inductors": list(found.inductors),
        "capacitors": [
            {"reference": one.capacitor, "net": one.net, "shunt": one.shunt, "path": one.path}
            for one in loop.capacitors
        ],
        "boot": {"capacitor": loop.boot.capacitor, "path": loop.boot.path} if loop.boot else None,
        "feedback": _feedback_document(loop),
        "ground_under": {f"L{one.layer}": one.share for one in loop.ground},
        "ground_vias_under": loop.ground_vias,
    }


def _feedback_document(loop: FoundLoop) -> dict[str, Any] | None:
    found = loop.feedback
    return {"net": found.net, "upper": list(found.upper), "lower": list(found.lower)} if found else None


def edits_document(tried: tuple[TriedEdit, ...]) -> list[dict[str, Any]]:
    """The changes that were solved as plain values."""
    return [
        {
            "change": one.name,
            "place": list(one.place),
            "inductance": one.inductance,
            "gain": one.gain,
            "gain_uncertainty": one.error,
            "first_order_gain": None if math.isnan(one.first_order) else one.first_order,
            "no_first_order_gain": one.no_first_order if math.isnan(one.first_order) else "",
        }
        for one in tried
    ]


def _drawn_document(drawn: DrawnLoop) -> dict[str, Any]:
    """A solved loop as plain values."""
    readings = _readings(drawn)
    return {
        "name": f"{drawn.ends.name} with {drawn.ends.capacitor}",
        "finding": drawn_sentence(drawn),
        "figures": figure_values((each for each in LOOP.figures if each.key in readings), readings),
        "split": {key: _plain_reading(value) for key, value in _split(drawn).items()},
        "uncertainties": {
            "mesh": drawn.mesh_error,
            "window": drawn.window_error,
            "parts": drawn.parts_error,
        },
        "inductance_without_vias": drawn.untied,
        "moment": drawn.moment.tolist(),
        "current_shares": dict(zip(drawn.solution.loops, drawn.shares.tolist(), strict=True)),
        "terms": [
            {"where": term.name, "inductance": term.inductance, "resistance": term.resistance} for term in drawn.terms
        ],
        "worst_places": [
            {"where": one.where, "place": list(one.place), "side": one.side, "inductance": one.inductance}
            for one in worst_regions(drawn)[:WORST]
        ],
        "layers": list(drawn.window.copper.layers),
        "window_margin": drawn.window.margin,
        "plane_layer": drawn.window.plane_layer or None,
        "vias": len(drawn.window.copper.barrels),
    }


def _readings(drawn: DrawnLoop) -> dict[str, Reading]:
    """Figures of the whole loop by the keys that they have everywhere."""
    return {
        "loop_inductance": Reading(value=drawn.inductance, uncertainty=drawn.error),
        "loop_resistance": Reading(value=drawn.resistance, uncertainty=drawn.resistance_error),
        "loop_moment": Reading(value=float(np.linalg.norm(drawn.moment))),
    }


def _split(drawn: DrawnLoop) -> dict[str, Reading]:
    """What the loop's inductance is made of; the two add up to it."""
    parts = drawn.of_parts
    return {
        "copper": Reading(value=drawn.inductance - parts, uncertainty=drawn.copper_error),
        "parts": Reading(value=parts, uncertainty=drawn.parts_error),
    }


def _plain_reading(reading: Reading) -> dict[str, Any]:
    return {"value": reading.value, "uncertainty": reading.uncertainty, "unit": Quantity.INDUCTANCE.unit}
