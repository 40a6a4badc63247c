"""Figures of emission: the loop alone against the limits."""

from __future__ import annotations

from geometries.study.scenario import Scenario
from solver.emission.comparison import compare_emission, margin_of, needs_axisymmetric_view
from solver.emission.results import Margin
from solver.emission.warnings import emission_warnings
from solver.errors import SolutionError
from solver.variant.analysis import Analysis
from solver.variant.figure import DECIBEL, Figure, Reading, Sense
from solver.variant.needs import Need, Needs
from solver.variant.results import VariantResult

_NEEDS: Needs = frozenset({Need.BROADBAND, Need.WHOLE_LOOP})

Found = tuple[Margin, float]
"""Where the loop's level comes closest to a limit, and the band of a level [dB]."""


def _closest(scenario: Scenario, result: VariantResult) -> Found:
    if scenario.emission is None:
        raise SolutionError("the scenario has no [emission] table; nothing is known of its site and limits")
    return margin_of(scenario.emission, result), scenario.emission.band


def _views(scenario: Scenario) -> Needs:
    """The axisymmetric view, where the moment of a variant is taken from it."""
    asked = any(needs_axisymmetric_view(variant, scenario.emission) for variant in scenario.variants)
    return frozenset({Need.AXISYMMETRIC}) if asked else frozenset()


EMISSION: Analysis[Found] = Analysis(
    key="emission",
    asked=lambda scenario: scenario.emission is not None,
    find=_closest,
    figures=(
        Figure(
            key="emission_margin",
            symbol="margin",
            title="emission margin",
            shown=DECIBEL,
            read=lambda found: Reading(value=found[0].value, uncertainty=found[1]),
            needs=_NEEDS,
            sense=Sense.MORE,
            headline=True,
        ),
    ),
    needs=_views,
    compare=lambda study: (
        None
        if study.scenario.emission is None
        else compare_emission(study.scenario.emission, study.results, study.reference)
    ),
    warnings=lambda study: emission_warnings(study.scenario),
)
"""Asked for by an [emission] table."""
