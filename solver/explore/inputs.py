"""What the consequences on a what-if page start from beside the fields: numbers of edge and current, over free keys.

A key that changes nothing but these numbers needs no solved places. How the numbers follow the keys is not
written a second time: polynomials run through what the scenario itself says of them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.operation.capacitance import (
    CapacitanceCurve,
    ConstantCapacitance,
    CurvePiece,
    JunctionCapacitance,
    OutputCapacitance,
)
from geometries.operation.recovery import NoRecovery
from geometries.operation.switching import Switching
from geometries.study.explore import Exploration, ExploredVariant
from geometries.study.scenario import Scenario
from solver.explore.interpolation import NODES, Interpolation, interpolate, place, up_to_degree
from solver.study.basis import expected_basis
from solver.switching.influences import package_spread
from solver.variant.edge_circuit import curve_of
from solver.variant.edge_sources import EdgeCase, EdgeSource, package_sources, switching_sources

EDGE_NUMBERS = (
    "height",
    "duration",
    "resistance",
    "added",
    "package",
    "quality",
    "snubberResistance",
    "snubberCapacitance",
    "fixed",
)
"""Numbers of one edge [SI], zero for what there is not; three for every piece of the capacitance follow them."""

SHARED_NUMBERS = ("limit", "packageSpread", "current", "frequency", "rise", "fall")
"""Numbers of the whole scenario, after those of all edges [SI]; zero for what there is not."""

_FREE = frozenset(
    f"{table}.{key}"
    for table, keys in {
        "switching": (
            "input_voltage edge_time output_capacitance switch_resistance capacitor_resistance damping_resistance "
            "package_inductance voltage_rating derating frequency snubber.resistance snubber.capacitance "
            "gate.resistance gate.current tolerance.edge_time tolerance.output_capacitance tolerance.resistance "
            "tolerance.package_inductance"
        ),
        "emission": "current frequency duty rise_time fall_time",
        "converter": (
            "input_voltage output_voltage load_current ripple frequency current_rise_time voltage_rise_time "
            "current_fall_time voltage_fall_time"
        ),
    }.items()
    for key in keys.split()
)
"""Keys on which nothing but these numbers depends."""

_MOST_POINTS = 400
_ACCURATE = 1e-4
_TRIED = 12
_SEED = 20250102


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inputs:
    """The numbers of a variant over the box.

    Parameters
    ----------
    interpolation : Interpolation
        Of all numbers: those of the edge as described, those of every further edge, those of the whole scenario.
    sources : tuple of int
        How many further edges every source of uncertainty has.
    ends : tuple of float
        Voltages up to which the pieces of the capacitance hold, the last without end left out [V].
    holds_package : bool
        Whether the loop of record holds capacitor and package already.
    """

    interpolation: Interpolation
    sources: tuple[int, ...]
    ends: tuple[float, ...]
    holds_package: bool


def computes_consequences(scenario: Scenario) -> bool:
    """Whether a page can follow the edge of a scenario: no recovering diode, no search of a snubber, one limit."""
    switching = scenario.switching
    return (
        switching is not None
        and isinstance(switching.recovery, NoRecovery)
        and (switching.snubber is None or switching.snubber.resistance is not None)
        and (switching.limit is None or switching.limit.pulse is None)
    )


def followed(asked: Exploration) -> Exploration:
    """The same, marked as computing its consequences if every key that shapes nothing is one of these."""
    free = all(axis.shapes or axis.key in _FREE for axis in asked.axes)
    return replace(asked, computes=free and all(inputs_of(asked, each) is not None for each in asked.variants))


def inputs_of(asked: Exploration, variant: ExploredVariant) -> Inputs | None:
    """Polynomials of so high a degree that the numbers are met at random states; none if no degree does."""
    middle = asked.scenario_at(variant, asked.values([0.0] * len(asked.axes)))
    if not computes_consequences(middle):
        return None
    moving = _moving(asked, variant)
    draw = random.Random(_SEED)
    states = [[draw.uniform(-1, 1) for _ in asked.axes] for _ in range(_TRIED)]
    wanted = [numbers_of(asked.scenario_at(variant, asked.values(state))) for state in states]
    known: dict[tuple[int, ...], list[float]] = {}
    for degree in range(len(NODES)):
        indices = [_over(moving, index, len(asked.axes)) for index in up_to_degree(len(moving), degree)]
        if len(indices) > _MOST_POINTS:
            return None
        for index in indices:
            if index not in known:
                known[index] = numbers_of(asked.scenario_at(variant, asked.values(place(index))))
        found = interpolate(known)
        if all(_meets(found.values(state), values) for state, values in zip(states, wanted, strict=True)):
            switching = _switching(middle)
            return Inputs(
                interpolation=found,
                sources=tuple(len(source.cases) for source in _sources(middle)),
                ends=tuple(end for *_, end in _pieces(switching)[:-1]),
                holds_package=expected_basis(middle.variants[0]).holds_package,
            )
    return None


def _meets(found: NDArray[np.float64], wanted: list[float]) -> bool:
    return len(found) == len(wanted) and np.allclose(found, wanted, rtol=_ACCURATE, atol=0.0)


def _moving(asked: Exploration, variant: ExploredVariant) -> list[int]:
    """Numbers of the axes with which any of the numbers changes."""
    found = []
    for number in range(len(asked.axes)):
        ends = [[float(end) if axis == number else 0.0 for axis in range(len(asked.axes))] for end in (-1, 1)]
        low, high = (numbers_of(asked.scenario_at(variant, asked.values(end))) for end in ends)
        if low != high:
            found.append(number)
    return found


def _over(moving: list[int], index: tuple[int, ...], axes: int) -> tuple[int, ...]:
    numbers = dict(zip(moving, index, strict=True))
    return tuple(numbers.get(axis, 0) for axis in range(axes))


def numbers_of(scenario: Scenario) -> list[float]:
    """All numbers of a scenario: :data:`EDGE_NUMBERS` of every edge, then :data:`SHARED_NUMBERS`."""
    switching = _switching(scenario)
    edges = [EdgeCase(switching=switching), *(case for source in _sources(scenario) for case in source.cases)]
    limit, emission = switching.limit, scenario.emission
    current = (0.0,) * 4
    if emission is not None:
        current = (emission.current, emission.frequency, emission.rise_time, emission.fall_time)
    return [
        *(number for edge in edges for number in _edge_numbers(edge)),
        0.0 if limit is None else limit.level,
        package_spread(switching, switching.package_inductance),
        *current,
    ]


def _switching(scenario: Scenario) -> Switching:
    if scenario.switching is None:
        raise ValueError("the scenario has no [switching] table; its edge has no numbers")
    return scenario.switching


def _sources(scenario: Scenario) -> Iterator[EdgeSource]:
    """Sources of uncertainty beside the loop of record."""
    switching = _switching(scenario)
    if not expected_basis(scenario.variants[0]).holds_package:
        yield from package_sources(switching)
    yield from switching_sources(switching)


def _edge_numbers(case: EdgeCase) -> Iterator[float]:
    switching = case.switching
    snubber, ringing = switching.snubber, switching.damping
    curve = curve_of(switching)
    yield from (switching.input_voltage, case.drive.duration, switching.series_resistance)
    yield from (switching.damping_resistance, switching.package_inductance)
    yield 0.0 if ringing is None else ringing.quality
    yield from (0.0, 0.0) if snubber is None else (snubber.resistance or 0.0, snubber.capacitance)
    yield curve.fixed if isinstance(curve, JunctionCapacitance) else 0.0
    for zero_bias, exponent, junction_voltage, _ in _pieces(switching):
        yield from (zero_bias, exponent, junction_voltage)


def _pieces(switching: Switching) -> list[tuple[float, float, float, float]]:
    """C0, m, Vj and upper end of every piece of the switch's capacitance."""
    curve = curve_of(switching)
    if isinstance(curve, ConstantCapacitance):
        return [(curve.value, 0.0, 1.0, np.inf)]
    laws = curve.pieces if isinstance(curve, CapacitanceCurve) else _law_of(curve)
    return [(each.zero_bias, each.exponent, each.junction_voltage, each.high) for each in laws]


def _law_of(curve: OutputCapacitance) -> tuple[CurvePiece, ...]:
    if not isinstance(curve, JunctionCapacitance):
        raise ValueError(f"a page knows no law for {curve!r}")
    return (curve.piece,)
