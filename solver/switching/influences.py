"""What is uncertain of a peak, of its ring and of what a limit asks for: every source and what it does."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

import numpy as np

from geometries.operation.switching import PACKAGE_SPAN, Switching
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import DampedBranch
from solver.switching.circuit import bare_circuit, beside_copper
from solver.switching.edge_peak import edge_peak, late_ring, limit_excess
from solver.switching.results import Influence
from solver.switching.voltage_limits import largest_inductance_within, smallest_edge_within
from solver.variant.edge_circuit import switched_loop, variant_loop
from solver.variant.edge_sources import COMMON_SOURCE, EDGE_TIME, EdgeCase, loop_sources, switching_sources
from solver.variant.figure import Reading
from solver.variant.results import VariantResult

_START = 1e-9
"""Inductance from which the largest one is looked for [H]; the result does not depend on it."""

_SLOPE_STEP = 0.02
"""Relative step of an edge for the slope of what it exceeds."""


def influences(switching: Switching, result: VariantResult, snubber: DampedBranch | None) -> Iterator[Influence]:
    """Peak and ring at both ends of every uncertainty, against the nominal ones; the snubber stays as it is."""

    def figures(case: EdgeCase) -> tuple[float, float, float]:
        circuit, edge = _circuit(case, result, snubber), case.drive
        ring = late_ring(circuit, edge)
        peak = edge_peak(circuit, edge).voltage
        return (peak, 0.0, 0.0) if ring is None else (peak, ring.frequency, ring.quality)

    nominal = figures(EdgeCase(switching=switching))
    for source in (*loop_sources(switching, result), *switching_sources(switching)):
        found = np.array([figures(case) for case in source.cases])
        peak, frequency, quality = np.max(np.abs(found - np.array(nominal)), axis=0).tolist()
        yield Influence(source=source.name, kind=source.kind, peak=peak, frequency=frequency, quality=quality)


@lru_cache(maxsize=64)
def largest_inductance_of(switching: Switching) -> Reading | None:
    """Largest inductance of a loop without snubber that keeps the scenario's limit [H]; None without limit."""
    limit = switching.limit
    if limit is None:
        return None

    def most(case: EdgeCase) -> float:
        return largest_inductance_within(bare_circuit(case.switching), _START, case.drive, limit)

    value = most(EdgeCase(switching=switching))
    if math.isinf(value):
        return Reading(value=value)
    changes = [_largest_change(map(most, source.cases), value) for source in switching_sources(switching)]
    return Reading(value=value, uncertainty=math.hypot(*changes))


def _largest_change(values: Iterator[float], nominal: float) -> float:
    """To either side; a side without bound counts as much as the value itself."""
    return max(abs(each - nominal) if math.isfinite(each) else nominal for each in values)


def inductance_margin(switching: Switching, result: VariantResult, total: float) -> Reading | None:
    """Largest inductance that keeps the limit less that of the loop with its package [H]; None without limit."""
    most = largest_inductance_of(switching)
    if most is None:
        return None
    record = result.loop
    package = 0.0 if record.basis.holds_package else package_spread(switching, beside_copper(switching, result))
    return Reading(
        value=most.value - total,
        uncertainty=math.hypot(most.uncertainty, record.inductance_uncertainty, package),
    )


def package_spread(switching: Switching, package: float) -> float:
    """What the inductance of a package is uncertain by: its tolerance, or the span of typical ones [H]."""
    tolerance = switching.tolerance.package_inductance
    if tolerance > 0 or "package_inductance" not in switching.assumed:
        return package * tolerance
    return max(PACKAGE_SPAN.most - package, package - PACKAGE_SPAN.least)


def edge_needed(switching: Switching, result: VariantResult, snubber: DampedBranch | None) -> Reading | None:
    """Edge, 0 to 100 %, from which on a variant keeps the limit [s]; None without limit.

    Its uncertainty is that of what is exceeded at this edge, over its slope against the edge.
    """
    limit = switching.limit
    if limit is None:
        return None
    nominal = EdgeCase(switching=switching)
    built = _circuit(nominal, result, snubber)
    value = smallest_edge_within(built, nominal.drive, limit)
    if value == 0:
        return Reading(value=0.0)

    def excess(circuit: NonlinearLoop, duration: float) -> float:
        return limit_excess(circuit, Edge(height=switching.input_voltage, duration=duration), limit)

    here = excess(built, value)
    sources = [
        source
        for source in (*loop_sources(switching, result), *switching_sources(switching))
        if source.name not in (EDGE_TIME, COMMON_SOURCE)
    ]
    spread = math.hypot(
        *(
            max(abs(excess(_circuit(case, result, snubber), value) - here) for case in source.cases)
            for source in sources
        )
    )
    slope = (excess(built, value * (1 + _SLOPE_STEP)) - excess(built, value * (1 - _SLOPE_STEP))) / (
        2 * _SLOPE_STEP * value
    )
    return Reading(value=value, uncertainty=min(spread / abs(slope), value) if slope != 0 else value)


def _circuit(case: EdgeCase, result: VariantResult, snubber: DampedBranch | None) -> NonlinearLoop:
    loop = variant_loop(case.switching, result).with_more_inductance(case.more_inductance)
    return switched_loop(case.switching, replace(loop, snubber=snubber))
