"""The command ``copperfield``: parse, call, print. Heavy libraries are imported when a command needs them."""

from __future__ import annotations

import json
import signal
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console
    from rich.progress import Progress

    from geometries.files.layout_reading import PlanTask
    from geometries.study.scenario import Scenario
    from geometries.study.sweep import Sweep
    from geometries.study.tolerance import Tolerance
    from solver.runs.checkpoint import Journal
    from solver.study.results import StudyResult
    from solver.study.sweep_rows import SweepFailure, SweepResult, SweepRow
    from solver.study.tolerance_rows import ToleranceResult
    from solver.variant.results import VariantResult

EXIT_SOLVER = 1
EXIT_BUDGET = 1
EXIT_INPUT = 2
EXIT_OUTPUT = 3
EXIT_INTERRUPTED = 130

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help=(
        "Inductance, near field and the worth of every ground layer of a converter's commutation loop, "
        "from a scenario file. Exit codes: 0 done, 1 not solved or a budget exceeded, 2 input to be mended, "
        "3 output not written, 130 interrupted."
    ),
)

ScenarioFile = Annotated[Path, typer.Argument(help="Scenario file (TOML).", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON, for machines.")]
Workers = Annotated[int | None, typer.Option(help="Processes to use; all processors if not given.", min=1)]
Output = Annotated[
    Path | None,
    typer.Option("--output", "-o", help="Folder for report, figures and data.", show_default=False),
]


@app.command()
def solve(
    scenario_file: ScenarioFile,
    variant: Annotated[str, typer.Option(help="Variant to solve; the reference if not given.")] = "",
    output: Output = None,
    as_json: AsJson = False,
) -> None:
    """Solve one variant of a scenario and print its numbers."""
    with _failures_as_messages():
        from geometries.files.reading import read_scenario
        from geometries.study.scenario import only_variant

        scenario = only_variant(read_scenario(scenario_file), variant)
        _study(scenario, output=output, as_json=as_json, workers=1)


@app.command()
def compare(
    scenario_file: ScenarioFile, output: Output = None, as_json: AsJson = False, workers: Workers = None
) -> None:
    """Solve all variants of a scenario and set them against the reference."""
    with _failures_as_messages():
        from geometries.files.reading import read_scenario

        _study(read_scenario(scenario_file), output=output, as_json=as_json, workers=workers)


@app.command()
def sweep(
    scenario_file: ScenarioFile,
    output: Annotated[
        Path, typer.Option("--output", "-o", help="Folder for points, table and figures; gone on with if it has some.")
    ],
    workers: Workers = None,
    as_json: AsJson = False,
    fresh: Annotated[bool, typer.Option("--fresh", help="Start anew instead of going on.")] = False,
) -> None:
    """Vary one key of a scenario, or two as a grid, as its [sweep] table says; can be interrupted and gone on with."""
    with _failures_as_messages():
        from geometries.files.sweep_reading import read_sweep

        _sweep(read_sweep(scenario_file), output, workers=workers, as_json=as_json, fresh=fresh)


@app.command()
def tolerance(
    scenario_file: ScenarioFile,
    output: Annotated[
        Path, typer.Option("--output", "-o", help="Folder for points, table and figures; gone on with if it has some.")
    ],
    variant: Annotated[str, typer.Option(help="Variant to look at; those of the table if not given.")] = "",
    workers: Workers = None,
    as_json: AsJson = False,
    fresh: Annotated[bool, typer.Option("--fresh", help="Start anew instead of going on.")] = False,
) -> None:
    """Move the board within its tolerances, as the [tolerance] table says: worst cases, tornado, boards drawn."""
    with _failures_as_messages():
        from geometries.files.tolerance_reading import read_tolerance

        _tolerance(read_tolerance(scenario_file, variant), output, workers=workers, as_json=as_json, fresh=fresh)


@app.command()
def measurement(
    scenario_file: ScenarioFile,
    ring: Annotated[str, typer.Option(help='Ring frequency of the switch node, for example "205 MHz".')] = "",
    loaded_ring: Annotated[str, typer.Option(help="The same with a capacitor added across the switch.")] = "",
    added: Annotated[str, typer.Option(help='That capacitor, for example "900 pF".')] = "",
    impedance: Annotated[str, typer.Option(help="Touchstone file of the loop's impedance, beside the scenario.")] = "",
    spectrum: Annotated[str, typer.Option(help="CSV file of a measured spectrum, beside the scenario.")] = "",
    variant: Annotated[str, typer.Option(help="Variant that was measured.")] = "",
    output: Output = None,
    as_json: AsJson = False,
) -> None:
    """Set measurements beside the prediction: options win over the scenario's [measurement] table."""
    with _failures_as_messages():
        from geometries.files.measurement_scenario import read_measurement_scenario

        measured = {
            "ring_frequency": ring,
            "loaded_ring_frequency": loaded_ring,
            "added_capacitance": added,
            "impedance": impedance,
            "spectrum": spectrum,
            "variant": variant,
        }
        _measurement(read_measurement_scenario(scenario_file, measured), output=output, as_json=as_json)


@app.command()
def plan(
    plan_file: Annotated[Path, typer.Argument(help="Layout seen from above (TOML).", show_default=False)],
    figure: Annotated[Path | None, typer.Option(help="Draw the current density into this PNG or SVG file.")] = None,
    as_json: AsJson = False,
) -> None:
    """Solve a copper outline that is written out, seen from above, and draw where its current crowds."""
    with _failures_as_messages():
        from geometries.files.layout_reading import read_plan

        _plan(read_plan(plan_file), figure=figure, as_json=as_json)


@app.command()
def check(
    scenario_file: ScenarioFile,
    variant: Annotated[list[str] | None, typer.Option(help="Variant to check; repeatable; all if not given.")] = None,
    as_json: AsJson = False,
    workers: Workers = None,
) -> None:
    """Solve the variants and set them against the scenario's [budgets]; exit code 0 if all are kept, 1 if not."""
    with _failures_as_messages():
        from geometries.files.reading import read_scenario
        from geometries.study.scenario import without_steps

        scenario = read_scenario(scenario_file)
        if not scenario.budgets:
            _stop(
                f"{scenario_file}: there is no [budgets] table; add one, for example [budgets] loop_inductance = "
                '"1.5 nH"',
                EXIT_INPUT,
            )
        _check(without_steps(scenario, variant or []), as_json=as_json, workers=workers)


@app.command()
def demo(
    output: Annotated[Path, typer.Option("--output", "-o", help="Folder for the report.")] = Path("copperfield-demo"),
    workers: Workers = None,
) -> None:
    """Run the built-in study of an irrigation controller (invented data) and write its report."""
    with _failures_as_messages():
        from geometries.files.reading import read_builtin_scenario

        scenario = read_builtin_scenario("irrigation-controller")
        _study(scenario, output=output, as_json=False, workers=workers)


@app.command()
def inspect(scenario_file: ScenarioFile, as_json: AsJson = False) -> None:
    """Read a scenario without solving it and say what it describes."""
    with _failures_as_messages():
        from geometries.files.reading import read_scenario

        scenario = read_scenario(scenario_file)
        if as_json:
            typer.echo(json.dumps(_outline_of(scenario), indent=2, ensure_ascii=False))
        else:
            _print_scenario(scenario)


@app.command()
def stackups(
    name: Annotated[str, typer.Argument(help="Construction to draw.", show_default=False)] = "",
    figure: Annotated[Path | None, typer.Option(help="Draw it to scale into this PNG or SVG file.")] = None,
) -> None:
    """List the named board constructions, or show one of them."""
    with _failures_as_messages():
        from geometries.files.stackups import named_stackup, stackup_names

        for each in [named_stackup(name)] if name else map(named_stackup, stackup_names()):
            typer.echo(f"{each.name:15} {each.note}")
            for layer, bottom, top in each.surfaces() if name else ():
                typer.echo(
                    f"  {layer.name:24} {layer.thickness * 1e3:8.4f} mm   from {bottom * 1e3:8.4f} to {top * 1e3:8.4f}"
                )
        if figure is not None and not name:
            _stop(
                "name the construction to draw, for example: copperfield stackups 4L-7628 --figure x.png",
                EXIT_INPUT,
            )
        if figure is not None:
            from solver.figures import save_figure, stack_figure

            save_figure(stack_figure(named_stackup(name)), figure)
            typer.echo(f"drawn in {figure}")


@app.command()
def parts() -> None:
    """List capacitor cases, vias and switch packages with their dimensions and source."""
    from geometries.board.capacitors import PACKAGES
    from geometries.board.parts import CAPACITOR_CASES, VIAS

    typer.echo("capacitor cases   EIA   IEC   length x width [mm]")
    for case in CAPACITOR_CASES:
        size = f"{case.length * 1e3:.2f} x {case.width * 1e3:.2f}"
        typer.echo(f"                  {case.eia_code}  {case.iec_code}  {size}   {case.source}")
    typer.echo("vias (common practice)   drill / pad / plating [mm]")
    for via in VIAS:
        typer.echo(f"  {via.name:20}   {via.drill * 1e3:.2f} / {via.pad * 1e3:.2f} / {via.plating * 1e3:.3f}")
    typer.echo("switch packages   inductance [nH]")
    for package in PACKAGES:
        typer.echo(f"  {package.name:20}   {package.source}")


@app.command()
def example(
    name: Annotated[str, typer.Argument(help="Built-in scenario.")] = "irrigation-controller",
) -> None:
    """Print a built-in scenario file, to start one's own from."""
    with _failures_as_messages():
        from geometries.files.reading import read_builtin_scenario

        typer.echo(read_builtin_scenario(name).text)


@app.command()
def gallery(
    names: Annotated[list[str] | None, typer.Argument(help="Studies to run; all if none.", show_default=False)] = None,
    output: Annotated[Path, typer.Option("--output", "-o", help="Folder for page and pictures.")] = Path("gallery"),
    workers: Workers = None,
) -> None:
    """Run the built-in studies of rules of the trade (invented data); write a page with their pictures and findings."""
    with _failures_as_messages():
        from geometries.files.reading import read_builtin_scenario
        from solver.gallery import prepare_folder, studies_named, write_gallery
        from solver.study.study import conclude

        wanted = studies_named(names or ())
        prepare_folder(output)
        solved = []
        for each in wanted:
            scenario = read_builtin_scenario(each.name)
            results, interrupted = _solve_with_progress(scenario, workers=workers)
            if interrupted:
                _stop("interrupted; nothing was written", EXIT_INTERRUPTED)
            solved.append((each, conclude(scenario, results)))
            typer.echo(each.find(solved[-1][1]).sentence)
        typer.echo(f"page: {write_gallery(solved, output)}")


@app.command("reference-checks")
def reference_checks(
    page: Annotated[
        Path | None, typer.Option(help="Write every value beside its reference into this file.", show_default=False)
    ] = None,
) -> None:
    """Run the checks against reference values and print each beside its source."""
    try:
        import pytest
    except ImportError:
        _stop("the reference checks need pytest; install it with: pip install 'copperfield[test]'", EXIT_INPUT)
    folder = Path(__file__).resolve().parent.parent / "validation"
    if not folder.is_dir():
        _stop(
            f"the reference checks are not installed here ({folder} is missing); run this from a source checkout",
            EXIT_INPUT,
        )
    options = ["--import-mode=importlib", "-q", "-rA", "-p", "no:cacheprovider"]
    wanted = [] if page is None else ["--reference-page", str(page)]
    raise typer.Exit(int(pytest.main([str(folder), *options, *wanted])))


def main() -> None:
    """Entry point of the command."""
    app()


def _study(scenario: Scenario, *, output: Path | None, as_json: bool, workers: int | None) -> None:
    """Solve, conclude, write, print; an interruption keeps what is solved."""
    if output is not None:
        from solver.report.files import require_writable

        require_writable(output)
    from solver.study.study import conclude

    solved, interrupted = _solve_with_progress(scenario, workers=workers)
    if not solved:
        _stop("interrupted before the first variant was solved; nothing was written", EXIT_INTERRUPTED)
    study = conclude(scenario, solved)
    if output is not None:
        from solver.report.files import write_report

        write_report(study, output)
    _show(study, as_json=as_json)
    if output is not None:
        typer.echo(f"report: {output / 'report.html'}", err=as_json)
    if interrupted:
        _stop(
            f"interrupted: {len(solved)} of {len(scenario.variants)} variants were solved and kept",
            EXIT_INTERRUPTED,
        )


def _measurement(scenario: Scenario, *, output: Path | None, as_json: bool) -> None:
    """Solve the measured variant, conclude, write, print."""
    from rich.console import Console

    from solver.errors import SolverError
    from solver.report.files import require_writable, write_report
    from solver.report.measurement_section import measurement_document, measurement_tables
    from solver.study.study import conclude

    if output is not None:
        require_writable(output)
    solved, interrupted = _solve_with_progress(scenario, workers=1)
    if interrupted:
        _stop("interrupted before the variant was solved; nothing was written", EXIT_INTERRUPTED)
    study = conclude(scenario, solved)
    if study.measurement is None:
        raise SolverError(f"variant {scenario.reference!r} was measured and is not among the solved ones")
    if output is not None:
        write_report(study, output)
        typer.echo(f"report: {output / 'report.html'}", err=as_json)
    if as_json:
        typer.echo(json.dumps(measurement_document(study.measurement), indent=2, ensure_ascii=False))
        return
    console = Console()
    console.print(study.measurement.sentence, highlight=False, markup=False)
    for table in measurement_tables(study.measurement):
        console.print(table)
    for warning in study.warnings:
        console.print(f"{warning.code}: {warning.text}", highlight=False, markup=False, style="dim")


def _check(scenario: Scenario, *, as_json: bool, workers: int | None) -> None:
    """Solve, answer, print; an interruption answers nothing."""
    from rich.console import Console

    from solver.report.check import ESTIMATE, check_document, check_sentence, check_table
    from solver.study.study import conclude

    solved, interrupted = _solve_with_progress(scenario, workers=workers)
    if interrupted:
        _stop("interrupted: not all variants were solved; nothing was checked", EXIT_INTERRUPTED)
    study = conclude(scenario, solved)
    if as_json:
        document = check_document(scenario.title, study.budgets, study.versions)
        typer.echo(json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        console = Console()
        console.print(check_sentence(study.budgets), highlight=False, markup=False)
        console.print(check_table(study.budgets))
        console.print(ESTIMATE, highlight=False, markup=False, style="dim")
    if not all(answer.kept for answer in study.budgets):
        raise typer.Exit(EXIT_BUDGET)


def _plan(task: PlanTask, *, figure: Path | None, as_json: bool) -> None:
    from rich.console import Console

    from solver.figures import plan_figure, save_figure
    from solver.plan.written import solve_written
    from solver.report.plan_text import plan_document, plan_sentence, plan_table

    reading = solve_written(task)
    if figure is not None:
        save_figure(plan_figure(reading.reported), figure)
    if as_json:
        typer.echo(json.dumps(plan_document(reading), indent=2, ensure_ascii=False, allow_nan=False))
        return
    console = Console()
    console.print(plan_sentence(reading), markup=False, highlight=False)
    console.print(plan_table(reading))
    if figure is not None:
        typer.echo(f"drawn in {figure}")


def _progress() -> Progress:
    """A bar with counts, time passed and time left, on the error stream."""
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TimeRemainingColumn(),
    )
    return Progress(*columns, console=Console(stderr=True), transient=True)


def _solve_with_progress(scenario: Scenario, *, workers: int | None) -> tuple[list[VariantResult], bool]:
    from solver.study.study import solve_variants

    solved: list[VariantResult] = []
    with _progress() as progress, _noted_interruption() as noted:
        task = progress.add_task("solving variants", total=len(scenario.variants))
        try:
            for result in solve_variants(scenario, workers=workers):
                solved.append(result)
                progress.update(task, advance=1, description=f"solved {result.variant.name}")
                if noted:
                    return solved, True
        except KeyboardInterrupt:
            return solved, True
    return solved, False


@contextmanager
def _noted_interruption() -> Iterator[list[int]]:
    """Note Ctrl-C besides raising it: raised while an object is being cleaned up, Python drops it."""
    noted: list[int] = []

    def note(number: int, frame: object) -> None:
        noted.append(number)
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield noted
    finally:
        signal.signal(signal.SIGINT, before)


def _show(study: StudyResult, *, as_json: bool) -> None:
    if as_json:
        from solver.report.files import result_document

        typer.echo(json.dumps(result_document(study), indent=2, ensure_ascii=False))
        return
    from rich.console import Console

    from solver.report.comparison_table import comparison_table
    from solver.report.emission_section import emission_table
    from solver.report.html import numbered_warnings
    from solver.report.summary_section import summary_table
    from solver.report.switching_section import switching_table

    console = Console()
    if study.summary is not None:
        console.print(study.summary.sentence, highlight=False, markup=False)
        console.print(summary_table(study.summary))
    console.print(study.decision, highlight=False, markup=False)
    console.print(comparison_table(study))
    _show_axisymmetric_views(study, console)
    if study.switching is not None:
        console.print(study.switching.sentence, highlight=False, markup=False)
        console.print(switching_table(study.switching))
    if study.emission is not None:
        console.print(study.emission.sentence, highlight=False, markup=False)
        console.print(emission_table(study.emission))
    for warning in numbered_warnings(study):
        concerned = f" ({'; '.join(warning.variants)})" if warning.variants else ""
        console.print(f"{warning.code}: {warning.text}{concerned}", highlight=False, markup=False, style="dim")


def _show_axisymmetric_views(study: StudyResult, console: Console) -> None:
    from solver.report.axisymmetric_section import axisymmetric_tables

    for table in axisymmetric_tables(study):
        console.print(table)
    if study.axisymmetric_views is None or not study.axisymmetric_views.rows:
        return
    for sentence in study.axisymmetric_views.sentences:
        console.print(sentence, highlight=False, markup=False)
    for name, reason in study.axisymmetric_views.without:
        console.print(f"“{name}” has no round view: {reason}", highlight=False, markup=False)


def _sweep(sweep: Sweep, output: Path, *, workers: int | None, as_json: bool, fresh: bool) -> None:
    """Solve the missing points, conclude, write, print; an interruption keeps what is solved."""
    from solver.report.point_folder import prepare_folder, remove_files
    from solver.report.sweep_files import PAGE_FILE, RESULT_FILES, write_sweep
    from solver.runs.checkpoint import open_journal
    from solver.study.sweep import conclude_sweep, journal_header, solved_rows

    with open_journal(prepare_folder(output, "sweep"), journal_header(sweep), fresh=fresh) as journal:
        if fresh:
            remove_files(output, RESULT_FILES)
        found = solved_rows(journal)
        if found:
            typer.echo(f"{len(found)} of {sweep.size} points were found in {journal.path}", err=True)
        outcomes, interrupted = _solve_points(sweep, journal, len(found), workers=workers)
        if interrupted:
            kept = f"{len(solved_rows(journal))} of {sweep.size} points are kept in {journal.path}"
            _stop(f"interrupted: {kept}; the same command goes on from there", EXIT_INTERRUPTED)
        result = conclude_sweep(sweep, [*found, *outcomes])
        write_sweep(result, output)
    _show_sweep(result, as_json=as_json)
    typer.echo(f"page: {output / PAGE_FILE}", err=as_json)
    if result.failures:
        for each in result.failures:
            typer.echo(f"point {each.index}: {each.message}", err=True)
        _stop(f"{len(result.failures)} of {sweep.size} points could not be solved", EXIT_SOLVER)


def _solve_points(
    sweep: Sweep, journal: Journal, found: int, *, workers: int | None
) -> tuple[list[SweepRow | SweepFailure], bool]:
    from solver.study.sweep import solve_sweep

    outcomes: list[SweepRow | SweepFailure] = []
    with _progress() as progress, _noted_interruption() as noted:
        task = progress.add_task("solving points", total=sweep.size, completed=found)
        try:
            for outcome in solve_sweep(sweep, journal, workers=workers):
                outcomes.append(outcome)
                progress.update(task, advance=1, description=f"solved point {outcome.index}")
                if noted:
                    return outcomes, True
        except KeyboardInterrupt:
            return outcomes, True
    return outcomes, False


def _show_sweep(result: SweepResult, *, as_json: bool) -> None:
    from solver.report.sweep_document import sweep_document, sweep_table, warning_lines

    if as_json:
        typer.echo(json.dumps(sweep_document(result), indent=2, ensure_ascii=False))
        return
    from rich.console import Console

    console = Console()
    console.print(result.finding, highlight=False, markup=False)
    if result.rows:
        console.print(sweep_table(result))
    for line in warning_lines(result):
        console.print(line, highlight=False, markup=False, style="dim")


def _tolerance(tolerance: Tolerance, output: Path, *, workers: int | None, as_json: bool, fresh: bool) -> None:
    """Solve the missing points, conclude, write, print; an interruption keeps what is solved."""
    from solver.report.point_folder import prepare_folder, remove_files
    from solver.report.tolerance_files import PAGE_FILE, RESULT_FILES, write_tolerance
    from solver.runs.checkpoint import open_journal
    from solver.study.tolerance import conclude_tolerance, journal_header, solved_points

    with open_journal(prepare_folder(output, "tolerance study"), journal_header(tolerance), fresh=fresh) as journal:
        if fresh:
            remove_files(output, RESULT_FILES)
        found = solved_points(journal)
        if found:
            typer.echo(f"{len(found)} points were found in {journal.path}", err=True)
        if _solve_boards(tolerance, journal, len(found), workers=workers):
            kept = f"{len(solved_points(journal))} points are kept in {journal.path}"
            _stop(f"interrupted: {kept}; the same command goes on from there", EXIT_INTERRUPTED)
        result = conclude_tolerance(tolerance, solved_points(journal))
        write_tolerance(result, output)
    _show_tolerance(result, as_json=as_json)
    typer.echo(f"page: {output / PAGE_FILE}", err=as_json)


def _solve_boards(tolerance: Tolerance, journal: Journal, found: int, *, workers: int | None) -> bool:
    """Solve the points that are missing; whether it was interrupted."""
    from solver.study.tolerance import most_points, solve_tolerance

    with _progress() as progress, _noted_interruption() as noted:
        task = progress.add_task("solving points", total=most_points(tolerance), completed=found)
        try:
            for point in solve_tolerance(tolerance, journal, workers=workers):
                progress.update(task, advance=1, description=f"solved a point of {point.variant}")
                if noted:
                    return True
        except KeyboardInterrupt:
            return True
    return False


def _show_tolerance(result: ToleranceResult, *, as_json: bool) -> None:
    from solver.report.tolerance_document import tolerance_document, tolerance_table

    if as_json:
        typer.echo(json.dumps(tolerance_document(result), indent=2, ensure_ascii=False))
        return
    from rich.console import Console

    console = Console()
    console.print(result.finding, highlight=False, markup=False)
    console.print(tolerance_table(result))


def _outline_of(scenario: Scenario) -> dict[str, Any]:
    from geometries.study.scenario import whole_section
    from solver.notation.labels import wording

    return {
        "title": scenario.title,
        "reference": scenario.reference,
        "report_frequency_Hz": scenario.analysis.report_frequency,
        "frequencies_Hz": list(scenario.analysis.frequencies),
        "variants": [
            {
                "name": variant.name,
                "view": variant.view.value,
                **({"length_m": variant.length} if wording(variant.view).per_metre else {}),
                "stackups": [stackup.name for stackup in variant.stackups],
                "regions": [
                    {
                        "name": region.name,
                        "role": region.role.value,
                        "group": region.group,
                        "bounds_m": region.outline.bounds,
                    }
                    for region in whole_section(variant).regions
                ],
            }
            for variant in scenario.variants
        ],
    }


def _print_scenario(scenario: Scenario) -> None:
    from geometries.study.scenario import whole_section
    from solver.notation.labels import wording

    analysis = scenario.analysis
    typer.echo(f"{scenario.title}\n{scenario.setting}\n")
    typer.echo(
        f"frequencies: {len(analysis.frequencies)}, from {analysis.frequencies[0]:g} to "
        f"{analysis.frequencies[-1]:g} Hz, report at {analysis.report_frequency:g} Hz, reference “{scenario.reference}”"
    )
    for variant in scenario.variants:
        board = variant.stackups[0].name if variant.stackups else "written out"
        words = wording(variant.view)
        extent = f"{variant.length * 1e3:g} mm long" if words.per_metre else "turned about the axis r = 0"
        typer.echo(f"\n{variant.name} ({board}), {extent}")
        for region in whole_section(variant).regions:
            left, bottom, right, top = (1e3 * edge for edge in region.outline.bounds)
            across, upright = (
                f"{words.position_sign} {left:9.4f} to {right:9.4f} mm",
                f"{words.height_sign} {bottom:9.4f} to {top:9.4f} mm",
            )
            typer.echo(f"  {region.name:16} {region.role.value:9} {across}   {upright}")


@contextmanager
def _failures_as_messages() -> Iterator[None]:
    """Turn every foreseen failure into one message and an exit code."""
    from geometries.errors import GeometryError
    from solver.errors import ReportError, SolverError

    try:
        yield
    except GeometryError as error:
        _stop(str(error), EXIT_INPUT)
    except ReportError as error:
        _stop(str(error), EXIT_OUTPUT)
    except SolverError as error:
        _stop(str(error), EXIT_SOLVER)
    except KeyboardInterrupt:
        _stop("interrupted", EXIT_INTERRUPTED)


def _stop(message: str, code: int) -> None:
    print(message, file=sys.stderr)
    raise typer.Exit(code)
