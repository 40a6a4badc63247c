"""What was read off a ring on the bench: frequencies with none, one or two capacitors added, decay, peak, probe."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from geometries.errors import ScenarioError
from geometries.operation.ringing import LEAST_QUALITY
from geometries.operation.spans import Span
from geometries.quantities import MHZ, NANO, Quantity, write_quantity

PICO = 1e-12

ADDED_INDUCTANCE = Span(value=0.5 * NANO, least=0.2 * NANO, most=0.9 * NANO, source="typical of a small chip capacitor")
"""Of an added chip capacitor with its pads (common practice)."""

TAP_INDUCTANCE = Span(value=0.2 * NANO, least=0.0, most=0.4 * NANO, source="typical of a leadless package")
"""Between the place where capacitor and probe sit and the switch's own capacitance (common practice)."""

PROBE_CAPACITANCE = Span(
    value=2 * PICO, least=0.5 * PICO, most=12 * PICO, source="typical of active and passive probes"
)
"""(common practice)."""

PROBE_BANDWIDTH = Span(value=500 * MHZ, least=250 * MHZ, most=1000 * MHZ, source="typical of probe and oscilloscope")
"""(common practice)."""

SWING = Span(value=0.007, least=0.0, most=0.02, source="typical of a junction that rings by half of its voltage")
"""Part by which the ring of large cycles is slower than that of small ones (estimate, from simulated boards)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedRing:
    """A ring with a capacitor added across the switch.

    Parameters
    ----------
    capacitance : float
        That was added [F].
    frequency : float
        Of the ring with it [Hz].

    Examples
    --------
    >>> from geometries import LoadedRing
    >>> LoadedRing(capacitance=900e-12, frequency=103e6).capacitance
    9e-10
    """

    capacitance: float
    frequency: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RingMeasurement:
    """Readings of one ring.

    Parameters
    ----------
    frequency : float
        Nothing added [Hz].
    loaded : tuple of LoadedRing
        None, one, or two; the larger capacitor second.
    quality : Span, optional
        From the ring's decay [1].
    peak : float, optional
        Highest voltage on the screen [V].
    frequency_error, capacitance_error : float
        Relative uncertainty of every frequency and of every added capacitor [1].
    added_inductance, tap_inductance : Span
        Of the added capacitor; between tap and switch [H].
    probe_capacitance, probe_bandwidth : Span
        [F], [Hz].
    swing : Span
        Part by which the ring was read too slow because its cycles were large [1]; zero for the last, small ones.

    Examples
    --------
    >>> from geometries import LoadedRing, RingMeasurement
    >>> loaded = LoadedRing(capacitance=900e-12, frequency=103e6)
    >>> RingMeasurement(frequency=205e6, loaded=(loaded,)).frequency_error
    0.01
    """

    frequency: float
    loaded: tuple[LoadedRing, ...] = ()
    quality: Span | None = None
    peak: float | None = None
    frequency_error: float = 0.01
    capacitance_error: float = 0.05
    added_inductance: Span = ADDED_INDUCTANCE
    tap_inductance: Span = TAP_INDUCTANCE
    probe_capacitance: Span = PROBE_CAPACITANCE
    probe_bandwidth: Span = PROBE_BANDWIDTH
    swing: Span = SWING

    def __post_init__(self) -> None:
        _require_positive("ring_frequency", self.frequency, "Hz")
        if len(self.loaded) > 2:
            raise ScenarioError(f"measurement: {len(self.loaded)} capacitors were added; give none, one or two")
        for each in self.loaded:
            self._check_loaded(each)
        for first, second in pairwise(self.loaded):
            if not (first.capacitance < second.capacitance and first.frequency > second.frequency):
                raise ScenarioError(
                    "measurement: of two added capacitors the second is the larger one, and the ring with it the "
                    f"slower one; they are {_pico(first.capacitance)} at {first.frequency / MHZ:g} MHz and "
                    f"{_pico(second.capacitance)} at {second.frequency / MHZ:g} MHz"
                )
        if self.quality is not None and not self.quality.least > LEAST_QUALITY:
            raise ScenarioError(
                f"measurement: a quality factor of {self.quality.least:g} is called ringing; at {LEAST_QUALITY:g} or "
                "below nothing rings"
            )
        if self.peak is not None:
            _require_positive("peak", self.peak, "V")
        for name in ("frequency_error", "capacitance_error"):
            if not 0 <= getattr(self, name) < 0.5:
                raise ScenarioError(f"measurement: {name} is {getattr(self, name):g}; it lies between 0 and 50 %")
        for name in ("added_inductance", "tap_inductance", "probe_capacitance", "probe_bandwidth"):
            if not getattr(self, name).least >= 0:
                raise ScenarioError(f"measurement: {name} reaches below zero; write a span from zero on")

    def _check_loaded(self, loaded: LoadedRing) -> None:
        _require_positive("added_capacitance", loaded.capacitance, "F")
        if not 0 < loaded.frequency < self.frequency:
            raise ScenarioError(
                f"measurement: the ring goes from {self.frequency / MHZ:g} MHz to {loaded.frequency / MHZ:g} MHz with "
                f"{_pico(loaded.capacitance)} added; an added capacitor lowers it: exchange the two frequencies"
            )
        if not loaded.capacitance > self.probe_capacitance.value:
            raise ScenarioError(
                f"measurement: {_pico(loaded.capacitance)} were added and the probe alone has "
                f"{_pico(self.probe_capacitance.value)}; add more, best about the switch's own capacitance"
            )


def _pico(value: float) -> str:
    return write_quantity(value, Quantity.CAPACITANCE)


def _require_positive(name: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ScenarioError(f"measurement: {name} is {value:g} {unit}; it must be above zero")
