"""What is uncertain of a victim's peak at its pin: couplings, edges and the ring that they excite, as one budget."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from geometries.operation.switching import EDGE_SPREAD, Switching
from solver.pickup.pin import NO_RINGS, Rings
from solver.pickup.results import PickupResult, VictimReading
from solver.pickup.solve import driven
from solver.variant.edge_circuit import drive, edge_rings
from solver.variant.edge_sources import EDGE_TIME, EdgeSource, Kind, loop_sources, switching_sources
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakInfluence:
    """What one source of uncertainty does: largest change of the peak at the pin to either side [V]."""

    source: str
    kind: Kind
    peak: float


@lru_cache(maxsize=32)
def peak_influences(
    switching: Switching | None, result: VariantResult, pickup: PickupResult, name: str
) -> tuple[PeakInfluence, ...]:
    """The parts of the uncertainty of one victim's peak.

    Parameters
    ----------
    switching : Switching, optional
        That makes it ring; without one, trapezoids alone drive it.
    result : VariantResult
        With the loop that rings.
    pickup : PickupResult
        What its victims pick up.
    name : str
        The victim.
    """
    victim = _victim(pickup, name)
    return tuple((*_mesh(victim, result.report_index), *_edges(switching, result, pickup, victim)))


def combined_peak(influences: tuple[PeakInfluence, ...]) -> float:
    """The parts together, taken as independent [V]."""
    return math.hypot(*(each.peak for each in influences))


def _mesh(victim: VictimReading, report_index: int) -> Iterator[PeakInfluence]:
    """Of both couplings."""
    signal, mutual = victim.signal, float(abs(victim.mutual_inductance[report_index]))
    if mutual > 0:
        part = victim.mutual_error / mutual * signal.magnetic_peak
        yield PeakInfluence(source="mesh error of the mutual inductance", kind=Kind.MESH, peak=part)
    if victim.node_capacitance > 0:
        part = victim.node_capacitance_error / victim.node_capacitance * signal.electric_peak
        yield PeakInfluence(source="bounds of the capacitance to the switch node", kind=Kind.MESH, peak=part)


def _edges(
    switching: Switching | None, result: VariantResult, pickup: PickupResult, victim: VictimReading
) -> Iterator[PeakInfluence]:
    """Of the trapezoids' edges, which are the switch's, and of the ring."""
    nominal, name = victim.signal.peak, victim.victim.name
    if switching is None:
        peaks = [_peak(pickup, name, NO_RINGS, factor) for factor in (1 - EDGE_SPREAD, 1 + EDGE_SPREAD)]
        change = max(abs(peak - nominal) for peak in peaks)
        yield PeakInfluence(source=EDGE_TIME, kind=Kind.INPUT, peak=change)
        return
    full = drive(switching).duration

    def change_of(source: EdgeSource) -> float:
        peaks = [
            _peak(
                pickup,
                name,
                edge_rings(case.switching, result, case.drive, case.more_inductance),
                case.drive.duration / full,
            )
            for case in source.cases
        ]
        return max(abs(peak - nominal) for peak in peaks)

    for source in (*loop_sources(switching, result), *switching_sources(switching)):
        yield PeakInfluence(source=source.name, kind=source.kind, peak=change_of(source))


def _peak(pickup: PickupResult, name: str, rings: Rings, factor: float) -> float:
    """With other rings, and all edges a factor as long [V]."""
    setup = pickup.pickup
    edges = ("rise_time", "fall_time", "voltage_rise_time", "voltage_fall_time")
    slower = replace(setup.drive, **{edge: factor * getattr(setup.drive, edge) for edge in edges})
    moved = replace(pickup, pickup=replace(setup, drive=slower))
    return _victim(driven(moved, rings), name).signal.peak


def _victim(pickup: PickupResult, name: str) -> VictimReading:
    return next(each for each in pickup.victims if each.victim.name == name)
