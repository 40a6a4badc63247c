"""Figures of emission: the loop alone against the limits, and all sources together."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.quantities import Quantity
from geometries.study.scenario import Scenario
from solver.emission.comparison import compare_emission, margin_of, product_of
from solver.emission.product_results import SourceLine
from solver.emission.results import Margin
from solver.emission.warnings import emission_warnings
from solver.errors import SolutionError
from solver.variant.analysis import Analysis
from solver.variant.figure import DECIBEL, Figure, Reading, Sense, Shown
from solver.variant.needs import Need, Needs
from solver.variant.results import VariantResult

_NEEDS: Needs = frozenset({Need.BROADBAND, Need.WHOLE_LOOP, Need.MOMENT})

LEVEL = Shown(quantity=Quantity.DECIBEL, unit="dBµV/m", scale=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the figures are read from.

    Parameters
    ----------
    margin : Margin
        Where the loop's level comes closest to a limit.
    band : float
        Of a level [dB].
    product : SourceLine, optional
        Highest line of all sources together; None where the board is not described.
    """

    margin: Margin
    band: float
    product: SourceLine | None


def _found(scenario: Scenario, result: VariantResult) -> Found:
    emission = scenario.emission
    if emission is None:
        raise SolutionError("the scenario has no [emission] table; nothing is known of its site and limits")
    return Found(margin=margin_of(emission, result), band=emission.band, product=product_of(emission, result))


def _product(found: Found) -> Reading:
    if found.product is None:
        raise SolutionError("[emission] has no board; nothing is known of what radiates beside the loop")
    return Reading(value=found.product.highest.level, uncertainty=found.product.band)


def _has_board(scenario: Scenario) -> bool:
    return scenario.emission is not None and scenario.emission.board is not None


EMISSION: Analysis[Found] = Analysis(
    key="emission",
    asked=lambda scenario: scenario.emission is not None,
    find=_found,
    figures=(
        Figure(
            key="emission_margin",
            symbol="margin",
            title="emission margin",
            shown=DECIBEL,
            read=lambda found: Reading(value=found.margin.value, uncertainty=found.band),
            needs=_NEEDS,
            sense=Sense.MORE,
            headline=True,
        ),
        Figure(
            key="product_emission",
            symbol="E",
            title="highest line of all sources",
            shown=LEVEL,
            read=_product,
            needs=_NEEDS,
            sense=Sense.LESS,
            headline=True,
            known=_has_board,
        ),
    ),
    compare=lambda study, _workers: (
        None
        if study.scenario.emission is None
        else compare_emission(study.scenario.emission, study.results, study.reference)
    ),
    warnings=lambda study: emission_warnings(study.scenario),
)
"""Asked for by an [emission] table."""
