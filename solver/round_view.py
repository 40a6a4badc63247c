"""The round view of one loop: what its discs shield, set against the same ring alone."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from geometries.rounds import RoundLoop
from geometries.scenario import Analysis
from geometries.section import CrossSection
from solver.circuit import BroadbandModel
from solver.extraction import axial_moment, field_strength, sample_field_map
from solver.fields import FieldSolution, solve_at_frequency
from solver.formulas.constants import MU_0
from solver.lines import field_lines, nearest_line
from solver.refinement import RefinedSection
from solver.results import RoundReading, RoundResult
from solver.stretch import refine, segment_result

_MOST_FREQUENCIES = 8
_AXIS_POINTS = 161
_AXIS_REACH = 4.0
_MAP_REACH = 0.6
_WELL_BELOW = 0.03
"""Where the search for the corner begins, as a fraction of the lowest frequency at which the discs could shield."""


def solve_round(loop: RoundLoop, analysis: Analysis, surfaces: tuple[float, float], span: float) -> RoundResult:
    """Solve a loop in the round view, with its discs and without them.

    Parameters
    ----------
    loop : RoundLoop
        What to solve.
    analysis : Analysis
        Frequencies and distances of the field lines; of the frequencies, at most eight are read for shielding.
    surfaces : tuple of float
        Heights of the board's upper and lower surface [m].
    span : float
        How far from the axis the field lines run [m].

    Returns
    -------
    RoundResult

    Raises
    ------
    SolverError
        If a section cannot be meshed or a solution is not to be trusted.
    """
    alone = without_discs(loop.section)
    refined = refine(loop.section, analysis)
    refined_alone = refined if alone == loop.section else refine(alone, analysis)
    shown = _few(analysis)

    lowest = _WELL_BELOW * _thin_sheet_frequency(loop.section)

    def read(each: RefinedSection) -> RoundReading:
        return _read(each, analysis, surfaces, span, shown, lowest)

    reading = read(refined)
    reading_alone = reading if refined_alone is refined else read(refined_alone)
    return RoundResult(
        loop=loop,
        frequencies=np.array(shown),
        report_index=shown.index(analysis.report_frequency),
        reading=reading,
        alone=reading_alone,
        corner=transparency_corner(reading.impedance.model, reading_alone.impedance.model),
        refinement=refined.steps,
    )


def without_discs(section: CrossSection) -> CrossSection:
    """The same round section with its driven conductors only."""
    driven = tuple(region for region in section.regions if region.group in section.voltage_groups)
    return CrossSection(
        name=f"{section.name}, no plane", regions=driven, loops=section.loops, bands=section.bands, view=section.view
    )


def transparency_corner(model: BroadbandModel, alone: BroadbandModel) -> float | None:
    """Frequency below which the discs become transparent [Hz]: where they take off half of what they take off at most.

    Parameters
    ----------
    model, alone : BroadbandModel
        Of the ring with its discs and of the ring alone.

    Returns
    -------
    float or None
        None if there is no such frequency within the band of both models, as with no discs.
    """
    most = float(alone.inductance[0, 0] - model.inductance[0, 0])
    if most <= 1e-6 * float(alone.inductance[0, 0]):
        return None

    def above_half(log_frequency: float) -> float:
        frequency = math.exp(log_frequency)
        return _inductance(alone, frequency) - _inductance(model, frequency) - most / 2

    low, high = (math.log(limit) for limit in _common_band(model, alone))
    if above_half(low) >= 0 or above_half(high) <= 0:
        return None
    return math.exp(brentq(above_half, low, high, xtol=1e-4))


def _common_band(one: BroadbandModel, other: BroadbandModel) -> tuple[float, float]:
    return max(one.band[0], other.band[0]), min(one.band[1], other.band[1])


def _inductance(model: BroadbandModel, frequency: float) -> float:
    return float(model.impedance(frequency)[0, 0].imag) / (2 * math.pi * frequency)


def _few(analysis: Analysis) -> tuple[float, ...]:
    """The report frequency and as many others as are read for shielding, spread over the band."""
    listed = analysis.frequencies
    wanted = np.unique(np.linspace(0, len(listed) - 1, min(_MOST_FREQUENCIES, len(listed))).round().astype(int))
    return tuple(sorted({*(listed[index] for index in wanted), analysis.report_frequency}))


def _read(
    refined: RefinedSection,
    analysis: Analysis,
    surfaces: tuple[float, float],
    span: float,
    shown: tuple[float, ...],
    lowest: float,
) -> RoundReading:
    """Impedance, moment and field of one round section; the model of its impedance begins at `lowest`."""
    fields = [solve_at_frequency(refined.system, frequency) for frequency in shown]
    reported = fields[shown.index(analysis.report_frequency)]
    lines = [field_lines(field, surfaces, analysis, (0.0, span)) for field in fields]
    z = _axis_heights(reported.system.meshed.section, surfaces)
    return RoundReading(
        impedance=segment_result("round view", 1.0, refined, reported, analysis, lowest=lowest),
        inductance=np.array([field.inductance_per_length[0, 0] for field in fields]),
        moment=np.array([axial_moment(field) for field in fields]),
        above=np.array([nearest_line(each, "above").peak for each in lines]),
        below=np.array([nearest_line(each, "below").peak for each in lines]),
        lines=lines[shown.index(analysis.report_frequency)],
        axis=z,
        axis_field=field_strength(reported, np.column_stack([np.zeros_like(z), z]))[:, 1],
        field_map=sample_field_map(reported, _window(reported, surfaces)),
    )


def _thin_sheet_frequency(section: CrossSection) -> float:
    """1/(pi mu_0 sigma t D) with all copper but the ring as one sheet and D the loop's diameter [Hz].

    No corner of the section lies far below it: a thinner sheet or a smaller distance has a higher one.
    """
    closed = [region for region in section.regions if region.group not in section.voltage_groups]
    if not closed:
        return math.inf
    sheet = sum(
        region.material.conductivity * (region.outline.bounds[3] - region.outline.bounds[1]) for region in closed
    )
    diameter = 2 * max(region.outline.bounds[2] for region in without_discs(section).regions)
    return 1 / (math.pi * MU_0 * sheet * diameter)


def _axis_heights(section: CrossSection, surfaces: tuple[float, float]) -> NDArray[np.float64]:
    top, bottom = surfaces
    reach = _AXIS_REACH * max(region.outline.bounds[2] for region in without_discs(section).regions)
    return np.linspace(bottom - reach, top + reach, _AXIS_POINTS)


def _window(field: FieldSolution, surfaces: tuple[float, float]) -> tuple[float, float, float, float]:
    _, _, right, _ = field.system.meshed.section.extent
    top, bottom = surfaces
    return 0.0, bottom - _MAP_REACH * right, (1 + _MAP_REACH) * right, top + _MAP_REACH * right
