"""One section with all it takes: its mesh to the tolerance, its broadband model, its values at every frequency."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from geometries.section.section import CrossSection, View
from geometries.study.scenario import Analysis
from solver.section.boundary_layers import MeshSettings
from solver.section.broadband import reduce_section
from solver.section.error_estimate import estimate_error
from solver.section.extraction import axial_moment, line_moment
from solver.section.fields import FieldSolution
from solver.section.refinement import RefinedSection, refine_section
from solver.section.results import SegmentResult

FINE_AIR = MeshSettings(growth=0.35)
"""Elements small enough between conductors and field lines for a field within about 1 %."""

_NARROWEST_BAND = 0.1
"""Lowest over highest frequency of a broadband model where a scenario asks for less."""


def air_settings(far_distance: float) -> MeshSettings:
    """First mesh of a section whose field is asked for out to where `far_distance` [m] takes the far circle."""
    return replace(FINE_AIR, far_distance=far_distance)


def refine(section: CrossSection, analysis: Analysis, *, far_distance: float = 0.0) -> RefinedSection:
    """Mesh a section for the highest frequency of an analysis, to its tolerance.

    Parameters
    ----------
    section : CrossSection
        What to mesh.
    analysis : Analysis
        Its frequencies and tolerance count.
    far_distance : float
        Smallest radius of the far circle [m], from :func:`solver.section.field_scan.far_distance`.

    Raises
    ------
    SolverError
        If it cannot be meshed, or the tolerance is not reached.
    """
    return refine_section(
        section,
        highest_frequency=analysis.frequencies[-1],
        tolerance=analysis.tolerance,
        settings=air_settings(far_distance),
    )


def segment_result(
    name: str,
    length: float,
    refined: RefinedSection,
    reported: FieldSolution,
    analysis: Analysis,
    *,
    lowest: float | None = None,
) -> SegmentResult:
    """Values per length of one section at every frequency of an analysis and in both limits.

    Parameters
    ----------
    name, length : str, float
        The stretch's name and its length [m].
    refined : RefinedSection
        Its mesh and limits.
    reported : FieldSolution
        Its field at the report frequency, for the error estimate.
    analysis : Analysis
        The frequencies.
    lowest : float, optional
        Where the broadband model is to begin [Hz], if below the lowest of them.

    Raises
    ------
    SolutionError
        If a solution is not to be trusted.
    """
    highest = analysis.frequencies[-1]
    lowest = min(lowest or highest, analysis.frequencies[0], highest * _NARROWEST_BAND)
    model = reduce_section(refined.static, refined.perfect, lowest=lowest, highest=highest)
    impedance = np.array([model.impedance(frequency) for frequency in analysis.frequencies])
    omega = 2 * math.pi * np.array(analysis.frequencies)
    error = estimate_error(reported)
    return SegmentResult(
        name=name,
        length=length,
        model=model,
        resistance=impedance.real,
        inductance=impedance.imag / omega[:, None, None],
        dc_resistance=refined.static.resistance_per_length,
        dc_bracket=refined.dc_bracket,
        perfect_bracket=refined.perfect_bracket,
        inductance_error=error.inductance,
        resistance_error=error.resistance,
        moment_parts=_moment_parts(reported),
        impedance_error=error.impedance,
    )


def _moment_parts(field: FieldSolution) -> tuple[float, float]:
    """Magnitudes of the moment of what lies on the board and of what stands on it; a ring only lies."""
    if field.system.view is View.AXISYMMETRIC:
        return abs(axial_moment(field)), 0.0
    upright, lying = line_moment(field)
    return abs(lying), abs(upright)
