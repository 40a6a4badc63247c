"""What the victims of a variant pick up: fields of its section with the victims in it, then the circuit of the pin."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometries.errors import GeometryError
from geometries.section.analysis import Analysis
from geometries.section.section import MAIN_SEGMENT
from geometries.section.victims import Victim, VictimSetup, moved
from solver.circuit.rl_network import BroadbandModel
from solver.constants import EPSILON_0, MU_0
from solver.pickup.distance import mutual_curves, solve_coupling, try_wider, within_budget
from solver.pickup.divider import OPEN_RUN, electric_transfer, magnetic_transfer, pin_circuit
from solver.pickup.node import read_node
from solver.pickup.pin import (
    NO_RINGS,
    PinTransfers,
    Rings,
    loop_current,
    open_peak,
    pin_signal,
    pin_sources,
    pin_spectrum,
)
from solver.pickup.results import BudgetDistance, LineReading, PickupResult, PinSignal, PinSpectrum, VictimReading
from solver.pickup.ringing_drive import PinSource
from solver.section.electrostatics import ElectricSolution, bracket_capacitance, solve_electric
from solver.section.extraction import sample_potential_map
from solver.section.refinement import refine_section
from solver.section.results import CapacitanceMatrix, PotentialMap, SegmentResult
from solver.section.solve import segment_result, solve_reported

_MAP_MARGIN = 3e-3
_MAP_FRACTION = 0.3
_TOLERANCE_ELSEWHERE = 0.05
"""Of the bounds of inductance where the victim is tried on another layer."""


def solve_pickup(pickup: VictimSetup, analysis: Analysis, rings: Rings = NO_RINGS) -> PickupResult:
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
    return replace(result, victims=tuple(_studied(pickup, each, analysis, rings) for each in result.victims))


def _studied(pickup: VictimSetup, reading: VictimReading, analysis: Analysis, rings: Rings) -> VictimReading:
    victim, frequency = reading.victim, analysis.report_frequency
    if victim.trace is None:
        return reading
    here = solve_coupling(pickup, victim.name, frequency)
    own = within_budget(pickup, victim, reading.signal, here, frequency)
    others = () if own is None else tuple(_on_other_layers(pickup, victim, analysis, rings))
    return replace(
        reading,
        wider=try_wider(pickup, victim, here, frequency),
        budget_distances=() if own is None else (own, *others),
    )


def _on_other_layers(pickup: VictimSetup, victim: Victim, analysis: Analysis, rings: Rings) -> Iterator[BudgetDistance]:
    """Where the victim keeps the budget on the layers that have room for it; solved at its own distance first."""
    number, trace = pickup.victims.index(victim), victim.trace
    if trace is None or pickup.stackup is None:
        return
    frequency = analysis.report_frequency
    ends = {analysis.frequencies[0], frequency, analysis.frequencies[-1]}
    coarse = replace(analysis, frequencies=tuple(sorted(ends)), tolerance=max(analysis.tolerance, _TOLERANCE_ELSEWHERE))
    for layer in pickup.stackup.copper_names:
        if layer == trace.layer:
            continue
        try:
            there = moved(pickup, victim, distance=trace.distance, layer=layer)
        except GeometryError:  # other copper lies there
            continue
        signal = evaluate_pickup(there, coarse, rings).victims[number].signal
        here = solve_coupling(there, victim.name, frequency)
        found = within_budget(there, there.victims[number], signal, here, frequency)
        if found is not None:
            yield found


def evaluate_pickup(pickup: VictimSetup, analysis: Analysis, rings: Rings = NO_RINGS) -> PickupResult:
    """Solve a section with its victims where they are, and read off what they pick up.

    The parameters and errors are those of :func:`solve_pickup`.
    """
    refined = refine_section(pickup.section, highest_frequency=analysis.frequencies[-1], tolerance=analysis.tolerance)
    solved = solve_reported(refined, analysis)
    magnetic = segment_result(MAIN_SEGMENT, 1.0, solved, analysis)
    electric = solve_electric(refined.system)
    capacitance = bracket_capacitance(electric)
    in_air = solve_electric(refined.system, np.ones(refined.system.meshed.mesh.nelements)).capacitance
    readings = []
    for number, victim in enumerate(pickup.victims, start=1):
        index = capacitance.groups.index(victim.conductor)
        line = _line(capacitance.total(victim.conductor), float(in_air[index, index]))
        readings.append(_read(pickup, number, magnetic, capacitance, line, analysis, rings))
    return PickupResult(
        pickup=pickup,
        model=magnetic.broadband,
        capacitance=capacitance,
        victims=tuple(readings),
        node=read_node(pickup, capacitance),
        curves=mutual_curves(pickup, solved.field),
        ringing=rings is not NO_RINGS,
        potential_map=_potential_map(pickup, electric),
    )


def driven(result: PickupResult, rings: Rings) -> PickupResult:
    """The same couplings with other rings in what drives them; no field is solved."""

    def again(number: int, reading: VictimReading) -> VictimReading:
        electric = reading.line, reading.node_capacitance
        highest = float(reading.spectrum.frequencies[-1])
        heard = _at_pin(result.pickup, number, electric, result.model, rings, highest)
        return replace(reading, open_peak=heard.open_peak, signal=heard.signal, spectrum=heard.spectrum)

    return replace(
        result,
        victims=tuple(again(number, each) for number, each in enumerate(result.victims, start=1)),
        ringing=rings is not NO_RINGS,
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
    rings: Rings,
) -> VictimReading:
    """Read off one victim, the loop of that number."""
    victim, node = pickup.victims[number - 1], pickup.switch_node
    to_node = 0.0 if node is None else capacitance.between(victim.conductor, node.conductor)
    gap = 0.0 if node is None else capacitance.half_gap(victim.conductor, node.conductor)
    model, perfect = magnetic.broadband, magnetic.perfect_bracket
    heard = _at_pin(pickup, number, (line, to_node), model, rings, analysis.frequencies[-1])
    return VictimReading(
        victim=victim,
        mutual_inductance=magnetic.inductance[:, 0, number],
        mutual_resistance=magnetic.resistance[:, 0, number],
        mutual_error=float(magnetic.impedance_error[0, number]) / (2 * math.pi * analysis.report_frequency),
        mutual_bounds=(float(perfect.lower[0, number]), float(perfect.upper[0, number])),
        line=line,
        node_capacitance=to_node,
        node_capacitance_error=gap,
        open_peak=heard.open_peak,
        signal=heard.signal,
        spectrum=heard.spectrum,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Heard:
    """What one victim picks up: the largest emf of its open run, the voltage at the pin, and that by harmonics."""

    open_peak: float
    signal: PinSignal
    spectrum: PinSpectrum


def _at_pin(
    pickup: VictimSetup,
    number: int,
    electric: tuple[LineReading, float],
    model: BroadbandModel,
    rings: Rings,
    highest: float,
) -> _Heard:
    """What the victim of that number picks up of all loops and the switch node, with their rings."""
    sources = pin_sources(pickup.drive, _transfers(pickup, number, model, *electric), rings)
    stretch = pickup.victims[number - 1].beside(pickup.loop_length)
    emf = magnetic_transfer(model, number, stretch, OPEN_RUN)
    return _Heard(
        open_peak=open_peak(PinSource(name="emf", transfer=emf, wave=loop_current(pickup.drive, rings))),
        signal=pin_signal(sources),
        spectrum=pin_spectrum(sources, highest),
    )


def _transfers(
    pickup: VictimSetup, number: int, model: BroadbandModel, line: LineReading, to_node: float
) -> PinTransfers:
    """From every loop and the switch node to the pin of the victim of that number."""
    victim, node = pickup.victims[number - 1], pickup.switch_node
    circuit = pin_circuit(pickup.drive.divider, victim.run, line.capacitance * victim.length)
    beside = 0.0 if node is None else victim.beside(node.length)
    magnetic = [
        magnetic_transfer(model, number, victim.beside(length), circuit.from_emf, source=index)
        for _, index, length in pickup.sources
    ]
    return PinTransfers(
        magnetic=magnetic[0],
        electric=electric_transfer(to_node * beside, circuit.from_injection),
        further=tuple(zip(pickup.further, magnetic[1:], strict=True)),
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
