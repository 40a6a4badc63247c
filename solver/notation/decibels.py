"""Ratios of two quantities in decibels, the one place where they are formed."""

from __future__ import annotations

import math


def decibels(value: float, reference: float, floor: float) -> float:
    """Ratio of two field quantities, 20 lg(value / reference) [dB].

    Parameters
    ----------
    value, reference : float
        Of one kind, not negative.
    floor : float
        What the solution does not resolve: smaller values count as it; above zero, in the same unit.

    Examples
    --------
    >>> round(decibels(1.0, 2.0, 1e-5), 2), decibels(1e-9, 1e-7, 1e-5)
    (-6.02, 0.0)
    """
    return 20 * math.log10(max(value, floor) / max(reference, floor))
