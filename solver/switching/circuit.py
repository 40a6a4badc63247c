"""From a solved variant and a scenario's switching table to the circuit that its edge drives."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from geometries.operation.capacitance import ConstantCapacitance, OutputCapacitance, TypicalCapacitance
from geometries.operation.switching import EDGE_SPREAD, Switching
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import SeriesLoop, series_loop
from solver.loop.terms import CAPACITOR, PACKAGE
from solver.switching.snubber_search import design_snubber
from solver.variant.results import VariantResult

_ITERATIONS = 3


def drive(switching: Switching) -> Edge:
    """The edge of a scenario, counted from 0 to 100 %."""
    return Edge(height=switching.input_voltage, duration=switching.full_edge)


def edge_span(switching: Switching) -> tuple[float, float]:
    """Shortest and longest time of the edge [s]: by its tolerance, its estimate's band, or what is typical."""
    estimate, tolerance = switching.edge_estimate, switching.tolerance.edge_time
    if estimate is not None and tolerance == 0:
        return estimate.shortest, estimate.longest
    part = tolerance if tolerance > 0 else EDGE_SPREAD
    return switching.full_edge * (1 - part), switching.full_edge * (1 + part)


def span_of_edges(switching: Switching) -> tuple[Edge, ...]:
    """The nominal edge, the shortest, and the longest."""
    return tuple(
        Edge(height=switching.input_voltage, duration=each) for each in (switching.full_edge, *edge_span(switching))
    )


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


def curve_of(switching: Switching) -> OutputCapacitance:
    """The switch's capacitance; of typical ones the middle."""
    curve = switching.capacitance
    return curve.middle if isinstance(curve, TypicalCapacitance) else curve


def bare_circuit(switching: Switching) -> Callable[[float], NonlinearLoop]:
    """Loop of one inductance [H] and the stated damping, in place of a layout."""

    def circuit(inductance: float) -> NonlinearLoop:
        loop = SeriesLoop(
            resistance=switching.series_resistance,
            inductance=inductance,
            capacitance=switching.capacitance_at_input,
        )
        return switched_loop(switching, damped(switching, loop))

    return circuit


def beside_copper(switching: Switching, result: VariantResult) -> float:
    """Inductance of package and capacitor: of a placement its own terms, else as the scenario states it [H]."""
    if result.whole_loop is None:
        return switching.package_inductance
    return sum(result.whole_loop.term(name).amount for name in (CAPACITOR, PACKAGE))


def as_built(switching: Switching, loop: SeriesLoop) -> SeriesLoop:
    """With the scenario's snubber, if it states one."""
    snubber = switching.snubber
    if snubber is None:
        return loop
    resistance = snubber.resistance
    if resistance is None:
        found = design_snubber(
            equivalent_circuit(switched_loop(switching, loop), switching.input_voltage),
            snubber.capacitance,
            span_of_edges(switching),
        )
        resistance = found.resistance
    return loop.with_snubber(resistance, snubber.capacitance)


def equivalent_circuit(circuit: NonlinearLoop, voltage: float) -> NonlinearLoop:
    """With the constant capacitance that takes as much charge up to a voltage: good to search a resistor with."""
    equivalent = circuit.capacitance.charge(voltage) / voltage
    return NonlinearLoop(loop=circuit.loop, capacitance=ConstantCapacitance(value=equivalent))
