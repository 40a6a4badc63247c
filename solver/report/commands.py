"""What the commands on one scenario do: solve, conclude, write, print."""

from __future__ import annotations

import sys
from collections.abc import Collection
from contextlib import nullcontext
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from geometries.errors import ScenarioError
from geometries.files.stackups import named_stackup, stackup_names
from geometries.layout.plan_task import PlanTask
from geometries.study.description import Description
from geometries.study.read_back import read_back
from geometries.study.scenario import Scenario, without_steps
from solver import figures
from solver.errors import ReportError, SolutionError, SolverError
from solver.measurement.results import MeasurementResult
from solver.notation.safe_text import terminal_text
from solver.plan.written import solve_written
from solver.report.documents import check_document, inspect_document, study_document
from solver.report.folder import prepare_variants, require_writable, write_report
from solver.report.measurement_part import MEASUREMENT_PART
from solver.report.part import drawn, ready_to_draw
from solver.report.plan_text import plan_document
from solver.report.progress import InterruptedRun, finished, tell_time_left
from solver.report.terminal import (
    print_check,
    print_details,
    print_document,
    print_layers,
    print_lines,
    print_part,
    print_plan,
    print_scenario,
    print_stackups,
    print_study,
)
from solver.runs.checkpoint import Journal, open_journal
from solver.runs.processes import shared_workforce
from solver.runs.workforce import Workforce
from solver.study.budgets import check_budgets, limits_of
from solver.study.figures_of_merit import needs_of
from solver.study.kept_variants import HEADER, kept_variants, solve_missing
from solver.study.results import StudyResult
from solver.study.study import attempt_variants, conclude, library_versions, solve_variants
from solver.study.verdict import objectives_of
from solver.variant.needs import EVERYTHING, Needs
from solver.variant.results import UnsolvedVariant, VariantResult
from solver.variant.schedule import attempt_task, study_tasks


def solve_with_progress(
    scenario: Scenario, *, needs: Needs = EVERYTHING, workers: Workforce | int | None
) -> tuple[list[VariantResult], bool]:
    """The variants of a scenario, and whether solving them was interrupted.

    Raises
    ------
    SolverError
        As soon as one variant fails.
    """
    solved = solve_variants(scenario, needs=needs, workers=workers)
    return finished(solved, lambda each: each.variant.name, what="variants", total=len(scenario.variants))


def _name_of(outcome: VariantResult | UnsolvedVariant) -> str:
    return outcome.name if isinstance(outcome, UnsolvedVariant) else outcome.variant.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """How a comparison is shown: as a document, with every table; its first page as a page, its drawings as PNG too."""

    as_json: bool = False
    details: bool = False
    hand_out: bool = False
    png: bool = False


def run_comparison(
    command: str,
    scenario: Scenario,
    output: Path | None,
    *,
    shown: Shown = Shown(),
    workers: Workforce | int | None,
    fresh: bool = False,
) -> None:
    """Solve, conclude, print, write; an interruption, or a variant that cannot be solved, leaves the others.

    With a folder, every variant is on the disk as soon as it is solved; those found there are not solved again, unless
    asked to start `fresh`.

    Raises
    ------
    InterruptedRun
        After the variants solved until then are shown and written.
    SolutionError
        After that too, if variants could not be solved.
    ScenarioError, SolverError, ReportError
        If the input, the solution or the output is at fault.
    """
    limits_of(scenario)
    objectives_of(scenario)
    if shown.png and output is None:
        raise ReportError("--png writes drawings: name a folder for them with --output")
    if shown.hand_out and output is None:
        raise ReportError("--hand-out writes a page: name a folder for it with --output")
    kept = None if output is None else prepare_variants(output, len(scenario.variants))
    with nullcontext() if kept is None else open_journal(kept, HEADER, fresh=fresh) as journal:
        conclude_on = partial(_conclude, command, scenario, output=output, shown=shown)
        try:
            most = len(study_tasks(scenario.variants, EVERYTHING))
            with shared_workforce(workers, (attempt_task, drawn), most) as workforce:
                conclude_on(_attempted(scenario, journal, workforce), interrupted=False, workers=workforce)
        except _Stopped as stop:  # and all that was under way is dropped
            conclude_on(stop.outcomes, interrupted=True, workers=1)


