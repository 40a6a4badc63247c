"""Ctrl-C and SIGTERM: who answers them, and when."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

INTERRUPTIONS = (signal.SIGINT, signal.SIGTERM)


@contextmanager
def answered_by(
    handler: Callable[[int, FrameType | None], None], signals: tuple[signal.Signals, ...] = INTERRUPTIONS
) -> Iterator[None]:
    """Signals are given to a handler, and afterwards to whoever had them before; for the main thread."""
    before = {number: signal.signal(number, handler) for number in signals}
    try:
        yield
    finally:
        for number, earlier in before.items():
            signal.signal(number, earlier)


def interrupt(number: int, frame: FrameType | None) -> None:
    """Answer a signal as Ctrl-C is answered.

    Raises
    ------
    KeyboardInterrupt
        Always.
    """
    raise KeyboardInterrupt


@contextmanager
def held_interruptions() -> Iterator[None]:
    """Interruptions are answered on the way out.

    Raised in the middle of what takes locks, such as the calls of an executor, an interruption can leave a lock held,
    and whoever waits for it waits for ever. Nothing is held in other threads: Python answers signals in the main one.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    held: list[int] = []
    try:
        with answered_by(lambda number, frame: held.append(number)):
            yield
    finally:
        if held:
            signal.raise_signal(held[0])
