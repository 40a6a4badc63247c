"""How cross-sections, plans and whole loops are meshed, solved, compared and shown.

Conventions of every module: SI units; x to the right across the board, y up out of the board, currents
positive along +z; phasors are peak values with the time factor exp(+j omega t); relative permeability is 1.

The names below are loaded when they are first used, so that the command line answers at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from geometries.late_names import names_loaded_late

if TYPE_CHECKING:
    from solver.emission.comparison import compare_emission
    from solver.emission.results import EmissionComparison
    from solver.errors import MeshError, ReportError, SolutionError, SolverError
    from solver.loop.layout_loop import layout_loop
    from solver.loop.terms import WholeLoop
    from solver.loop.whole_loop import whole_loop
    from solver.pickup.results import PickupResult
    from solver.pickup.solve import solve_pickup
    from solver.plan import PlanMeshSettings, PlanSolution, solve_plan
    from solver.report.folder import write_report
    from solver.report.notebook import notebook_view
    from solver.section.axisymmetric import solve_axisymmetric
    from solver.section.axisymmetric_results import AxisymmetricResult
    from solver.section.boundary_layers import MeshSettings
    from solver.section.extraction import (
        axial_moment,
        current_density,
        current_share,
        field_magnitude,
        field_strength,
        line_moment,
        plane_net_inductance,
        sheet_current,
        vector_potential,
    )
    from solver.section.fields import (
        FieldSolution,
        SectionSystem,
        assemble_section,
        solve_at_dc,
        solve_at_frequency,
        solve_perfect_conductor,
    )
    from solver.section.mesh import MeshedSection, mesh_section
    from solver.section.results import CapacitanceMatrix
    from solver.section.solve import SectionSolution, solve_capacitance, solve_section
    from solver.study.figures_of_merit import known_figures, read_figures
    from solver.study.results import StudyResult
    from solver.study.study import run_study
    from solver.study.sweep import SweepResult, run_sweep
    from solver.study.tolerance import ToleranceResult, run_tolerance
    from solver.switching.comparison import compare_switching
    from solver.switching.results import SwitchingComparison
    from solver.variant.figure import Figure, Reading
    from solver.variant.loop_of_record import LoopOfRecord
    from solver.variant.results import VariantResult
    from solver.variant.solve import solve_variant

_HOMES = {
    "section.axisymmetric_results": ("AxisymmetricResult",),
    "section.axisymmetric": ("solve_axisymmetric",),
    "emission.comparison": ("compare_emission",),
    "emission.results": ("EmissionComparison",),
    "errors": ("MeshError", "ReportError", "SolutionError", "SolverError"),
    "loop.terms": ("WholeLoop",),
    "loop.layout_loop": ("layout_loop",),
    "loop.whole_loop": ("whole_loop",),
    "pickup.results": ("PickupResult",),
    "pickup.solve": ("solve_pickup",),
    "plan": ("PlanMeshSettings", "PlanSolution", "solve_plan"),
    "report.folder": ("write_report",),
    "report.notebook": ("notebook_view",),
    "section.boundary_layers": ("MeshSettings",),
    "section.extraction": (
        *("axial_moment", "current_density", "current_share", "field_magnitude", "field_strength", "line_moment"),
        *("plane_net_inductance", "sheet_current", "vector_potential"),
    ),
    "section.fields": (
        *("FieldSolution", "SectionSystem", "assemble_section", "solve_at_dc", "solve_at_frequency"),
        "solve_perfect_conductor",
    ),
    "section.mesh": ("MeshedSection", "mesh_section"),
    "section.results": ("CapacitanceMatrix",),
    "section.solve": ("SectionSolution", "solve_capacitance", "solve_section"),
    "study.figures_of_merit": ("known_figures", "read_figures"),
    "study.results": ("StudyResult",),
    "study.study": ("run_study",),
    "study.sweep": ("SweepResult", "run_sweep"),
    "study.tolerance": ("ToleranceResult", "run_tolerance"),
    "switching.comparison": ("compare_switching",),
    "switching.results": ("SwitchingComparison",),
    "variant.figure": ("Figure", "Reading"),
    "variant.loop_of_record": ("LoopOfRecord",),
    "variant.results": ("VariantResult",),
    "variant.solve": ("solve_variant",),
}
"""Where every public name lives."""

__all__ = [
    "AxisymmetricResult",
    "CapacitanceMatrix",
    "EmissionComparison",
    "FieldSolution",
    "Figure",
    "LoopOfRecord",
    "MeshError",
    "MeshSettings",
    "MeshedSection",
    "PickupResult",
    "PlanMeshSettings",
    "PlanSolution",
    "Reading",
    "ReportError",
    "SectionSolution",
    "SectionSystem",
    "SolutionError",
    "SolverError",
    "StudyResult",
    "SweepResult",
    "SwitchingComparison",
    "ToleranceResult",
    "VariantResult",
    "WholeLoop",
    "assemble_section",
    "axial_moment",
    "compare_emission",
    "compare_switching",
    "current_density",
    "current_share",
    "field_magnitude",
    "field_strength",
    "known_figures",
    "layout_loop",
    "line_moment",
    "mesh_section",
    "notebook_view",
    "plane_net_inductance",
    "read_figures",
    "run_study",
    "run_sweep",
    "run_tolerance",
    "sheet_current",
    "solve_at_dc",
    "solve_at_frequency",
    "solve_axisymmetric",
    "solve_capacitance",
    "solve_perfect_conductor",
    "solve_pickup",
    "solve_plan",
    "solve_section",
    "solve_variant",
    "vector_potential",
    "whole_loop",
    "write_report",
]

__getattr__ = names_loaded_late(__name__, _HOMES)
