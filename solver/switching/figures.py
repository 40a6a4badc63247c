"""Figures of the switching edge: peak and ring of the switch's voltage as the scenario builds it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from threadpoolctl import threadpool_limits

from geometries.operation.switching import Switching
from solver.errors import SolutionError
from solver.switching.circuit import as_built
from solver.switching.comparison import (
    SWITCHING_NEEDS,
    compare_switching,
    switching_warnings,
    total_inductance,
)
from solver.switching.edge_peak import edge_peak, late_ring
from solver.switching.influences import inductance_margin, influences
from solver.switching.results import combined
from solver.variant.analysis import Analysis
from solver.variant.edge_circuit import drive, switched_loop, variant_loop
from solver.variant.figure import MEGAHERTZ, NANOHENRY, NUMBER, PERCENT, VOLT, Figure, Reading, Sense
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchFigures:
    """Peak [V], ring frequency [Hz] and quality [1] of a variant as built, its margin of inductance [H]."""

    switching: Switching
    peak: Reading
    frequency: Reading
    quality: Reading
    inductance_margin: Reading | None


def switch_figures(switching: Switching | None, result: VariantResult) -> SwitchFigures:
    """The figures of a solved variant at the switching edge, without all else; without ring its frequency is zero.

    Raises
    ------
    SolutionError
        If no switching edge is described.
    """
    if switching is None:
        raise SolutionError("the scenario has no [switching] table; nothing is known of its edge")
    with threadpool_limits(1):
        plain = variant_loop(switching, result)
        built = as_built(switching, plain)
        circuit, edge = switched_loop(switching, built), drive(switching)
        ring = late_ring(circuit, edge)
        error = combined(influences(switching, result, built.snubber))
        return SwitchFigures(
            switching=switching,
            peak=Reading(value=edge_peak(circuit, edge).voltage, uncertainty=error.peak),
            frequency=Reading(value=0.0 if ring is None else ring.frequency, uncertainty=error.frequency),
            quality=Reading(value=0.0 if ring is None else ring.quality, uncertainty=error.quality),
            inductance_margin=inductance_margin(switching, result, total_inductance(plain, edge)),
        )


def _overshoot(found: SwitchFigures) -> Reading:
    height = found.switching.input_voltage
    return Reading(value=found.peak.value / height - 1, uncertainty=found.peak.uncertainty / height)


def _inductance_margin(found: SwitchFigures) -> Reading:
    """Largest inductance that keeps the limit, with the stated resistance and no snubber, less that of the loop."""
    return Reading(value=math.nan) if found.inductance_margin is None else found.inductance_margin


SWITCHING: Analysis[SwitchFigures] = Analysis(
    key="switching",
    asked=lambda scenario: scenario.switching is not None,
    find=lambda scenario, result: switch_figures(scenario.switching, result),
    figures=(
        Figure(
            key="peak_voltage",
            symbol="peak",
            title="peak voltage",
            shown=VOLT,
            read=lambda found: found.peak,
            needs=SWITCHING_NEEDS,
            headline=True,
        ),
        Figure(
            key="overshoot",
            symbol="overshoot",
            title="overshoot",
            shown=PERCENT,
            read=_overshoot,
            needs=SWITCHING_NEEDS,
            headline=True,
        ),
        Figure(
            key="ring_frequency",
            symbol="f ring",
            title="ringing frequency",
            shown=MEGAHERTZ,
            read=lambda found: found.frequency,
            needs=SWITCHING_NEEDS,
            sense=Sense.MORE,
            headline=True,
        ),
        Figure(
            key="ring_quality",
            symbol="Q",
            title="quality factor of the ring",
            shown=NUMBER,
            read=lambda found: found.quality,
            needs=SWITCHING_NEEDS,
        ),
        Figure(
            key="inductance_margin",
            symbol="L margin",
            title="inductance margin",
            shown=NANOHENRY,
            read=_inductance_margin,
            needs=SWITCHING_NEEDS,
            sense=Sense.MORE,
            known=lambda scenario: scenario.switching is not None and scenario.switching.voltage_limit is not None,
        ),
    ),
    compare=lambda study, workers: (
        None
        if study.scenario.switching is None
        else compare_switching(study.scenario.switching, study.results, study.reference, workers=workers)
    ),
    warnings=switching_warnings,
)
"""Asked for by a [switching] table."""