Outcomes = list[VariantResult | UnsolvedVariant]


class _Stopped(Exception):  # noqa: N818 - an interruption is no error
    """Solving was interrupted; what was solved until then."""

    def __init__(self, outcomes: Outcomes) -> None:
        super().__init__("interrupted")
        self.outcomes = outcomes


def _attempted(scenario: Scenario, journal: Journal | None, workers: Workforce) -> Outcomes:
    """All variants of a scenario, those in a journal among them.

    Raises
    ------
    _Stopped
        If it was interrupted.
    """
    found: tuple[VariantResult, ...] = ()
    if journal is None:
        missing = attempt_variants(scenario, workers=workers)
    else:
        found = kept_variants(scenario, journal)
        if found:
            say(f"resumed: {len(found)} of {len(scenario.variants)} variants lie in {journal.path}", as_json=True)
        missing = solve_missing(
            scenario, journal, found, not_kept=lambda failure: say(str(failure), as_json=True), workers=workers
        )
    if journal is not None:
        missing = ready_to_draw(missing)
    solved, interrupted = finished(missing, _name_of, what="variants", total=len(scenario.variants), found=len(found))
    outcomes = [*found, *solved]
    if interrupted:
        raise _Stopped(outcomes)
    return outcomes


def _conclude(
    command: str,
    scenario: Scenario,
    outcomes: Outcomes,
    *,
    output: Path | None,
    interrupted: bool,
    shown: Shown,
    workers: Workforce | int,
) -> None:
    """Print and write what was solved, then say what was not."""
    unsolved = [each for each in outcomes if isinstance(each, UnsolvedVariant)]
    solved = len(outcomes) - len(unsolved)
    if not solved and not unsolved:
        raise InterruptedRun("interrupted before the first variant was solved")
    if not solved:
        raise SolutionError("\n".join(each.reason for each in unsolved))
    study = conclude(scenario, outcomes, workers=workers)
    if shown.as_json:
        print_document(study_document(study, command))
    elif shown.details:
        print_details(study)
    else:
        print_study(study)
    _write(study, output, command, shown, workers)
    _say_where(output, as_json=shown.as_json)
    resume = "" if output is None else "; run the same command again to resume"
    if interrupted:
        kept = f"{solved} of {len(scenario.variants)} variants were solved{' and kept' if output else ''}"
        raise InterruptedRun(f"interrupted: {kept}{resume}")
    if unsolved:
        reasons = "".join(f"{each.reason}\n" for each in unsolved)
        raise SolutionError(f"{reasons}{len(unsolved)} of {len(scenario.variants)} variants could not be solved")


def _write(
    study: StudyResult, output: Path | None, command: str, shown: Shown = Shown(), workers: Workforce | int = 1
) -> None:
    if output is not None:
        write_report(study, output, command=command, hand_out=shown.hand_out, png=shown.png, workers=workers)


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


def run_inspection(scenario: Scenario, description: Description, figure: Path | None = None, *, as_json: bool) -> None:
    """Say what a scenario describes, key by key as it was understood, and draw its sections if asked."""
    limits_of(scenario)
    objectives_of(scenario)
    keys = read_back(description)
    if as_json:
        print_document(inspect_document(scenario, keys))
    else:
        print_scenario(scenario, keys)
    if figure is not None:
        figures.save_figure(figures.described_figure(scenario), figure)
        say(f"drawn in {figure}", as_json=as_json)


def run_plan(task: PlanTask, figure: Path | None, *, as_json: bool) -> None:
    """Solve a user-defined layout, draw it if asked, print its loops."""
    reading = solve_written(task, tell_time_left(task.layout.name))
    if figure is not None:
        figures.save_figure(figures.plan_figure(reading.reported), figure)
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
        figures.save_figure(figures.stack_figure(named_stackup(name)), figure)
        print_lines([f"drawn in {figure}"])
