"""The sum of all sources of an emission: by power, with the ceiling in phase, and which source leads where."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from solver.emission.quantities import HighestLine, highest_line, level_at


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SourceLevels:
    """What one source alone gives at the antenna.

    Parameters
    ----------
    name : str
        For instance "loop", "switch node", "cable".
    levels : (n,) array
        Over the frequencies of the sum [dBµV/m]; minus infinity for nothing.
    shared : float
        What they are uncertain by alike for all boards of a study, to both sides [dB]: site, current, cable. A
        difference of two boards does not hold it.
    own : float
        What they are uncertain by for this board alone, to both sides [dB].
    """

    name: str
    levels: NDArray[np.float64]
    shared: float
    own: float = 0.0

    def __post_init__(self) -> None:
        if not min(self.shared, self.own) >= 0:
            raise ValueError(f"{self.name}: a band is {min(self.shared, self.own):g} dB; give zero or more")
        if np.isnan(self.levels).any():
            raise ValueError(f"{self.name}: a level is no number")

    @property
    def band(self) -> float:
        """Both together, to both sides [dB]."""
        return math.hypot(self.shared, self.own)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TotalLevels:
    """The sum of several sources.

    Parameters
    ----------
    frequencies : (n,) array
        Of the lines [Hz], ascending.
    sources : tuple of SourceLevels
        What was added.
    levels : (n,) array
        Sum by power, as of sources whose phases are unknown [dBµV/m].
    ceiling : (n,) array
        Sum of amplitudes, as if all were in phase: the most it can be [dBµV/m].
    bands : (n,) array
        What the sum is uncertain by, to both sides [dB].
    """

    frequencies: NDArray[np.float64]
    sources: tuple[SourceLevels, ...]
    levels: NDArray[np.float64]
    ceiling: NDArray[np.float64]
    bands: NDArray[np.float64]

    def shares(self, frequency: float) -> dict[str, float]:
        """Every source's part of the power at the line next to a frequency, by name [1]."""
        index = self.nearest(frequency)
        power = [10 ** ((float(source.levels[index]) - float(self.levels[index])) / 10) for source in self.sources]
        return dict(zip((source.name for source in self.sources), power, strict=True))

    def source(self, name: str) -> SourceLevels | None:
        """One of the sources; None if it is not in the sum."""
        return next((source for source in self.sources if source.name == name), None)

    def nearest(self, frequency: float) -> int:
        """Number of the line next to a frequency."""
        return int(np.abs(self.frequencies - frequency).argmin())


@dataclass(frozen=True, slots=True, kw_only=True)
class Leader:
    """Which source is the largest from one frequency to another.

    Parameters
    ----------
    start, stop : float
        First and last line of the stretch [Hz].
    name : str
        The largest source.
    decided : bool
        Whether it is larger than every other by more than both bands, as the root of their squares, all along.
    """

    start: float
    stop: float
    name: str
    decided: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedSource:
    """What one change of a board brings to one source and to the sum, as level of the highest line.

    Parameters
    ----------
    name : str
        The source; "sum" for all together.
    change : float
        After less before [dB]; negative is less emission.
    band : float
        What the change is uncertain by, to both sides [dB].
    frequencies : (float, float)
        Where the highest line lies before and after [Hz].
    """

    name: str
    change: float
    band: float
    frequencies: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadChange:
    """What a change of a board brings, over all ways in which the board may stand.

    Parameters
    ----------
    name : str
        The source; "sum" for all together.
    change : float
        Middle of the smallest and largest change of the highest line [dB]; negative is less emission.
    band : float
        What it is uncertain by, half of the spread over the orientations included, to both sides [dB].
    """

    name: str
    change: float
    band: float


def add_sources(frequencies: NDArray[np.float64], sources: Sequence[SourceLevels]) -> TotalLevels:
    """Add sources by power, and in phase.

    Parameters
    ----------
    frequencies : (n,) array
        Of the lines [Hz], ascending.
    sources : sequence of SourceLevels
        One or more, with a level at every frequency.

    Returns
    -------
    TotalLevels
        Each source's band counts by its share of the power; sources err independently. Where shares move with the
        error the band is a linear estimate.

    Raises
    ------
    ValueError
        If there is no source, or one has levels at other frequencies.

    Examples
    --------
    >>> lines = np.array([1e8])
    >>> loop = SourceLevels(name="loop", levels=np.array([30.0]), shared=6.0)
    >>> cable = SourceLevels(name="cable", levels=np.array([30.0]), shared=10.0)
    >>> total = add_sources(lines, [loop, cable])
    >>> f"{total.levels[0]:.1f} dBµV/m, at most {total.ceiling[0]:.1f}, ±{total.bands[0]:.1f} dB"
    '33.0 dBµV/m, at most 36.0, ±5.8 dB'
    """
    if not sources:
        raise ValueError("nothing is to be added; give one source or more")
    for source in sources:
        if source.levels.shape != frequencies.shape:
            raise ValueError(f"{source.name} has {source.levels.size} levels at {frequencies.size} frequencies")
    power = 10 ** (np.stack([source.levels for source in sources]) / 10)
    shares = power / np.maximum(power.sum(axis=0), np.finfo(float).tiny)
    bands = np.array([[source.band] for source in sources])
    with np.errstate(divide="ignore"):  # no source at all at a frequency is minus infinity
        levels, ceiling = 10 * np.log10(power.sum(axis=0)), 20 * np.log10(np.sqrt(power).sum(axis=0))
    return TotalLevels(
        frequencies=frequencies,
        sources=tuple(sources),
        levels=levels,
        ceiling=ceiling,
        bands=np.sqrt(((shares * bands) ** 2).sum(axis=0)),
    )


