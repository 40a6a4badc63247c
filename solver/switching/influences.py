"""What is uncertain of a peak, of its ring and of what a limit asks for: every source and what it does."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from geometries.operation.capacitance import OutputCapacitance, TypicalCapacitance
from geometries.operation.gate_edge import GateResistor
from geometries.operation.switching import PACKAGE_SPAN, Switching
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import DampedBranch
from solver.switching.circuit import bare_circuit, beside_copper, edge_span
from solver.switching.edge_peak import edge_peak, late_ring, limit_excess
from solver.switching.results import Influence, Kind
from solver.switching.voltage_limits import largest_inductance_within, smallest_edge_within
from solver.variant.edge_circuit import drive, switched_loop, variant_loop
from solver.variant.figure import Reading
from solver.variant.loop_of_record import Basis
from solver.variant.results import VariantResult

CURVE = "capacitance below the input voltage, of which one value is stated"
DAMPING = "damping of the ring"
EDGE_TIME = "edge time"
COMMON_SOURCE = "common-source inductance"
"""Sources that a page says more of."""

_LOOPS = {
    Basis.SECTION: ("mesh error of the loop inductance", Kind.MESH),
    Basis.TURN: ("mesh error of the loop inductance", Kind.MESH),
    Basis.COPPER_LOOP: ("copper of the loop with its ends", Kind.MODEL),
    Basis.MEASURED: ("measured inductance", Kind.INPUT),
}
"""What the uncertainty of a loop of record is, where it is not that of several terms."""

_START = 1e-9
"""Inductance from which the largest one is looked for [H]; the result does not depend on it."""

_MOST_LESS = 0.9
"""Part of the inductance that an uncertainty may take away at most."""

_SLOPE_STEP = 0.02
"""Relative step of an edge for the slope of what it exceeds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """A variant with something changed."""

    switching: Switching
    more_inductance: float = 0.0
    edge: float | None = None

    @property
    def drive(self) -> Edge:
        """The edge that drives it."""
        nominal = drive(self.switching)
        return nominal if self.edge is None else replace(nominal, duration=self.edge)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Source:
    """A source of uncertainty: what is changed to both sides."""

    name: str
    kind: Kind
    cases: tuple[_Case, ...]


def influences(switching: Switching, result: VariantResult, snubber: DampedBranch | None) -> Iterator[Influence]:
    """Peak and ring at both ends of every uncertainty, against the nominal ones; the snubber stays as it is."""

    def figures(case: _Case) -> tuple[float, float, float]:
        circuit, edge = _circuit(case, result, snubber), case.drive
        ring = late_ring(circuit, edge)
        peak = edge_peak(circuit, edge).voltage
        return (peak, 0.0, 0.0) if ring is None else (peak, ring.frequency, ring.quality)

    nominal = figures(_Case(switching=switching))
    for source in (*_loop_sources(switching, result), *_switching_sources(switching)):
        found = np.array([figures(case) for case in source.cases])
        peak, frequency, quality = np.max(np.abs(found - np.array(nominal)), axis=0).tolist()
        yield Influence(source=source.name, kind=source.kind, peak=peak, frequency=frequency, quality=quality)


@lru_cache(maxsize=64)
def largest_inductance_of(switching: Switching) -> Reading | None:
    """Largest inductance of a loop without snubber that keeps the scenario's limit [H]; None without limit."""
    limit = switching.limit
    if limit is None:
        return None

    def most(case: _Case) -> float:
        return largest_inductance_within(bare_circuit(case.switching), _START, case.drive, limit)

    value = most(_Case(switching=switching))
    if math.isinf(value):
        return Reading(value=value)
    changes = [_largest_change(map(most, source.cases), value) for source in _switching_sources(switching)]
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
    package = 0.0 if record.basis.holds_package else _package_spread(switching, beside_copper(switching, result))
    return Reading(
        value=most.value - total,
        uncertainty=math.hypot(most.uncertainty, record.inductance_uncertainty, package),
    )


