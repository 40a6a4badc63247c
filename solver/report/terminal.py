"""What the command line prints: findings, tables and warnings, or one document for machines."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import Any

from rich.console import Console

from geometries.board.capacitors import PACKAGES
from geometries.board.parts import CAPACITOR_CASES, VIAS
from geometries.board.stackup import Stackup
from geometries.quantities import MM
from geometries.section.section import CrossSection
from geometries.study.read_back import ReadKey
from geometries.study.scenario import Scenario, whole_section
from solver.notation import numbers
from solver.notation.labels import Wording, wording
from solver.notation.safe_text import terminal_text
from solver.plan.written import PlanReading
from solver.report.budgets_part import ESTIMATE, check_sentence, check_table
from solver.report.first_page import CAUTIONS, answer_table, decision_of, incomplete_words
from solver.report.html import numbered_warnings
from solver.report.layout_part import laid_out_rows
from solver.report.loop_part import brief_analysis_table
from solver.report.part import Part
from solver.report.parts import shown_parts
from solver.report.plan_text import plan_sentence, plan_table
from solver.report.sweep_report import sweep_table, warning_lines
from solver.report.tables import Table, fitted, terminal_table
from solver.report.tolerance_report import budget_table, tolerance_table
from solver.study.budgets import BudgetChecks
from solver.study.results import StudyResult
from solver.study.sweep import SweepResult
from solver.study.tolerance import ToleranceResult
from solver.study.warnings import unusual_warnings


def print_document(document: Mapping[str, Any]) -> None:
    """One document as JSON."""
    print_lines([json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)])


def print_lines(lines: Iterable[str]) -> None:
    """Lines as they are."""
    for line in lines:
        sys.stdout.write(f"{terminal_text(line)}\n")


def _say(console: Console, sentences: Iterable[str], style: str = "") -> None:
    for sentence in sentences:
        console.print(sentence, highlight=False, markup=False, style=style)


def _show(console: Console, tables: Iterable[Table]) -> None:
    for table in tables:
        for piece in fitted(table, console.width):
            console.print(terminal_table(piece))


def print_study(study: StudyResult) -> None:
    """The short answer: decision, one table, and the cautions."""
    console = Console()
    _say(console, filter(None, (decision_of(study), incomplete_words(study))))
    _show(console, [answer_table(study)])
    codes = [each.code for each in numbered_warnings(study)]
    more = f"{len(codes)} warnings ({', '.join(dict.fromkeys(codes))}); with --details all of them and every table."
    _say(console, [*CAUTIONS, more], style="dim")


def print_details(study: StudyResult) -> None:
    """Decision, then every part that has sentences or tables, then warnings."""
    console = Console()
    _say(console, [study.decision])
    for part in shown_parts(study):
        tables = _tables(part, study)
        if tables:
            _say(console, part.sentences(study))
            _show(console, tables)
    _say(console, _warnings(study), style="dim")


def _tables(part: Part, study: StudyResult) -> tuple[Table, ...]:
    """A part's own tables, or that of its figures where it has no other."""
    own = tuple(part.tables(study))
    if own or part.analysis is None:
        return own
    return (brief_analysis_table(study, part.analysis),)


def _warnings(study: StudyResult) -> Iterable[str]:
    for warning in numbered_warnings(study):
        concerned = f" ({'; '.join(warning.variants)})" if warning.variants else ""
        yield f"{warning.code}: {warning.text}{concerned}"


def print_part(part: Part, study: StudyResult) -> None:
    """One part of a study alone, and the warnings."""
    console = Console()
    _say(console, part.sentences(study))
    _show(console, part.tables(study))
    _say(console, _warnings(study), style="dim")


def print_sweep(result: SweepResult) -> None:
    """Finding, points and warnings."""
    console = Console()
    _say(console, [result.finding])
    _show(console, [sweep_table(result)] if result.rows else [])
    _say(console, warning_lines(result), style="dim")


def print_tolerance(result: ToleranceResult) -> None:
    """Finding, worst cases, and shares that keep the budgets."""
    console, budgets = Console(), budget_table(result)
    _say(console, [result.finding])
    _show(console, [tolerance_table(result), *([] if budgets is None else [budgets])])


