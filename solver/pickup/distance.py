"""The same victim elsewhere: against distance and layer, at several times the width, and where a budget is kept."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
import shapely
from scipy.optimize import brentq

from geometries.errors import GeometryError
from geometries.section.victims import Victim, VictimSetup, moved
from solver.pickup.results import BudgetDistance, MutualCurve, PinSignal, WiderTrace
from solver.section.electrostatics import solve_electric
from solver.section.extraction import vector_potential
from solver.section.fields import FieldSolution, assemble_section, solve_at_frequency
from solver.section.mesh import mesh_section

_WIDER = 4.0
_NEAREST, _FARTHEST = 0.1e-3, 30e-3
_CLEAR = 1.02
"""Of a distance to other copper, so that a trace does not touch it."""
_CURVE_POINTS = 60
_CURVE_REACH = 10e-3
_PRECISION = 0.01
_STAGES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupling:
    """Magnitudes per length: mutual impedance with every loop, the variant's own first [ohm/m]; capacitance [F/m]."""

    mutuals: tuple[float, ...]
    capacitance: float

    @property
    def mutual(self) -> float:
        """With the variant's own loop."""
        return self.mutuals[0]


def solve_coupling(pickup: VictimSetup, name: str, frequency: float) -> Coupling:
    """Solve a section once for the coupling of the victim called `name`.

    With elements of second order; within some tenths of a percent.

    Raises
    ------
    SolverError
        If the section cannot be solved.
    """
    number = 1 + [victim.name for victim in pickup.victims].index(name)
    system = assemble_section(mesh_section(pickup.section, highest_frequency=frequency), order=2)
    field = solve_at_frequency(system, frequency)
    omega, resistance, inductance = 2 * math.pi * frequency, field.resistance, field.inductance
    mutuals = tuple(
        math.hypot(float(resistance[index, number]), omega * float(inductance[index, number]))
        for _, index, _ in pickup.sources
    )
    node, groups = pickup.switch_node, pickup.section.groups
    if node is None:
        return Coupling(mutuals=mutuals, capacitance=0.0)
    matrix = solve_electric(system).capacitance
    conductor = pickup.victims[number - 1].conductor
    return Coupling(mutuals=mutuals, capacitance=-float(matrix[groups.index(conductor), groups.index(node.conductor)]))


def try_wider(pickup: VictimSetup, victim: Victim, here: Coupling, frequency: float) -> WiderTrace | None:
    """The victim four times as wide about the same middle, against its coupling here.

    None where there is no room, or no board.

    Raises
    ------
    SolverError
        If a section cannot be solved.
    """
    if victim.trace is None:
        return None
    width, distance = victim.trace.width, victim.trace.distance
    try:
        wider = moved(pickup, victim, distance=distance - (_WIDER - 1) / 2 * width, width=_WIDER * width)
    except GeometryError:  # no room for it
        return None
    there = solve_coupling(wider, victim.name, frequency)
    return WiderTrace(
        factor=_WIDER,
        mutual_ratio=there.mutual / here.mutual,
        capacitance_ratio=there.capacitance / here.capacitance if here.capacitance > 0 else 0.0,
    )


def within_budget(
    pickup: VictimSetup, victim: Victim, signal: PinSignal, here: Coupling, frequency: float
) -> BudgetDistance | None:
    """Search the distance at which the peak at the pin comes down to the budget, on the victim's own layer.

    Between distances the parts of the peak follow the mutual impedances at one frequency and the capacitance to the
    switch node; what the circuit makes of them stays the same. From the victim's own place the search goes outwards, or
    inwards if the budget is kept there, in four stages: beyond the nearest distance that keeps it, copper of the switch
    node may bring the peak up again.

    Parameters
    ----------
    pickup : VictimSetup
        The section.
    victim : Victim
        The victim to move.
    signal : PinSignal
        At its own place.
    here : Coupling
        Its coupling there.
    frequency : float
        Report frequency [Hz].

    Returns
    -------
    BudgetDistance or None
        None without a budget, and for a trace that is not on a board or does not begin beside the loop's copper.

    Raises
    ------
    SolverError
        If a section cannot be solved.
    """
    budget, trace = pickup.drive.budget, victim.trace
    if trace is None or math.isinf(budget) or trace.distance <= 0:
        return None

    @cache
    def excess(logarithm: float) -> float:
        there = here
        if logarithm != start:
            there = solve_coupling(moved(pickup, victim, distance=math.exp(logarithm)), victim.name, frequency)
        return math.log(_peak_at(signal, here, there) / budget)

    start, farthest = math.log(trace.distance), _reach(pickup, victim)
    own = excess(start)
    limit = math.log(farthest if own > 0 else _nearest(pickup, victim))
    if own <= 0 and excess(limit) <= 0:  # kept at the loop's edge
        return BudgetDistance(layer=trace.layer, distance=0.0, farthest=farthest)
    for before, after in pairwise(np.linspace(start, limit, _STAGES + 1).tolist()):
        if own * excess(after) <= 0:
            found = float(brentq(excess, min(before, after), max(before, after), xtol=_PRECISION))
            return BudgetDistance(layer=trace.layer, distance=math.exp(found), farthest=farthest)
    return BudgetDistance(layer=trace.layer, distance=math.inf, farthest=farthest)


