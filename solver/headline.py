"""The figures a variant is judged by, each with its name and its unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from geometries.emission import Emission
from geometries.quantities import MM, NANO
from geometries.scenario import Scenario
from solver.emission_study import margin_of
from solver.lines import nearest_line
from solver.results import VariantResult

_MILLI = 1e-3


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
    """

    key: str
    title: str
    unit: str
    scale: float
    read: Callable[[VariantResult], float]


def headlines(scenario: Scenario) -> tuple[Headline, ...]:
    """The figures of a scenario: loop, field, moment, and the margin to the limits if emission is asked for."""
    figures = [
        Headline(
            key="loop_inductance_H",
            title="loop inductance",
            unit="nH",
            scale=NANO,
            read=lambda result: result.loop_inductance,
        ),
        Headline(
            key="loop_resistance_ohm",
            title="loop resistance",
            unit="mΩ",
            scale=_MILLI,
            read=lambda result: result.loop_resistance,
        ),
        _peak("above"),
        _peak("below"),
        Headline(key="moment_m", title="line moment", unit="mm", scale=MM, read=lambda result: result.moment),
    ]
    if scenario.emission is not None:
        figures.append(_margin(scenario.emission))
    return tuple(figures)


def _peak(side: str) -> Headline:
    return Headline(
        key=f"peak_field_{side}_A_per_m_per_A",
        title=f"peak |H| {side}",
        unit="A/m per A",
        scale=1.0,
        read=lambda result: nearest_line(result.lines, side).peak,
    )


def _margin(emission: Emission) -> Headline:
    return Headline(
        key="emission_margin_dB",
        title="emission margin",
        unit="dB",
        scale=1.0,
        read=lambda result: margin_of(emission, result).value,
    )
