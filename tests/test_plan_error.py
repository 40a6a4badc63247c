"""The stated error holds what a layout converges to.

The limits are our own: four meshes, each with half the error of the one before, carried on by the ratio of the last two
changes. They belong to perfect conductors as single sheets.
"""

import math

import pytest

from geometries.layout.layout import (
    CopperSheet,
    EdgeTerminal,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    RingPort,
    Via,
)
from geometries.quantities import MM
from geometries.section.outline import Polygon, Rectangle
from solver.plan import solve_plan

PLANE = MirrorPlane(height=0.0)
RING = (RingPort(name="loop", sheet="ring", inside=(0.0, 0.0)),)


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def disc(radius):
    reach = radius * MM * math.sqrt(2 * math.pi / 48 / math.sin(2 * math.pi / 48))
    turns = [2 * math.pi * k / 48 for k in range(48)]
    return Polygon(vertices=tuple((reach * math.cos(a), reach * math.sin(a)) for a in turns))


def ring():
    hole = box(-1.5, -0.5, 1.5, 0.5)
    copper = CopperSheet(name="ring", outline=box(-2.5, -1.5, 2.5, 1.5), holes=(hole,), height=0.2 * MM)
    return PlanLayout(name="ring", sheets=(copper,), ports=RING, plane=PLANE)


def annulus():
    copper = CopperSheet(name="ring", outline=disc(3), holes=(disc(0.5),), height=0.5 * MM)
    return PlanLayout(name="annulus", sheets=(copper,), ports=RING, plane=PLANE)


def angle():
    """An L with a land at one end."""
    corners = ((0, 0), (6, 0), (6, 1.5), (2, 1.5), (2, 5), (0, 5))
    copper = CopperSheet(name="L", outline=Polygon(vertices=tuple((x * MM, y * MM) for x, y in corners)), height=MM / 5)
    port = Port(
        name="source",
        entry=EdgeTerminal(sheet="L", start=(6 * MM, 0.0), end=(6 * MM, 1.5 * MM)),
        leave=PadTerminal(sheet="L", outline=box(0.5, 3.5, 1.5, 4.5)),
    )
    return PlanLayout(name="L", sheets=(copper,), ports=(port,), plane=PLANE)


def strip():
    """A strip over the plane and a pad before it, a post down from each."""
    trace = CopperSheet(name="trace", outline=box(0, -0.5, 6, 0.5), height=0.2 * MM)
    pad = CopperSheet(name="pad", outline=box(-1.1, -0.5, -0.1, 0.5), height=0.2 * MM)
    vias = tuple(
        Via(name=f"via {name}", centre=(x * MM, 0.0), radius=0.15 * MM, upper=name)
        for name, x in (("trace", 5.5), ("pad", -0.6))
    )
    ends = [
        EdgeTerminal(sheet=name, start=(x * MM, -0.5 * MM), end=(x * MM, 0.5 * MM))
        for name, x in (("trace", 0.0), ("pad", -0.1))
    ]
    port = Port(name="gap", entry=ends[0], leave=ends[1])
    return PlanLayout(name="strip", sheets=(trace, pad), ports=(port,), vias=vias, plane=PLANE)


LIMITS = [(ring, 1.55247e-9), (annulus, 0.99352e-9), (angle, 0.74632e-9), (strip, 1.00012e-9)]


@pytest.mark.parametrize(("draw", "limit"), LIMITS)
def test_the_limit_lies_within_the_stated_error(draw, limit):
    found = solve_plan(draw(), math.inf)
    assert found.inductance[0, 0] == pytest.approx(limit, rel=found.inductance_error, abs=0)
    assert found.inductance_error < 5e-3
