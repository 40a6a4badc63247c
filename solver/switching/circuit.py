"""What a scenario's switching table makes of an edge: its span, its snubber, loops without a layout."""

from __future__ import annotations

from collections.abc import Callable

from geometries.operation.capacitance import ConstantCapacitance
from geometries.operation.switching import Switching
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import SeriesLoop
from solver.switching.snubber_search import design_snubber
from solver.variant.edge_circuit import damped, switched_loop
from solver.variant.edge_sources import edge_span
from solver.variant.results import VariantResult


def span_of_edges(switching: Switching) -> tuple[Edge, ...]:
    """The nominal edge, the shortest, and the longest."""
    return tuple(
        Edge(height=switching.input_voltage, duration=each) for each in (switching.full_edge, *edge_span(switching))
    )


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
    whole = result.planned_loop
    return whole.beside_copper if whole is not None and result.basis.holds_package else switching.package_inductance


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
