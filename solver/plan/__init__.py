"""The plan view: a layout's own outline as sheets or pairs of them, solved for the currents: L, R and moment."""

from solver.plan.cost import PlanCost
from solver.plan.images import image_shift
from solver.plan.meshing import PlanMeshSettings
from solver.plan.moves import MeshedCurrents, PlanEnergy, SheetEnergy, plan_energy
from solver.plan.solution import PlanSolution, SheetDensity
from solver.plan.solve import coarser_plan_over, plan_estimate, solve_plan, solve_plan_over

__all__ = [
    "MeshedCurrents",
    "PlanCost",
    "PlanEnergy",
    "PlanMeshSettings",
    "PlanSolution",
    "SheetDensity",
    "SheetEnergy",
    "coarser_plan_over",
    "image_shift",
    "plan_energy",
    "plan_estimate",
    "solve_plan",
    "solve_plan_over",
]
