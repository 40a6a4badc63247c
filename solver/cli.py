"""The command ``copperfield``: parse and call. Heavy libraries are imported when a command needs them."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from solver.runs.workforce import Workforce

EXIT_SOLVER = 1
EXIT_BUDGET = 1
EXIT_INPUT = 2
EXIT_OUTPUT = 3
EXIT_INTERRUPTED = 130

_COMPARING = ("solver.variant.schedule", "solver.report.part", "solver.figures.section")
"""What processes import that solve, conclude and draw."""

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help=(
        "Inductance, near field and the benefit of every ground layer of a converter's commutation loop, from a "
        "scenario file. Exit codes: 0 done, 1 not solved or a budget exceeded, 2 invalid input, 3 output not written, "
        "130 interrupted."
    ),
)

ScenarioFile = Annotated[Path, typer.Argument(help="Scenario file (TOML).", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON, for machines.")]
Workers = Annotated[int | None, typer.Option(help="Processes to use; all processors if not given.", min=1)]
Scheduler = Annotated[
    str, typer.Option(help="Address of a Dask scheduler whose workers solve instead, for example tcp://10.0.0.5:8786.")
]
Outside = Annotated[bool, typer.Option("--allow-outside", help="Let the scenario name files outside its own folder.")]
Output = Annotated[
    Path | None,
    typer.Option("--output", "-o", help="Folder for report, figures and data.", show_default=False),
]
PointFolder = Annotated[
    Path, typer.Option("--output", "-o", help="Folder for points, table and figures; resumed if it holds points.")
]
Details = Annotated[bool, typer.Option("--details", help="Print every table, not the summary alone.")]
HandOut = Annotated[bool, typer.Option("--hand-out", help="Write the report's first page as a page of its own too.")]
Png = Annotated[bool, typer.Option("--png", help="Write every drawing as PNG too, beside its SVG.")]
Fresh = Annotated[bool, typer.Option("--fresh", help="Restart instead of resuming.")]


@app.command()
def solve(
    scenario_file: ScenarioFile,
    variant: Annotated[str, typer.Option(help="Variant to solve; the reference if not given.")] = "",
    output: Output = None,
    as_json: AsJson = False,
    details: Details = False,
    hand_out: HandOut = False,
    png: Png = False,
    allow_outside: Outside = False,
) -> None:
    """Solve one variant of a scenario and print its numbers."""
    with _failures_as_messages():
        from geometries.files.reading import read_scenario
        from geometries.study.scenario import only_variant
        from solver.report.commands import Shown, run_comparison

        scenario = only_variant(read_scenario(scenario_file, allow_outside=allow_outside), variant)
        shown = Shown(as_json=as_json, details=details, hand_out=hand_out, png=png)
        run_comparison("solve", scenario, output, shown=shown, workers=1)


@app.command()
def compare(
    scenario_file: ScenarioFile,
    output: Output = None,
    as_json: AsJson = False,
    workers: Workers = None,
    scheduler: Scheduler = "",
    fresh: Fresh = False,
    details: Details = False,
    hand_out: HandOut = False,
    png: Png = False,
    allow_outside: Outside = False,
) -> None:
    """Solve all variants of a scenario and compare them with the reference; with a folder it can be resumed."""
    with _failures_as_messages(), _workforce(workers, scheduler, *_COMPARING) as workforce:
        from geometries.files.reading import read_scenario
        from solver.report.commands import Shown, run_comparison

        run_comparison(
            "compare",
            read_scenario(scenario_file, allow_outside=allow_outside),
            output,
            shown=Shown(as_json=as_json, details=details, hand_out=hand_out, png=png),
            workers=workforce,
            fresh=fresh,
        )


@app.command()
def sweep(
    scenario_file: ScenarioFile,
    output: PointFolder,
    workers: Workers = None,
    scheduler: Scheduler = "",
    as_json: AsJson = False,
    fresh: Fresh = False,
    png: Png = False,
    allow_outside: Outside = False,
) -> None:
    """Vary one key of a scenario, or two as a grid, as its [sweep] table says; can be interrupted and resumed."""
    with _failures_as_messages(), _workforce(workers, scheduler, "solver.study.sweep") as workforce:
        from geometries.files.sweep_reading import read_sweep
        from solver.report.point_commands import run_sweep_folder

        run_sweep_folder(
            read_sweep(scenario_file, allow_outside=allow_outside),
            output,
            workers=workforce,
            as_json=as_json,
            fresh=fresh,
            png=png,
        )


@app.command()
def explore(
    scenario_file: ScenarioFile,
    output: Annotated[Path, typer.Option("--output", "-o", help="The page, an HTML file; points lie beside it.")],
    workers: Workers = None,
    scheduler: Scheduler = "",
    fresh: Fresh = False,
    allow_outside: Outside = False,
) -> None:
    """Write a what-if page: keys of the scenario as sliders, every figure with its uncertainty as they are moved."""
    with _failures_as_messages(), _workforce(workers, scheduler, "solver.explore.points") as workforce:
        from geometries.files.explore_reading import read_exploration
        from solver.report.explore_commands import run_exploration

        run_exploration(
            read_exploration(scenario_file, allow_outside=allow_outside), output, workers=workforce, fresh=fresh
        )


@app.command()
def tolerance(
    scenario_file: ScenarioFile,
    output: PointFolder,
    variant: Annotated[str, typer.Option(help="Variant to look at; those of the table if not given.")] = "",
    workers: Workers = None,
    scheduler: Scheduler = "",
    as_json: AsJson = False,
    fresh: Fresh = False,
    png: Png = False,
    allow_outside: Outside = False,
) -> None:
    """Move the board within its tolerances, as the [tolerance] table says: worst cases, tornado, random samples."""
    with _failures_as_messages(), _workforce(workers, scheduler, "solver.study.tolerance") as workforce:
        from geometries.files.tolerance_reading import read_tolerance
        from solver.report.point_commands import run_tolerance_folder

        asked = read_tolerance(scenario_file, variant, allow_outside=allow_outside)
        run_tolerance_folder(asked, output, workers=workforce, as_json=as_json, fresh=fresh, png=png)


@app.command()
def measurement(
    scenario_file: ScenarioFile,
    ring: Annotated[str, typer.Option(help='Ringing frequency of the switch node, for example "205 MHz".')] = "",
    loaded_ring: Annotated[str, typer.Option(help="The same with a capacitor added across the switch.")] = "",
    added: Annotated[str, typer.Option(help='That capacitor, for example "900 pF".')] = "",
    impedance: Annotated[str, typer.Option(help="Touchstone file of the loop's impedance, beside the scenario.")] = "",
    spectrum: Annotated[str, typer.Option(help="CSV file of a measured spectrum, beside the scenario.")] = "",
    variant: Annotated[str, typer.Option(help="Variant that was measured.")] = "",
    output: Output = None,
    as_json: AsJson = False,
    allow_outside: Outside = False,
) -> None:
    """Compare measurements with the prediction: options override the scenario's [measurement] table."""
    with _failures_as_messages():
        from geometries.files.measurement_scenario import read_measurement_scenario
        from solver.report.commands import run_measurement

        measured = {
            "ring_frequency": ring,
            "loaded_ring_frequency": loaded_ring,
            "added_capacitance": added,
            "impedance": impedance,
            "spectrum": spectrum,
            "variant": variant,
        }
        run_measurement(
            read_measurement_scenario(scenario_file, measured, allow_outside=allow_outside), output, as_json=as_json
        )


