"""Ties without current: the copper is as good as whole, or the stated error holds what the barrel leaves out."""

import math

import pytest

from geometries.layout.layout import CopperSheet, EdgeTerminal, Faces, MirrorPlane, PlanLayout, Port, Via
from geometries.quantities import MM
from geometries.section.outline import Rectangle
from solver.plan import solve_plan


def tied(faces, *places):
    """A strip with its return beside it over a plane, and one below it that vias at some places [mm] tie to it."""
    spans = {"upper": (-1, 0.3), "lower": (-1, 0.2), "return": (2, 0.3)}
    sheets = tuple(
        CopperSheet(
            name=name,
            outline=Rectangle(left=0.0, right=10 * MM, bottom=low * MM, top=(low + 2) * MM),
            height=height * MM,
            faces=faces,
        )
        for name, (low, height) in spans.items()
    )
    left, right = ([edge(sheet, x) for sheet in (sheets[0], sheets[2])] for x in (0.0, 10 * MM))
    ports = (Port(name="source", entry=left[0], leave=left[1]), Port(name="end", entry=right[1], leave=right[0]))
    vias = tuple(
        Via(name=f"via {x}", centre=(x * MM, 0.0), radius=0.15 * MM, upper="upper", lower="lower") for x in places
    )
    return PlanLayout(name="tied", sheets=sheets, ports=ports, vias=vias, plane=MirrorPlane(height=0.0))


def edge(sheet, x):
    return EdgeTerminal(sheet=sheet.name, start=(x, sheet.outline.bottom), end=(x, sheet.outline.top))


@pytest.mark.parametrize("faces", [Faces.BOTH, Faces.JOINED])
def test_an_idle_tie_changes_nothing(faces):
    bare, idle = (solve_plan(tied(faces, *places), math.inf) for places in ((), (5,)))
    assert idle.layout.idle_vias == ("via 5",)
    assert idle.inductance[0, 0] == pytest.approx(bare.inductance[0, 0], rel=1e-9, abs=0)


@pytest.mark.parametrize("faces", [Faces.BOTH, Faces.JOINED])
def test_the_stated_error_holds_what_a_tie_without_current_changes(faces):
    ends, middle = (solve_plan(tied(faces, *places), math.inf) for places in ((1, 9), (1, 5, 9)))
    assert abs(middle.via_currents[1, 0]) < 1e-3
    change = middle.inductance[0, 0] / ends.inductance[0, 0] - 1
    assert 1e-3 < abs(change) < middle.inductance_error
