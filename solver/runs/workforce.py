"""Whoever does the work, and how much of it is under way at a time."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass

UNDER_WAY_PER_WORKER = 2
"""One in work and one waiting, so that no process idles while the parent writes a result down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Workforce:
    """An executor and how many calls it is given at a time.

    Parameters
    ----------
    executor : concurrent.futures.Executor
        Whoever does the work; it is not shut down by :func:`run_side_by_side`.
    under_way : int
        Calls handed to it and not yet answered, >= 1.
    """

    executor: Executor
    under_way: int
