"""What can stand in the way of a board's loop as it is drawn."""

from __future__ import annotations

from geometries.errors import GeometryError


class BoardError(GeometryError):
    """A board has no such loop as it is drawn; the message says why, and what to name instead."""
