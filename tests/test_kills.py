"""A run that is ended at a random moment loses no finished point, repeats none, and leaves nothing behind.

The moments are drawn from the same seed each time; COPPERFIELD_KILLS gives their number per command and signal (10 are
30 per command, 90 in all), and without it each command meets one signal once.
"""

import json
import os
import random
import select
import signal
import subprocess
import sys
import time

import pytest

from solver.cli import EXIT_INTERRUPTED

MOMENTS = int(os.environ.get("COPPERFIELD_KILLS", "0"))

TEXT = """
title = "ended at random"
length = "8 mm"
[[region]]
name = "go"
role = "go"
shape = "rectangle"
left = "0 mm"
right = "1 mm"
bottom = "0 mm"
top = "1 mm"
[[region]]
name = "return"
role = "return"
shape = "rectangle"
left = "3 mm"
right = "4 mm"
bottom = "0 mm"
top = "1 mm"
[analysis]
frequencies = ["10 kHz"]
report_frequency = "10 kHz"
heights_above = ["3 mm"]
heights_below = ["3 mm"]
tolerance = "10 %"
[[variant]]
name = "short"
[[variant]]
name = "long"
length = "9 mm"
[sweep]
variant = "short"
vary = [{ key = "region.go.left", from = "0 mm", to = "0.5 mm", steps = 4 }]
[tolerance]
samples = 100
variants = ["short"]
keys = { "region.go.left" = "0.05 mm" }
"""

COMMANDS = {
    "sweep": ["sweep", "--workers", "2"],
    "tolerance": ["tolerance", "--workers", "1"],
    "compare": ["compare", "--workers", "2"],
}
SIGNALS = {"SIGINT": signal.SIGINT, "SIGTERM": signal.SIGTERM, "SIGKILL": signal.SIGKILL}
ONCE = [("sweep", "SIGTERM"), ("tolerance", "SIGKILL"), ("compare", "SIGKILL")]


def cases():
    """Commands, signals, and the moments as parts of the time that the command takes when it is left alone."""
    chance = random.Random(12)
    every = [(command, name) for command in COMMANDS for name in SIGNALS for _ in range(MOMENTS)] or ONCE
    return [(command, name, round(chance.uniform(0.02, 1.0), 3)) for command, name in every]


SERVER = """
import json, os, sys
from solver import figures
from solver.cli import main
from solver.report import commands, point_commands
from solver.section import mesh
figures.save_figure
for line in sys.stdin:
    arguments, errors = json.loads(line)
    child = os.fork()
    if child == 0:
        nowhere = os.open(os.devnull, os.O_RDWR)
        for number, target in enumerate((nowhere, nowhere, os.open(errors, os.O_WRONLY | os.O_CREAT))):
            os.dup2(target, number)
        sys.argv = ["copperfield", *arguments]
        sys.exit(main())
    print(child, flush=True)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""
"""Has imported what the commands need, which takes longer than they do, and runs each in a process of its own."""


@pytest.fixture(scope="module")
def server():
    # its answers are read byte by byte, lest one wait in a buffer
    with subprocess.Popen(
        [sys.executable, "-c", SERVER], stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0
    ) as process:
        yield process
        process.stdin.close()


def run(server, folder, command, name="", moment=None):
    """Run a command, end it with a signal at a moment if it has not ended by then: its exit code and what it said."""
    errors = folder / "errors.txt"
    errors.write_text("")
    arguments = [*COMMANDS[command], str(folder / "board.toml"), "-o", str(folder / "out")]
    server.stdin.write(json.dumps([arguments, str(errors)]).encode() + b"\n")
    child = int(server.stdout.readline())
    if moment is not None and not select.select([server.stdout], [], [], moment)[0]:
        os.kill(child, SIGNALS[name])
    return int(server.stdout.readline()), errors.read_text()


@pytest.fixture(scope="module")
def seconds(server, tmp_path_factory):
    """What each command takes at this time on this machine."""
    return {command: undisturbed(server, tmp_path_factory.mktemp(command), command) for command in COMMANDS}


def undisturbed(server, folder, command):
    (folder / "board.toml").write_text(TEXT)
    begin = time.monotonic()
    code, said = run(server, folder, command)
    assert code == 0, said
    return time.monotonic() - begin


def kept(folder, command):
    """Whole lines of the journal behind its header."""
    path = folder / "out" / ("variants.jsonl" if command == "compare" else "points.jsonl")
    lines = path.read_bytes().split(b"\n")[1:-1] if path.exists() else []
    return [json.loads(line) for line in lines]


def leftovers(folder):
    return [path.name for path in folder.rglob(".copperfield-*")]


@pytest.mark.parametrize(("command", "name", "moment"), cases())
def test_a_run_that_is_ended_loses_nothing_and_leaves_nothing(server, tmp_path, seconds, command, name, moment):
    (tmp_path / "board.toml").write_text(TEXT)
    code, said = run(server, tmp_path, command, name, moment * seconds[command])
    assert code in (0, EXIT_INTERRUPTED, -SIGNALS[name]), said
    assert name == "SIGKILL" or not leftovers(tmp_path), said
    before = kept(tmp_path, command)
    code, said = run(server, tmp_path, command)
    assert code == 0, said
    assert leftovers(tmp_path) == []
    if command == "compare":
        assert (f"resumed: {len(before)} of 2 variants" in said) == bool(before)
        document = json.loads((tmp_path / "out" / "result.json").read_text())
        assert document["complete"]
        assert not (tmp_path / "out" / "variants.jsonl").exists()
        return
    found = kept(tmp_path, command)
    assert found[: len(before)] == before
    assert len({json.dumps(each, sort_keys=True) for each in found}) == len(found)
