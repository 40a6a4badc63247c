"""What the commands on one scenario do: solve, conclude, write, print."""

from __future__ import annotations

import sys
from collections.abc import Collection
from pathlib import Path

from geometries.errors import ScenarioError
from geometries.files.layout_reading import PlanTask
from geometries.files.stackups import named_stackup, stackup_names
from geometries.study.scenario import Scenario, without_steps
from solver.errors import SolverError
from solver.figures import plan_figure, save_figure, stack_figure
from solver.measurement.results import MeasurementResult
from solver.notation.safe_text import terminal_text
from solver.plan.written import solve_written
from solver.report.documents import check_document, inspect_document, study_document
from solver.report.folder import require_writable, write_report
from solver.report.measurement_part import MEASUREMENT_PART
from solver.report.plan_text import plan_document
from solver.report.progress import InterruptedRun, finished
from solver.report.terminal import (
    print_check,
    print_document,
    print_layers,
    print_lines,
    print_part,
    print_plan,
    print_scenario,
    print_stackups,
    print_study,
)
from solver.runs.processes import Workforce
from solver.study.budgets import check_budgets, limits_of
from solver.study.figures_of_merit import needs_of
from solver.study.results import StudyResult
from solver.study.study import conclude, library_versions, solve_variants
from solver.variant.needs import EVERYTHING, Needs
from solver.variant.results import VariantResult


def solve_with_progress(
    scenario: Scenario, *, needs: Needs = EVERYTHING, workers: Workforce | int | None
) -> tuple[list[VariantResult], bool]:
    """The variants of a scenario, and whether solving them was interrupted; the one place that takes the workers."""
    solved = solve_variants(scenario, needs=needs, workers=workers)
    return finished(solved, lambda each: each.variant.name, what="variants", total=len(scenario.variants))


def run_comparison(
    command: str, scenario: Scenario, output: Path | None, *, as_json: bool, workers: Workforce | int | None
) -> None:
    """Solve, conclude, write, print; an interruption keeps what is solved.

    Raises
    ------
    InterruptedRun
        After the variants solved until then are shown and written.
    ScenarioError, SolverError, ReportError
        If the input, the solution or the output is at fault.
    """
    limits_of(scenario)
    if output is not None:
        require_writable(output)
    solved, interrupted = solve_with_progress(scenario, workers=workers)
    if not solved:
        raise InterruptedRun("interrupted before the first variant was solved; nothing was written")
    study = conclude(scenario, solved)
    if as_json:
        print_document(study_document(study, command))
    else:
        print_study(study)
    _write(study, output, command)
    _say_where(output, as_json=as_json)
    if interrupted:
        kept = f"{len(solved)} of {len(scenario.variants)} variants were solved and kept"
        raise InterruptedRun(f"interrupted: {kept}")


def _write(study: StudyResult, output: Path | None, command: str) -> None:
    if output is not None:
        write_report(study, output, command=command)


def _say_where(output: Path | None, *, as_json: bool) -> None:
    if output is not None:
        say(f"report: {output / 'report.html'}", as_json=as_json)


def say(line: str, *, as_json: bool) -> None:
    """A remark beside the result: on the error stream where the result is a document."""
    if as_json:
        sys.stderr.write(terminal_text(line) + "\n")
    else:
        print_lines([line])


def run_measurement(scenario: Scenario, output: Path | None, *, as_json: bool) -> None:
    """Solve the measured variant, conclude, write, print.

    Raises
    ------
    InterruptedRun
        Nothing is written then.
    ScenarioError, SolverError, ReportError
        As for :func:`run_comparison`.
    """
    if output is not None:
        require_writable(output)
    solved, interrupted = solve_with_progress(scenario, workers=1)
    if interrupted:
        raise InterruptedRun("interrupted before the variant was solved; nothing was written")
    study = conclude(scenario, solved)
    if study.outcome(MeasurementResult) is None:
        raise SolverError(f"variant {scenario.reference!r} was measured and is not among the solved ones")
    if as_json:
        print_document(study_document(study, "measurement"))
    else:
        print_part(MEASUREMENT_PART, study)
    _write(study, output, "measurement")
    _say_where(output, as_json=as_json)


def run_check(
    scenario: Scenario, names: Collection[str], where: str, *, as_json: bool, workers: Workforce | int | None
) -> bool:
    """Solve what the budgets limit, and nothing else; whether every budget is kept.

    Raises
    ------
    ScenarioError
        If there is no budget, or one cannot be read.
    InterruptedRun
        An interrupted check decides nothing.
    """
    if not scenario.budgets:
        raise ScenarioError(
            f'{where}: there is no [budgets] table; add one, for example [budgets] loop_inductance = "1.5 nH"'
        )
    asked = without_steps(scenario, names)
    needs = needs_of((limit.figure for limit in limits_of(asked)), asked)
    solved, interrupted = solve_with_progress(asked, needs=needs, workers=workers)
    if interrupted:
        raise InterruptedRun("interrupted: not all variants were solved; nothing was checked")
    order = [variant.name for variant in asked.variants]
    checks = check_budgets(asked, sorted(solved, key=lambda each: order.index(each.variant.name)))
    if as_json:
        print_document(check_document(asked, checks, library_versions()))
    else:
        print_check(checks)
    return checks.kept


def run_inspection(scenario: Scenario, *, as_json: bool) -> None:
    """Say what a scenario describes."""
    limits_of(scenario)
    if as_json:
        print_document(inspect_document(scenario))
    else:
        print_scenario(scenario)


def run_plan(task: PlanTask, figure: Path | None, *, as_json: bool) -> None:
    """Solve a user-defined layout, draw it if asked, print its loops."""
    reading = solve_written(task)
    if figure is not None:
        save_figure(plan_figure(reading.reported), figure)
    if as_json:
        print_document(plan_document(reading))
    else:
        print_plan(reading)
    if figure is not None:
        say(f"drawn in {figure}", as_json=as_json)


def show_stackups(name: str, figure: Path | None) -> None:
    """List the named stackups, or show one of them and draw it if asked.

    Raises
    ------
    ScenarioError
        If there is no such stackup, or a drawing is asked for without a name.
    """
    if figure is not None and not name:
        raise ScenarioError("name the stackup to draw, for example: copperfield stackups 4L-7628 --figure x.png")
    print_stackups([named_stackup(name)] if name else map(named_stackup, stackup_names()))
    if name:
        print_layers(named_stackup(name))
    if figure is not None:
        save_figure(stack_figure(named_stackup(name)), figure)
        print_lines([f"drawn in {figure}"])
