"""One section with all it takes: its mesh to the tolerance, its broadband model, its values at every frequency."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from geometries.section.analysis import Analysis
from geometries.section.section import CrossSection, View
from solver.section.boundary_layers import MeshSettings
from solver.section.broadband import ReducedSection, reduce_section
from solver.section.electrostatics import bracket_capacitance, solve_electric
from solver.section.error_estimate import ErrorEstimate, estimate_error, estimate_errors, one_order_lower
from solver.section.extraction import axial_moment, line_moment
from solver.section.fields import FieldSolution, solve_at_frequency
from solver.section.refinement import COPPER_ONLY, RefinedSection, refine_section
from solver.section.results import CapacitanceMatrix, InductanceBracket, SegmentResult

FINE_AIR = MeshSettings(growth=0.35)
"""Elements small enough between conductors and scan lines for a slope of the flux within about 1 %."""

_ELECTRIC_MESH = 1e6
"""Frequency whose skin depth sizes a mesh for the electric field [Hz]; nothing is solved at it."""

_NARROWEST_BAND = 0.1
"""Lowest over highest frequency of a broadband model where a scenario asks for less."""


def air_settings(view: View, far_distance: float) -> MeshSettings:
    """First mesh of a section whose field is asked for out to where `far_distance` [m] takes the far circle."""
    return replace(FINE_AIR if view is View.AXISYMMETRIC else COPPER_ONLY, far_distance=far_distance)


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
        settings=air_settings(section.view, far_distance),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionSolution:
    """A cross-section solved to a tolerance at one frequency.

    Parameters
    ----------
    field : FieldSolution
        Its field, with the loops' inductance and resistance.
    error : ErrorEstimate
        Estimated relative discretisation error of the first loop's values.
    dc_bracket, perfect_bracket : InductanceBracket
        Certified bounds at DC and for perfect conductors [H/m].

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import solve_section
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> solution = solve_section(pair, 1e6)
    >>> solution.perfect_bracket.lower < float(solution.field.inductance[0, 0]) < solution.dc_bracket.upper
    array([[ True]])
    """

    field: FieldSolution
    error: ErrorEstimate
    dc_bracket: InductanceBracket
    perfect_bracket: InductanceBracket


def solve_section(section: CrossSection, frequency: float, *, tolerance: float = 1e-3) -> SectionSolution:
    """Mesh a cross-section to a tolerance and solve its field.

    Parameters
    ----------
    section : CrossSection
        What to solve.
    frequency : float
        Frequency of the currents [Hz], > 0.
    tolerance : float
        Largest relative gap of the two brackets.

    Returns
    -------
    SectionSolution

    Raises
    ------
    SolverError
        If the section cannot be meshed, or the tolerance is not reached.

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> solution = solve_section(cross_section("pair", named_stackup("2L-1.6"), loop), 100e6)
    >>> f"{solution.field.inductance_per_length[0, 0] * 1e6:.3f} nH/mm, bounds {solution.dc_bracket.relative_gap:.0e}"
    '0.581 nH/mm, bounds 2e-05'
    """
    refined = refine_section(
        section, highest_frequency=frequency, tolerance=tolerance, settings=air_settings(section.view, 0.0)
    )
    field = solve_at_frequency(refined.system, frequency)
    return SectionSolution(
        field=field,
        error=estimate_error(field),
        dc_bracket=refined.dc_bracket,
        perfect_bracket=refined.perfect_bracket,
    )


def solve_capacitance(section: CrossSection, *, tolerance: float = 1e-3) -> CapacitanceMatrix:
    """Capacitances between all conductor groups of a cross-section, enclosed from both sides.

    Parameters
    ----------
    section : CrossSection
        With its dielectrics.
    tolerance : float
        Largest relative gap of the inductance's brackets on the same mesh.

    Returns
    -------
    CapacitanceMatrix
        Per length [F/m].

    Raises
    ------
    SolverError
        As for :func:`solve_section`.

    Examples
    --------
    >>> from geometries import COPPER, CrossSection, CurrentLoop, Rectangle, Region
    >>> bars = {"go": 0.2e-3, "return": 0.0}
    >>> outlines = {each: Rectangle(left=0, right=3e-3, bottom=y, top=y + 35e-6) for each, y in bars.items()}
    >>> strips = [Region(name=each, outline=outlines[each], role=each, material=COPPER) for each in bars]
    >>> matrix = solve_capacitance(CrossSection(name="strips", regions=tuple(strips), loops=(CurrentLoop(),)))
    >>> f"{matrix.between('go', 'return') * 1e12:.0f} pF/m"
    '179 pF/m'
    """
    refined = refine_section(section, highest_frequency=_ELECTRIC_MESH, tolerance=tolerance)
    return bracket_capacitance(solve_electric(refined.system))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReportedSection:
    """A refined section with its field at the report frequency and, if that was asked for, over the band.

    Parameters
    ----------
    refined : RefinedSection
        Its mesh and limits.
    field : FieldSolution
        At the report frequency.
    lower : FieldSolution
        The same on elements of one order less.
    reduced : ReducedSection, optional
        Impedance and field at any frequency of the analysis.
    """

    refined: RefinedSection
    field: FieldSolution
    lower: FieldSolution
    reduced: ReducedSection | None

    @classmethod
    def of(cls, refined: RefinedSection, field: FieldSolution, reduced: ReducedSection | None) -> ReportedSection:
        """With what elements of one order less make of its field."""
        return cls(refined=refined, field=field, lower=one_order_lower(field), reduced=reduced)

    def at(self, frequency: float) -> FieldSolution:
        """The field at a frequency.

        Raises
        ------
        ValueError
            If the section was solved at the report frequency alone, or not for that one.
        """
        if frequency == self.field.frequency:
            return self.field
        if self.reduced is None:
            raise ValueError("the section was solved at one frequency; ask for its band")
        return self.reduced.field(frequency)


def reduce_over_band(refined: RefinedSection, analysis: Analysis, *, lowest: float | None = None) -> ReducedSection:
    """Reduce a refined section over the frequencies of an analysis; at the report frequency it is solved directly.

    Parameters
    ----------
    refined : RefinedSection
        Its mesh and limits.
    analysis : Analysis
        The frequencies.
    lowest : float, optional
        Where the band is to begin [Hz], if below the lowest of them.

    Raises
    ------
    SolutionError
        If a solution is not to be trusted.
    """
    highest = analysis.frequencies[-1]
    return reduce_section(
        refined.static,
        refined.perfect,
        lowest=min(lowest or highest, analysis.frequencies[0], highest * _NARROWEST_BAND),
        highest=highest,
        solved_at=analysis.report_frequency,
    )


def solve_reported(
    refined: RefinedSection, analysis: Analysis, *, broadband: bool = True, lowest: float | None = None
) -> ReportedSection:
    """Solve a refined section at the report frequency of an analysis, and over its band if `broadband` is asked for.

    Parameters
    ----------
    refined, analysis
        As for :func:`reduce_over_band`.
    broadband : bool
        Whether it is asked for at other frequencies too.
    lowest : float, optional
        As for :func:`reduce_over_band`.

    Raises
    ------
    SolutionError
        If a solution is not to be trusted.
    """
    if not broadband:
        field = solve_at_frequency(refined.system, analysis.report_frequency)
        return ReportedSection.of(refined, field, None)
    reduced = reduce_over_band(refined, analysis, lowest=lowest)
    return ReportedSection.of(refined, reduced.field(analysis.report_frequency), reduced)


def segment_result(name: str, length: float, solved: ReportedSection, analysis: Analysis) -> SegmentResult:
    """Values per length of one section in both limits, and over frequency if it was solved so.

    Parameters
    ----------
    name, length : str, float
        The segment's name and its length [m].
    solved : ReportedSection
        Its fields.
    analysis : Analysis
        The frequencies.
    """
    refined, reduced = solved.refined, solved.reduced
    frequencies = analysis.frequencies if reduced is not None else ()
    loops = len(refined.system.meshed.section.loops)
    errors = estimate_errors(reduced, frequencies) if reduced is not None else ()
    impedance = np.array([reduced.model.impedance(each) for each in frequencies if reduced is not None], dtype=complex)
    impedance, missed = (
        each.reshape(len(frequencies), loops, loops) for each in (impedance, np.array([e.impedance for e in errors]))
    )
    omega = 2 * math.pi * np.array(frequencies)[:, None, None]
    lying, standing, left = moment_parts(solved.field)
    coarser = moment_parts(solved.lower)
    error = errors[frequencies.index(analysis.report_frequency)] if errors else estimate_error(solved.field)
    return SegmentResult(
        name=name,
        length=length,
        model=None if reduced is None else reduced.model,
        resistance=impedance.real,
        inductance=impedance.imag / omega,
        resistance_errors=missed.real,
        inductance_errors=missed.imag / omega,
        dc_resistance=refined.static.resistance,
        dc_bracket=refined.dc_bracket,
        perfect_bracket=refined.perfect_bracket,
        inductance_error=error.inductance,
        resistance_error=error.resistance,
        moment_parts=(lying, standing),
        lying_left=left,
        moment_error=abs(math.hypot(*coarser[:2]) - math.hypot(lying, standing)),
        impedance_error=np.abs(error.impedance),
    )


def moment_parts(field: FieldSolution) -> tuple[float, float, float]:
    """What lies on the board, what stands on it, and what ground layers leave of the own lying part of a line moment.

    Parameters
    ----------
    field : FieldSolution
        At a finite frequency.

    Returns
    -------
    tuple of float
        Magnitudes per ampere of what lies and of what stands [m]; of a whole turn, which only lies [m²], in the
        axisymmetric view. The last is a part of the moment of the loop's own copper [1]: one without ground layers, and
        where one of them carries the return.
    """
    section = field.system.meshed.section
    if field.system.view is View.AXISYMMETRIC:
        return abs(axial_moment(field)), 0.0, 1.0
    ground = set(section.ground_layers)
    own = np.array(line_moment(field, left_out=ground))
    upright, lying = own + line_moment(field, left_out={each.name for each in section.regions} - ground)
    alone = abs(own[1])
    shielded = ground and not section.ground_carries_return and alone > 0
    return abs(lying), abs(upright), abs(lying) / alone if shielded else 1.0
