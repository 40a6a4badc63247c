"""What a ring on the bench says of its loop: inductance, capacitance, damping and peak, each with its interval.

Every span is carried: of the readings, of the added capacitor's own inductance, of the inductance between tap and
switch, of the probe. Spans are taken as independent and even between their ends; an interval is 2.25 times the
standard uncertainty to either side (JCGM 100:2008, 4.3.7 and 6.3), which holds the true value in 95 of 100 cases or
more.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from geometries.operation.ring_measurement import RingMeasurement
from geometries.operation.spans import Span, within
from solver.errors import SolutionError
from solver.formulas import branch_capacitance, two_branch_capacitance, two_branch_inductance

_COVERAGE = 2.25 / math.sqrt(3)
"""Of an even distribution, over its half-width; 2.25 standard deviations where two would do for a normal distribution,
because a few skewed spans lead (checked against simulated boards)."""

_CORRECTION_OF_PEAK = Span(
    value=1.05,
    least=0.95,
    most=1.25,
    source="a junction's first crest is sharper than the late ring (simulated boards)",
)
"""What a correction by the late ring's frequency is multiplied by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanInfluence:
    """What the span of one input does: changes of the result at its least and its most."""

    source: str
    at_least: float
    at_most: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A result, the interval that holds it, and what the interval is made of.

    Parameters
    ----------
    value, least, most : float
        In SI units.
    influences : tuple of SpanInfluence
        The largest first.
    """

    value: float
    least: float
    most: float
    influences: tuple[SpanInfluence, ...]

    @property
    def half_width(self) -> float:
        """The larger distance of both ends from the value."""
        return max(self.value - self.least, self.most - self.value)

    def holds(self, value: float) -> bool:
        """Whether a value lies in the interval."""
        return self.least <= value <= self.most


@dataclass(frozen=True, slots=True, kw_only=True)
class RingReading:
    """A loop as it was measured.

    Parameters
    ----------
    inductance : Interval
        Of the whole loop [H].
    capacitance : Interval
        Of the switch at its final voltage, with what hangs on its node but without the probe [F].
    quality : Span, optional
        As it was read [1].
    peak : Interval, optional
        Highest voltage at the switch's own capacitance [V]; none without a reading.
    added_inductance : Span
        Of the added capacitor, typical, stated or found from two of them [H].
    """

    inductance: Interval
    capacitance: Interval
    quality: Span | None
    peak: Interval | None
    added_inductance: Span


_STEP, _SMALLEST = 1e-3, 1e-12
"""Of a difference: relative, and of what at least [H]."""

Inputs = Mapping[str, float]


def read_ring(
    measurement: RingMeasurement, *, stated_capacitance: Span | None = None, final_voltage: float | None = None
) -> RingReading:
    """Interpret the readings of a ring.

    Parameters
    ----------
    measurement : RingMeasurement
        With none, one or two added capacitors.
    stated_capacitance : Span, optional
        Of the switch at its final voltage [F]; needed without added capacitor.
    final_voltage : float, optional
        That the ring settles at [V]; needed for a peak.

    Returns
    -------
    RingReading

    Raises
    ------
    SolutionError
        If no loop has these frequencies, or something that is needed was not given.
    """
    if len(measurement.loaded) == 2:
        measurement = replace(measurement, added_inductance=_found_inductance(measurement))
    spans = _spans(measurement, stated_capacitance)
    capacitance, inductance = _capacitance(measurement, spans), _inductance(measurement, spans)
    peak = None
    if measurement.peak is not None:
        peak = _interval(_peak_formula(measurement, spans, final_voltage), spans)
    return RingReading(
        inductance=_interval(inductance, spans),
        capacitance=_interval(capacitance, spans),
        quality=measurement.quality,
        peak=peak,
        added_inductance=measurement.added_inductance,
    )


def _spans(measurement: RingMeasurement, stated: Span | None) -> dict[str, Span]:
    """All inputs that have a span, by their names."""
    spans = {
        "ring frequency": within(measurement.frequency, measurement.frequency_error),
        "swing of the ring": measurement.swing,
        "inductance between tap and switch": measurement.tap_inductance,
        "probe capacitance": measurement.probe_capacitance,
    }
    if measurement.quality is not None:
        spans["damping"] = measurement.quality
    if measurement.loaded:
        spans["ring frequency with the added capacitor"] = within(
            measurement.loaded[0].frequency, measurement.frequency_error
        )
        spans["added capacitor"] = within(measurement.loaded[0].capacitance, measurement.capacitance_error)
        spans["inductance of the added capacitor"] = measurement.added_inductance
    elif stated is not None:
        spans["stated capacitance"] = stated
    else:
        raise SolutionError(
            "a ring frequency alone says inductance times capacitance; add a capacitor and read the ring again, or "
            "state the switch's output capacitance"
        )
    if measurement.peak is not None:
        spans["probe bandwidth"] = measurement.probe_bandwidth
        spans["correction of the peak"] = _CORRECTION_OF_PEAK
    return spans


def _interval(formula: Callable[[Inputs], float], spans: Mapping[str, Span]) -> Interval:
    """Positive value of a formula, each input moved to both ends of its span by itself; changes add as ratios do."""
    value, found = _influences(formula, spans)
    below = math.hypot(*(math.log(1 + min(each.at_least, each.at_most, 0.0) / value) for each in found))
    above = math.hypot(*(math.log(1 + max(each.at_least, each.at_most, 0.0) / value) for each in found))
    return Interval(
        value=value,
        least=value * math.exp(-_COVERAGE * below),
        most=value * math.exp(_COVERAGE * above),
        influences=found,
    )


def _influences(
    formula: Callable[[Inputs], float], spans: Mapping[str, Span]
) -> tuple[float, tuple[SpanInfluence, ...]]:
    """Value of a formula, and its changes as each input goes to the ends of its span; the largest first."""
    nominal = _values(spans)
    value = formula(nominal)
    found = [
        SpanInfluence(
            source=name,
            at_least=formula({**nominal, name: span.least}) - value,
            at_most=formula({**nominal, name: span.most}) - value,
        )
        for name, span in spans.items()
    ]
    return value, tuple(sorted(found, key=lambda each: -max(abs(each.at_least), abs(each.at_most))))


def _capacitance(measurement: RingMeasurement, spans: Mapping[str, Span]) -> Callable[[Inputs], float]:
    """Of the switch [F]: stated, or from the pair."""

    def formula(inputs: Inputs) -> float:
        if "stated capacitance" in spans:
            return inputs["stated capacitance"]
        try:
            return two_branch_capacitance(
                _small_ring(inputs),
                _small_loaded_ring(inputs),
                inputs["added capacitor"],
                inputs["inductance between tap and switch"],
                inputs["inductance of the added capacitor"],
                inputs["probe capacitance"],
            )
        except ValueError as error:
            raise SolutionError(f"no loop has these ring frequencies within their spans: {error}") from error

    return formula


def _inductance(measurement: RingMeasurement, spans: Mapping[str, Span]) -> Callable[[Inputs], float]:
    """Of the whole loop [H]."""
    capacitance = _capacitance(measurement, spans)

    def formula(inputs: Inputs) -> float:
        return two_branch_inductance(
            _small_ring(inputs),
            capacitance(inputs),
            inputs["inductance between tap and switch"],
            inputs["probe capacitance"],
        )

    return formula


def _peak_formula(
    measurement: RingMeasurement, spans: Mapping[str, Span], final: float | None
) -> Callable[[Inputs], float]:
    """Highest voltage at the switch [V]: with what probe and inductance beyond the tap leave out of the ring."""
    if final is None or measurement.peak is None:
        raise SolutionError("a measured peak needs the voltage that the ring settles at: state the input voltage")
    seen, capacitance = measurement.peak - final, _capacitance(measurement, spans)

    def formula(inputs: Inputs) -> float:
        frequency = inputs["ring frequency"]
        low_pass = math.hypot(1.0, frequency / inputs["probe bandwidth"])
        beyond = branch_capacitance(frequency, capacitance(inputs), inputs["inductance between tap and switch"])
        gained = low_pass * beyond / capacitance(inputs) - 1
        return final + seen * (1 + gained * inputs["correction of the peak"])

    return formula


def _small_ring(inputs: Inputs) -> float:
    """Undamped frequency of a small ring [Hz]."""
    return inputs["ring frequency"] * (1 + inputs["swing of the ring"]) * _undamping(inputs)


def _small_loaded_ring(inputs: Inputs) -> float:
    """Likewise with the added capacitor, whose part of the capacitance does not change with the voltage [Hz]."""
    loaded = inputs["ring frequency with the added capacitor"]
    part = (loaded / inputs["ring frequency"]) ** 2
    return loaded * (1 + part * inputs["swing of the ring"]) * _undamping(inputs)


def _undamping(inputs: Inputs) -> float:
    """Undamped over damped frequency [1]."""
    quality = inputs.get("damping", math.inf)
    return 1 / math.sqrt(1 - 1 / (4 * quality**2))


def _found_inductance(measurement: RingMeasurement) -> Span:
    """Inductance of two added capacitors of one kind, with which both tell of the same loop [H]."""
    spans = {
        "ring frequency": within(measurement.frequency, measurement.frequency_error),
        **{
            f"ring {n}": within(each.frequency, measurement.frequency_error)
            for n, each in enumerate(measurement.loaded)
        },
        **{
            f"added {n}": within(each.capacitance, measurement.capacitance_error)
            for n, each in enumerate(measurement.loaded)
        },
    }
    typical = measurement.added_inductance
    guess = _agreeing_inductance(measurement, spans, typical.value)(_values(spans))
    about = min(max(guess, typical.least), typical.most)
    value, found = _influences(_agreeing_inductance(measurement, spans, about), spans)
    reach = _COVERAGE * math.hypot(*(max(abs(each.at_least), abs(each.at_most)) for each in found))
    least, most = max(value - reach, typical.least), min(value + reach, typical.most)
    if least > most:
        raise SolutionError(
            f"both added capacitors together say {value * 1e9:.2f} nH for their own inductance, outside the "
            f"{typical.least * 1e9:.2f} to {typical.most * 1e9:.2f} nH that are {typical.source}; check their "
            "values, or state added_inductance"
        )
    return Span(value=min(max(value, least), most), least=least, most=most, source="from two added capacitors")


def _agreeing_inductance(
    measurement: RingMeasurement, spans: Mapping[str, Span], about: float
) -> Callable[[Inputs], float]:
    """Inductance with which both capacitors tell of the same switch [H], on a straight line through a guess [H]."""
    tap, probe = measurement.tap_inductance.value, measurement.probe_capacitance.value

    def difference(inputs: Inputs, inductance: float) -> float:
        one, two = (
            two_branch_capacitance(
                inputs["ring frequency"], inputs[f"ring {n}"], inputs[f"added {n}"], tap, inductance, probe
            )
            for n in range(2)
        )
        return math.log(two / one)

    nominal, step = _values(spans), _STEP * max(about, _SMALLEST)
    slope = (difference(nominal, about + step) - difference(nominal, about)) / step
    return lambda inputs: about - difference(inputs, about) / slope


def _values(spans: Mapping[str, Span]) -> dict[str, float]:
    return {name: span.value for name, span in spans.items()}
