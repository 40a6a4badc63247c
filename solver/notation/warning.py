"""A numbered warning."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedWarning:
    """A numbered warning, for instance W-2D-ENDS, with its sentence."""

    code: str
    text: str
