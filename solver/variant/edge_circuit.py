"""From a solved variant and a scenario's switching table to the circuit that its edge drives."""

from __future__ import annotations

import math
from dataclasses import replace

from geometries.operation.capacitance import OutputCapacitance, TypicalCapacitance
from geometries.operation.switching import Switching
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import SeriesLoop, series_loop
from solver.pickup.pin import Rings
from solver.pickup.ringing_drive import ring_transients
from solver.pickup.solve import driven
from solver.variant.results import VariantResult

_ITERATIONS = 3


def drive(switching: Switching) -> Edge:
    """The edge of a scenario, counted from 0 to 100 %."""
    return Edge(height=switching.input_voltage, duration=switching.full_edge)


def variant_loop(switching: Switching, result: VariantResult) -> SeriesLoop:
    """The loop of a solved variant, without snubber, damped as stated, with the capacitance at the input voltage."""
    return damped(switching, described_loop(switching, result))


def described_loop(switching: Switching, result: VariantResult) -> SeriesLoop:
    """The circuit of the loop of record, with the stated package where that is not in it already."""
    record = result.loop
    package = 0.0 if record.basis.holds_package else switching.package_inductance
    return series_loop(record.circuit, replace(switching, package_inductance=package))


def damped(switching: Switching, loop: SeriesLoop) -> SeriesLoop:
    """A loop with so much resistance in series that its ring has the stated quality; what is in it already counts.

    What is added on purpose (`damping_resistance`) comes on top. Where resistances are stated, they stay.
    """
    ringing = switching.damping
    if ringing is None:
        return loop
    bare = replace(loop, resistance=max(0.0, loop.resistance - switching.damping_resistance))
    omega = bare.natural_frequency
    for _ in range(_ITERATIONS):
        series = bare.series_impedance(omega / (2 * math.pi))
        omega = 1 / math.sqrt(series.imag / omega * bare.capacitance)
    series = bare.series_impedance(omega / (2 * math.pi))
    missing = max(0.0, series.imag / ringing.quality - series.real)
    return replace(loop, resistance=loop.resistance + missing)


def switched_loop(switching: Switching, loop: SeriesLoop) -> NonlinearLoop:
    """A loop with the switch's capacitance as a function of its voltage, and with the charge its diode recovers."""
    return NonlinearLoop(loop=loop, capacitance=curve_of(switching), recovery=switching.recovery)


def edge_rings(
    switching: Switching, result: VariantResult, edge: Edge | None = None, more_inductance: float = 0.0
) -> Rings:
    """What the ring of a variant's edge adds to the trapezoids of its loop and switch node.

    A snubber whose resistor is stated is in the loop. The edge may be another than the scenario's, and the loop may
    have more inductance [H].
    """
    loop, snubber = variant_loop(switching, result).with_more_inductance(more_inductance), switching.snubber
    if snubber is not None and snubber.resistance is not None:
        loop = loop.with_snubber(snubber.resistance, snubber.capacitance)
    current, voltage = ring_transients(switched_loop(switching, loop), drive(switching) if edge is None else edge)
    return Rings(current=current, voltage=voltage)


def with_pickup(switching: Switching, result: VariantResult) -> VariantResult:
    """A solved variant with its victims driven by the rings of its edge as it is now; no field is solved."""
    if result.pickup is None:
        return result
    return replace(result, pickup=driven(result.pickup, edge_rings(switching, result)))


def curve_of(switching: Switching) -> OutputCapacitance:
    """The switch's capacitance; of typical ones the middle."""
    curve = switching.capacitance
    return curve.middle if isinstance(curve, TypicalCapacitance) else curve
