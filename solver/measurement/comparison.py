"""What was measured on a variant, set beside its prediction."""

from __future__ import annotations

import math

import numpy as np

from geometries.errors import ScenarioError
from geometries.operation.measurements import MeasuredImpedance, MeasuredSpectrum, Measurement, RingPair
from geometries.operation.switching import Switching
from geometries.quantities import MHZ, NANO
from solver.circuit.series_loop import SeriesLoop
from solver.emission.results import EmissionComparison, EmissionPrediction
from solver.formulas import ring_inductance, ring_pair_capacitance
from solver.measurement.results import (
    DamperProposal,
    ImpedanceReading,
    InductancePart,
    MeasurementResult,
    PairReading,
    SpectrumReading,
)
from solver.switching.comparison import drive
from solver.switching.snubber import best_resistance, snubber_loss
from solver.variant.analysis import Analysis, SolvedStudy
from solver.variant.results import VariantResult

USUAL_RATIOS = (3.0, 4.0)
"""Usual capacitances of a snubber over that of the switch (common practice)."""

_PICO = 1e-12


def compare_measurement(
    measurement: Measurement, result: VariantResult, switching: Switching | None, prediction: EmissionPrediction | None
) -> MeasurementResult:
    """Set what was measured beside the prediction.

    Parameters
    ----------
    bench : Bench
        What was measured.
    result : VariantResult
        The variant that was measured, solved.
    switching : Switching, optional
        Gives the package's part, and edge and frequency for snubbers.
    prediction : EmissionPrediction, optional
        Of that variant, for a spectrum.

    Returns
    -------
    BenchResult

    Raises
    ------
    ScenarioError
        If a spectrum has no frequency in common with the prediction.
    """
    pair = None if measurement.pair is None else _read_pair(measurement.pair, result, switching)
    impedance = None if measurement.impedance is None else _read_impedance(measurement.impedance, result, switching)
    spectrum = None
    if measurement.spectrum is not None and prediction is not None:
        spectrum = _read_spectrum(measurement.spectrum, prediction)
    return MeasurementResult(
        variant=result.variant.name,
        pair=pair,
        impedance=impedance,
        spectrum=spectrum,
        sentence=" ".join(filter(None, (_pair_sentence(pair), _impedance_sentence(impedance), _excess(spectrum)))),
    )


def _compare(study: SolvedStudy) -> MeasurementResult | None:
    """What was measured, if its variant was solved."""
    measurement = study.scenario.measurement
    built = [each for each in study.results if measurement and each.variant.name == measurement.variant]
    if measurement is None or not built:
        return None
    emission = study.outcome(EmissionComparison)
    predicted = [each for each in (emission.predictions if emission else ()) if each.name == measurement.variant]
    return compare_measurement(measurement, built[0], study.scenario.switching, predicted[0] if predicted else None)


MEASUREMENT: Analysis[None] = Analysis(
    key="measurement",
    asked=lambda scenario: scenario.measurement is not None,
    find=lambda scenario, result: None,
    compare=_compare,
)
"""Asked for by a [measurement] table."""


def _read_pair(pair: RingPair, result: VariantResult, switching: Switching | None) -> PairReading:
    """Capacitance and inductance, their uncertainties by first order, and the parts of the inductance."""
    with_probe = ring_pair_capacitance(pair.frequency, pair.loaded_frequency, pair.added_capacitance)
    inductance = ring_inductance(pair.frequency, with_probe)
    square = (pair.frequency / pair.loaded_frequency) ** 2
    steep = 2 * square / (square - 1) * pair.frequency_error
    capacitance = with_probe - pair.probe_capacitance
    if not capacitance > 0:
        raise ScenarioError(
            f"measurement: the ring has {with_probe / _PICO:.3g} pF in all and the probe has "
            f"{pair.probe_capacitance / _PICO:.3g} pF; fix probe_capacitance or the frequencies"
        )
    error = inductance * math.hypot(steep, 2 / (square - 1) * pair.frequency_error, pair.capacitance_error)
    return PairReading(
        capacitance=capacitance,
        capacitance_error=with_probe * math.hypot(steep, steep, pair.capacitance_error),
        inductance=inductance,
        inductance_error=error,
        parts=_parts(inductance, error, pair.frequency, result, switching),
        stated_capacitance=None if switching is None else switching.output_capacitance,
        proposals=tuple(_proposal(ratio, inductance, capacitance, switching) for ratio in USUAL_RATIOS),
    )


def _parts(
    measured: float, error: float, frequency: float, result: VariantResult, switching: Switching | None
) -> tuple[InductancePart, ...]:
    """Copper and package, or the terms of a placement's whole loop, and what is left."""
    if result.whole_loop is not None:
        terms = result.whole_loop.terms
        return _with_rest(
            measured,
            error,
            [
                InductancePart(name=f"{each.name}, predicted", value=each.amount, error=each.uncertainty)
                for each in terms
            ],
        )
    impedance = result.loop.circuit.impedance(frequency)[0, 0]
    copper = float(impedance.imag) / (2 * math.pi * frequency)
    part = result.loop.inductance_uncertainty / result.loop_inductance
    explained = [InductancePart(name="copper, predicted", value=copper, error=copper * part)]
    if switching is not None:
        source = "typical" if "package_inductance" in switching.assumed else "stated"
        package, name = switching.package_inductance, f"package and capacitor, {source}"
        explained.append(
            InductancePart(name=name, value=package, error=package * switching.tolerance.package_inductance)
        )
    return _with_rest(measured, error, explained)


