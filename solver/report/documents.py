"""Documents for machines: every command's result as plain values, with the same figures by the same keys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from geometries.board.stackup import Stackup
from geometries.section.section import Region
from geometries.study.read_back import ReadKey
from geometries.study.scenario import Scenario, Segment, Variant, whole_section
from solver.errors import NumberedWarning
from solver.notation.labels import wording
from solver.report.budgets_part import ESTIMATE, check_details, check_sentence
from solver.report.figure_tables import figure_values
from solver.report.parts import shown_parts
from solver.report.plain import plain
from solver.report.variants_part import stackups
from solver.study.budgets import BudgetChecks
from solver.study.figures_of_merit import known_figures
from solver.study.results import StudyResult
from solver.study.warnings import unusual_warnings
from solver.variant.results import VariantResult

SCHEMA = "copperfield-result/2"
"""Name and version of the layout of every document."""

Document = dict[str, Any]


def headed(command: str, scenario: Scenario) -> Document:
    """What every document of a scenario begins with."""
    return {
        "schema": SCHEMA,
        "command": command,
        "conventions": "SI units; peak phasors per ampere of loop current; a field is named by what it holds, and what "
        "is not stated or not finite is null",
        "title": scenario.title,
        "setting": scenario.setting,
        "report_frequency": scenario.analysis.report_frequency,
    }


def study_document(study: StudyResult, command: str) -> Document:
    """All numbers of a study.

    Parameters
    ----------
    study : StudyResult
        Finished or interrupted.
    command : str
        That asked for it, for instance "compare".

    Returns
    -------
    dict
        Ready for :func:`json.dumps`; :func:`solver.report.schema.document_schema` describes it.
    """
    scenario = study.scenario
    return {
        **headed(command, scenario),
        "complete": study.complete,
        "decision": study.decision,
        "reference": study.reference,
        "inputs": _inputs(study),
        "variants": [_variant(study, result) for result in study.results],
        "not_solved": [{"name": each.name, "reason": each.reason} for each in study.unsolved],
        "details": {part.key: plain(part.details(study)) for part in shown_parts(study) if _has_details(part, study)},
        "warnings": warning_documents(study.warnings),
        "versions": dict(study.versions),
    }


def _has_details(part: Any, study: StudyResult) -> bool:
    return part.details(study) is not None


def _inputs(study: StudyResult) -> Document:
    scenario = study.scenario
    return {
        "analysis": plain(scenario.analysis),
        "variants_asked_for": [variant.name for variant in scenario.variants],
        "stackups": [_stackup(stackup) for stackup in stackups(study)],
        "scenario_text": scenario.text,
    }


def _stackup(stackup: Stackup) -> Document:
    return {
        "name": stackup.name,
        "note": stackup.note,
        "copper": plain(stackup.copper),
        "layers": plain(stackup.layers),
    }


def _variant(study: StudyResult, result: VariantResult) -> Document:
    name = result.variant.name
    return {
        "name": name,
        "note": result.variant.note,
        "basis": result.basis.value,
        "figures": figure_values(study.figures, study.readings[_place(study, name)]),
        "changes": {figure.key: plain(study.change(name, figure)) for figure in study.figures},
        "described": described(result.variant),
        "checks": {
            "section_inductance": plain(result.section_inductance),
            "dc_inductance_bounds": plain(result.dc_limits),
            "perfect_conductor_inductance_bounds": plain(result.perfect_limits),
        },
        "frequencies": plain(result.frequencies),
        "report_index": result.report_index,
        "loop_inductances": plain(result.loop_inductances),
        "loop_resistances": plain(result.loop_resistances),
        "segments": plain(result.segments),
        "current_shares": plain(result.shares),
        "field_scans": [
            {"side": line.side, "distance": line.distance, "peak": plain(line.peak)} for line in result.lines
        ],
        "planes": plain(result.planes),
        "ground_layers": plain(result.benefit),
        "mesh": plain(result.statistics),
        "refinement": plain(result.refinement),
        "warnings": warning_documents(result.warnings),
    }


def _place(study: StudyResult, name: str) -> int:
    return [result.variant.name for result in study.results].index(name)


def described(variant: Variant) -> Document:
    """A variant's view, length, stackups and regions, or its layout."""
    section = whole_section(variant)
    return {
        "name": variant.name,
        "view": variant.view.value,
        **({"length": variant.length} if section is not None and wording(variant.view).per_metre else {}),
        "stackups": [stackup.name for stackup in variant.stackups],
        "regions": [] if section is None else [_region(region) for region in section.regions],
        **({} if variant.laid_out is None else {"layout": plain(variant.laid_out)}),
        **({"stretches": [_stretch(each) for each in variant.stretches]} if variant.stretches else {}),
    }


def _stretch(segment: Segment) -> Document:
    return {
        "name": segment.name,
        "start": segment.start,
        "length": segment.length,
        "regions": [_region(region) for region in segment.section.regions],
    }


def _region(region: Region) -> Document:
    return {
        "name": region.name,
        "role": region.role.value,
        "group": region.group,
        "shape": type(region.outline).__name__.lower(),
        "bounds": list(region.outline.bounds),
        "area": region.outline.area,
        "material": region.material.name,
        "conductivity": region.material.conductivity,
    }


def warning_documents(warnings: Iterable[NumberedWarning]) -> list[Document]:
    """Codes and texts."""
    return [{"code": each.code, "text": each.text} for each in warnings]


def check_document(scenario: Scenario, checks: BudgetChecks, versions: Sequence[tuple[str, str]]) -> Document:
    """Every budgeted figure of every variant, and whether it is kept."""
    names = dict.fromkeys(check.variant for check in checks.checks)
    details: Mapping[str, Any] = plain(check_details(checks))
    return {
        **headed("check", scenario),
        "kept": checks.kept,
        "sentence": check_sentence(checks),
        "variants": [{"name": name, **_checked(checks, name), "budgets": details[name]} for name in names],
        "warnings": [{"code": "W-ESTIMATE", "text": ESTIMATE}],
        "versions": dict(versions),
    }


def _checked(checks: BudgetChecks, name: str) -> Document:
    own = checks.of(name)
    readings = {check.limit.figure.key: check.reading for check in own}
    return {"kept": all(check.kept for check in own), "figures": figure_values((c.limit.figure for c in own), readings)}


def inspect_document(scenario: Scenario, keys: Iterable[ReadKey]) -> Document:
    """What a scenario describes, without solving it."""
    return {
        **headed("inspect", scenario),
        "reference": scenario.reference,
        "frequencies": list(scenario.analysis.frequencies),
        "known_figures": [figure.key for figure in known_figures(scenario)],
        "inputs": [
            {
                "table": each.table,
                "key": each.key,
                "value": each.text,
                "default": each.default,
                **({"note": each.note} if each.note else {}),
            }
            for each in keys
        ],
        "variants": [described(variant) for variant in scenario.variants],
        "warnings": warning_documents(unusual_warnings(scenario)),
    }
