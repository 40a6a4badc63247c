"""Few tasks are under way at a time, and nothing outlives the program."""

import os
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor, _base

import pytest

from solver.errors import SolverError
from solver.runs.interruption import held_interruptions
from solver.runs.processes import open_executor, run_side_by_side
from solver.runs.workforce import Workforce


def test_results_of_several_processes_are_complete():
    assert sorted(run_side_by_side(abs, range(-20, 0), workers=2)) == list(range(1, 21))


def test_any_executor_does_the_work():
    with ThreadPoolExecutor(3) as threads:
        workforce = Workforce(executor=threads, under_way=6)
        assert sorted(run_side_by_side(abs, range(-20, 0), workers=workforce)) == list(range(1, 21))


def test_an_open_executor_serves_several_runs():
    with open_executor(2) as workforce:
        first = set(run_side_by_side(eval, ["__import__('os').getpid()"] * 8, workers=workforce))
        second = set(run_side_by_side(eval, ["__import__('os').getpid()"] * 8, workers=workforce))
    assert os.getpid() not in first | second
    assert len(first | second) <= 2


def test_one_argument_is_worked_on_in_this_process():
    assert list(run_side_by_side(eval, ["__import__('os').getpid()"], workers=2)) == [os.getpid()]


def test_what_is_left_when_nobody_takes_results_any_more_is_cancelled():
    with ThreadPoolExecutor(1) as thread:
        results = run_side_by_side(time.sleep, [0.0, 0.0, 3600.0], workers=Workforce(executor=thread, under_way=2))
        next(results)
        results.close()
        assert thread.submit(abs, -1).result() == 1


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
        list(run_side_by_side(os._exit, [9, 9], workers=2))


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


def test_an_interruption_while_futures_are_locked_does_not_lock_the_program(monkeypatch):
    """Raised there, it would leave their locks held, and the pool could never be shut down."""
    enter = _base._AcquireFutures.__enter__

    def interrupted(locks):
        enter(locks)
        os.kill(os.getpid(), signal.SIGINT)

    monkeypatch.setattr(_base._AcquireFutures, "__enter__", interrupted)
    with pytest.raises(KeyboardInterrupt), open_executor(2) as workforce:
        list(run_side_by_side(abs, [-1, -2], workers=workforce))


def test_work_under_way_is_interrupted_though_nothing_is_finished():
    later = threading.Timer(1.0, os.kill, (os.getpid(), signal.SIGINT))
    later.start()
    with pytest.raises(KeyboardInterrupt), open_executor(2) as workforce:
        list(run_side_by_side(time.sleep, [120.0, 120.0], workers=workforce))
    later.join()


def interrupted(then):
    with held_interruptions():
        os.kill(os.getpid(), signal.SIGINT)
        then()


def test_a_held_interruption_is_answered_on_the_way_out():
    reached = []
    with pytest.raises(KeyboardInterrupt):
        interrupted(lambda: reached.append("the end"))
    assert reached == ["the end"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_held_interruption_goes_before_an_error_that_came_with_it():
    with pytest.raises(KeyboardInterrupt):
        interrupted(lambda: 1 / 0)


@pytest.mark.parametrize("once_more", range(3))
def test_an_interruption_while_results_are_sent_is_answered(tmp_path, once_more):
    # Of what a killed process had begun to send the rest never comes: the pool must not wait for it, as it did in every
    # third try.
    script = tmp_path / "large.py"
    script.write_text(
        "import time\n"
        "import numpy as np\n"
        "from solver.runs.processes import run_side_by_side\n"
        "def large(number):\n"
        "    time.sleep(0.001)\n"
        "    return np.zeros(400_000)\n"
        "if __name__ == '__main__':\n"
        "    for _ in run_side_by_side(large, range(10**6), workers=2):\n"
        "        print('one', flush=True)\n",
        encoding="utf-8",
    )
    with subprocess.Popen(
        [sys.executable, str(script)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        try:
            for _ in range(100):
                assert process.stdout.readline() == "one\n"
            process.send_signal(signal.SIGINT)
            _, said = process.communicate(timeout=60)
        finally:
            process.kill()
    assert process.returncode != 0
    assert "KeyboardInterrupt" in said
