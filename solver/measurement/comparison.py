"""What was measured on a variant, set beside its prediction."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometries.errors import ScenarioError
from geometries.operation.measurements import MeasuredImpedance, MeasuredSpectrum, Measurement
from geometries.operation.ring_measurement import RingMeasurement
from geometries.operation.spans import Span, within
from geometries.operation.switching import PACKAGE_SPAN, Switching
from geometries.quantities import MHZ, NANO
from geometries.study.scenario import Scenario
from solver.emission.results import EmissionComparison, EmissionPrediction
from solver.measurement.as_measured import AsMeasured, as_measured
from solver.measurement.results import (
    ImpedanceReading,
    InductancePart,
    MeasurementResult,
    PairReading,
    SpectrumReading,
)
from solver.measurement.ring_reading import read_ring
from solver.notation import numbers
from solver.variant.analysis import Analysis, SolvedStudy
from solver.variant.results import VariantResult

_CAPACITANCE_SPREAD = 0.2
"""Of a data sheet's output capacitance between typical and largest (common practice)."""

_PICO = 1e-12


def compare_measurement(
    measurement: Measurement,
    result: VariantResult,
    switching: Switching | None,
    prediction: EmissionPrediction | None,
    others: Sequence[VariantResult] = (),
    scenario: Scenario | None = None,
) -> MeasurementResult:
    """Set what was measured beside the prediction.

    Parameters
    ----------
    measurement : Measurement
        What was measured.
    result : VariantResult
        The variant that was measured, solved.
    switching : Switching, optional
        Gives the package's part, and edge and frequency for snubbers.
    prediction : EmissionPrediction, optional
        Of that variant, for a spectrum.
    others : sequence of VariantResult
        Among which a change is looked for that brings what the limit asks.
    scenario : Scenario, optional
        Whose pick-up and emission are asked for as measured.

    Returns
    -------
    MeasurementResult

    Raises
    ------
    ScenarioError
        If a spectrum has no frequency in common with the prediction.
    """
    pair = None if measurement.ring is None else _read_ring(measurement.ring, result, switching, others, scenario)
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
    prediction = predicted[0] if predicted else None
    return compare_measurement(
        measurement, built[0], study.scenario.switching, prediction, study.results, study.scenario
    )


MEASUREMENT: Analysis[None] = Analysis(
    key="measurement",
    asked=lambda scenario: scenario.measurement is not None,
    find=lambda scenario, result: None,
    compare=lambda study, _workers: _compare(study),
)
"""Asked for by a [measurement] table."""


def _read_ring(
    ring: RingMeasurement,
    result: VariantResult,
    switching: Switching | None,
    others: Sequence[VariantResult],
    scenario: Scenario | None,
) -> PairReading:
    """Capacitance and inductance with their intervals, the parts of the inductance, and the loop as measured."""
    stated = None if switching is None else _stated_capacitance(switching)
    volts = None if switching is None else switching.input_voltage
    reading = read_ring(ring, stated_capacitance=stated, final_voltage=volts)
    inductance, capacitance = reading.inductance.value, reading.capacitance.value
    error = reading.inductance.half_width
    return PairReading(
        capacitance=capacitance,
        capacitance_error=reading.capacitance.half_width,
        inductance=inductance,
        inductance_error=error,
        parts=_parts(inductance, error, ring.frequency, result, switching),
        stated_capacitance=None if switching is None else switching.capacitance_at_input,
        ring=reading,
        as_measured=None if switching is None else as_measured(switching, reading, result, others, scenario),
        usual_resistance=math.sqrt(inductance / capacitance),
    )


def _stated_capacitance(switching: Switching) -> Span:
    """Of the switch at the input voltage, with its tolerance or a typical one [F]."""
    return within(switching.capacitance_at_input, switching.tolerance.output_capacitance or _CAPACITANCE_SPREAD)


def _parts(
    measured: float, error: float, frequency: float, result: VariantResult, switching: Switching | None
) -> tuple[InductancePart, ...]:
    """Copper and package, or the terms of a placement's whole loop, and what is left."""
    if result.planned_loop is not None and result.basis.holds_package:
        terms = result.planned_loop.terms
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
        explained.append(InductancePart(name=name, value=package, error=_package_error(switching)))
    return _with_rest(measured, error, explained)


def _package_error(switching: Switching) -> float:
    """Of the package's inductance: its stated tolerance, or the span of what is typical [H]."""
    tolerance = switching.tolerance.package_inductance
    if tolerance == 0 and "package_inductance" in switching.assumed:
        return max(PACKAGE_SPAN.most - PACKAGE_SPAN.value, PACKAGE_SPAN.value - PACKAGE_SPAN.least)
    return switching.package_inductance * tolerance


def _with_rest(measured: float, error: float, explained: list[InductancePart]) -> tuple[InductancePart, ...]:
    left = measured - sum(each.value for each in explained)
    uncertain = math.hypot(error, *(each.error for each in explained))
    return (*explained, InductancePart(name="not explained", value=left, error=uncertain))


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
    predicted = sum(part.value for part in pair.parts[:-1])
    capacitance = numbers.with_uncertainty(pair.capacitance, pair.capacitance_error, _PICO)
    return (
        f"Measured: {_nanohenry(pair.inductance, pair.inductance_error)} and {capacitance} pF; "
        f"predicted: {predicted / NANO:.2f} nH. "
        f"{_rest(pair.unexplained)}{_what_to_do(pair.as_measured)}"
    )


def _what_to_do(loop: AsMeasured | None) -> str:
    """What follows of the loop as measured, and which change of the layout the limit asks for."""
    if loop is None:
        return ""
    peak = f" As measured the edge peaks at {numbers.with_uncertainty(loop.peak, loop.peak_error)} V."
    most = loop.largest_inductance
    if most is None:
        return peak
    if loop.too_much == 0:
        asked = (
            f"up to {_nanohenry(most.value, most.uncertainty)}" if math.isfinite(most.value) else "at any inductance"
        )
        return f"{peak} The limit is kept {asked}: nothing has to change for it."
    names = ", ".join(f"“{name}”" for name in loop.enough)
    change = f"by the prediction {names} brings that" if names else "no other variant of this study brings that"
    return (
        f"{peak} The limit asks for {_nanohenry(most.value, most.uncertainty)} at most, {loop.too_much / NANO:.2f} nH "
        f"less than was measured: {change}."
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
    return f"{numbers.with_uncertainty(value, error, NANO)} nH"
