"""The result of a study as plain values for JSON: all inputs and numbers, with the unit in every key."""

from __future__ import annotations

import math
from typing import Any

from geometries.board.stackup import DielectricLayer, Stackup
from geometries.section.section import Region
from solver.notation.labels import Wording, scenario_wording, wording
from solver.notation.warning import NumberedWarning
from solver.report.axisymmetric_section import axisymmetric_document
from solver.report.check import answer_documents
from solver.report.couplings_section import couplings_document
from solver.report.drawings import stackups
from solver.report.emission_section import emission_document
from solver.report.measurement_section import measurement_document
from solver.report.pickup_section import pickup_document
from solver.report.summary_section import summary_document
from solver.report.switching_section import switching_document
from solver.report.whole_loop_section import whole_loop_document
from solver.section.results import InductanceBracket, LayerBenefit, SegmentResult
from solver.study.results import ComparisonRow, StudyResult
from solver.variant.results import VariantResult

SCHEMA = "copperfield-result/1"
"""Name and version of the layout of the result."""

Document = dict[str, Any]


def result_document(study: StudyResult) -> Document:
    """All inputs and numbers of a study as plain values, in SI units that the keys name.

    Parameters
    ----------
    study : StudyResult
        Finished or interrupted.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`; numbers that are not finite become None.
    """
    words = scenario_wording(study.scenario)
    document: Document = {
        "schema": SCHEMA,
        "complete": study.complete,
        "decision": study.decision,
        "view": study.scenario.variants[0].view.value,
        "conventions": words.conventions,
        "inputs": _input_document(study),
        "comparison": [_row_document(row, words) for row in study.rows],
        "variants": [_variant_document(result) for result in study.results],
        "pickup": pickup_document(study),
        "axisymmetric_views": axisymmetric_document(study),
        "warnings": _warning_documents(study.warnings),
        "versions": dict(study.versions),
        **_consequences(study),
    }
    return {key: _finite(value) for key, value in document.items()}


def _consequences(study: StudyResult) -> Document:
    """What follows from the loops, as far as it was asked for."""
    parts: Document = {}
    if study.summary is not None:
        parts["summary"] = summary_document(study.summary)
    if study.switching is not None:
        parts["switching"] = switching_document(study.switching)
    if study.emission is not None:
        parts["emission"] = emission_document(study.emission)
    if study.measurement is not None:
        parts["measurement"] = measurement_document(study.measurement)
    if study.budgets:
        parts["budgets"] = answer_documents(study.budgets)
    return parts


def _input_document(study: StudyResult) -> Document:
    scenario, analysis = study.scenario, study.scenario.analysis
    return {
        "title": scenario.title,
        "setting": scenario.setting,
        "reference": scenario.reference,
        "report_frequency_Hz": analysis.report_frequency,
        "frequencies_Hz": list(analysis.frequencies),
        "field_line_distances_above_m": list(analysis.heights_above),
        "field_line_distances_below_m": list(analysis.heights_below),
        "variants_asked_for": [variant.name for variant in scenario.variants],
        "stackups": [_stackup_document(stackup) for stackup in stackups(study)],
        "scenario_text": scenario.text,
    }


def _row_document(row: ComparisonRow, words: Wording) -> Document:
    return {
        "variant": row.name,
        "loop_inductance_H": row.inductance,
        "loop_inductance_mesh_error_H": row.inductance_error,
        "loop_resistance_ohm": row.resistance,
        "change_H": row.change,
        "change_fraction_1": row.change_fraction,
        "peak_field_above_dB": row.above_db,
        "peak_field_below_dB": row.below_db,
        f"{words.moment_key}_dB": row.moment_db,
    }


def _stackup_document(stackup: Stackup) -> Document:
    layers = []
    for layer in stackup.layers:
        entry: Document = {"name": layer.name, "thickness_m": layer.thickness}
        if isinstance(layer, DielectricLayer):
            entry["relative_permittivity_1"] = layer.relative_permittivity
        layers.append(entry)
    return {
        "name": stackup.name,
        "note": stackup.note,
        "copper_conductivity_S_per_m": stackup.copper.conductivity,
        "layers": layers,
    }


