"""The `[measurement]` table of a scenario, with the names of its files."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.operation.emission import Emission
from geometries.operation.measured import read_impedance, read_spectrum
from geometries.operation.measurements import Measurement
from geometries.operation.ring_measurement import LoadedRing, RingMeasurement
from geometries.operation.ringing import quality_from_cycles
from geometries.operation.spans import Span, within
from geometries.tables import Capacitance, Described, Fraction, Frequency, Inductance, OperatingTable, Voltage

_LOADED = (
    ("added_capacitance", "loaded_ring_frequency"),
    ("second_added_capacitance", "second_loaded_ring_frequency"),
)
_STATED = ("probe_capacitance", "probe_bandwidth", "added_inductance", "tap_inductance")
_STATED_WITHIN = 0.2
"""Relative span of a stated value of capacitor, tap or probe (estimate)."""

_READ_DECAY = 0.15
"""Relative uncertainty of a decay read off a screen (estimate)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementTable(OperatingTable):
    """What was measured on one of the variants, with the names of files; see :class:`Measurement` and its parts."""

    variant: str = ""
    ring_frequency: Frequency | None = None
    loaded_ring_frequency: Frequency | None = None
    added_capacitance: Capacitance | None = None
    second_loaded_ring_frequency: Frequency | None = None
    second_added_capacitance: Capacitance | None = None
    probe_capacitance: Capacitance | None = None
    probe_bandwidth: Frequency | None = None
    added_inductance: Inductance | None = None
    tap_inductance: Inductance | None = None
    cycles_to_half: float | None = None
    quality_factor: float | None = None
    peak: Voltage | None = None
    frequency_error: Fraction = 0.01
    capacitance_error: Fraction = 0.05
    impedance: str = ""
    spectrum: str = ""

    def built(self, described: Described) -> Measurement:
        """With the contents of its files; of the reference if no variant is named."""
        if self.spectrum and described.asked(Emission) is None:
            raise ScenarioError(
                "measurement: a spectrum is set beside the predicted emission, and the scenario has no [emission] "
                "table; add one, or remove the key spectrum"
            )
        return Measurement(
            variant=self.variant or described.reference,
            ring=self._ring(),
            impedance=read_impedance(described.file(self.impedance, "impedance")) if self.impedance else None,
            spectrum=read_spectrum(described.file(self.spectrum, "spectrum")) if self.spectrum else None,
        )

    def _ring(self) -> RingMeasurement | None:
        if self.ring_frequency is None:
            if self.loaded_ring_frequency is not None or self.added_capacitance is not None:
                raise ScenarioError("measurement: ring_frequency is missing, the ring's with nothing added; give it")
            return None
        return RingMeasurement(
            frequency=self.ring_frequency,
            loaded=tuple(self._loaded()),
            quality=self._quality(),
            peak=self.peak,
            frequency_error=self.frequency_error,
            capacitance_error=self.capacitance_error,
            **self._spans(),
        )

    def _loaded(self) -> Iterator[LoadedRing]:
        """Rings with none, one or two capacitors added."""
        for added, frequency in _LOADED:
            capacitance, ring = getattr(self, added), getattr(self, frequency)
            if (capacitance is None) != (ring is None):
                missing = added if capacitance is None else frequency
                raise ScenarioError(f"measurement: {missing} is missing; a ring with a capacitor added needs both")
            if capacitance is not None and ring is not None:
                yield LoadedRing(capacitance=capacitance, frequency=ring)

    def _quality(self) -> Span | None:
        if self.cycles_to_half is not None and self.quality_factor is not None:
            raise ScenarioError("measurement: cycles_to_half and quality_factor say the same; give one of them")
        if self.cycles_to_half is not None:
            return within(quality_from_cycles(self.cycles_to_half), _READ_DECAY)
        return None if self.quality_factor is None else within(self.quality_factor, _READ_DECAY)

    def _spans(self) -> dict[str, Span]:
        """What is stated of capacitor, tap and probe; what is not stays typical."""
        stated = {key: getattr(self, key) for key in _STATED}
        return {key: within(value, _STATED_WITHIN) for key, value in stated.items() if value is not None}
