"""The axisymmetric view of one loop: what its discs shield, set against the same ring alone."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from geometries.section.analysis import Analysis
from geometries.section.rings import AxisymmetricLoop
from geometries.section.section import CrossSection
from solver.circuit.rl_network import BroadbandModel
from solver.constants import MU_0
from solver.section.axisymmetric_results import AxisymmetricResult, AxisymmetricSolution
from solver.section.error_estimate import one_order_lower
from solver.section.extraction import axial_moment, axis_field, sample_field_map
from solver.section.field_scan import far_distance, field_scans, nearest_scan
from solver.section.fields import FieldSolution
from solver.section.refinement import RefinedSection
from solver.section.results import SegmentResult
from solver.section.solve import ReportedSection, reduce_over_band, refine, segment_result

_MOST_FREQUENCIES = 8
_AXIS_POINTS = 161
_AXIS_REACH = 4.0
_MAP_REACH = 0.6
_WELL_BELOW = 0.03
"""Where the search for the corner begins, as a fraction of the lowest frequency at which the discs could shield."""


def solve_axisymmetric(
    loop: AxisymmetricLoop,
    analysis: Analysis,
    surfaces: tuple[float, float],
    span: float,
    *,
    refined: RefinedSection | None = None,
) -> AxisymmetricResult:
    """Solve a loop in the axisymmetric view, with its discs and without them.

    Parameters
    ----------
    loop : AxisymmetricLoop
        What to solve.
    analysis : Analysis
        Frequencies and distances of the scan lines; of the frequencies, at most eight are read for shielding.
    surfaces : tuple of float
        Heights of the board's upper and lower surface [m].
    span : float
        How far from the axis the scan lines run [m].
    refined : RefinedSection, optional
        The loop's section as :func:`solver.section.solve.refine` meshes it for this analysis, if that is done already.

    Returns
    -------
    AxisymmetricResult

    Raises
    ------
    SolverError
        If a section cannot be meshed or a solution is not to be trusted.

    Examples
    --------
    >>> from geometries import Analysis, read_builtin_scenario
    >>> from solver import solve_axisymmetric
    >>> scenario = read_builtin_scenario("pond-aerator")
    >>> loop = scenario.variants[1].axisymmetric_loop
    >>> analysis = Analysis(frequencies=(1e6,), report_frequency=1e6, heights_above=(5e-3,), heights_below=(5e-3,))
    >>> view = solve_axisymmetric(loop, analysis, surfaces=(35e-6, -1.6e-3), span=20e-3)
    >>> f"{view.inductance * 1e9:.1f} nH"
    '5.1 nH'
    """
    lowest, far = _lowest(loop.section), far_distance(analysis, (0.0, span))
    ring = replace(without_discs(loop.section), name="ring alone", bands=())
    alone = _solve_alone(ring, analysis, lowest, far)
    same = len(ring.regions) == len(loop.section.regions)
    solved = alone if same else _solve(refined or refine(loop.section, analysis, far_distance=far), analysis, lowest)
    reading_alone = _read(alone, analysis, surfaces, span)
    reading = reading_alone if same else _read(solved, analysis, surfaces, span)
    shown = _few(analysis)
    return AxisymmetricResult(
        loop=loop,
        frequencies=np.array(shown),
        report_index=shown.index(analysis.report_frequency),
        reading=reading,
        alone=reading_alone,
        corner=shielding_corner(reading.impedance.broadband, reading_alone.impedance.broadband),
        refinement=solved.refined.steps,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """An axisymmetric section at the frequencies that are read, and the impedance of its turn."""

    refined: RefinedSection
    fields: tuple[FieldSolution, ...]
    reported: FieldSolution
    impedance: SegmentResult


def _solve(refined: RefinedSection, analysis: Analysis, lowest: float) -> _Solved:
    reduced = reduce_over_band(refined, analysis, lowest=lowest)
    solved = ReportedSection.of(refined, reduced.field(analysis.report_frequency), reduced)
    return _Solved(
        refined=refined,
        fields=tuple(reduced.field(frequency) for frequency in _few(analysis)),
        reported=solved.field,
        impedance=segment_result("axisymmetric view", 1.0, solved, analysis),
    )


@lru_cache(maxsize=2)
def _solve_alone(ring: CrossSection, analysis: Analysis, lowest: float, far: float) -> _Solved:
    """The same ring under many planes is solved once per process."""
    return _solve(refine(ring, analysis, far_distance=far), analysis, lowest)


def without_discs(section: CrossSection) -> CrossSection:
    """The same axisymmetric section with its driven conductors only."""
    driven = tuple(region for region in section.regions if region.group in section.voltage_groups)
    return CrossSection(
        name=f"{section.name}, no plane", regions=driven, loops=section.loops, bands=section.bands, view=section.view
    )


def shielding_corner(model: BroadbandModel, alone: BroadbandModel) -> float | None:
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


def _read(solved: _Solved, analysis: Analysis, surfaces: tuple[float, float], span: float) -> AxisymmetricSolution:
    """Impedance, moment and field of one axisymmetric section."""
    reported = solved.reported
    nearest = replace(analysis, heights_above=analysis.heights_above[:1], heights_below=analysis.heights_below[:1])
    lines = [field_scans(field, surfaces, nearest, (0.0, span)) for field in solved.fields]
    z = _axis_heights(reported.system.meshed.section, surfaces)
    along_axis = axis_field(reported, z)
    return AxisymmetricSolution(
        impedance=solved.impedance,
        inductance=np.array([field.inductance[0, 0] for field in solved.fields]),
        moment=np.array([axial_moment(field) for field in solved.fields]),
        above=np.array([nearest_scan(each, "above").peak for each in lines]),
        below=np.array([nearest_scan(each, "below").peak for each in lines]),
        lines=field_scans(reported, surfaces, analysis, (0.0, span)),
        axis=z,
        axis_field=along_axis,
        axis_error=np.abs(along_axis - axis_field(one_order_lower(reported), z)),
        field_map=sample_field_map(reported, _window(reported, surfaces)),
    )


def _lowest(section: CrossSection) -> float:
    """Where models of a ring with its discs and of the ring alone begin [Hz]: a power of ten well below any corner.

    No corner lies far below 1/(pi mu_0 sigma t D) with all closed copper as one sheet and D the loop's diameter: a
    thinner sheet or a smaller distance has a higher one. Without closed copper the ring's own takes its place. Powers
    of ten let most variants of a study share the ring alone.
    """
    closed = [region for region in section.regions if region.group not in section.voltage_groups]
    sheet = sum(
        region.material.conductivity * (region.outline.bounds[3] - region.outline.bounds[1])
        for region in closed or section.regions
    )
    diameter = 2 * max(region.outline.bounds[2] for region in without_discs(section).regions)
    return 10.0 ** math.floor(math.log10(_WELL_BELOW / (math.pi * MU_0 * sheet * diameter)))


def _axis_heights(section: CrossSection, surfaces: tuple[float, float]) -> NDArray[np.float64]:
    top, bottom = surfaces
    reach = _AXIS_REACH * max(region.outline.bounds[2] for region in without_discs(section).regions)
    return np.linspace(bottom - reach, top + reach, _AXIS_POINTS)


def _window(field: FieldSolution, surfaces: tuple[float, float]) -> tuple[float, float, float, float]:
    _, _, right, _ = field.system.meshed.section.extent
    top, bottom = surfaces
    return 0.0, bottom - _MAP_REACH * right, (1 + _MAP_REACH) * right, top + _MAP_REACH * right
