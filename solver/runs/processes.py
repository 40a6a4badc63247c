"""Run one task on many arguments in processes side by side, with few of them under way at a time."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from multiprocessing.process import BaseProcess
from typing import TypeVar

from solver.errors import SolverError

A = TypeVar("A")
R = TypeVar("R")

_UNDER_WAY_PER_WORKER = 2
"""One in work and one waiting, so that no process idles while the parent writes a result down."""


def run_side_by_side(task: Callable[[A], R], arguments: Iterable[A], *, workers: int | None = None) -> Iterator[R]:
    """Results of a task for all arguments, each as soon as it is there.

    Arguments are drawn only as they are needed, and results are kept no longer than until they are handed over, so
    that memory does not grow with their number.

    Parameters
    ----------
    task : callable
        Importable by name, with arguments and results that can be pickled.
    arguments : iterable
        One per call.
    workers : int, optional
        Processes; as many as there are processors if not given. With one, all is done in this process.

    Yields
    ------
    R
        In the order in which they are finished.

    Raises
    ------
    SolverError
        If a process ends without a word. What the task raises is passed on.
    """
    count = workers or os.cpu_count() or 1
    if count == 1:
        yield from map(task, arguments)
        return
    _notice_broken_pipes()
    pool = ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("spawn"), initializer=_prepare_worker)
    try:
        yield from _feed(pool, task, iter(arguments), _UNDER_WAY_PER_WORKER * count)
    except BrokenProcessPool as failure:
        raise SolverError(
            "a process ended before it was done, most often for want of memory; try again with fewer --workers"
        ) from failure
    except BaseException:
        # an interruption must not wait for work that nobody will take; the pool notices that its processes are gone
        for process in multiprocessing.active_children():
            process.kill()
        pool.shutdown(wait=True, cancel_futures=True)
        raise
    pool.shutdown()


def _feed(pool: ProcessPoolExecutor, task: Callable[[A], R], arguments: Iterator[A], most: int) -> Iterator[R]:
    """Keep `most` calls under way until the arguments run out."""
    under_way: set[Future[R]] = {pool.submit(task, argument) for argument in islice(arguments, most)}
    while under_way:
        done, under_way = wait(under_way, return_when=FIRST_COMPLETED)
        while done:
            under_way |= {pool.submit(task, argument) for argument in islice(arguments, 1)}
            yield done.pop().result()


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
