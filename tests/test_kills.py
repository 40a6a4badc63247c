"""A run that is ended at a random moment loses no finished point, repeats none, and leaves nothing behind.

The moments are drawn from the same seed each time; COPPERFIELD_KILLS gives their number per command and signal (10 are
30 per command, 90 in all), and without it each command meets one signal once.
"""

import json
import os
import random
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


@pytest.fixture(scope="module")
def seconds(tmp_path_factory):
    """What each command takes at this time on this machine."""
    return {command: undisturbed(tmp_path_factory.mktemp(command), command) for command in COMMANDS}


def undisturbed(folder, command):
    (folder / "board.toml").write_text(TEXT)
    begin = time.monotonic()
    with start(folder, command) as run:
        _, said = run.communicate()
    assert run.returncode == 0, said
    return time.monotonic() - begin


def start(folder, command):
    program = "from solver.cli import main\nif __name__ == '__main__':\n    main()\n"
    arguments = [
        sys.executable,
        "-c",
        program,
        *COMMANDS[command],
        str(folder / "board.toml"),
        "-o",
        str(folder / "out"),
    ]
    return subprocess.Popen(arguments, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)


def kept(folder, command):
    """Whole lines of the journal behind its header."""
    path = folder / "out" / ("variants.jsonl" if command == "compare" else "points.jsonl")
    lines = path.read_bytes().split(b"\n")[1:-1] if path.exists() else []
    return [json.loads(line) for line in lines]


def leftovers(folder):
    return [path.name for path in folder.rglob(".copperfield-*")]


@pytest.mark.parametrize(("command", "name", "moment"), cases())
def test_a_run_that_is_ended_loses_nothing_and_leaves_nothing(tmp_path, seconds, command, name, moment):
    (tmp_path / "board.toml").write_text(TEXT)
    with start(tmp_path, command) as first:
        try:
            first.wait(timeout=moment * seconds[command])
        except subprocess.TimeoutExpired:
            first.send_signal(SIGNALS[name])
        _, said = first.communicate()
    assert first.returncode in (0, EXIT_INTERRUPTED, -SIGNALS[name]), said
    assert name == "SIGKILL" or not leftovers(tmp_path), said
    before = kept(tmp_path, command)
    with start(tmp_path, command) as second:
        _, said = second.communicate()
    assert second.returncode == 0, said
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
