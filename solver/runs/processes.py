"""Run one task on many arguments in processes side by side, here or on a cluster, with few under way at a time."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence, Sized
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, contextmanager
from functools import partial
from itertools import islice
from multiprocessing import forkserver
from multiprocessing.process import BaseProcess
from typing import ParamSpec, TypeVar

from solver.errors import SolverError
from solver.runs.interruption import held_interruptions
from solver.runs.workforce import UNDER_WAY_PER_WORKER, Workforce

A = TypeVar("A")
P = ParamSpec("P")
R = TypeVar("R")

_WAYS_TO_START = multiprocessing.get_all_start_methods()

_LOOK_AGAIN_AFTER = 0.2
"""An interruption is answered so long after it, at the latest [s]."""


class _ThisProcess(Executor):
    """Does what is asked of it at once, in this process."""

    def submit(self, task: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        future: Future[R] = Future()
        future.set_result(task(*args, **kwargs))
        return future


class _Processes(ProcessPoolExecutor):
    """Takes calls without being interrupted while it does."""

    def submit(self, task: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        with held_interruptions():
            return super().submit(task, *args, **kwargs)

    def drop(self) -> None:
        """End at once, and all work under way with it: an interruption must not wait for what nobody will take."""
        for process in multiprocessing.active_children():
            process.kill()
        # of a result that one of them had begun to send the rest will never come: only the end of all that write tells
        self._result_queue._writer.close()  # type: ignore[attr-defined]
        self.shutdown(wait=True, cancel_futures=True)


def open_executor(workers: int | None = None, scheduler: str = "") -> AbstractContextManager[Workforce]:
    """Processes of this machine, or the workers of a Dask cluster; all work under way is dropped on the way out.

    Parameters
    ----------
    workers : int, optional
        Processes of this machine; as many as there are processors if not given. With one, all is done in this process.
    scheduler : str
        Address of a Dask scheduler, for example ``tcp://10.0.0.5:8786``, whose workers are taken instead.

    Returns
    -------
    context manager of Workforce
        For :func:`run_side_by_side`.

    Raises
    ------
    SolverError
        On entering: if no scheduler answers, or its workers cannot run this program. On leaving: if a process ended
        without a word, or the scheduler was lost.

    Examples
    --------
    >>> with open_executor(workers=1) as workforce:
    ...     sorted(run_side_by_side(abs, [-1, -2], workers=workforce))
    [1, 2]
    """
    if scheduler:
        from solver.runs.cluster import open_cluster  # Dask is an extra, and slow to import

        return open_cluster(scheduler)
    return _open_processes(workers or os.cpu_count() or 1)


def begin_imports(workers: int | None, *modules: str) -> None:
    """Begin to import, in a process beside this one, what processes will work with; nothing where none will be asked.

    Parameters
    ----------
    workers : int, optional
        As for :func:`open_executor`.
    modules : str
        Their names.
    """
    if (workers or os.cpu_count() or 1) > 1 and "forkserver" in _WAYS_TO_START:
        forkserver.set_forkserver_preload(list(modules))
        forkserver.ensure_running()


def run_side_by_side(
    task: Callable[[A], R], arguments: Iterable[A], *, workers: Workforce | int | None = None
) -> Iterator[R]:
    """Results of a task for all arguments, each as soon as it is there.

    Arguments are drawn only as they are needed, and results are kept no longer than until they are handed over, so
    that memory does not grow with their number.

    Parameters
    ----------
    task : callable
        Importable by name, with arguments and results that can be pickled.
    arguments : iterable
        One per call.
    workers : Workforce or int, optional
        An open executor; or processes to be started for this call: as many as there are processors if not given, and
        no more than there are arguments where these can be counted.

    Yields
    ------
    R
        In the order in which they are finished.

    Raises
    ------
    SolverError
        If a process ends without a word. What the task raises is passed on.
    """
    if isinstance(workers, Workforce):
        yield from _feed(workers, task, iter(arguments))
        return
    count = workers or os.cpu_count() or 1
    fewer = max(1, min(count, len(arguments))) if isinstance(arguments, Sized) else count
    with _open_processes(fewer, _module_of(task)) as workforce:
        yield from _feed(workforce, task, iter(arguments))


@contextmanager
def shared_workforce(
    workers: Workforce | int | None, tasks: Sequence[Callable[..., object]], most: int
) -> Iterator[Workforce]:
    """Workers for several calls of :func:`run_side_by_side`, one after the other.

    Parameters
    ----------
    workers : Workforce or int, optional
        An open executor, which stays open; or processes, as many as there are processors if not given.
    tasks : sequence of callable
        What they will be asked for.
    most : int
        Arguments of the longest call; no more processes are started.
    """
    if isinstance(workers, Workforce):
        yield workers
        return
    with _open_processes(max(1, min(workers or os.cpu_count() or 1, most)), *map(_module_of, tasks)) as workforce:
        yield workforce


def run_in_order(
    task: Callable[[A], R], arguments: Collection[A], *, workers: Workforce | int | None = None
) -> list[R]:
    """Results of a task for all arguments in their order; see :func:`run_side_by_side`.

    Examples
    --------
    >>> run_in_order(abs, [-1, 2, -3], workers=1)
    [1, 2, 3]
    """
    with shared_workforce(workers, (task,), len(arguments)) as workforce:
        numbered = run_side_by_side(partial(_numbered, task), enumerate(arguments), workers=workforce)
        return [result for _, result in sorted(numbered, key=lambda each: each[0])]


def _numbered(task: Callable[[A], R], argument: tuple[int, A]) -> tuple[int, R]:
    number, value = argument
    return number, task(value)


def _feed(workforce: Workforce, task: Callable[[A], R], arguments: Iterator[A]) -> Iterator[R]:
    """Keep the executor supplied until the arguments run out."""
    submit = workforce.executor.submit
    under_way = {submit(task, argument) for argument in islice(arguments, workforce.under_way)}
    try:
        while under_way:
            done, under_way = _first_finished(under_way)
            while done:
                yield done.pop().result()
                under_way |= {submit(task, argument) for argument in islice(arguments, 1)}
    finally:
        with held_interruptions():
            for future in under_way:
                future.cancel()


def _first_finished(under_way: set[Future[R]]) -> tuple[set[Future[R]], set[Future[R]]]:
    """Those that are finished, at least one, and the others; interruptions are answered between two looks at them."""
    done: set[Future[R]] = set()
    while not done:
        with held_interruptions():
            done, under_way = wait(under_way, timeout=_LOOK_AGAIN_AFTER, return_when=FIRST_COMPLETED)
    return done, under_way


def _module_of(task: Callable[[A], R]) -> str:
    """Where a task is defined, or that of which it is a part; it imports what the work takes."""
    return str(getattr(getattr(task, "func", task), "__module__", None) or type(task).__module__)


@contextmanager
def _open_processes(count: int, *modules: str) -> Iterator[Workforce]:
    """So many processes; where the system can, they are copies of one that has imported some modules."""
    if count == 1:
        yield Workforce(executor=_ThisProcess(), under_way=1)
        return
    _notice_broken_pipes()
    context = multiprocessing.get_context("forkserver" if "forkserver" in _WAYS_TO_START else "spawn")
    context.set_forkserver_preload(list(modules))
    pool = _Processes(count, mp_context=context, initializer=_prepare_worker)
    try:
        yield Workforce(executor=pool, under_way=UNDER_WAY_PER_WORKER * count)
    except BrokenProcessPool as failure:
        raise SolverError(
            "a process ended before it was done, most often for want of memory; try again with fewer --workers"
        ) from failure
    except BaseException:
        pool.drop()
        raise
    pool.shutdown()


def _notice_broken_pipes() -> None:
    """Writing to a process that is gone must be an error here, and not the end of this process.

    The mesh generator, once used in this process, has silently undone what Python does about that.
    """
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGPIPE, signal.getsignal(signal.SIGPIPE))


def _prepare_worker() -> None:
    """Ctrl-C is answered by the parent process alone; when the parent is gone, so is the worker."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)
