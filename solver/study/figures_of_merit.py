"""The figures a variant is judged by, each with its name and its unit."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from geometries.operation.emission import Emission
from geometries.operation.switching import Switching
from geometries.quantities import MHZ, NANO
from geometries.study.scenario import Scenario
from solver.emission.comparison import margin_of
from solver.notation.labels import scenario_wording
from solver.section.field_scan import nearest_scan
from solver.switching.comparison import switch_figures
from solver.variant.results import VariantResult

_MILLI = 1e-3
_PERCENT = 1e-2


def _none_estimated(result: VariantResult) -> float:
    return 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """One figure.

    Parameters
    ----------
    key : str
        Its name in files, with its SI unit.
    title : str
        Its name on pages.
    unit : str
        Unit it is shown in.
    scale : float
        That unit in SI units.
    read : callable
        Its value for a solved variant [SI].
    uncertainty : callable
        Its estimated uncertainty for a solved variant, to both sides [SI]; zero where none is estimated.
    """

    key: str
    title: str
    unit: str
    scale: float
    read: Callable[[VariantResult], float]
    uncertainty: Callable[[VariantResult], float] = _none_estimated


def loudest_victim(result: VariantResult) -> float:
    """Largest peak that any victim of a variant hears at its pin [V]; not a number without victims."""
    if result.pickup is None:
        return math.nan
    return max(victim.signal.peak for victim in result.pickup.victims)


_FEEDBACK_NOISE = Headline(key="feedback_noise_V", title="feedback noise", unit="mV", scale=_MILLI, read=loudest_victim)


def _whole_inductance(result: VariantResult) -> float:
    return math.nan if result.whole_loop is None else result.whole_loop.inductance


def _whole_uncertainty(result: VariantResult) -> float:
    return math.nan if result.whole_loop is None else result.whole_loop.uncertainty


_WHOLE_LOOP = Headline(
    key="whole_loop_H",
    title="whole loop",
    unit="nH",
    scale=NANO,
    read=_whole_inductance,
    uncertainty=_whole_uncertainty,
)


def headlines(scenario: Scenario) -> tuple[Headline, ...]:
    """The figures of a scenario: loop, field, moment; at the edge, of emission and of victims if asked for."""
    words = scenario_wording(scenario)
    figures = [
        Headline(
            key="loop_inductance_H",
            title="loop inductance",
            unit="nH",
            scale=NANO,
            read=lambda result: result.loop_inductance,
            uncertainty=lambda result: result.inductance_error,
        ),
        Headline(
            key="loop_resistance_ohm",
            title="loop resistance",
            unit="mΩ",
            scale=_MILLI,
            read=lambda result: result.loop_resistance,
            uncertainty=lambda result: result.resistance_error,
        ),
        _peak("above"),
        _peak("below"),
        Headline(
            key=words.moment_headline,
            title=words.moment,
            unit=words.moment_unit,
            scale=words.moment_size,
            read=lambda result: result.moment,
        ),
    ]
    if all(variant.placed is not None for variant in scenario.variants):
        figures.append(_WHOLE_LOOP)
    if all(variant.pickup is not None for variant in scenario.variants):
        figures.append(_FEEDBACK_NOISE)
    if scenario.switching is not None:
        figures += _at_the_edge(scenario.switching)
    if scenario.emission is not None:
        figures.append(_margin(scenario.emission))
    return tuple(figures)


def _peak(side: str) -> Headline:
    return Headline(
        key=f"peak_field_{side}_A_per_m_per_A",
        title=f"peak |H| {side}",
        unit="A/m per A",
        scale=1.0,
        read=lambda result: nearest_scan(result.lines, side).peak,
    )


def _at_the_edge(switching: Switching) -> list[Headline]:
    """Peak and overshoot of the switch's voltage, and the ring, as the scenario builds it."""
    return [
        Headline(
            key="peak_voltage_V",
            title="peak voltage",
            unit="V",
            scale=1.0,
            read=lambda result: switch_figures(switching, result).peak,
            uncertainty=lambda result: switch_figures(switching, result).peak_error,
        ),
        Headline(
            key="overshoot_1",
            title="overshoot",
            unit="%",
            scale=_PERCENT,
            read=lambda result: switch_figures(switching, result).peak / switching.input_voltage - 1,
            uncertainty=lambda result: switch_figures(switching, result).peak_error / switching.input_voltage,
        ),
        Headline(
            key="ring_frequency_Hz",
            title="ring frequency",
            unit="MHz",
            scale=MHZ,
            read=lambda result: switch_figures(switching, result).frequency,
            uncertainty=lambda result: switch_figures(switching, result).frequency_error,
        ),
    ]


def _margin(emission: Emission) -> Headline:
    return Headline(
        key="emission_margin_dB",
        title="emission margin",
        unit="dB",
        scale=1.0,
        read=lambda result: margin_of(emission, result).value,
        uncertainty=lambda result: emission.band,
    )