@app.command()
def plan(
    plan_file: Annotated[Path, typer.Argument(help="Layout seen from above (TOML).", show_default=False)],
    figure: Annotated[Path | None, typer.Option(help="Draw the current density into this PNG or SVG file.")] = None,
    as_json: AsJson = False,
) -> None:
    """Solve a user-defined copper outline, seen from above, and draw where its current crowds."""
    with _failures_as_messages():
        from geometries.files.layout_reading import read_plan
        from solver.report.commands import run_plan

        run_plan(read_plan(plan_file), figure, as_json=as_json)


@app.command()
def board(
    place: Annotated[Path, typer.Argument(help="Folder or zip archive of fabrication files.", show_default=False)],
    found_only: Annotated[bool, typer.Option("--list", help="Show what was found; solve nothing.")] = False,
    converter: Annotated[str, typer.Option(help="Converter to solve, for example U1; all if not given.")] = "",
    capacitor: Annotated[
        str, typer.Option(help="Its capacitor, or several parted by commas; the nearest if not given.")
    ] = "",
    switch_at: Annotated[
        list[str] | None,
        typer.Option(
            help='Without names: a switch by points on its pads, "12 mm, 8 mm to 14 mm, 8 mm", supply side first; '
            "repeated from supply to ground. More pads of a pin after a semicolon."
        ),
    ] = None,
    capacitor_at: Annotated[str, typer.Option(help="Its capacitor likewise, the pad on the supply first.")] = "",
    layer: Annotated[str, typer.Option(help="Copper layer of these pads.")] = "L1",
    frequency: Annotated[str, typer.Option(help="Frequency at which the copper is solved.")] = "100 MHz",
    example: Annotated[bool, typer.Option("--example", help="Write the built-in board into the folder first.")] = False,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="Folder for the data and a picture of every solved loop.")
    ] = None,
    stackup: Annotated[str, typer.Option(help="A named board, if the files do not say how theirs is built.")] = "",
    cut: Annotated[
        str, typer.Option(help='Section of the largest loop: "across", or a line "x1, y1, x2, y2" with units.')
    ] = "",
    feedback: Annotated[str, typer.Option(help="Feedback net, if the pins' names do not tell which it is.")] = "",
    details: Annotated[
        Path | None, typer.Option(help="TOML file of what no fabrication file says: [parts.C1], [pickup].")
    ] = None,
    against: Annotated[Path | None, typer.Option(help="Another revision's files; its loops are set beside.")] = None,
    edits: Annotated[bool, typer.Option("--edits", help="Try changes of the largest loop, and rank them.")] = False,
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Read the files anew, though the output folder keeps their reading.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Read a board's fabrication files, find its converters, and solve their loops as they are drawn."""
    with _failures_as_messages():
        from geometries.drawn.points import read_loop_points
        from geometries.fabrication.example_board import write_example_board
        from geometries.files.details_reading import NO_DETAILS, read_details
        from geometries.files.stackups import named_stackup
        from geometries.quantities import Quantity, read_quantity
        from geometries.study.described_outline import described_parts
        from solver.board.wanted import Wanted
        from solver.report.board_commands import run_board

        if example:
            write_example_board(place)
        hertz = read_quantity(frequency, Quantity.FREQUENCY, "--frequency")
        points = read_loop_points(switch_at or (), capacitor_at, layer) if switch_at or capacitor_at else None
        known = named_stackup(stackup) if stackup else None
        given = read_details(details) if details else NO_DETAILS
        wanted = Wanted(
            frequency=hertz, converter=converter, capacitor=capacitor, points=points, known=described_parts(given.parts)
        )
        run_board(
            place,
            None if found_only else wanted,
            output,
            known,
            cut=cut,
            against=against,
            feedback=feedback,
            details=given,
            edits=edits,
            fresh=fresh,
            as_json=as_json,
        )


