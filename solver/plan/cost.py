"""What a plan view will take, told from its mesh before the sums begin, and refused where it cannot fit."""

from __future__ import annotations

import os
from dataclasses import dataclass

import numpy as np

from solver.errors import MeshError, SolutionError
from solver.plan.near import Cloud, sampled_neighbours

_BYTES_PER_PAIR, _BYTES_PER_TRIANGLE = 80, 7_000
_SECONDS_PER_PAIR, _SECONDS_PER_TRIANGLE = 0.9e-6, 2e-4
"""Measured from 4,000 to 100,000 triangles on one to four levels; a machine of 2026, to a factor of two."""

_USABLE = 0.8
"""Part of the machine's memory that a solution may take."""


MOST_TRIANGLES = 1_000_000
"""Of one sheet; ten times as many as have been solved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanCost:
    """Estimate for one mesh.

    Parameters
    ----------
    triangles : int
        Of all sheets.
    pairs : int
        Near ones, from a sample.
    frequencies : int
        At which the currents are solved for.
    """

    triangles: int
    pairs: int
    frequencies: int

    @property
    def memory(self) -> float:
        """Memory [byte]."""
        return _BYTES_PER_PAIR * self.pairs + _BYTES_PER_TRIANGLE * self.triangles

    @property
    def seconds(self) -> float:
        """Processor time after meshing [s]."""
        return _SECONDS_PER_PAIR * self.pairs + _SECONDS_PER_TRIANGLE * self.triangles * self.frequencies


def plan_cost(cloud: Cloud, radius: float, frequencies: int) -> PlanCost:
    """Estimate what a meshed layout will take.

    Parameters
    ----------
    cloud : Cloud
        Its triangles.
    radius : float
        Radius of the softened kernel [m].
    frequencies : int
        How many.
    """
    count = len(cloud.areas)
    pairs = round(count * sampled_neighbours(cloud, radius) / 2)
    return PlanCost(triangles=count, pairs=pairs, frequencies=frequencies)


def require_few_triangles(sheet: str, triangles: float) -> None:
    """Refuse a sheet that is too large to be meshed, by the estimate before it is.

    Raises
    ------
    MeshError
        With the number and the memory that so many would take at least.
    """
    if triangles > MOST_TRIANGLES:
        raise MeshError(
            f"the copper {sheet!r} takes more than {MOST_TRIANGLES:,} triangles and "
            f"{_BYTES_PER_TRIANGLE * MOST_TRIANGLES / 1e9:.0f} GB, counted along its edges before it is meshed; "
            "simplify its outline, widen its narrowest places, or leave out copper that is far away"
        )


def require_memory(name: str, cost: PlanCost, available: float) -> None:
    """Refuse a solution that would not fit.

    Parameters
    ----------
    name : str
        Of the layout.
    cost : PlanCost
        From :func:`plan_cost`.
    available : float
        Memory of the machine [byte].

    Raises
    ------
    SolutionError
        If the estimate is above four fifths of it.
    """
    if cost.memory > _USABLE * available:
        raise SolutionError(
            f"layout {name!r} needs about {cost.memory / 1e9:.1f} GB and {cost.seconds:.0f} s for {cost.triangles} "
            f"triangles with {cost.pairs} near pairs, but the machine has {available / 1e9:.1f} GB; simplify outlines, "
            "leave out copper that is far away, or mesh more coarsely"
        )


def machine_memory() -> float:
    """Physical memory [byte]; infinite where the system does not tell."""
    if "SC_PHYS_PAGES" not in getattr(os, "sysconf_names", {}):
        return np.inf
    return float(os.sysconf("SC_PHYS_PAGES")) * float(os.sysconf("SC_PAGE_SIZE"))
