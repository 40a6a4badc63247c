"""What can stand in the way of solving a board's loop as it is drawn."""

from __future__ import annotations

from solver.errors import SolverError


class BoardError(SolverError):
    """A loop cannot be solved as it is drawn; the message says why, and what to name instead."""