def _peak_at(signal: PinSignal, here: Coupling, there: Coupling) -> float:
    """Sum of the parts of a peak at another place [V]: as if all were highest at once."""
    peaks = (signal.magnetic_peak, *(peak for _, peak in signal.further_peaks))
    ratios = [new / old for new, old in zip(there.mutuals, here.mutuals, strict=True)]
    electric = signal.electric_peak * there.capacitance / here.capacitance if here.capacitance > 0 else 0.0
    return sum(peak * ratio for peak, ratio in zip(peaks, ratios, strict=True)) + electric


def _nearest(pickup: VictimSetup, victim: Victim) -> float:
    """Nearest place for a victim: beside the loop, or beside other copper of its layer that lies between the two."""
    own = pickup.section.region(victim.conductor).outline.bounds
    between = [
        (right - pickup.loop_edge) * _CLEAR
        for _, bottom, right, top in (region.outline.bounds for region in pickup.section.regions)
        if bottom < own[3] and top > own[1] and pickup.loop_edge < right <= own[0]
    ]
    return max(_NEAREST, *between, 0.0)


def _reach(pickup: VictimSetup, victim: Victim) -> float:
    """Farthest place for a victim: before other copper on its layer, and over its reference where that is a plane."""
    own = pickup.section.region(victim.conductor).outline.bounds
    width = own[2] - own[0]
    limits = [_FARTHEST]
    for region in pickup.section.regions:
        left, bottom, right, top = region.outline.bounds
        if region.name != victim.conductor and bottom < own[3] and top > own[1] and left >= own[2]:
            limits.append((left - pickup.loop_edge) / _CLEAR - width)
        if region.group == victim.reference and right - left > pickup.loop_edge:
            limits.append(right - pickup.loop_edge - width)
    return max(min(limits), 2 * _NEAREST)


def mutual_curves(pickup: VictimSetup, field: FieldSolution) -> tuple[MutualCurve, ...]:
    """Mutual inductance of the loop and a thin trace against its place, layer by layer, from the field as it is.

    The trace's voltage drop is j omega A at its middle, less that of the first victim's reference; a trace so thin that
    it does not disturb the field.

    Parameters
    ----------
    pickup : VictimSetup
        The section.
    field : FieldSolution
        Its field at the report frequency.

    Returns
    -------
    tuple of MutualCurve
        For every copper layer of the board, where it is free of other copper; none without a board.
    """
    if pickup.stackup is None:
        return ()
    section = pickup.section
    omega = 2 * math.pi * field.frequency
    reference = next(each.name for each in section.regions if each.group == pickup.victims[0].reference)
    heard = {victim.conductor for victim in pickup.victims}
    copper = shapely.union_all([region.outline.shape for region in section.regions if region.group not in heard])
    distance = np.geomspace(_NEAREST, _CURVE_REACH, _CURVE_POINTS)
    curves = []
    for layer in pickup.stackup.copper_names:
        bottom, top = pickup.stackup.heights(layer)
        places = np.column_stack([pickup.loop_edge + distance, np.full(_CURVE_POINTS, (bottom + top) / 2)])
        free = ~shapely.intersects(copper, shapely.points(places))
        if free.any():
            drop = 1j * omega * vector_potential(field, places[free]) - field.voltage(reference)
            curves.append(MutualCurve(layer=layer, distance=distance[free], mutual=np.abs(drop) / omega))
    return tuple(curves)
