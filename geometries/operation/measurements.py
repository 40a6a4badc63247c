"""What was measured on a board: a pair of ring frequencies, an impedance, a spectrum."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.errors import ScenarioError
from geometries.tables import Capacitance, NotNegative, Positive, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class RingPair(Table):
    """Ring frequencies of the switch node without and with a capacitor added across the switch.

    Parameters
    ----------
    frequency, loaded_frequency : float
        Without and with it [Hz].
    added_capacitance : float
        [F].
    probe_capacitance : float
        Of the probe that stays on the node [F].
    frequency_error, capacitance_error : float
        Relative uncertainty of either frequency and of the added capacitance [1].

    Examples
    --------
    >>> from geometries import RingPair
    >>> RingPair(frequency=205e6, loaded_frequency=103e6, added_capacitance=900e-12).frequency_error
    0.01
    """

    frequency: float
    loaded_frequency: float
    SAID_OF = "measurement: "
    added_capacitance: Positive[Capacitance]
    probe_capacitance: NotNegative[Capacitance] = 0.0
    frequency_error: float = 0.01
    capacitance_error: float = 0.05

    def __post_init__(self) -> None:
        if not 0 < self.loaded_frequency < self.frequency:
            raise ScenarioError(
                f"measurement: the ring falls from {self.frequency:g} Hz to {self.loaded_frequency:g} Hz; added "
                "capacitance lowers it: ring_frequency is the higher one, loaded_ring_frequency the lower, both above "
                "zero"
            )
        Table.__post_init__(self)
        for name in ("frequency_error", "capacitance_error"):
            if not 0 <= getattr(self, name) < 0.5:
                raise ScenarioError(f"measurement: {name} is {getattr(self, name):g}; it lies between 0 and 50 %")


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
    pair : RingPair, optional
        Ring frequencies.
    impedance : MeasuredImpedance, optional
        From a Touchstone file.
    spectrum : MeasuredSpectrum, optional
        From a CSV file.

    Examples
    --------
    >>> from geometries import Measurement, RingPair
    >>> pair = RingPair(frequency=205e6, loaded_frequency=103e6, added_capacitance=900e-12)
    >>> Measurement(variant="as built", pair=pair).impedance is None
    True
    """

    variant: str
    pair: RingPair | None = None
    impedance: MeasuredImpedance | None = None
    spectrum: MeasuredSpectrum | None = None

    def __post_init__(self) -> None:
        if self.pair is None and self.impedance is None and self.spectrum is None:
            raise ScenarioError(
                "measurement: nothing was measured; give ring_frequency, loaded_ring_frequency and added_capacitance, "
                'or impedance = "loop.s1p", or spectrum = "chamber.csv"'
            )
