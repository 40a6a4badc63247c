"""Flux between a trace and the plane under it, from the plan view's currents, against filaments over a plane.

A current over a plane of perfect metal and its image set up the potential of two filaments; the flux per length between
the plane and a trace at height h', a distance d aside of a filament at height h, is mu_0/(4 pi) ln((d^2 + (h + h')^2) /
(d^2 + (h - h')^2)) (method of images; any textbook of electrodynamics, from memory). The strip solved is 30 mm long and
0.5 mm wide over a plane of 50 mm by 30 mm; its current is taken in the middle of its copper.
"""

import math

import numpy as np
import pytest

from geometries.layout.layout import CopperSheet, Faces, PadTerminal, PlanLayout, Port, Side
from geometries.quantities import MM
from geometries.section.outline import Rectangle
from solver.plan import PlanMeshSettings, solve_plan
from solver.plan.vector_potential import fine_currents, vector_potential

HEIGHT, THICKNESS = 0.5 * MM, 35e-6


def rectangle(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def end(x):
    land = rectangle(x - 0.2, -0.15, x + 0.2, 0.15)
    return PadTerminal(sheet="strip", outline=land, side=Side.LOWER), PadTerminal(sheet="plane", outline=land)


@pytest.fixture(scope="module")
def solution():
    plane = CopperSheet(name="plane", outline=rectangle(-25, -15, 25, 15), height=0.0, faces=Faces.ONE)
    strip = CopperSheet(name="strip", outline=rectangle(-15, -0.25, 15, 0.25), height=HEIGHT, thickness=THICKNESS)
    ports = (
        Port(name="one", entry=end(-14.5)[0], leave=end(-14.5)[1]),
        Port(name="two", entry=end(14.5)[1], leave=end(14.5)[0]),
    )
    layout = PlanLayout(name="strip over a plane", sheets=(plane, strip), ports=ports)
    return solve_plan(layout, 1e9, PlanMeshSettings().coarser())


@pytest.mark.parametrize(("aside", "allowed"), [(1.0, 0.04), (2.0, 0.01), (4.0, 0.04)])
def test_flux_between_trace_and_plane(solution, references, aside, allowed):
    along = np.arange(-4.75, 5, 0.5) * MM
    trace = np.column_stack([along, np.full(20, aside * MM), np.full(20, HEIGHT)])
    over, on = (
        vector_potential(fine_currents(solution, np.ones(1)), each)[:, 0].real for each in (trace, trace * [1, 1, 0])
    )
    middle = HEIGHT + THICKNESS / 2
    far, near = ((aside * MM) ** 2 + (HEIGHT + sign * middle) ** 2 for sign in (1, -1))
    references.compare(
        found=float((over - on).mean()) * 1e9,
        reference=1e-7 * math.log(far / near) * 1e9,
        rtol=allowed,
        source="method of images",
        item=f"trace {aside:g} mm beside a strip 0.5 mm over a plane",
        unit="nH/m",
        reason="the strip has a width, the strip and the plane end; the mesh of 1 %",
        mark="from memory",
    )
