"""What follows from a solved loop without another field: edge, ring and levels, from numbers that can be interpolated.

The loop of record becomes a circuit with corners that are the same everywhere in the box, so that its elements change
smoothly; what radiates becomes levels per ampere and per volt. The script of a what-if page computes edge and levels
from them (`solver/report/consequences.js`); here the solver's own functions do, to measure what interpolation costs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls
from threadpoolctl import threadpool_limits

from geometries.operation.emission import Emission
from geometries.operation.switching import Switching
from geometries.study.scenario import Scenario
from solver.circuit.rl_network import Cell, RLNetwork, SeriesInductor, SeriesResistor
from solver.circuit.series_loop import SeriesLoop, series_loop
from solver.emission.comparison import variant_sources
from solver.emission.current import LoopCurrent, RingCircuit
from solver.emission.dipole import DipoleKind
from solver.emission.prediction import closest_margin, level, line_frequencies, loop_current, loop_levels
from solver.emission.product import board_drive, product_lines
from solver.emission.site import free_space_field
from solver.emission.sources import Drive, oriented_totals
from solver.emission.variant_moment import radiated_moment
from solver.study.basis import expected_basis
from solver.switching.circuit import as_built, beside_copper
from solver.switching.comparison import total_inductance
from solver.switching.edge_peak import edge_peak, late_ring
from solver.switching.influences import largest_inductance_of
from solver.variant.edge_circuit import damped, drive, switched_loop
from solver.variant.results import VariantResult

CONSEQUENCES = (
    "peak_voltage",
    "overshoot",
    "ring_frequency",
    "ring_quality",
    "inductance_margin",
    "emission_margin",
    "product_emission",
)
"""Keys of the figures that a page computes."""

RATES: tuple[float, ...] = tuple(float(each) for each in 2 * math.pi * np.geomspace(3e5, 1e9, 9))
"""Corners of the circuit's cells [rad/s]: as close as this they follow skin effect to a hundredth of the resistance."""

_FITTED = np.geomspace(0.5e6, 1e9, 67)
_HEAVIER = 3.0
"""By how much the reactance counts more than the resistance, which is a small part of it."""

_GRID = 80
"""Frequencies of levels per ampere and volt, as many as the site's gain has."""

_LEAST = 1e-15

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Handed:
    """What a solved variant hands on.

    Parameters
    ----------
    elements : tuple of float
        Of its loop of record as a circuit: resistance [ohm], inductance [H], resistance of every cell [ohm], whose
        corners are :data:`RATES`.
    beside : float
        Inductance of package and capacitor [H].
    moments : (g,) array
        Magnitude of its moment per ampere at :func:`level_grid` [m²]; nothing without emission.
    bands : (s,) array
        Uncertainty of every source that radiates [dB].
    levels : (a, s, g) array
        Of every source, for every way in which the board may stand, at :func:`level_grid`, for 1 A and 1 V
        [dBµV/m].
    """

    elements: tuple[float, ...]
    beside: float
    moments: Floats
    bands: Floats
    levels: Floats

    def numbers(self) -> tuple[float, ...]:
        """All as numbers that change smoothly."""
        resistance, inductance, *cells = self.elements
        return (
            math.log(max(resistance, _LEAST)),
            math.log(max(inductance, _LEAST)),
            *cells,
            self.beside,
            *np.log(np.maximum(self.moments, _LEAST)).tolist(),
            *map(float, self.bands),
            *map(float, self.levels.ravel()),
        )


def handed_of(numbers: Sequence[float], scenario: Scenario) -> Handed:
    """What :meth:`Handed.numbers` stands for."""
    resistance, inductance, *rest = numbers
    cells, (beside, *rest) = rest[: len(RATES)], rest[len(RATES) :]
    ways, sources = shape_of_levels(scenario)
    moments, rest = (rest, []) if not sources else (rest[:_GRID], rest[_GRID:])
    return Handed(
        elements=(math.exp(resistance), math.exp(inductance), *cells),
        beside=beside,
        moments=np.exp(moments),
        bands=np.array(rest[:sources]),
        levels=np.array(rest[sources:]).reshape(ways, sources, -1) if sources else np.zeros((0, 0, 0)),
    )


def handed_on(scenario: Scenario, result: VariantResult) -> Handed:
    """What a solved variant hands on to the consequences of its scenario."""
    emission = scenario.emission
    bands, levels = (np.zeros(0), np.zeros((0, 0, 0))) if emission is None else _levels(emission, result)
    return Handed(
        elements=fixed_corners(result.loop.circuit),
        beside=0.0 if scenario.switching is None else beside_copper(scenario.switching, result),
        moments=np.zeros(0) if emission is None else radiated_moment(result, emission).totals(level_grid(emission)),
        bands=bands,
        levels=levels,
    )


def fixed_corners(circuit: RLNetwork) -> tuple[float, ...]:
    """Elements of the first loop of a circuit with all cells at :data:`RATES`, by least squares up to 1 GHz."""
    omega = 2 * np.pi * _FITTED[:, None]
    wanted = np.array([circuit.impedance(float(f))[0, 0] for f in _FITTED])
    rates = np.array(RATES)
    whole = omega**2 + rates**2
    real = np.hstack([np.ones_like(omega), np.zeros_like(omega), omega**2 / whole]) / wanted.real[:, None]
    imaginary = np.hstack([np.zeros_like(omega), omega, omega * rates / whole]) / wanted.imag[:, None]
    rows = np.vstack([real, _HEAVIER * imaginary])
    sizes = np.linalg.norm(rows, axis=0)
    right = np.concatenate([np.ones(len(_FITTED)), np.full(len(_FITTED), _HEAVIER)])
    found = nnls(rows / sizes, right)[0] / sizes
    return tuple(found.tolist())


