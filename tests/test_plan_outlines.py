"""Outlines of any shape: acute corners, arcs, random polygons are meshed, or refused in words."""

import math

import numpy as np
import pytest

from geometries.layout.layout import CopperSheet, EdgeTerminal, PlanLayout, Port, RingPort
from geometries.quantities import MM
from geometries.section.outline import Polygon
from solver.errors import MeshError
from solver.plan import PlanMeshSettings, solve_plan
from solver.plan.meshing import mesh_layout

ROUGH = PlanMeshSettings().coarser().coarser()


def polygon(points):
    return Polygon(vertices=tuple((float(x) * MM, float(y) * MM) for x, y in points))


def wedge(degrees):
    """A triangle with two corners at the foot and a sharp one; driven along its short side."""
    turn = math.radians(degrees)
    foot, head = np.array([5.0, 0.0]), 5.0 * np.array([math.cos(turn), math.sin(turn)])
    copper = CopperSheet(name="wedge", outline=polygon([(0, 0), foot, head]), height=0.0)
    ends = [tuple(MM * ((1 - part) * foot + part * head)) for part in (0.1, 0.4, 0.6, 0.9)]
    entry, leave = (EdgeTerminal(sheet="wedge", start=ends[k], end=ends[k + 1]) for k in (0, 2))
    return PlanLayout(name="wedge", sheets=(copper,), ports=(Port(name="source", entry=entry, leave=leave),))


def area(mesh):
    corners = mesh.p[:, mesh.t]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.abs(first[0] * second[1] - first[1] * second[0]).sum() / 2


@pytest.mark.parametrize("degrees", [60, 44, 30, 15, 5, 1])
def test_a_corner_of_any_angle_is_meshed_to_its_area(degrees):
    layout = wedge(degrees)
    meshed = mesh_layout(layout, ROUGH)[0]
    assert area(meshed.mesh) == pytest.approx(layout.sheets[0].shape.area, rel=1e-9, abs=0)


def test_an_acute_corner_far_from_the_current_changes_nothing():
    # The same side is driven; the tip lies five millimetres away from it, and is cut off by a tenth of that.
    whole = wedge(15)
    foot, head = np.array(whole.sheets[0].outline.vertices[1:]) / MM
    blunt = CopperSheet(name="wedge", outline=polygon([0.1 * head, 0.1 * foot, foot, head]), height=0.0)
    cut = PlanLayout(name="cut", sheets=(blunt,), ports=whole.ports)
    tipped, blunted = (solve_plan(each, 0.0, PlanMeshSettings()) for each in (whole, cut))
    allowed = tipped.inductance_error + blunted.inductance_error  # two meshes, each with its own error
    assert tipped.resistance[0, 0] == pytest.approx(blunted.resistance[0, 0], rel=allowed, abs=0)
    assert allowed < 0.03


@pytest.mark.parametrize("seed", range(3))
def test_random_outlines_are_meshed_to_their_area(seed):
    random = np.random.default_rng(seed)
    turns = np.sort(random.uniform(0, 2 * math.pi, 40))
    reach = 5 * (1 + 0.3 * random.uniform(-1, 1, 40))
    hole = polygon([(math.cos(a), math.sin(a)) for a in 2 * math.pi * np.arange(24) / 24])
    outline = polygon(np.column_stack([reach * np.cos(turns), reach * np.sin(turns)]))
    copper = CopperSheet(name="pour", outline=outline, holes=(hole,), height=0.0)
    ring = RingPort(name="loop", sheet="pour", inside=(0.0, 0.0))
    meshed = mesh_layout(PlanLayout(name="pour", sheets=(copper,), ports=(ring,)), ROUGH)[0]
    assert area(meshed.mesh) == pytest.approx(copper.shape.area, rel=1e-9, abs=0)


def test_an_outline_of_a_thousand_corners_is_meshed_to_its_area():
    turns = 2 * math.pi * np.arange(1000) / 1000
    reach = 6 + 0.15 * np.sin(40 * turns) + 0.03 * np.random.default_rng(1).uniform(-1, 1, 1000)
    outline = polygon(np.column_stack([reach * np.cos(turns), reach * np.sin(turns)]))
    hole = polygon([(-3, -1), (3, -1), (3, 1), (-3, 1)])
    copper = CopperSheet(name="pour", outline=outline, holes=(hole,), height=0.0)
    ring = RingPort(name="loop", sheet="pour", inside=(0.0, 0.0))
    meshed = mesh_layout(PlanLayout(name="pour", sheets=(copper,), ports=(ring,)), ROUGH)[0]
    assert area(meshed.mesh) == pytest.approx(copper.shape.area, rel=1e-9, abs=0)


def test_copper_without_width_is_refused_in_words():
    outline = polygon([(0, 0), (5, 0), (5, 2e-6), (0, 2e-6)])
    copper = CopperSheet(name="hair", outline=outline, height=0.0)
    ends = [EdgeTerminal(sheet="hair", start=(x * MM, 0.0), end=(x * MM, 2e-6 * MM)) for x in (0, 5)]
    layout = PlanLayout(name="hair", sheets=(copper,), ports=(Port(name="source", entry=ends[0], leave=ends[1]),))
    with pytest.raises(MeshError, match="'hair'"):
        mesh_layout(layout, ROUGH)
