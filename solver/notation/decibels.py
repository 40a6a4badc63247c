"""Ratios in decibels."""

from __future__ import annotations

import math

_FIELD_FLOOR = 1e-5


def decibels(value: float, reference: float) -> float:
    """Ratio of two field quantities in decibels, 20 lg(value / reference).

    Values below 1e-5 A/m per A, which the solution does not resolve, count as that.
    """
    return 20 * math.log10(max(value, _FIELD_FLOOR) / max(reference, _FIELD_FLOOR))
