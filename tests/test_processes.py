"""Few tasks are under way at a time, and nothing outlives the program."""

import os
import signal
import subprocess
import sys
import time

import pytest

from solver.errors import SolverError
from solver.runs.processes import run_side_by_side


def test_results_of_several_processes_are_complete():
    assert sorted(run_side_by_side(abs, range(-20, 0), workers=2)) == list(range(1, 21))


@pytest.mark.parametrize("workers", [1, 2])
def test_arguments_are_drawn_only_as_they_are_needed(workers):
    drawn = []

    def arguments():
        for number in range(200):
            drawn.append(number)
            yield number

    ahead = []
    for received, _ in enumerate(run_side_by_side(abs, arguments(), workers=workers), start=1):
        ahead.append(len(drawn) - received)
    assert len(ahead) == 200
    assert max(ahead) <= 2 * workers


def test_an_error_of_a_task_is_passed_on():
    with pytest.raises(ZeroDivisionError):
        list(run_side_by_side((1).__mod__, [1, 0], workers=2))


def test_a_process_that_vanishes_is_reported():
    with pytest.raises(SolverError, match="a process ended before it was done"):
        list(run_side_by_side(os._exit, [9], workers=2))


def test_a_vanished_process_is_reported_after_meshing_here_too():
    program = (
        "import os, gmsh\nfrom solver.runs.processes import run_side_by_side\nfrom solver.errors import SolverError\n"
        "if __name__ == '__main__':\n"
        "    gmsh.initialize(argv=['x'], readConfigFiles=False, interruptible=False)\n"
        "    gmsh.finalize()\n"
        "    try:\n        list(run_side_by_side(os._exit, [9] * 3, workers=2))\n"
        "    except SolverError as failure:\n        print(failure)\n"
    )
    for _ in range(3):
        done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        assert "a process ended before it was done" in done.stdout


def test_workers_end_when_the_parent_is_killed():
    program = (
        "from solver.runs.processes import run_side_by_side\nimport os, time\n"
        "if __name__ == '__main__':\n"
        "    for pid in run_side_by_side(eval, ['__import__(\"os\").getpid()'] * 2, workers=2):\n"
        "        print(pid, flush=True)\n"
        "        time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True) as parent:
        worker = int(parent.stdout.readline())
        parent.send_signal(signal.SIGKILL)
    deadline = time.monotonic() + 20
    while is_running(worker) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not is_running(worker)


def is_running(pid):
    try:
        with open(f"/proc/{pid}/stat") as file:
            return file.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False
