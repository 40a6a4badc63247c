"""What the victims of a variant pick up: fields of its section with the victims in it, then the circuit of the pin."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from geometries.section.victims import VictimSetup
from geometries.study.scenario import MAIN_SEGMENT, Analysis
from solver.formulas.constants import EPSILON_0, MU_0
from solver.pickup.distance import mutual_curves, solve_coupling, try_wider, within_budget
from solver.pickup.divider import OPEN_RUN, electric_transfer, magnetic_transfer, pin_circuit
from solver.pickup.node import read_node
from solver.pickup.pin import (
    PinTransfers,
    Rings,
    open_peak,
    pin_signal,
    pin_spectrum,
    ringing_open_peak,
    ringing_signal,
    ringing_spectrum,
)
from solver.pickup.results import LineReading, PickupResult, VictimReading
from solver.section.electrostatics import ElectricSolution, bracket_capacitance, solve_electric
from solver.section.extraction import sample_potential_map
from solver.section.fields import solve_at_frequency
from solver.section.refinement import refine_section
from solver.section.results import CapacitanceMatrix, PotentialMap, SegmentResult
from solver.section.solve import segment_result

_MAP_MARGIN = 3e-3
_MAP_FRACTION = 0.3


def solve_pickup(pickup: VictimSetup, analysis: Analysis, rings: Rings | None = None) -> PickupResult:
    r"""Solve a section with its victims, read off what they pick up, and what they would pick up wider or farther away.

    Parameters
    ----------
    pickup : VictimSetup
        The section, its victims, and what they pick up.
    analysis : Analysis
        Frequencies and tolerance.
    rings : Rings, optional
        That the edges excite in the loop; without them trapezoids alone drive the victims.

    Returns
    -------
    PickupResult

    Raises
    ------
    SolverError
        If the section cannot be meshed, or a solution is not to be trusted.

    Examples
    --------
    >>> from geometries import read_scenario
    >>> from solver import solve_pickup
    >>> scenario = read_scenario(
    ...     'title = "trace beside the loop"\nstackup = "2L-0.8"\n'
    ...     'loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "10 mm" }\n'
    ...     'planes.L2 = { tie = "capacitor end", width = "30 mm" }\n'
    ...     'analysis = { frequencies = ["1 MHz"], report_frequency = "10 MHz", tolerance = "1 %" }\n'
    ...     'victims.feedback = { layer = "L1", distance = "2 mm", width = "0.2 mm", '
    ...     'reference = "L2", length = "10 mm" }\n'
    ...     'pickup = { current = "3 A", frequency = "500 kHz", rise_time = "2 ns", voltage = "24 V", '
    ...     'reference_voltage = "0.8 V", divider = { upper = "31.6 kohm", lower = "10 kohm" } }'
    ... )
    >>> pickup = solve_pickup(scenario.variants[0].pickup, scenario.analysis)
    >>> f"{pickup.victims[0].signal.peak * 1e3:.0f} mV at the pin"
    '3 mV at the pin'
    """
    result = evaluate_pickup(pickup, analysis, rings)
    frequency = analysis.report_frequency
    return replace(result, victims=tuple(_studied(pickup, each, frequency) for each in result.victims))


def _studied(pickup: VictimSetup, reading: VictimReading, frequency: float) -> VictimReading:
    victim = reading.victim
    if victim.trace is None:
        return reading
    here = solve_coupling(pickup, victim.name, frequency)
    return replace(
        reading,
        wider=try_wider(pickup, victim, here, frequency),
        budget_distance=within_budget(pickup, victim, reading.signal, here, frequency),
    )


def evaluate_pickup(pickup: VictimSetup, analysis: Analysis, rings: Rings | None = None) -> PickupResult:
    """Solve a section with its victims where they are, and read off what they pick up.

    The parameters and errors are those of :func:`solve_pickup`.
    """
    refined = refine_section(pickup.section, highest_frequency=analysis.frequencies[-1], tolerance=analysis.tolerance)
    reported = solve_at_frequency(refined.system, analysis.report_frequency)
    magnetic = segment_result(MAIN_SEGMENT, 1.0, refined, reported, analysis)
    electric = solve_electric(refined.system)
    capacitance = bracket_capacitance(electric)
    in_air = solve_electric(refined.system, np.ones(refined.system.meshed.mesh.nelements)).capacitance
    readings = []
    for number, victim in enumerate(pickup.victims, start=1):
        index = capacitance.groups.index(victim.conductor)
        line = _line(capacitance.total(victim.conductor), float(in_air[index, index]))
        reading = _read(pickup, number, magnetic, capacitance, line, analysis)
        readings.append(reading if rings is None else _ringing(pickup, number, reading, magnetic, analysis, rings))
    return PickupResult(
        pickup=pickup,
        model=magnetic.broadband,
        capacitance=capacitance,
        victims=tuple(readings),
        node=read_node(pickup, capacitance),
        curves=mutual_curves(pickup, reported),
        ringing=rings is not None,
        potential_map=_potential_map(pickup, electric),
    )


def _line(capacitance: float, in_air: float) -> LineReading:
    """A victim as a line; its inductance is that of the section in air, mu_0 eps_0 / C."""
    inductance = MU_0 * EPSILON_0 / in_air
    return LineReading(
        inductance=inductance,
        capacitance=capacitance,
        impedance=math.sqrt(inductance / capacitance),
        effective_permittivity=capacitance / in_air,
    )


def _read(
    pickup: VictimSetup,
    number: int,
    magnetic: SegmentResult,
    capacitance: CapacitanceMatrix,
    line: LineReading,
    analysis: Analysis,
) -> VictimReading:
    """Read off one victim, the loop of that number."""
    victim, node = pickup.victims[number - 1], pickup.switch_node
    to_node = 0.0 if node is None else capacitance.between(victim.conductor, node.conductor)
    gap = 0.0 if node is None else capacitance.half_gap(victim.conductor, node.conductor)
    transfers = _transfers(pickup, number, magnetic, line, to_node)
    signal = pin_signal(pickup.drive, transfers)
    perfect = magnetic.perfect_bracket
    return VictimReading(
        victim=victim,
        mutual_inductance=magnetic.inductance[:, 0, number],
        mutual_resistance=magnetic.resistance[:, 0, number],
        mutual_error=float(magnetic.impedance_error[0, number]) / (2 * math.pi * analysis.report_frequency),
        mutual_bounds=(float(perfect.lower[0, number]), float(perfect.upper[0, number])),
        line=line,
        node_capacitance=to_node,
        node_capacitance_error=gap,
        open_peak=open_peak(pickup.drive, magnetic_transfer(magnetic.broadband, number, victim.length, OPEN_RUN)),
        signal=signal,
        spectrum=pin_spectrum(pickup.drive, transfers, analysis.frequencies[-1]),
    )


def _transfers(
    pickup: VictimSetup, number: int, magnetic: SegmentResult, line: LineReading, to_node: float
) -> PinTransfers:
    """From loop and switch node to the pin of the victim of that number."""
    victim, node = pickup.victims[number - 1], pickup.switch_node
    circuit = pin_circuit(pickup.drive.divider, victim.run, line.capacitance * victim.length)
    beside = 0.0 if node is None else min(victim.length, node.length)
    return PinTransfers(
        magnetic=magnetic_transfer(magnetic.broadband, number, victim.length, circuit.from_emf),
        electric=electric_transfer(to_node * beside, circuit.from_injection),
    )


def _ringing(
    pickup: VictimSetup, number: int, reading: VictimReading, magnetic: SegmentResult, analysis: Analysis, rings: Rings
) -> VictimReading:
    """With the ring of the edges in what drives it."""
    transfers = _transfers(pickup, number, magnetic, reading.line, reading.node_capacitance)
    run = magnetic_transfer(magnetic.broadband, number, reading.victim.length, OPEN_RUN)
    return replace(
        reading,
        open_peak=ringing_open_peak(pickup.drive, run, rings),
        signal=ringing_signal(pickup.drive, transfers, rings),
        spectrum=ringing_spectrum(pickup.drive, transfers, rings, analysis.frequencies[-1]),
    )


def _potential_map(pickup: VictimSetup, electric: ElectricSolution) -> PotentialMap | None:
    """Potential of the switch node at one volt, in a window round the loop and the victims."""
    node, section = pickup.switch_node, pickup.section
    if node is None:
        return None
    chosen = {loop.go_group for loop in section.loops} | {node.conductor, section.loops[0].return_group}
    boxes = [region.outline.bounds for region in section.regions if region.group in chosen]
    left, right = min(box[0] for box in boxes), max(box[2] for box in boxes)
    bottom, top = min(box[1] for box in boxes), max(box[3] for box in boxes)
    margin = max(_MAP_MARGIN, _MAP_FRACTION * (right - left))
    window = (left - margin, bottom - margin, right + margin, top + margin)
    index = section.voltage_groups.index(node.conductor)
    return sample_potential_map(electric.system, electric.potential[:, index], window)
