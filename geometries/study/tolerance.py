"""Tolerances of a board: what is asked of `copperfield tolerance`, and the variants that are looked at."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.study.scenario import Analysis, Scenario, Variant
from geometries.study.spread import Distribution, Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """What `copperfield tolerance` is asked.

    Parameters
    ----------
    scenario : Scenario
        The whole file as read.
    spreads : tuple of Spread
        What varies, at least one, each source once.
    samples : int
        How many boards are drawn.
    seed : int
        Of the random numbers: the same seed gives the same boards.
    distribution : Distribution
        Uniform between the limits, or normal with the limits at three standard deviations and nothing beyond.
    variants : tuple of str
        Names of the variants looked at.
    inputs : tuple of str
        Of each of them all that its numbers are computed from, as JSON.
    """

    scenario: Scenario
    spreads: tuple[Spread, ...]
    samples: int
    seed: int
    distribution: Distribution
    variants: tuple[str, ...]
    inputs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceCase:
    """One variant with its values moved within their tolerances.

    Parameters
    ----------
    name : str
        The variant.
    offsets : tuple of float
        Of every spread, from -1 to 1; 0 is nominal.
    variant : Variant
        As it is then.
    analysis : Analysis
        For the report frequency and the highest one alone.
    """

    name: str
    offsets: tuple[float, ...]
    variant: Variant
    analysis: Analysis
