"""What a bench measurement shows beside the prediction; frozen values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.measurement.as_measured import AsMeasured
from solver.measurement.ring_reading import RingReading


@dataclass(frozen=True, slots=True, kw_only=True)
class InductancePart:
    """One line of the measured inductance: what it is, its value [H], and its uncertainty to both sides [H]."""

    name: str
    value: float
    error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairReading:
    """What a ring says.

    Parameters
    ----------
    capacitance, capacitance_error : float
        Of the switch node, without the probe [F].
    inductance, inductance_error : float
        Of the whole loop [H].
    parts : tuple of InductancePart
        The inductance by its parts; the last one is what is not explained.
    stated_capacitance : float, optional
        That the scenario states for the switch [F].
    ring : RingReading
        The reading, with the influence of every input.
    as_measured : AsMeasured, optional
        The loop with what was measured in it, at the switching edge; none without a `[switching]` table.
    usual_resistance : float
        Of a snubber: the loop's characteristic impedance [ohm].
    """

    capacitance: float
    capacitance_error: float
    inductance: float
    inductance_error: float
    parts: tuple[InductancePart, ...]
    stated_capacitance: float | None
    ring: RingReading
    as_measured: AsMeasured | None
    usual_resistance: float

    @property
    def unexplained(self) -> InductancePart:
        """What no part of the model accounts for."""
        return self.parts[-1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ImpedanceReading:
    """A measured impedance beside the predicted one.

    Parameters
    ----------
    name : str
        Of the measurement.
    frequencies : (n,) array
        Of the measurement [Hz].
    measured, predicted : (n,) complex array
        Impedances [ohm]; the prediction is that of the loop's copper.
    compared_at : float
        Measured frequency nearest to the report frequency [Hz].
    parts : tuple of InductancePart
        The inductance measured there by its parts; the last one is what is not explained.
    """

    name: str
    frequencies: NDArray[np.float64]
    measured: NDArray[np.complex128]
    predicted: NDArray[np.complex128]
    compared_at: float
    parts: tuple[InductancePart, ...]

    @property
    def measured_inductances(self) -> NDArray[np.float64]:
        """Imaginary part over angular frequency, (n,) [H]."""
        return np.asarray(self.measured.imag / (2 * np.pi * self.frequencies))

    @property
    def predicted_inductances(self) -> NDArray[np.float64]:
        """Likewise, (n,) [H]."""
        return np.asarray(self.predicted.imag / (2 * np.pi * self.frequencies))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpectrumReading:
    """A measured spectrum beside the predicted bound of the loop alone.

    Parameters
    ----------
    name : str
        Of the measurement.
    frequencies, measured, predicted : (n,) array
        Where both exist [Hz], [dBµV/m].
    """

    name: str
    frequencies: NDArray[np.float64]
    measured: NDArray[np.float64]
    predicted: NDArray[np.float64]

    @property
    def largest_excess(self) -> tuple[float, float]:
        """Frequency [Hz] and size [dB] of the measured level that lies highest above the predicted bound."""
        excess = self.measured - self.predicted
        highest = int(excess.argmax())
        return float(self.frequencies[highest]), float(excess[highest])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasurementResult:
    """Everything that was measured on a variant, beside its prediction.

    Parameters
    ----------
    variant : str
        The variant.
    pair, impedance, spectrum : optional
        As far as they were measured.
    sentence : str
        What they show.
    """

    variant: str
    pair: PairReading | None
    impedance: ImpedanceReading | None
    spectrum: SpectrumReading | None
    sentence: str