def leaders(total: TotalLevels) -> tuple[Leader, ...]:
    """Which source leads over which frequencies, ascending; neighbouring lines with the same answer are one stretch."""
    lines = [leader_at(total, float(frequency)) for frequency in total.frequencies]
    stretches = [list(group) for _, group in groupby(lines, key=lambda line: (line.name, line.decided))]
    return tuple(replace(stretch[0], stop=stretch[-1].stop) for stretch in stretches)


def leader_at(total: TotalLevels, frequency: float) -> Leader:
    """Which source leads at the line next to a frequency."""
    index = total.nearest(frequency)
    line = float(total.frequencies[index])
    levels = np.array([source.levels[index] for source in total.sources])
    first = int(levels.argmax())
    decided = _is_decided(total.sources, levels, first)
    return Leader(start=line, stop=line, name=total.sources[first].name, decided=decided)


def change_of_total(before: TotalLevels, after: TotalLevels) -> tuple[ChangedSource, ...]:
    """What a change brings to the highest line of every source that both have, and of the sum, which comes last.

    Notes
    -----
    What all boards share drops out of a source's change. Out of the sum's it drops as far as the source has the same
    share of the power before and after: errors of sources that come to the fore by the change remain.

    Examples
    --------
    >>> lines = np.array([1e8])
    >>> def board(loop):
    ...     sources = [("loop", loop, 6.0), ("cable", 34.0, 10.0)]
    ...     return add_sources(lines, [SourceLevels(name=n, levels=np.array([v]), shared=s) for n, v, s in sources])
    >>> [f"{each.name} {each.change:+.1f} ±{each.band:.1f} dB" for each in change_of_total(board(40.0), board(28.0))]
    ['loop -12.0 ±0.0 dB', 'cable +0.0 ±0.0 dB', 'sum -6.0 ±7.0 dB']
    """
    both = [(source, after.source(source.name)) for source in before.sources]
    alone = [
        _changed(
            then.name,
            highest_line(before.frequencies, then.levels),
            highest_line(after.frequencies, now.levels),
            math.hypot(then.own, now.own),
        )
        for then, now in both
        if now is not None
    ]
    first, last = (highest_line(total.frequencies, total.levels) for total in (before, after))
    band = _band_of_change(before, after, first.frequency, last.frequency)
    return (*alone, _changed("sum", first, last, band))


def _band_of_change(before: TotalLevels, after: TotalLevels, first: float, second: float) -> float:
    """What the change of a sum is uncertain by, from one line of the one to another of the other [dB]."""
    then, now = before.shares(first), after.shares(second)
    own = [
        share * source.own
        for total, shares in ((before, then), (after, now))
        for source, share in zip(total.sources, shares.values(), strict=True)
    ]
    shared = {source.name: source.shared for source in (*before.sources, *after.sources)}
    moved = [(now.get(name, 0.0) - then.get(name, 0.0)) * band for name, band in shared.items()]
    return math.hypot(*own, *moved)


def change_at(before: TotalLevels, after: TotalLevels, frequency: float) -> float:
    """What a change brings to the sum at a stated frequency [dB]; negative is less."""
    then, now = (level_at(each.frequencies, each.levels, frequency) for each in (before, after))
    return now.change_from(then)


def _changed(name: str, then: HighestLine, now: HighestLine, band: float) -> ChangedSource:
    return ChangedSource(
        name=name, change=now.change_from(then), band=band, frequencies=(then.frequency, now.frequency)
    )


def _is_decided(sources: Sequence[SourceLevels], levels: NDArray[np.float64], first: int) -> bool:
    """Whether one source is above all others by more than both bands."""
    return all(
        levels[first] - levels[index] > math.hypot(sources[first].band, each.band)
        for index, each in enumerate(sources)
        if index != first
    )
