"""Running what takes long: a bar while it runs, and what is finished kept when it is interrupted."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TypeVar

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from solver.errors import SolverError
from solver.runs.interruption import answered_by, interrupt

T = TypeVar("T")


class InterruptedRun(KeyboardInterrupt):
    """A run was interrupted by its user; the message says what is kept."""


def _bar() -> Progress:
    """A bar with counts, time passed and time left, on the error stream."""
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TimeRemainingColumn(),
    )
    return Progress(*columns, console=Console(stderr=True), transient=True)


def finished(
    outcomes: Iterable[T], name_of: Callable[[T], str], *, what: str, total: int, found: int = 0
) -> tuple[list[T], bool]:
    """All outcomes of a run with a bar, or those finished when it was interrupted.

    Parameters
    ----------
    outcomes : iterable
        In the order in which they are finished.
    name_of : callable
        What is said of an outcome.
    what : str
        What is solved, for instance "variants".
    total, found : int
        How many there are, and how many were there before.

    Returns
    -------
    tuple of list and bool
        The outcomes, and whether the run was interrupted.
    """
    done: list[T] = []
    with _bar() as progress, _noted_interruption() as noted:
        task = progress.add_task(f"solving {what}", total=total, completed=found)
        try:
            for outcome in outcomes:
                done.append(outcome)
                progress.update(task, advance=1, description=f"solved {name_of(outcome)}")
                if noted:
                    return done, True
        except KeyboardInterrupt:
            return done, True
        except SolverError:
            if noted:  # the signal ended the processes as well
                return done, True
            raise
    return done, False


@contextmanager
def _noted_interruption() -> Iterator[list[int]]:
    """Note Ctrl-C or SIGTERM besides raising it: raised while an object is being cleaned up, Python drops it."""
    noted: list[int] = []

    def note(number: int, frame: FrameType | None) -> None:
        noted.append(number)
        interrupt(number, frame)

    with answered_by(note):
        yield noted