def circuit_of(elements: Sequence[float]) -> RLNetwork:
    """The circuit of such elements."""
    resistance, inductance, *cells = elements
    return RLNetwork(
        resistors=(SeriesResistor(resistance=resistance, turns=(1.0,)),),
        inductors=(SeriesInductor(inductance=inductance, turns=(1.0,)),),
        cells=tuple(
            Cell(resistance=each, inductance=each / rate, turns=(1.0,))
            for each, rate in zip(cells, RATES, strict=True)
            if each > 0
        ),
        band=(float(_FITTED[0]), float(_FITTED[-1])),
    )


def level_grid(emission: Emission) -> Floats:
    """Frequencies of the levels per ampere and volt, from the limits' first to the highest [Hz]."""
    lowest = min(line.breakpoints[0] for line in emission.limits)
    return np.geomspace(lowest, emission.highest_frequency, _GRID)


def level_per_moment(emission: Emission) -> Floats:
    """Level that a loop of 1 A m² alone gives at :func:`level_grid` [dBµV/m]."""
    unit = [free_space_field(DipoleKind.MAGNETIC, 1.0, float(at), emission.distance) for at in level_grid(emission)]
    return level(np.array(unit) * emission.site.gain)


def shape_of_levels(scenario: Scenario) -> tuple[int, int]:
    """Ways in which the board may stand, and sources that radiate; nothing where no board is described."""
    emission = scenario.emission
    if emission is None or emission.board is None:
        return 0, 0
    return len(emission.orientation.upright_axes), 1 + (emission.node is not None) + 2 * (emission.cable is not None)


def driven_by_current(scenario: Scenario) -> tuple[bool, ...]:
    """Which sources the loop's current drives; the switch node's voltage drives the others."""
    emission = scenario.emission
    if emission is None or emission.board is None:
        return ()
    node = () if emission.node is None else (False,)
    return (True, *node, *(() if emission.cable is None else (True, False)))


def _levels(emission: Emission, result: VariantResult) -> tuple[Floats, Floats]:
    if emission.board is None:
        return np.zeros(0), np.zeros((0, 0, 0))
    grid = level_grid(emission)
    unit = Drive(frequencies=grid, current=np.ones(_GRID), node_voltage=np.ones(_GRID))
    sources = variant_sources(emission, emission.board, result)
    found = oriented_totals(unit, sources, emission.measuring_site, emission.orientation, emission.band)
    levels = np.array([[source.levels for source in each.total.sources] for each in found])
    return np.array([source.band for source in found[0].total.sources]), levels


def consequences(scenario: Scenario, handed: Handed) -> dict[str, float]:
    """Values of :data:`CONSEQUENCES` that a scenario of one variant has, as described."""
    switching, emission = scenario.switching, scenario.emission
    if switching is None:
        return {}
    with threadpool_limits(1):
        plain = _plain_loop(switching, handed, held=expected_basis(scenario.variants[0]).holds_package)
        found = dict(_of_edge(switching, plain))
        if emission is not None:
            ring = RingCircuit(voltage=switching.input_voltage, loop=as_built(switching, plain))
            found |= _of_levels(emission, loop_current(emission, ring), scenario, handed)
    return found


def _plain_loop(switching: Switching, handed: Handed, *, held: bool) -> SeriesLoop:
    """The loop without snubber, damped as stated; where its package is held already it is not added."""
    beside = replace(switching, package_inductance=0.0) if held else switching
    return damped(switching, series_loop(circuit_of(handed.elements), beside))


def _of_edge(switching: Switching, plain: SeriesLoop) -> Iterator[tuple[str, float]]:
    circuit, edge = switched_loop(switching, as_built(switching, plain)), drive(switching)
    peak, ring = edge_peak(circuit, edge).voltage, late_ring(circuit, edge)
    yield "peak_voltage", peak
    yield "overshoot", peak / edge.height - 1
    yield "ring_frequency", 0.0 if ring is None else ring.frequency
    yield "ring_quality", 0.0 if ring is None else ring.quality
    most = largest_inductance_of(switching)
    if most is not None:
        yield "inductance_margin", most.value - total_inductance(plain, edge)


def _of_levels(emission: Emission, current: LoopCurrent, scenario: Scenario, handed: Handed) -> dict[str, float]:
    harmonics = line_frequencies(emission, current)
    lines = np.asarray(harmonics * current.frequency, dtype=np.float64)
    grid = np.log(level_grid(emission))
    moments = np.exp(np.interp(np.log(lines), grid, np.log(handed.moments)))
    bound, _ = loop_levels(emission, current, moments, harmonics)
    found = {"emission_margin": closest_margin(lines, bound, emission.limits).value}
    if handed.levels.size:
        known = board_drive(current, product_lines(lines, emission))
        driven = 20 * np.log10(
            np.array([known.current if each else known.node_voltage for each in driven_by_current(scenario)])
        )
        at = np.log(known.frequencies)
        levels = np.array([[np.interp(at, grid, source) for source in way] for way in handed.levels])
        sums = 10 * np.log10((10 ** ((levels + driven) / 10)).sum(axis=1))
        found["product_emission"] = float(((sums.min(axis=0) + sums.max(axis=0)) / 2).max())
    return found
