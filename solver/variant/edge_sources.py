"""What is uncertain of a switching edge: every source with what it changes to both sides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum

from geometries.operation.capacitance import OutputCapacitance, TypicalCapacitance
from geometries.operation.gate_edge import GateResistor
from geometries.operation.switching import EDGE_SPREAD, PACKAGE_SPAN, Switching
from solver.circuit.edge_response import Edge
from solver.variant.edge_circuit import drive, variant_loop
from solver.variant.loop_of_record import Basis
from solver.variant.results import VariantResult


class Kind(Enum):
    """What kind of uncertainty a part of a budget is."""

    MESH = "mesh"
    MODEL = "model"
    INPUT = "input"
    TOLERANCE = "tolerance"


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

_MOST_LESS = 0.9
"""Part of the inductance that an uncertainty may take away at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeCase:
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
class EdgeSource:
    """A source of uncertainty: what is changed to both sides."""

    name: str
    kind: Kind
    cases: tuple[EdgeCase, ...]


def edge_span(switching: Switching) -> tuple[float, float]:
    """Shortest and longest time of the edge [s]: by its tolerance, its estimate's band, or what is typical."""
    estimate, tolerance = switching.edge_estimate, switching.tolerance.edge_time
    if estimate is not None and tolerance == 0:
        return estimate.shortest, estimate.longest
    part = tolerance if tolerance > 0 else EDGE_SPREAD
    return switching.full_edge * (1 - part), switching.full_edge * (1 + part)


def loop_sources(switching: Switching, result: VariantResult) -> Iterator[EdgeSource]:
    """Of the loop of record, and of what is beside it."""
    record = result.loop
    name, kind = _LOOPS.get(record.basis, ("terms of the whole loop", Kind.MODEL))
    error = record.inductance_uncertainty
    least = max(-error, -_MOST_LESS * variant_loop(switching, result).inductance)
    ends = tuple(EdgeCase(switching=switching, more_inductance=each) for each in (least, error))
    yield EdgeSource(name=name, kind=kind, cases=ends)
    if not record.basis.holds_package:
        yield from package_sources(switching)


def package_sources(switching: Switching) -> Iterator[EdgeSource]:
    """Of a package that the loop of record does not hold."""
    tolerance = switching.tolerance.package_inductance
    if tolerance > 0:
        keys = ("package_inductance",)
        yield _source("package inductance", Kind.TOLERANCE, [_scaled(switching, keys, f) for f in _both(tolerance)])
    elif "package_inductance" in switching.assumed:
        ends_of_package = (PACKAGE_SPAN.least, PACKAGE_SPAN.most)
        changed = [replace(switching, package_inductance=end) for end in ends_of_package]
        yield _source("package inductance", Kind.INPUT, changed)


def switching_sources(switching: Switching) -> Iterator[EdgeSource]:
    """Of edge, switch and damping."""
    given = switching.tolerance
    kind = Kind.TOLERANCE if given.edge_time > 0 else Kind.INPUT
    edges = tuple(EdgeCase(switching=switching, edge=each) for each in edge_span(switching))
    yield EdgeSource(name=EDGE_TIME, kind=kind, cases=edges)
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


def _gate_sources(switching: Switching) -> Iterator[EdgeSource]:
    """What gate loop and power loop share slows the edge down; its span is not in the estimate's band."""
    gate = switching.gate
    if isinstance(gate, GateResistor):
        ends = (gate.common_source.least, gate.common_source.most)
        changed = [replace(switching, gate=replace(gate, common_source_inductance=end)) for end in ends]
        yield _source(COMMON_SOURCE, Kind.INPUT, changed)


def _source(name: str, kind: Kind, changed: list[Switching]) -> EdgeSource:
    return EdgeSource(name=name, kind=kind, cases=tuple(EdgeCase(switching=each) for each in changed))


def with_curve(switching: Switching, curve: OutputCapacitance) -> Switching:
    """With a curve in place of one value."""
    return replace(switching, output_capacitance=None, capacitance_curve=curve)


def _both(tolerance: float) -> tuple[float, float]:
    return 1 - tolerance, 1 + tolerance


def _scaled(switching: Switching, keys: tuple[str, ...], factor: float) -> Switching:
    changed = {key: getattr(switching, key) * factor for key in keys}
    return replace(switching, **changed)
