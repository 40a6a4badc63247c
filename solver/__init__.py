"""How a cross-section is meshed, solved, compared and shown.

Conventions of every module: SI units; x to the right across the board, y up out of the board, currents
positive along +z; phasors are peak values with the time factor exp(+j omega t); relative permeability is 1.

The names below are loaded when they are first used, so that the command line answers at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.errors import MeshError, ReportError, SolutionError, SolverError
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
    from solver.study.results import ComparisonRow, StudyResult
    from solver.study.study import run_study
    from solver.variant.results import VariantResult
    from solver.variant.solve import solve_variant

__all__ = [
    "ComparisonRow",
    "FieldSolution",
    "MeshError",
    "MeshSettings",
    "MeshedSection",
    "ReportError",
    "SectionSystem",
    "SolutionError",
    "SolverError",
    "StudyResult",
    "VariantResult",
    "assemble_section",
    "axial_moment",
    "current_density",
    "current_share",
    "field_magnitude",
    "field_strength",
    "line_moment",
    "mesh_section",
    "plane_net_inductance",
    "run_study",
    "sheet_current",
    "solve_at_dc",
    "solve_at_frequency",
    "solve_perfect_conductor",
    "solve_variant",
    "vector_potential",
]

_HOMES = (
    "errors",
    "study.results",
    "variant.results",
    "section.boundary_layers",
    "section.mesh",
    "section.fields",
    "section.extraction",
    "variant.solve",
    "study.study",
)


def __getattr__(name: str) -> object:
    if name in __all__:
        for home in _HOMES:
            module = import_module(f"solver.{home}")
            if name in vars(module):
                return vars(module)[name]
    raise AttributeError(f"module 'solver' has no attribute {name!r}")
