"""What a plan view will take is told beforehand, and refused with the number where it cannot fit."""

import pytest

from geometries.layout.layout import CopperSheet, PlanLayout, RingPort
from geometries.quantities import MM
from geometries.section.outline import Rectangle
from solver.errors import MeshError, SolutionError
from solver.plan import PlanMeshSettings, plan_estimate
from solver.plan.basis import plan_basis
from solver.plan.cost import PlanCost, machine_memory, require_memory
from solver.plan.meshing import mesh_layout
from solver.plan.operator import plan_inductances

ROUGH = PlanMeshSettings().coarser()


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


@pytest.fixture(scope="module")
def ring():
    copper = CopperSheet(name="ring", outline=box(-2.5, -1.5, 2.5, 1.5), holes=(box(-1.5, -0.5, 1.5, 0.5),), height=0.0)
    return PlanLayout(name="ring", sheets=(copper,), ports=(RingPort(name="loop", sheet="ring", inside=(0.0, 0.0)),))


def test_the_estimate_counts_the_near_pairs(ring):
    system = plan_inductances(ring, plan_basis(ring, mesh_layout(ring, ROUGH)))
    cost = plan_estimate(ring, settings=ROUGH)
    assert cost.triangles == len(system.cloud.areas)
    assert cost.pairs == pytest.approx(len(system.pairs), rel=0.1, abs=0)


def test_more_frequencies_take_longer_but_no_more_memory(ring):
    one, five = (plan_estimate(ring, count, ROUGH) for count in (1, 5))
    assert five.seconds > one.seconds
    assert five.memory == one.memory


def test_what_does_not_fit_is_refused_with_the_number():
    cost = PlanCost(triangles=1_000_000, pairs=200_000_000, frequencies=1)
    with pytest.raises(SolutionError, match=r"'board' needs about 23.0 GB and 380 s for 1000000 triangles"):
        require_memory("board", cost, 16e9)


def test_the_machine_tells_its_memory():
    assert machine_memory() > 1e8


def test_copper_that_takes_too_many_triangles_is_refused_before_it_is_meshed():
    wires = CopperSheet(name="wires", outline=box(0, 0, 300, 1), holes=(box(1, 0.002, 299, 0.998),), height=0.0)
    layout = PlanLayout(name="fine", sheets=(wires,), ports=(RingPort(name="loop", sheet="wires", inside=(0.1, 5e-4)),))
    with pytest.raises(MeshError, match=r"'wires' takes more than 1,000,000 triangles and 7 GB, counted .* before"):
        mesh_layout(layout, ROUGH)