def _variant_document(result: VariantResult) -> Document:
    words = wording(result.variant.view)
    return {
        "name": result.variant.name,
        "note": result.variant.note,
        **({"length_m": result.variant.length} if words.per_metre else {}),
        "stackups": [stackup.name for stackup in result.variant.stackups],
        "regions": [_region_document(region) for region in result.variant.section.regions],
        "loops": [loop.name for loop in result.variant.section.loops],
        "frequencies_Hz": result.frequencies.tolist(),
        "segments": [_segment_document(segment, words) for segment in result.segments],
        "report_index": int(result.report_index),
        "loop_inductance_H": result.loop_inductance,
        "loop_resistance_ohm": result.loop_resistance,
        "loop_inductance_mesh_error_H": result.inductance_error,
        "loop_resistance_mesh_error_ohm": result.resistance_error,
        "dc_loop_inductance_bounds_H": list(result.dc_limits),
        "perfect_conductor_loop_inductance_bounds_H": list(result.perfect_limits),
        "current_shares": [{"region": each.region, "role": each.role, "share_1": each.share} for each in result.shares],
        "field_scans": [
            {"side": line.side, "distance_m": line.distance, "peak_A_per_m_per_A": line.peak} for line in result.lines
        ],
        words.moment_key_in_full: result.moment,
        "planes": [{"region": each.region, "net_partial_inductance_H_per_m": each.value} for each in result.planes],
        "ground_layers": [_benefit_document(benefit, words) for benefit in result.benefit],
        "mesh": {
            "triangles": int(result.statistics.triangles),
            "unknowns": int(result.statistics.unknowns),
            "seconds_s": result.statistics.seconds,
        },
        "refinement": [
            {"unknowns": step.unknowns, "dc_gap_1": step.dc_gap, "perfect_conductor_gap_1": step.perfect_gap}
            for step in result.refinement
        ],
        "switched_loops": None if result.couplings is None else couplings_document(result.couplings),
        "whole_loop": None if result.whole_loop is None else whole_loop_document(result.whole_loop),
        "warnings": _warning_documents(result.warnings),
    }


def _segment_document(segment: SegmentResult, words: Wording) -> Document:
    return {
        "name": segment.name,
        **({"length_m": segment.length} if words.per_metre else {}),
        words.key("resistance", "ohm"): segment.resistance.tolist(),
        words.key("inductance", "H"): segment.inductance.tolist(),
        words.key("dc_resistance", "ohm"): segment.dc_resistance.tolist(),
        words.name("dc_inductance"): _bracket_document(segment.dc_bracket, words),
        words.name("perfect_conductor_inductance"): _bracket_document(segment.perfect_bracket, words),
        "inductance_mesh_error_fraction_1": segment.inductance_error,
        "resistance_mesh_error_fraction_1": segment.resistance_error,
    }


def _bracket_document(bracket: InductanceBracket, words: Wording) -> Document:
    unit = words.unit("H")
    return {f"lower_{unit}": bracket.lower.tolist(), f"upper_{unit}": bracket.upper.tolist()}


def _benefit_document(benefit: LayerBenefit, words: Wording) -> Document:
    return {
        "layer": benefit.layer,
        f"inductance_before_{words.unit('H')}": benefit.inductance_before,
        f"inductance_after_{words.unit('H')}": benefit.inductance_after,
        "peak_field_above_dB": benefit.above_db,
        "peak_field_below_dB": benefit.below_db,
    }


def _region_document(region: Region) -> Document:
    left, bottom, right, top = region.outline.bounds
    return {
        "name": region.name,
        "role": region.role.value,
        "group": region.group,
        "shape": type(region.outline).__name__.lower(),
        "bounds_m": [left, bottom, right, top],
        "area_m2": region.outline.area,
        "material": region.material.name,
        "conductivity_S_per_m": region.material.conductivity,
    }


def _warning_documents(warnings: tuple[NumberedWarning, ...]) -> list[Document]:
    return [{"code": each.code, "text": each.text} for each in warnings]


def _finite(value: Any) -> Any:
    """The value with None in place of numbers that JSON cannot hold."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, list):
        return [_finite(each) for each in value]
    if isinstance(value, dict):
        return {key: _finite(each) for key, each in value.items()}
    return value
