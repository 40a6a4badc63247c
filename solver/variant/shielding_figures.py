"""Figures of what the discs of an axisymmetric loop shield, against the same ring alone."""

from __future__ import annotations

import math
from collections.abc import Callable

from geometries.section.section import View
from geometries.study.scenario import Scenario
from solver.errors import SolutionError
from solver.section.axisymmetric_results import Shielding
from solver.variant.analysis import Analysis
from solver.variant.figure import DECIBEL, MEGAHERTZ, Figure, Reading
from solver.variant.needs import Need, Needs
from solver.variant.results import VariantResult

_NEEDS: Needs = frozenset({Need.AXISYMMETRIC})


def _shielding(scenario: Scenario, result: VariantResult) -> Shielding:
    if result.axisymmetric_view is None:
        raise SolutionError(f"variant {result.variant.name!r} was solved without its axisymmetric view")
    return result.axisymmetric_view.shielding


def _against_ring(key: str, symbol: str, title: str, read: Callable[[Shielding], float]) -> Figure[Shielding]:
    return Figure(
        key=f"shielding_{key}",
        symbol=symbol,
        title=f"{title} against the ring alone",
        shown=DECIBEL,
        read=lambda shielding: Reading(value=read(shielding)),
        needs=_NEEDS,
        headline=key == "moment",
    )


SHIELDING: Analysis[Shielding] = Analysis(
    key="shielding",
    asked=lambda scenario: scenario.variants[0].view is View.AXISYMMETRIC,
    find=_shielding,
    figures=(
        _against_ring("inductance", "L/L₀", "inductance", lambda shielding: shielding.inductance_db),
        _against_ring("above", "H/H₀ above", "peak |H| above", lambda shielding: shielding.above_db),
        _against_ring("below", "H/H₀ below", "peak |H| below", lambda shielding: shielding.below_db),
        _against_ring("moment", "m/m₀", "moment", lambda shielding: shielding.moment_db),
        Figure(
            key="shielding_corner",
            symbol="f_c",
            title="shielding corner frequency",
            shown=MEGAHERTZ,
            read=lambda shielding: Reading(value=math.nan if shielding.corner is None else shielding.corner),
            needs=_NEEDS,
            headline=True,
        ),
    ),
)
"""Asked for where the variants are axisymmetric themselves."""
