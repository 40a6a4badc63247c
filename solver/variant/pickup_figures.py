"""Figures of what victims pick up: of the one with the largest peak at its pin."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.study.scenario import Scenario
from solver.errors import SolutionError
from solver.pickup.results import VictimReading
from solver.variant.analysis import Analysis
from solver.variant.figure import FEMTOFARAD_PER_MM, MILLIVOLT, PICOHENRY_PER_MM, Figure, Reading
from solver.variant.needs import Need, Needs
from solver.variant.pickup_uncertainty import combined_peak, peak_influences
from solver.variant.results import VariantResult

_NEEDS: Needs = frozenset({Need.PICKUP})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeadingVictim:
    """The victim of a variant with the largest peak at its pin, and what that is uncertain by [V]."""

    result: VariantResult
    victim: VictimReading
    error: float


def leading_victim(scenario: Scenario, result: VariantResult) -> LeadingVictim:
    """The victim of a variant with the largest peak at the pin.

    Raises
    ------
    SolutionError
        If it was solved without its victims.
    """
    if result.pickup is None:
        raise SolutionError(f"variant {result.variant.name!r} was solved without victims; nothing is picked up")
    leading = max(result.pickup.victims, key=lambda victim: victim.signal.peak)
    parts = peak_influences(scenario.switching, result, result.pickup, leading.victim.name)
    return LeadingVictim(result=result, victim=leading, error=combined_peak(parts))


def _mutual(found: LeadingVictim) -> Reading:
    value = abs(float(found.victim.mutual_inductance[found.result.report_index]))
    return Reading(value=value, uncertainty=found.victim.mutual_error)


def _part(found: LeadingVictim, peak: float) -> Reading:
    """A part of the peak, uncertain by as large a part of itself as the whole."""
    whole = found.victim.signal.peak
    return Reading(value=peak, uncertainty=found.error * peak / whole if whole > 0 else 0.0)


PICKUP: Analysis[LeadingVictim] = Analysis(
    key="pickup",
    asked=lambda scenario: all(variant.pickup is not None for variant in scenario.variants),
    find=leading_victim,
    figures=(
        Figure(
            key="feedback_noise",
            symbol="pick-up",
            title="feedback noise",
            shown=MILLIVOLT,
            read=lambda found: _part(found, found.victim.signal.peak),
            needs=_NEEDS,
            headline=True,
        ),
        Figure(
            key="magnetic_noise",
            symbol="magnetic",
            title="magnetic part of the feedback noise",
            shown=MILLIVOLT,
            read=lambda found: _part(found, found.victim.signal.magnetic_peak),
            needs=_NEEDS,
        ),
        Figure(
            key="electric_noise",
            symbol="electric",
            title="electric part of the feedback noise",
            shown=MILLIVOLT,
            read=lambda found: _part(found, found.victim.signal.electric_peak),
            needs=_NEEDS,
        ),
        Figure(
            key="victim_mutual_inductance",
            symbol="M′",
            title="mutual inductance of loop and victim",
            shown=PICOHENRY_PER_MM,
            read=_mutual,
            needs=_NEEDS,
        ),
        Figure(
            key="victim_node_capacitance",
            symbol="C′",
            title="capacitance of victim and switch node",
            shown=FEMTOFARAD_PER_MM,
            read=lambda found: Reading(
                value=found.victim.node_capacitance, uncertainty=found.victim.node_capacitance_error
            ),
            needs=_NEEDS,
        ),
    ),
)
"""Asked for where every variant has victims."""
