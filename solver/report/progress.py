"""Running what takes long: a bar or lines while it runs, and what is finished kept when it is interrupted."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import count
from types import FrameType
from typing import TypeVar

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from solver.errors import SolverError
from solver.notation.safe_text import terminal_text
from solver.runs.interruption import answered_by, interrupt

T = TypeVar("T")


_AT_ONCE = 1.0
"""What takes less says nothing while it runs [s]."""


class InterruptedRun(KeyboardInterrupt):
    """A run was interrupted by its user; the message says what is kept."""


@contextmanager
def told(what: str, total: int, found: int = 0) -> Iterator[Callable[[str], None]]:
    """What tells of every step that is finished, on the error stream: a bar in a terminal, else a line each."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield _lines(what, total, found)
        return
    with _bar(console) as progress:
        task = progress.add_task(f"solving {what}", total=total, completed=found)
        yield lambda name: progress.update(task, advance=1, description=f"solved {name}")


def _lines(what: str, total: int, found: int) -> Callable[[str], None]:
    """A line for every finished step, with the time left as the steps so far suggest."""
    start, steps = time.monotonic(), count(1)

    def tell(name: str) -> None:
        step = next(steps)
        left = (total - found - step) * (time.monotonic() - start) / step
        rest = f", about {left:.0f} s left" if found + step < total else ""
        sys.stderr.write(terminal_text(f"solved {name}: {found + step} of {total} {what}{rest}") + "\n")
        sys.stderr.flush()

    return tell


def tell_time_left(what: str) -> Callable[[float], None]:
    """What tells on the error stream how much time is left of one solution, once it takes more than a second."""
    start = time.monotonic()

    def tell(part: float) -> None:
        passed = time.monotonic() - start
        if passed > _AT_ONCE:
            left = passed * (1 - part) / part
            sys.stderr.write(terminal_text(f"solving {what}: {100 * part:.0f} %, about {left:.0f} s left") + "\n")
            sys.stderr.flush()

    return tell


def _bar(console: Console) -> Progress:
    """A bar with counts, time passed and time left."""
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TimeRemainingColumn(),
    )
    return Progress(*columns, console=console, transient=True)


def finished(
    outcomes: Iterable[T], name_of: Callable[[T], str], *, what: str, total: int, found: int = 0
) -> tuple[list[T], bool]:
    """All outcomes of a run, each told as it is finished, or those finished when it was interrupted.

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
    with told(what, total, found) as tell, _noted_interruption() as noted:
        try:
            for outcome in outcomes:
                done.append(outcome)
                tell(name_of(outcome))
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