def _package_spread(switching: Switching, package: float) -> float:
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
    nominal = _Case(switching=switching)
    built = _circuit(nominal, result, snubber)
    value = smallest_edge_within(built, nominal.drive, limit)
    if value == 0:
        return Reading(value=0.0)

    def excess(circuit: NonlinearLoop, duration: float) -> float:
        return limit_excess(circuit, Edge(height=switching.input_voltage, duration=duration), limit)

    here = excess(built, value)
    sources = [
        source
        for source in (*_loop_sources(switching, result), *_switching_sources(switching))
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


def _circuit(case: _Case, result: VariantResult, snubber: DampedBranch | None) -> NonlinearLoop:
    loop = variant_loop(case.switching, result).with_more_inductance(case.more_inductance)
    return switched_loop(case.switching, replace(loop, snubber=snubber))


def _loop_sources(switching: Switching, result: VariantResult) -> Iterator[_Source]:
    """Of the loop of record, and of what is beside it."""
    record = result.loop
    name, kind = _LOOPS.get(record.basis, ("terms of the whole loop", Kind.MODEL))
    error = record.inductance_uncertainty
    least = max(-error, -_MOST_LESS * variant_loop(switching, result).inductance)
    ends = tuple(_Case(switching=switching, more_inductance=each) for each in (least, error))
    yield _Source(name=name, kind=kind, cases=ends)
    if record.basis.holds_package:
        return
    tolerance = switching.tolerance.package_inductance
    if tolerance > 0:
        keys = ("package_inductance",)
        yield _source("package inductance", Kind.TOLERANCE, [_scaled(switching, keys, f) for f in _both(tolerance)])
    elif "package_inductance" in switching.assumed:
        ends_of_package = (PACKAGE_SPAN.least, PACKAGE_SPAN.most)
        changed = [replace(switching, package_inductance=end) for end in ends_of_package]
        yield _source("package inductance", Kind.INPUT, changed)


def _switching_sources(switching: Switching) -> Iterator[_Source]:
    """Of edge, switch and damping."""
    given = switching.tolerance
    kind = Kind.TOLERANCE if given.edge_time > 0 else Kind.INPUT
    edges = tuple(_Case(switching=switching, edge=each) for each in edge_span(switching))
    yield _Source(name=EDGE_TIME, kind=kind, cases=edges)
    yield from _gate_sources(switching)
    if given.output_capacitance > 0:
        changed = [switching.with_capacitance(factor) for factor in _both(given.output_capacitance)]
        yield _source("output capacitance", Kind.TOLERANCE, changed)
    curve, ringing = switching.capacitance, switching.damping
    if isinstance(curve, TypicalCapacitance):
        yield _source(CURVE, Kind.INPUT, [with_curve(switching, end) for end in (curve.least, curve.most)])
    if ringing is not None and ringing.least < ringing.most:
        ends = [replace(ringing, quality=ringing.least), replace(ringing, quality=ringing.most)]
        yield _source(DAMPING, Kind.INPUT, [replace(switching, ringing=end) for end in ends])
    if given.resistance > 0 and switching.switch_resistance is not None:
        keys = ("switch_resistance", "capacitor_resistance", "damping_resistance")
        changed = [_scaled(switching, keys, factor) for factor in _both(given.resistance)]
        yield _source("stated resistance", Kind.TOLERANCE, changed)


def _gate_sources(switching: Switching) -> Iterator[_Source]:
    """What gate loop and power loop share slows the edge down; its span is not in the estimate's band."""
    gate = switching.gate
    if isinstance(gate, GateResistor):
        ends = (gate.common_source.least, gate.common_source.most)
        changed = [replace(switching, gate=replace(gate, common_source_inductance=end)) for end in ends]
        yield _source(COMMON_SOURCE, Kind.INPUT, changed)


def _source(name: str, kind: Kind, changed: list[Switching]) -> _Source:
    return _Source(name=name, kind=kind, cases=tuple(_Case(switching=each) for each in changed))


def with_curve(switching: Switching, curve: OutputCapacitance) -> Switching:
    """With a curve in place of one value."""
    return replace(switching, output_capacitance=None, capacitance_curve=curve)


def _both(tolerance: float) -> tuple[float, float]:
    return 1 - tolerance, 1 + tolerance


def _scaled(switching: Switching, keys: tuple[str, ...], factor: float) -> Switching:
    changed = {key: getattr(switching, key) * factor for key in keys}
    return replace(switching, **changed)
