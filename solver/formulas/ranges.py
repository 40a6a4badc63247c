"""Refusal of arguments outside a formula's range."""

import math


def require_positive(value: float, name: str, unit: str) -> None:
    """Raise ValueError unless the value is finite and > 0."""
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{name} is {value:g} {unit}; allowed: finite and above 0 {unit}")


def require_finite(value: float, name: str, unit: str) -> None:
    """Raise ValueError unless the value is finite."""
    if not math.isfinite(value):
        raise ValueError(f"{name} is {value:g} {unit}; allowed: any finite number")


def require_above(value: float, limit: float, name: str, unit: str) -> None:
    """Raise ValueError unless the value is finite and > limit."""
    if not (math.isfinite(value) and value > limit):
        raise ValueError(f"{name} is {value:g} {unit}; allowed: above {limit:g} {unit}")


def require_within(value: float, low: float, high: float, name: str, unit: str) -> None:
    """Raise ValueError unless low <= value <= high."""
    if not low <= value <= high:
        raise ValueError(f"{name} is {value:g} {unit}; allowed: {low:g} to {high:g} {unit}")
