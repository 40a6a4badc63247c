"""What was measured on a board: a ring, an impedance, a spectrum."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.operation.ring_measurement import RingMeasurement


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredImpedance:
    """Impedance of a loop at one port: name of the file, frequencies [Hz] ascending, impedances [ohm]."""

    name: str
    frequencies: tuple[float, ...]
    impedances: tuple[complex, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredSpectrum:
    """Field strength at the distance of the scenario: name of the file, frequencies [Hz] ascending, levels [dBµV/m]."""

    name: str
    frequencies: tuple[float, ...]
    levels: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """The `[measurement]` table of a scenario.

    Parameters
    ----------
    variant : str
        The variant that was built.
    ring : RingMeasurement, optional
        Frequencies, decay and peak of the ring.
    impedance : MeasuredImpedance, optional
        From a Touchstone file.
    spectrum : MeasuredSpectrum, optional
        From a CSV file.

    Examples
    --------
    >>> from geometries import LoadedRing, Measurement, RingMeasurement
    >>> loaded = LoadedRing(capacitance=900e-12, frequency=103e6)
    >>> ring = RingMeasurement(frequency=205e6, loaded=(loaded,))
    >>> Measurement(variant="as built", ring=ring).impedance is None
    True
    """

    variant: str
    ring: RingMeasurement | None = None
    impedance: MeasuredImpedance | None = None
    spectrum: MeasuredSpectrum | None = None

    def __post_init__(self) -> None:
        if self.ring is None and self.impedance is None and self.spectrum is None:
            raise ScenarioError(
                "measurement: nothing was measured; give ring_frequency, loaded_ring_frequency and added_capacitance, "
                'or impedance = "loop.s1p", or spectrum = "chamber.csv"'
            )
