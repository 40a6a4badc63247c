"""The `[measurement]` table of a scenario, with the names of its files."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.operation.emission import Emission
from geometries.operation.measured import read_impedance, read_spectrum
from geometries.operation.measurements import Measurement, RingPair
from geometries.tables import Capacitance, Described, Fraction, Frequency, OperatingTable

_PAIR = ("ring_frequency", "loaded_ring_frequency", "added_capacitance")


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementTable(OperatingTable):
    """What was measured on one of the variants, with the names of files; see :class:`Measurement` and its parts."""

    variant: str = ""
    ring_frequency: Frequency | None = None
    loaded_ring_frequency: Frequency | None = None
    added_capacitance: Capacitance | None = None
    probe_capacitance: Capacitance = 0.0
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
            pair=self._pair(),
            impedance=read_impedance(described.file(self.impedance, "impedance")) if self.impedance else None,
            spectrum=read_spectrum(described.file(self.spectrum, "spectrum")) if self.spectrum else None,
        )

    def _pair(self) -> RingPair | None:
        frequency, loaded, added = (getattr(self, key) for key in _PAIR)
        missing = [key for key in _PAIR if getattr(self, key) is None]
        if len(missing) == len(_PAIR):
            return None
        if missing:
            raise ScenarioError(
                f"measurement: {', '.join(missing)} is missing; a pair of ring frequencies needs "
                f"{', '.join(_PAIR[:-1])} and {_PAIR[-1]}"
            )
        return RingPair(
            frequency=frequency,
            loaded_frequency=loaded,
            added_capacitance=added,
            probe_capacitance=self.probe_capacitance,
            frequency_error=self.frequency_error,
            capacitance_error=self.capacitance_error,
        )
