"""The streams of the command line: every encoding takes what we print, and what cannot be written is said so."""

from __future__ import annotations

import errno
import io
import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from solver.errors import ReportError
from solver.notation.safe_text import DEGRADED, terminal_text
from solver.runs.interruption import answered_by, interrupt


@contextmanager
def guarded_streams() -> Iterator[None]:
    """Let signs that an encoding lacks degrade, and SIGTERM do what Ctrl-C does; flush at the end.

    Raises
    ------
    ReportError
        If the output cannot be written, as on a full disk. A reader that went away is no fault.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=DEGRADED)
    with answered_by(interrupt, (signal.SIGTERM,)):
        try:
            try:
                yield
            finally:
                sys.stdout.flush()
        except OSError as failure:
            _give_up(sys.stdout)
            if failure.errno != errno.EPIPE:
                reason = failure.strerror or str(failure)
                raise ReportError(f"cannot write the output: {reason}; write it to a disk with space left") from failure


def print_failure(message: str) -> None:
    """What went wrong, to the stream of errors."""
    sys.stderr.write(f"{terminal_text(message)}\n")


def _give_up(stream: object) -> None:
    """Lead what is still to be written nowhere, lest the end of the program fails on it again."""
    with suppress(OSError, ValueError, AttributeError):
        descriptor = stream.fileno()  # type: ignore[attr-defined]
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, descriptor)
        os.close(nowhere)
