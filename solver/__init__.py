"""How cross-sections, plans and whole loops are meshed, solved, compared and shown.

Conventions of every module: SI units; x to the right across the board, y up out of the board, currents
positive along +z; phasors are peak values with the time factor exp(+j omega t); relative permeability is 1.

The names below are loaded when they are first used, so that the command line answers at once.
"""

from __future__ import annotations

from pathlib import Path
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

__all__, __getattr__ = names_loaded_late(__name__, Path(__file__).read_text(encoding="utf-8"))