def _with_rest(measured: float, error: float, explained: list[InductancePart]) -> tuple[InductancePart, ...]:
    left = measured - sum(each.value for each in explained)
    uncertain = math.hypot(error, *(each.error for each in explained))
    return (*explained, InductancePart(name="not explained", value=left, error=uncertain))


def _proposal(ratio: float, inductance: float, capacitance: float, switching: Switching | None) -> DamperProposal:
    size = ratio * capacitance
    searched = loss = None
    if switching is not None:
        loop = SeriesLoop(resistance=switching.series_resistance, inductance=inductance, capacitance=capacitance)
        searched = best_resistance(loop, size, drive(switching))
        if switching.frequency is not None:
            loss = snubber_loss(size, switching.input_voltage, switching.frequency)
    return DamperProposal(
        capacitance=size,
        resistance=math.sqrt(inductance / capacitance),
        searched_resistance=searched,
        loss=loss,
    )


def _read_impedance(
    measurement: MeasuredImpedance, result: VariantResult, switching: Switching | None
) -> ImpedanceReading:
    frequencies = np.array(measurement.frequencies)
    measured = np.array(measurement.impedances)
    circuit = result.loop.circuit
    report = float(result.frequencies[result.report_index])
    nearest = int(np.abs(np.log(frequencies / report)).argmin())
    at = float(frequencies[nearest])
    inductance = float(measured[nearest].imag) / (2 * math.pi * at)
    return ImpedanceReading(
        name=measurement.name,
        frequencies=frequencies,
        measured=measured,
        predicted=np.array([complex(circuit.impedance(float(f))[0, 0]) for f in frequencies]),
        compared_at=at,
        parts=_parts(inductance, 0.0, at, result, switching),
    )


def _read_spectrum(measurement: MeasuredSpectrum, prediction: EmissionPrediction) -> SpectrumReading:
    """The bound of the loop alone, interpolated on a logarithmic axis to the measured frequencies."""
    frequencies, levels = np.array(measurement.frequencies), np.array(measurement.levels)
    inside = (frequencies >= prediction.frequencies[0]) & (frequencies <= prediction.frequencies[-1])
    if not inside.any():
        raise ScenarioError(
            f"{measurement.name}: no measured frequency lies between {prediction.frequencies[0] / MHZ:g} and "
            f"{prediction.frequencies[-1] / MHZ:g} MHz, where the emission is predicted"
        )
    bound = np.interp(np.log(frequencies[inside]), np.log(prediction.frequencies), prediction.bound)
    return SpectrumReading(
        name=measurement.name, frequencies=frequencies[inside], measured=levels[inside], predicted=np.asarray(bound)
    )


def _pair_sentence(pair: PairReading | None) -> str:
    if pair is None:
        return ""
    left = pair.unexplained
    return (
        f"The ring says {pair.capacitance / _PICO:.0f} ± {math.ceil(pair.capacitance_error / _PICO)} pF and "
        f"{_nanohenry(pair.inductance, pair.inductance_error)}. {_rest(left)}"
    )


def _impedance_sentence(impedance: ImpedanceReading | None) -> str:
    if impedance is None:
        return ""
    total = sum(part.value for part in impedance.parts)
    return (
        f"“{impedance.name}” shows {total / NANO:.2f} nH at {impedance.compared_at / MHZ:.3g} MHz. "
        f"{_rest(impedance.parts[-1])}"
    )


def _rest(left: InductancePart) -> str:
    """What the part that is not explained means."""
    size = _nanohenry(left.value, left.error)
    if abs(left.value) <= left.error:
        return f"The model explains it: {size} are left, within the uncertainty."
    if left.value < 0:
        return f"The model has {_nanohenry(-left.value, left.error)} more than was measured: look for a shorter path."
    return f"{size} are not explained by the model: ends, vias, capacitor, or a longer path than described."


def _excess(spectrum: SpectrumReading | None) -> str:
    if spectrum is None:
        return ""
    frequency, size = spectrum.largest_excess
    side = "above" if size > 0 else "below"
    return (
        f"The measured spectrum comes highest against the bound of the loop alone at {frequency / MHZ:.3g} MHz, "
        f"{abs(size):.0f} dB {side} it{'; what lies above it comes from elsewhere, often a cable' if size > 0 else ''}."
    )


def _nanohenry(value: float, error: float) -> str:
    """With the uncertainty rounded up to hundredths, if it reaches half of one."""
    shown = f"{value / NANO:.2f}"
    return f"{shown} ± {math.ceil(100 * error / NANO) / 100:.2f} nH" if error >= 0.005 * NANO else f"{shown} nH"
