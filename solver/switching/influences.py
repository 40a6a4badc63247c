"""What is uncertain of a peak and of its ring: every source with what it does, as one budget."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometries.operation.capacitance import OutputCapacitance, TypicalCapacitance
from geometries.operation.switching import PACKAGE_SPAN, Switching
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import DampedBranch
from solver.switching.circuit import edge_span
from solver.switching.edge_peak import edge_peak, late_ring
from solver.switching.results import Influence
from solver.variant.edge_circuit import drive, switched_loop, variant_loop
from solver.variant.results import VariantResult

CURVE = "capacitance below the input voltage, of which one value is stated"
DAMPING = "damping of the ring"
EDGE_TIME = "edge time"
"""Sources that a page says more of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """A variant with something changed."""

    switching: Switching
    more_inductance: float = 0.0
    edge: float | None = None


def influences(switching: Switching, result: VariantResult, snubber: DampedBranch | None) -> Iterator[Influence]:
    """Peak and ring at both ends of every uncertainty, against the nominal ones; the snubber stays as it is."""
    nominal = _figures(_Case(switching=switching), result, snubber)
    for source, cases in _cases(switching, result):
        found = [_figures(case, result, snubber) for case in cases]
        peak, frequency = np.max(np.abs(np.array(found) - np.array(nominal)), axis=0)
        yield Influence(source=source, peak=float(peak), frequency=float(frequency))


def _cases(switching: Switching, result: VariantResult) -> Iterator[tuple[str, Sequence[_Case]]]:
    """What is changed to both sides, source by source."""
    record, given = result.loop, switching.tolerance
    whole, error = record.basis.holds_package, record.inductance_uncertainty
    source = "terms of the whole loop" if whole else "mesh error of the loop inductance"
    yield source, [_Case(switching=switching, more_inductance=each) for each in (-error, error)]
    yield EDGE_TIME, [_Case(switching=switching, edge=each) for each in edge_span(switching)]
    yield from _capacitance_cases(switching)
    yield from _damping_cases(switching)
    if not whole:
        yield from _package_cases(switching)
    if given.resistance > 0 and switching.switch_resistance is not None:
        keys = ("switch_resistance", "capacitor_resistance", "damping_resistance")
        yield "stated resistance", [_Case(switching=_scaled(switching, keys, f)) for f in _both(given.resistance)]


def _capacitance_cases(switching: Switching) -> Iterator[tuple[str, Sequence[_Case]]]:
    curve, tolerance = switching.capacitance, switching.tolerance.output_capacitance
    if tolerance > 0:
        yield "output capacitance", [_Case(switching=switching.with_capacitance(f)) for f in _both(tolerance)]
    if isinstance(curve, TypicalCapacitance):
        ends = (curve.least, curve.most)
        yield CURVE, [_Case(switching=with_curve(switching, end)) for end in ends]


def with_curve(switching: Switching, curve: OutputCapacitance) -> Switching:
    """With a curve in place of one value."""
    return replace(switching, output_capacitance=None, capacitance_curve=curve)


def _damping_cases(switching: Switching) -> Iterator[tuple[str, Sequence[_Case]]]:
    ringing = switching.damping
    if ringing is None or ringing.least == ringing.most:
        return
    ends = (replace(ringing, quality=ringing.least), replace(ringing, quality=ringing.most))
    yield DAMPING, [_Case(switching=replace(switching, ringing=end)) for end in ends]


def _package_cases(switching: Switching) -> Iterator[tuple[str, Sequence[_Case]]]:
    tolerance = switching.tolerance.package_inductance
    if tolerance > 0:
        changed = [_scaled(switching, ("package_inductance",), factor) for factor in _both(tolerance)]
    elif "package_inductance" in switching.assumed:
        changed = [replace(switching, package_inductance=end) for end in (PACKAGE_SPAN.least, PACKAGE_SPAN.most)]
    else:
        return
    yield "package inductance", [_Case(switching=each) for each in changed]


def _both(tolerance: float) -> tuple[float, float]:
    return 1 - tolerance, 1 + tolerance


def _scaled(switching: Switching, keys: Sequence[str], factor: float) -> Switching:
    changed = {key: getattr(switching, key) * factor for key in keys}
    return replace(switching, **changed)


def _figures(case: _Case, result: VariantResult, snubber: DampedBranch | None) -> tuple[float, float]:
    loop = variant_loop(case.switching, result).with_more_inductance(case.more_inductance)
    circuit = switched_loop(case.switching, replace(loop, snubber=snubber))
    edge = drive(case.switching)
    return peak_and_frequency(circuit, edge if case.edge is None else replace(edge, duration=case.edge))


def peak_and_frequency(circuit: NonlinearLoop, edge: Edge) -> tuple[float, float]:
    """Peak [V] and frequency of the ring [Hz], zero where nothing rings."""
    ring = late_ring(circuit, edge)
    return edge_peak(circuit, edge).voltage, 0.0 if ring is None else ring.frequency