@app.command()
def check(
    scenario_file: ScenarioFile,
    variant: Annotated[list[str] | None, typer.Option(help="Variant to check; repeatable; all if not given.")] = None,
    as_json: AsJson = False,
    workers: Workers = None,
    allow_outside: Outside = False,
) -> None:
    """Solve what the scenario's [budgets] limit and compare; exit code 0 if all are kept, 1 if not."""
    with _failures_as_messages():
        from geometries.files.reading import read_scenario
        from solver.report.commands import run_check

        kept = run_check(
            read_scenario(scenario_file, allow_outside=allow_outside),
            variant or (),
            str(scenario_file),
            as_json=as_json,
            workers=workers,
        )
        if not kept:
            raise typer.Exit(EXIT_BUDGET)


@app.command()
def demo(
    output: Annotated[Path, typer.Option("--output", "-o", help="Folder for the report.")] = Path("copperfield-demo"),
    workers: Workers = None,
) -> None:
    """Run the built-in study of an irrigation controller (invented data) and write its report."""
    with _failures_as_messages(), _workforce(workers, "", *_COMPARING) as workforce:
        from geometries.files.reading import read_builtin_scenario
        from solver.report.commands import run_comparison

        scenario = read_builtin_scenario("irrigation-controller")
        run_comparison("compare", scenario, output, workers=workforce)


