"""Three quantities of an emission that are never exchanged: highest line, level at a frequency, margin to a limit.

Each is a class of its own and is compared with its own kind only. Between two boards they change by different amounts:
the highest line may move to where a limit is looser, and a level at a fixed frequency says nothing of the line that
has moved away from it. "x dB less emission" is the change of the highest line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

_SAME = 1e-9

Kind = TypeVar("Kind")


@dataclass(frozen=True, slots=True, kw_only=True)
class HighestLine:
    """The highest level of an emission, wherever it lies.

    Parameters
    ----------
    level : float
        [dBµV/m].
    frequency : float
        Where it lies [Hz].
    """

    level: float
    frequency: float

    def change_from(self, other: HighestLine) -> float:
        """Highest line of this emission less that of another [dB]; negative is less emission."""
        return self.level - _own_kind(other, HighestLine).level


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelAt:
    """The level of an emission at a stated frequency.

    Parameters
    ----------
    level : float
        [dBµV/m].
    frequency : float
        The stated one [Hz].
    """

    level: float
    frequency: float

    def change_from(self, other: LevelAt) -> float:
        """Level of this emission less that of another at the same frequency [dB].

        Raises
        ------
        ValueError
            If the other is at another frequency.
        """
        if not math.isclose(_own_kind(other, LevelAt).frequency, self.frequency, rel_tol=_SAME):
            raise ValueError(
                f"levels at {self.frequency:g} Hz and {other.frequency:g} Hz are no difference; state one frequency"
            )
        return self.level - other.level


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """Where an emission comes closest to a limit.

    Parameters
    ----------
    limit : str
        Name of the limit line.
    frequency : float
        [Hz].
    level, limit_level : float
        Predicted and allowed [dBµV/m].
    """

    limit: str
    frequency: float
    level: float
    limit_level: float

    @property
    def value(self) -> float:
        """Limit minus level [dB]; positive is below the limit."""
        return self.limit_level - self.level

    def change_from(self, other: Margin) -> float:
        """Margin of this emission less that of another [dB]; positive is farther from the limits."""
        return self.value - _own_kind(other, Margin).value


def highest_line(frequencies: NDArray[np.float64], levels: NDArray[np.float64]) -> HighestLine:
    """Highest of an emission's lines.

    Parameters
    ----------
    frequencies : (n,) array
        [Hz].
    levels : (n,) array
        [dBµV/m].

    Examples
    --------
    >>> highest_line(np.array([1e8, 2e8]), np.array([30.0, 40.0])).frequency
    200000000.0
    """
    index = int(np.argmax(levels))
    return HighestLine(level=float(levels[index]), frequency=float(frequencies[index]))


def level_at(frequencies: NDArray[np.float64], levels: NDArray[np.float64], frequency: float) -> LevelAt:
    """Level at a stated frequency, on a straight line between its neighbours over the logarithm of frequency.

    Raises
    ------
    ValueError
        If the frequency lies outside the lines.
    """
    if not frequencies[0] <= frequency <= frequencies[-1]:
        raise ValueError(
            f"{frequency:g} Hz lies outside the lines, {frequencies[0]:g} to {frequencies[-1]:g} Hz; state one inside"
        )
    level = np.interp(math.log(frequency), np.log(frequencies), levels)
    return LevelAt(level=float(level), frequency=frequency)


def _own_kind(other: object, kind: type[Kind]) -> Kind:
    if not isinstance(other, kind):
        raise TypeError(f"a {kind.__name__} is compared with a {kind.__name__}, not with a {type(other).__name__}")
    return other
