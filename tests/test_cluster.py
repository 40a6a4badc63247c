"""Work goes to a Dask cluster and comes back as from the processes of this machine."""

import os
import signal
from importlib.metadata import version
from itertools import pairwise

import pytest

from geometries.files.sweep_reading import parse_sweep
from geometries.study.scenario import scan_span
from geometries.study.sweep import sweep_points, sweep_scenario
from solver.errors import SolverError
from solver.runs.checkpoint import open_journal
from solver.runs.processes import open_executor, run_side_by_side
from solver.study.points import solve_point
from solver.study.sweep import journal_header, solve_sweep, solved_rows, swept_figures

distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")

SWEEP = """
title = "one board"
stackup = "2L-0.8"
loop = { kind = "next-layer", width = "2 mm", return_width = "4 mm", length = "6 mm" }
analysis = { report_frequency = "1 MHz", tolerance = "1 %" }
[sweep]
vary = [{ key = "loop.width", values = ["1 mm", "2 mm"] }]
"""
PROCESS = "(__import__('time').sleep(0.2), __import__('os').getpid())[1]"
SPAN = "(__import__('time').perf_counter(), __import__('time').sleep(0.1), __import__('time').perf_counter())"


def start_cluster(workers):
    return distributed.LocalCluster(
        n_workers=workers,
        threads_per_worker=2,
        processes=True,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        memory_limit=None,
    )


@pytest.fixture(scope="module")
def cluster():
    with start_cluster(2) as started:
        yield started


@pytest.fixture
def workforce(cluster):
    with open_executor(scheduler=cluster.scheduler_address) as opened:
        yield opened


def test_all_workers_of_the_cluster_are_used(workforce):
    processes = set(run_side_by_side(eval, [PROCESS] * 8, workers=workforce))
    assert len(processes) == 2
    assert os.getpid() not in processes


def test_a_worker_does_one_thing_at_a_time_though_it_has_two_threads(workforce):
    spans = list(run_side_by_side(eval, [f"(*{SPAN}, {PROCESS})"] * 8, workers=workforce))
    for process in {span[-1] for span in spans}:
        own = sorted(span for span in spans if span[-1] == process)
        assert all(earlier[2] <= later[0] for earlier, later in pairwise(own))


def test_linear_algebra_keeps_to_one_thread(workforce):
    asked = "(__import__('numpy'), {pool['num_threads'] for pool in __import__('threadpoolctl').threadpool_info()})[1]"
    list(run_side_by_side(eval, ["__import__('numpy') and None"] * 8, workers=workforce))
    assert set.union(*run_side_by_side(eval, [asked] * 4, workers=workforce)) == {1}


def test_a_worker_is_not_ended_by_writing_to_one_that_is_gone(cluster, workforce):
    with distributed.Client(cluster.scheduler_address, set_as_default=False) as client:
        blocked = client.run(signal.pthread_sigmask, signal.SIG_BLOCK, [])
    assert all(signal.SIGPIPE in each for each in blocked.values())


def test_an_error_of_a_task_is_passed_on(workforce):
    with pytest.raises(ZeroDivisionError):
        list(run_side_by_side((1).__mod__, [1, 0], workers=workforce))


def test_a_sweep_on_the_cluster_goes_on_from_the_point_solved_here(cluster, tmp_path):
    sweep, path = parse_sweep(SWEEP), tmp_path / "points.jsonl"
    _, second = sweep_points(sweep)
    with open_journal(path, journal_header(sweep)) as journal:
        first = next(solve_sweep(sweep, journal, workers=1))
    with (
        open_executor(scheduler=cluster.scheduler_address) as there,
        open_journal(path, journal_header(sweep)) as journal,
    ):
        (rest,) = solve_sweep(sweep, journal, workers=there)
        assert solved_rows(journal) == (first, rest)
    keys = tuple(figure.key for figure in swept_figures(sweep))
    alone = solve_point(sweep_scenario(sweep, second), keys, scan_span(sweep.scenario.variants))
    assert (rest.index, rest.values) == (second.index, second.values)
    assert rest.point.readings.keys() == alone.readings.keys() == set(keys)
    for key in keys:
        assert rest.value(key) == pytest.approx(alone.readings[key].value, rel=1e-12, abs=0.0)


def test_a_task_that_ends_every_worker_is_reported():
    with (
        start_cluster(1) as cluster,
        pytest.raises(SolverError, match=r"4 workers of the cluster at .* ended one after the other"),
        open_executor(scheduler=cluster.scheduler_address) as workforce,
    ):
        list(run_side_by_side(os._exit, [1], workers=workforce))


def test_an_address_where_no_scheduler_answers_is_refused(monkeypatch):
    monkeypatch.setattr("solver.runs.cluster._ANSWER_WITHIN", "0.5 s")
    with (
        pytest.raises(SolverError, match=r"no Dask scheduler answers at 'tcp://127.0.0.1:9'"),
        open_executor(scheduler="tcp://127.0.0.1:9"),
    ):
        pass


def test_a_cluster_without_workers_is_refused():
    with (
        start_cluster(0) as empty,
        pytest.raises(SolverError, match=r"has no workers; start some"),
        open_executor(scheduler=empty.scheduler_address),
    ):
        pass


def test_a_cluster_that_holds_another_version_is_refused(cluster, monkeypatch):
    here = os.getpid()
    monkeypatch.setattr("solver.runs.cluster.version", lambda name: "0.0.0" if os.getpid() == here else version(name))
    with (
        pytest.raises(SolverError, match=r"version 0.0.0 runs here"),
        open_executor(scheduler=cluster.scheduler_address),
    ):
        pass


def run_on_a_scheduler_that_ends(started):
    with open_executor(scheduler=started.scheduler_address) as workforce:
        results = run_side_by_side(abs, range(100), workers=workforce)
        next(results)
        started.close()
        list(results)


def test_a_lost_scheduler_is_reported(monkeypatch):
    monkeypatch.setattr("solver.runs.cluster._ANSWER_WITHIN", "1 s")
    started = start_cluster(1)
    with pytest.raises(SolverError, match=r"the Dask scheduler at .* was lost"):
        run_on_a_scheduler_that_ends(started)