@app.command()
def inspect(
    scenario_file: ScenarioFile,
    figure: Annotated[Path | None, typer.Option(help="Draw the sections to scale into this PNG or SVG file.")] = None,
    as_json: AsJson = False,
    allow_outside: Outside = False,
) -> None:
    """Read a scenario without solving it and say how every key of it is understood; draw its sections."""
    with _failures_as_messages():
        from geometries.files.reading import build, read_description
        from solver.report.commands import run_inspection

        description = read_description(scenario_file, allow_outside=allow_outside)
        run_inspection(build(description, where=str(scenario_file)), description, figure, as_json=as_json)


@app.command()
def stackups(
    name: Annotated[str, typer.Argument(help="Stackup to show.", show_default=False)] = "",
    figure: Annotated[Path | None, typer.Option(help="Draw it to scale into this PNG or SVG file.")] = None,
) -> None:
    """List the named stackups, or show one of them."""
    with _failures_as_messages():
        from solver.report.commands import show_stackups

        show_stackups(name, figure)


@app.command()
def parts() -> None:
    """List capacitor cases, vias and switch packages with their dimensions and source."""
    from solver.report.terminal import print_component_library

    print_component_library()


@app.command()
def schema() -> None:
    """Print the JSON Schema of the documents that --json prints and that result files hold."""
    from solver.report.schema import document_schema
    from solver.report.terminal import print_document

    print_document(document_schema())


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
        from solver.report.gallery import run_gallery

        typer.echo(f"page: {run_gallery(names or (), output, workers=workers)}")


@app.command("reference-checks")
def reference_checks() -> None:
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
    raise typer.Exit(int(pytest.main([str(folder), "--import-mode=importlib", "-q", "-rA", "-p", "no:cacheprovider"])))


def main() -> None:
    """Entry point of the command."""
    from solver.errors import ReportError
    from solver.report.streams import guarded_streams

    try:
        with guarded_streams():
            app()
    except ReportError as error:
        _stop(str(error), EXIT_OUTPUT)
    except KeyboardInterrupt:  # before a command began
        _stop("interrupted", EXIT_INTERRUPTED)


@contextmanager
def _workforce(workers: int | None, scheduler: str, *modules: str) -> Iterator[Workforce | int | None]:
    """The workers of a cluster, if its scheduler is named; otherwise processes, started when they are needed.

    What these import is begun at once, while this process imports and reads.
    """
    from solver.runs.processes import begin_imports, open_executor

    if not scheduler:
        begin_imports(workers, *modules)
        yield workers
        return

    with open_executor(scheduler=scheduler) as workforce:
        yield workforce


@contextmanager
def _failures_as_messages() -> Iterator[None]:
    """Turn every foreseen failure into one message and an exit code."""
    from geometries.errors import GeometryError
    from solver.errors import ReportError, SolverError
    from solver.report.progress import InterruptedRun

    try:
        yield
    except GeometryError as error:
        _stop(str(error), EXIT_INPUT)
    except ReportError as error:
        _stop(str(error), EXIT_OUTPUT)
    except SolverError as error:
        _stop(str(error), EXIT_SOLVER)
    except InterruptedRun as error:
        _stop(str(error), EXIT_INTERRUPTED)
    except KeyboardInterrupt:
        _stop("interrupted", EXIT_INTERRUPTED)


def _stop(message: str, code: int) -> None:
    from solver.report.streams import print_failure

    print_failure(message)
    sys.exit(code)
