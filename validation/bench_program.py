"""The program's own times: one variant in this process, the built-in study and a sweep as whole commands; for bench.py.

Commands run in processes of their own. Their processor time is that of the command and of what it waited for, user and
system; workers are copies of a process that it does not wait for, and so the study is timed with one.
Two commands that are compared run in turn, and the ratio is taken pair by pair.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import median

from geometries.files.reading import read_builtin_scenario, read_scenario
from geometries.study.scenario import only_variant
from solver import solve_section

ROUNDS = 5
TREE = Path(__file__).resolve().parent.parent
BEFORE = "6dddda9"
"""Commit whose time for the built-in study ours is divided by."""

SWEEP = """
title = "Width of the plane under a loop (invented)"
stackup = "4L-7628"
loop = { kind = "same-layer", width = "3 mm", return_width = "3 mm", gap = "1 mm", length = "8 mm" }
analysis = { frequencies = ["1 MHz", "100 MHz"], report_frequency = "100 MHz" }
[[variant]]
name = "over a plane"
planes.L2 = { width = "20 mm", tie = "capacitor end" }
[sweep]
vary = [{ key = "KEY", from = "FROM", to = "TO", steps = 40 }]
"""
SWEPT = (("loop.width", "2 mm", "5 mm"), ("planes.L2.width", "10 mm", "40 mm"))
"""Keys of the sweeps: one whose points share nothing, and one whose points share the copper's plan."""


def spread(values: Sequence[float], form: str = ".2f") -> str:
    """The median with the smallest and the largest value."""
    return f"{median(values):{form}} ({min(values):{form}} to {max(values):{form}})"


def program_lines() -> Iterator[str]:
    """Lines of the tables, row by row as they are measured."""
    yield from _variant_lines()
    yield "\n### Whole commands\n\nMedian of the rounds, with the least and the largest.\n"
    yield "| ratio | ours s | the other s | ratio |"
    yield "|---|---:|---:|---:|"
    yield _study_line()
    yield from map(_sweep_line, SWEPT)


def _variant_lines() -> Iterator[str]:
    """From the text of a scenario to inductance, estimated error and both brackets of one variant's section."""
    text = read_builtin_scenario("irrigation-controller").text
    yield "\n### One variant, from file to number\n"
    yield "Read, meshed, bracketed, solved at the report frequency to 0.1 %, in this process, after one round.\n"
    yield "| variant | unknowns | wall ms | processor ms | DC gap | perfect gap | estimated error |"
    yield "|---|---:|---:|---:|---:|---:|---:|"
    for variant in read_scenario(text).variants:
        clock: list[tuple[float, float]] = []
        for _ in range(ROUNDS + 1):
            wall, processor = time.perf_counter(), time.process_time()
            scenario = only_variant(read_scenario(text), variant.name)
            section, frequency = scenario.variants[0].section, scenario.analysis.report_frequency
            solved = solve_section(section, frequency, tolerance=1e-3)
            clock.append((1e3 * (time.perf_counter() - wall), 1e3 * (time.process_time() - processor)))
        walls, processors = zip(*clock[1:], strict=True)
        gaps = [f"{each.relative_gap:.1e}" for each in (solved.dc_bracket, solved.perfect_bracket)]
        cells = [f"{solved.field.system.basis.N}", spread(walls, ".0f"), spread(processors, ".0f"), *gaps]
        yield f"| {variant.name} | {' | '.join(cells)} | {solved.error.inductance:.1e} |"


def _study_line() -> str:
    """Processor time of the built-in study with its report, over that of an earlier commit."""
    with tempfile.TemporaryDirectory() as place:
        before = Path(place) / "before"
        _git("worktree", "add", "--detach", str(before), BEFORE)
        try:
            pairs = [[_study(tree, Path(place)) for tree in (TREE, before)] for _ in range(ROUNDS)]
        finally:
            _git("worktree", "remove", "--force", str(before))
    return _row(f"built-in study with report ÷ {BEFORE}, processor", pairs)


def _study(tree: Path, place: Path) -> float:
    output = Path(tempfile.mkdtemp(dir=place)) / "report"
    return _run(tree, "demo", "--workers", "1", "-o", str(output))[1]


def _sweep_line(swept: tuple[str, str, str]) -> str:
    """Wall time of a sweep of 40 points with two workers, over that with one."""
    with tempfile.TemporaryDirectory() as place:
        scenario = Path(place) / "sweep.toml"
        key, low, high = swept
        scenario.write_text(SWEEP.replace("KEY", key).replace("FROM", low).replace("TO", high), encoding="utf-8")
        pairs = [[_swept(scenario, workers) for workers in (1, 2)] for _ in range(ROUNDS)]
    return _row(f"sweep of {key} over 40 points, one worker ÷ two, wall", pairs)


def _swept(scenario: Path, workers: int) -> float:
    output = tempfile.mkdtemp(dir=scenario.parent)
    return _run(TREE, "sweep", str(scenario), "--workers", str(workers), "-o", output)[0]


def _row(name: str, pairs: Sequence[Sequence[float]]) -> str:
    columns = [spread(column, ".1f") for column in zip(*pairs, strict=True)]
    return f"| {name} | {' | '.join(columns)} | {spread([one / other for one, other in pairs])} |"


def _run(tree: Path, *words: str) -> tuple[float, float]:
    """Wall and processor time of a command of one source tree [s]."""
    threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")
    environment = {**os.environ, **threads, "MPLBACKEND": "Agg", "PYTHONPATH": str(tree)}
    started, used = time.perf_counter(), _used_by_children()
    subprocess.run(
        [sys.executable, "-c", "from solver.cli import main; main()", *words],
        cwd=tree,
        env=environment,
        check=True,
        capture_output=True,
    )
    return time.perf_counter() - started, _used_by_children() - used


def _used_by_children() -> float:
    usage = resource.getrusage(resource.RUSAGE_CHILDREN)
    return usage.ru_utime + usage.ru_stime


def _git(*words: str) -> None:
    subprocess.run(["git", "-C", str(TREE), *words], check=True, capture_output=True)