def print_check(checks: BudgetChecks) -> None:
    """Which variants keep their budgets."""
    console = Console()
    _say(console, [check_sentence(checks)])
    _show(console, [check_table(checks)])
    _say(console, [ESTIMATE], style="dim")


def print_plan(reading: PlanReading) -> None:
    """The loops of a user-defined layout."""
    console = Console()
    _say(console, [plan_sentence(reading)])
    _show(console, [plan_table(reading)])


def print_scenario(scenario: Scenario, keys: Iterable[ReadKey]) -> None:
    """What a scenario describes, without solving it: every key as it was understood, and the sections."""
    analysis = scenario.analysis
    print_lines(
        [
            f"{scenario.title}\n{scenario.setting}\n",
            f"{len(analysis.frequencies)} frequencies from {numbers.frequency(analysis.frequencies[0])} to "
            f"{numbers.frequency(analysis.frequencies[-1])}, reported at "
            f"{numbers.frequency(analysis.report_frequency)}; reference “{scenario.reference}”",
            *_understood(keys),
            *_regions(scenario),
            *(f"{each.code}: {each.text}" for each in unusual_warnings(scenario)),
        ]
    )


def _understood(keys: Iterable[ReadKey]) -> Iterable[str]:
    """A line per table; what the file leaves out is marked."""
    for table, group in groupby(keys, key=lambda each: each.table):
        said = (f"{each.key} = {each.text}{_remark(each)}" for each in group)
        if table:
            yield f"[{table}] {', '.join(said)}"


def _remark(key: ReadKey) -> str:
    remarks = [*([key.note] if key.note else []), *(["default"] if key.default else [])]
    return f" ({'; '.join(remarks)})" if remarks else ""


def _regions(scenario: Scenario) -> Iterator[str]:
    for variant in scenario.variants:
        board = variant.stackups[0].name if variant.stackups else "user-defined"
        if variant.laid_out is not None:
            yield f"\n{variant.name} ({board}), copper seen from above"
            yield from (f"  {name:16} {where}" for name, where in laid_out_rows(variant.laid_out))
            continue
        words = wording(variant.view)
        extent = f"{variant.whole_length / MM:.6g} mm long" if words.per_metre else "axisymmetric about r = 0"
        yield f"\n{variant.name} ({board}), {extent}"
        if variant.stackups and words.per_metre:
            yield "  x from the middle of the loop to the right, y upwards from the underside of the top layer"
        yield from _places(whole_section(variant) or variant.own_section, words)
        if variant.stretches:
            yield f"  along the loop from its capacitor end: {', '.join(each.reach for each in variant.stretches)}"
        for segment in variant.segments:
            yield f"  {segment.name}, {segment.length / MM:.6g} mm long"
            yield from _places(segment.section, words)


def _places(section: CrossSection, words: Wording) -> Iterator[str]:
    for region in section.regions:
        left, bottom, right, top = (edge / MM for edge in region.outline.bounds)
        across = f"{words.position_sign} {left:9.4f} to {right:9.4f} mm"
        yield f"  {region.name:16} {region.role.value:9} {across}   {words.height_sign} {bottom:9.4f} to {top:9.4f} mm"


def print_stackups(stackups: Iterable[Stackup]) -> None:
    """Names and notes."""
    print_lines(f"{each.name:15} {each.note}" for each in stackups)


def print_layers(stackup: Stackup) -> None:
    """Every layer with its thickness and heights."""
    print_lines(
        f"  {layer.name:24} {layer.thickness / MM:8.4f} mm   from {bottom / MM:8.4f} to {top / MM:8.4f}"
        for layer, bottom, top in stackup.surfaces()
    )


def print_component_library() -> None:
    """Capacitor cases, vias and switch packages with their dimensions and source."""
    print_lines(["capacitor cases   EIA   IEC   length x width [mm]"])
    print_lines(
        f"                  {case.eia_code}  {case.iec_code}  {case.length / MM:.2f} x {case.width / MM:.2f}   "
        f"{case.source}"
        for case in CAPACITOR_CASES
    )
    print_lines(["vias (common practice)   drill / pad / plating [mm]"])
    print_lines(f"  {via.name:20}   {via.drill / MM:.2f} / {via.pad / MM:.2f} / {via.plating / MM:.3f}" for via in VIAS)
    print_lines(["switch packages   inductance [nH]"])
    print_lines(f"  {package.name:20}   {package.source}" for package in PACKAGES)
