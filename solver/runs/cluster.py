"""The workers of a Dask cluster as an executor of calls."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager
from importlib.metadata import PackageNotFoundError, version
from typing import ParamSpec, TypeVar

from threadpoolctl import threadpool_limits

from solver.errors import SolverError
from solver.runs.interruption import held_interruptions
from solver.runs.workforce import UNDER_WAY_PER_WORKER, Workforce

try:
    from distributed import Client, WorkerPlugin
    from distributed.scheduler import KilledWorker
except ImportError as failure:
    raise SolverError(
        "a cluster needs the package distributed, which is not installed; install it with: "
        "pip install 'copperfield[cluster]', or leave out --scheduler"
    ) from failure

P = ParamSpec("P")
R = TypeVar("R")

_ANSWER_WITHIN = "20 s"

_ONE_AT_A_TIME = threading.Lock()
"""In a worker: the mesh generator holds one model per process, and a worker may run several threads."""


class _Preparation(WorkerPlugin):
    """A worker that writes to one that is gone must get an error and not be ended.

    The mesh generator, once used in a process, silently undoes what Python does about that; a blocked signal stays
    blocked. Dask calls this in the thread that does all writing, in a worker that joins or is restarted later too.
    """

    def setup(self, worker: object) -> None:
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGPIPE})


class _ClusterExecutor(Executor):
    """Calls on the workers of a cluster, one at a time in each and on one thread of linear algebra."""

    def __init__(self, client: Client) -> None:
        self._executor = client.get_executor(pure=False)

    def submit(self, task: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        with held_interruptions():
            future: Future[R] = self._executor.submit(_run_alone, task, *args, **kwargs)
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        self._executor.shutdown(wait=wait and not cancel_futures)


def _run_alone(task: Callable[P, R], *args: P.args, **kwargs: P.kwargs) -> R:
    with _ONE_AT_A_TIME, threadpool_limits(limits=1):
        return task(*args, **kwargs)


@contextmanager
def open_cluster(address: str) -> Iterator[Workforce]:
    """Workers of the Dask cluster at an address; what nobody will take is cancelled on the way out.

    Parameters
    ----------
    address : str
        Of its scheduler, for example ``tcp://10.0.0.5:8786``.

    Yields
    ------
    Workforce
        Supplied for the workers that the cluster has now; a worker that joins later takes its part of that.

    Raises
    ------
    SolverError
        If no scheduler answers, it has no workers or they lack this program; if every worker that a call was given to
        ended, or the scheduler was lost.
    """
    with _connect(address) as client:
        executor = _ClusterExecutor(client)
        workers = _count_workers(client, address)
        client.register_plugin(_Preparation(), name=client.id)
        try:
            yield Workforce(executor=executor, under_way=UNDER_WAY_PER_WORKER * workers)
        except KilledWorker as failure:
            raise SolverError(
                f"{failure.allowed_failures + 1} workers of the cluster at {address} ended one after the other at the "
                "same point, most often for want of memory; give each worker more memory, and run the command again"
            ) from failure
        except CancelledError as failure:
            raise SolverError(
                f"the Dask scheduler at {address} was lost; start it and its workers, and run the command again"
            ) from failure
        finally:
            if client.status == "running":
                executor.shutdown(cancel_futures=True)
                client.unregister_worker_plugin(client.id)


@contextmanager
def _connect(address: str) -> Iterator[Client]:
    try:
        client = Client(address, timeout=_ANSWER_WITHIN, set_as_default=False)
    except (OSError, ValueError) as failure:
        raise SolverError(
            f"no Dask scheduler answers at {address!r}: {failure}; give its address as it prints it when it starts, "
            "for example tcp://10.0.0.5:8786"
        ) from failure
    with client:
        yield client


def _count_workers(client: Client, address: str) -> int:
    """Number of workers, all of which hold this program."""
    here = version("copperfield")
    try:
        found = client.run(version, "copperfield")
    except PackageNotFoundError as failure:
        raise SolverError(
            f"a worker of the cluster at {address} lacks copperfield; install version {here} wherever its workers run"
        ) from failure
    if not found:
        raise SolverError(f"the cluster at {address} has no workers; start some, for example: dask worker {address}")
    if set(found.values()) != {here}:
        raise SolverError(
            f"the workers of the cluster at {address} hold copperfield {', '.join(sorted(set(found.values())))} where "
            f"version {here} runs here; install the same version on all"
        )
    return len(found)
