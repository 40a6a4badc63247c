r"""Direct current that crowds at a contact and in a bend: the plan view against conformal maps of conducting strips.

A strip of width w carries a current from far away to a contact of width c in the middle of its end. By the map
:math:`u = \sinh(\pi z/w)` its insulated edges and what the contact leaves of its end lie on the imaginary axis beyond
:math:`\pm j\sin(\pi c/2w)`, and the potential is :math:`\mathrm{Re}\,\mathrm{arsinh}(u/\sin(\pi c/2w))`. Far away that
is :math:`\pi x/w - \ln\sin(\pi c/2w)`: the contact adds :math:`-\ln\sin(\pi c/2w)/\pi` squares to the strip's length.

A right-angled bend between equal strips counts as 0.559 squares from inner edge to inner edge (P. M. Hall, "Resistance
calculations for thin film patterns", Thin Solid Films 1 (1968) 277-295, from memory).
"""

import math

import pytest

from geometries.layout.layout import CopperSheet, EdgeTerminal, PlanLayout, Port
from geometries.quantities import MM
from geometries.section.outline import Polygon
from solver.formulas import sheet_resistance
from solver.plan import solve_plan

CONTACT = "A contact narrower than its strip, by conformal map"
BEND = "P. M. Hall, Resistance calculations for thin film patterns (1968)"
WIDTH, LENGTH = 2.0, 6.0


def squares(corners, entry, leave):
    """Direct-current resistance of an outline [mm] between stretches of two of its edges, over that of a square."""
    outline = Polygon(vertices=tuple((x * MM, y * MM) for x, y in corners))
    copper = CopperSheet(name="strip", outline=outline, height=0.0)
    ends = [
        EdgeTerminal(sheet="strip", start=(a * MM, b * MM), end=(c * MM, d * MM)) for (a, b), (c, d) in (entry, leave)
    ]
    layout = PlanLayout(name="strip", sheets=(copper,), ports=(Port(name="source", entry=ends[0], leave=ends[1]),))
    resistance = float(solve_plan(layout, 0.0).resistance[0, 0])
    return resistance / sheet_resistance(copper.thickness, copper.material.conductivity)


@pytest.mark.parametrize("contact", [1.5, 1.0, 0.5])
def test_contact(references, contact):
    corners = ((0, -WIDTH / 2), (LENGTH, -WIDTH / 2), (LENGTH, WIDTH / 2), (0, WIDTH / 2))
    half = contact / 2
    found = squares(corners, ((LENGTH, -WIDTH / 2), (LENGTH, WIDTH / 2)), ((0, half), (0, -half)))
    references.compare(
        found=found,
        reference=LENGTH / WIDTH - math.log(math.sin(math.pi * contact / (2 * WIDTH))) / math.pi,
        rtol=1e-3,
        source=CONTACT,
        item=f"R in squares, strip 2 x 6 mm, contact of {contact:g} mm",
        unit="1",
        reason="the plan view's mesh at the contact's ends",
        mark="derived",
    )


def test_bend(references):
    corners = ((0, 0), (5, 0), (5, 5), (4, 5), (4, 1), (0, 1))
    found = squares(corners, ((0, 1), (0, 0)), ((4, 5), (5, 5)))
    references.compare(
        found=found - 8.0,
        reference=0.559,
        rtol=2e-2,
        source=BEND,
        item="R of a right-angled bend in squares",
        unit="1",
        reason="0.1 % of the nine squares of the whole",
        mark="from memory",
    )
