"""Figures of what victims pick up: of the one with the largest peak at its pin."""

from __future__ import annotations

from geometries.study.scenario import Scenario
from solver.errors import SolutionError
from solver.pickup.results import VictimReading
from solver.variant.analysis import Analysis
from solver.variant.figure import FEMTOFARAD_PER_MM, MILLIVOLT, PICOHENRY_PER_MM, Figure, Reading
from solver.variant.needs import Need, Needs
from solver.variant.results import VariantResult

_NEEDS: Needs = frozenset({Need.PICKUP})


def leading_victim(scenario: Scenario, result: VariantResult) -> tuple[VariantResult, VictimReading]:
    """A variant and its victim with the largest peak at the pin.

    Raises
    ------
    SolutionError
        If it was solved without its victims.
    """
    if result.pickup is None:
        raise SolutionError(f"variant {result.variant.name!r} was solved without victims; nothing is picked up")
    return result, max(result.pickup.victims, key=lambda victim: victim.signal.peak)


_Found = tuple[VariantResult, VictimReading]


def _mutual(found: _Found) -> Reading:
    result, victim = found
    return Reading(value=abs(float(victim.mutual_inductance[result.report_index])), uncertainty=victim.mutual_error)


PICKUP: Analysis[_Found] = Analysis(
    key="pickup",
    asked=lambda scenario: all(variant.pickup is not None for variant in scenario.variants),
    find=leading_victim,
    figures=(
        Figure(
            key="feedback_noise",
            symbol="pick-up",
            title="feedback noise",
            shown=MILLIVOLT,
            read=lambda found: Reading(value=found[1].signal.peak),
            needs=_NEEDS,
            headline=True,
        ),
        Figure(
            key="magnetic_noise",
            symbol="magnetic",
            title="magnetic part of the feedback noise",
            shown=MILLIVOLT,
            read=lambda found: Reading(value=found[1].signal.magnetic_peak),
            needs=_NEEDS,
        ),
        Figure(
            key="electric_noise",
            symbol="electric",
            title="electric part of the feedback noise",
            shown=MILLIVOLT,
            read=lambda found: Reading(value=found[1].signal.electric_peak),
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
            read=lambda found: Reading(value=found[1].node_capacitance, uncertainty=found[1].node_capacitance_error),
            needs=_NEEDS,
        ),
    ),
)
"""Asked for where every variant has victims."""
