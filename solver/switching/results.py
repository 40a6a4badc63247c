"""What is computed of the switching edge: waveforms, limits and snubbers of all variants; frozen values."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.operation.switching import Switching
from solver.switching.reading import Peak, Ring
from solver.switching.snubber import SnubberReading
from solver.variant.edge_sources import Kind
from solver.variant.figure import Reading


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Waveform:
    """Voltage of the switch and current of the loop after the edge.

    Parameters
    ----------
    times, voltage, current : (n,) array
        From the start of the edge [s], [V], [A].
    final : float
        Voltage that it settles at [V].
    peak : Peak
        Largest voltage.
    ring : Ring, optional
        None if nothing rings.
    settling : float
        Time after which the voltage stays within 5 % of its final value [s].
    """

    times: NDArray[np.float64]
    voltage: NDArray[np.float64]
    current: NDArray[np.float64]
    final: float
    peak: Peak
    ring: Ring | None
    settling: float

    @property
    def overshoot(self) -> float:
        """Peak over the final value, less one [1]."""
        return self.peak.voltage / self.final - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """What the uncertainty of one value does.

    Parameters
    ----------
    source : str
        The value.
    kind : Kind
        Solved, modelled, known by its kind alone, or stated with a tolerance.
    peak, frequency, quality : float
        Largest change to either side of the peak [V], of the ring's frequency [Hz] and of its quality factor [1].
    """

    source: str
    kind: Kind
    peak: float
    frequency: float
    quality: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """Of peak [V], ring frequency [Hz] and quality factor [1], from all their parts."""

    peak: float
    frequency: float
    quality: float


def combined(influences: Iterable[Influence]) -> Uncertainty:
    """The parts of a budget together, taken as independent."""
    parts = list(influences)
    return Uncertainty(
        peak=math.hypot(*(each.peak for each in parts)),
        frequency=math.hypot(*(each.frequency for each in parts)),
        quality=math.hypot(*(each.quality for each in parts)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SwitchingReading:
    """One variant at the switching edge.

    Parameters
    ----------
    name : str
        The variant.
    plain : Waveform
        Without snubber.
    damped : Waveform, optional
        With the scenario's snubber.
    copper_inductance, copper_resistance : float
        Of the loop's copper at the ring frequency [H], [ohm].
    total_inductance : float
        With the package [H].
    quality_of_copper : float, optional
        Quality factor if the copper's own loss were all damping: the ring's upper bound [1].
    influences : tuple of Influence
        Of the loop, and of every value that is stated with a tolerance or only typical.
    inductance_margin : Reading, optional
        How far the loop lies below the largest inductance that keeps the limit [H]; negative above it; none without
        limit.
    edge_needed : Reading, optional
        Whole edge, 0 to 100 %, from which on the limit is kept [s]; none without limit.
    excess : float, optional
        How far the limit is exceeded as built, relative to it, time above its level included [1]; negative where it is
        kept; none without limit.
    snubbers : tuple of SnubberReading
        Stated or proposed.
    """

    name: str
    plain: Waveform
    damped: Waveform | None
    copper_inductance: float
    copper_resistance: float
    total_inductance: float
    quality_of_copper: float | None
    influences: tuple[Influence, ...]
    inductance_margin: Reading | None
    edge_needed: Reading | None
    excess: float | None
    snubbers: tuple[SnubberReading, ...]

    @property
    def built(self) -> Waveform:
        """As the scenario builds it: with its snubber, if it states one."""
        return self.plain if self.damped is None else self.damped

    @property
    def peak_error(self) -> float:
        """Uncertainty of the peak to both sides [V]."""
        return combined(self.influences).peak

    @property
    def frequency_error(self) -> float:
        """Uncertainty of the ring frequency to both sides [Hz]."""
        return combined(self.influences).frequency

    @property
    def quality_error(self) -> float:
        """Uncertainty of the ring's quality factor to both sides [1]."""
        return combined(self.influences).quality


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SwitchingComparison:
    """The switching edge of all variants.

    Parameters
    ----------
    switching : Switching
        What was asked.
    reference : str
        Variant that differences are against.
    readings : tuple of SwitchingReading
        In the scenario's order.
    largest_inductance : Reading, optional
        Largest inductance of the whole loop, with package, that keeps the limit with the stated damping alone and no
        snubber [H]; infinite if every one does, none without limit.
    sentence : str
        What the comparison shows.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import SwitchingComparison, run_study
    >>> study = run_study(read_builtin_scenario("garden-lamp"), workers=1)
    >>> f"{study.outcome(SwitchingComparison).reading('lamp').built.peak.voltage:.1f} V"
    '50.8 V'
    """

    switching: Switching
    reference: str
    readings: tuple[SwitchingReading, ...]
    largest_inductance: Reading | None
    sentence: str

    def reading(self, name: str) -> SwitchingReading:
        """Of one variant."""
        return next(each for each in self.readings if each.name == name)

    def keeps_limit(self, reading: SwitchingReading) -> bool | None:
        """Whether a variant's peak keeps the voltage limit; None without limit."""
        return None if reading.excess is None else reading.excess <= 0
