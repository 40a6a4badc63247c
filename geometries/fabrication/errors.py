"""What can be wrong with a board's fabrication files."""

from __future__ import annotations

from geometries.errors import GeometryError


class FabricationError(GeometryError):
    """Fabrication files cannot be read as a board; the message names file, place and remedy."""
