"""Vertical copper of the plan view: walls, filled and plated holes, ports to the plane, a radial line shorted by each.

S. Ramo, J. R. Whinnery, T. Van Duzer, Fields and Waves in Communication Electronics (3rd ed., Wiley, 1994): coaxial and
radial line, L = mu_0 h ln(R/r) / 2 pi (from memory). A. E. Ruehli, IBM Journal of Research and Development 16 (1972)
470: flat tape of even current, by solver.formulas (from memory). What a port leaves out of the vertical currents is
integrated here, wire by wire.
"""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from geometries.layout.layout import (
    COPPER,
    CopperSheet,
    EdgeTerminal,
    Faces,
    MirrorPlane,
    PadTerminal,
    PlaneTerminal,
    PlanLayout,
    Port,
    Via,
    Wall,
)
from geometries.quantities import MM
from geometries.section.outline import Polygon
from solver.formulas import tape_partial_inductance
from solver.plan import solve_plan
from solver.plan.metal import via_impedances
from solver.plan.vias import via_inductances

MU = 4e-7 * math.pi
SIDES, OUTER, POST, HEIGHT = 16, 6 * MM, 0.3 * MM, 0.5 * MM
TURNS = 2 * math.pi * np.arange(SIDES) / SIDES
RIM = [(OUTER * math.cos(turn), OUTER * math.sin(turn)) for turn in TURNS]
EDGES = list(zip(RIM, RIM[1:] + RIM[:1], strict=True))
PARTS = [((0.99 * np.array(a) + 0.01 * np.array(b)), (0.01 * np.array(a) + 0.99 * np.array(b))) for a, b in EDGES]
TAKEN = [(tuple(map(float, a)), tuple(map(float, b))) for a, b in PARTS]
"""Of each edge all but its ends: terminals must not touch."""

MIDDLES = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in EDGES]
PLANE = MirrorPlane(height=0.0)
DISC = CopperSheet(name="disc", outline=Polygon(vertices=tuple(RIM)), height=HEIGHT, faces=Faces.BOTH)
EVEN = OUTER * math.cos(math.pi / SIDES) * (math.tan(math.pi / SIDES) / (math.pi / SIDES)) ** 0.5
"""Radius of the circle of the polygon's area."""


def post(**changes):
    return Via(**{"name": "post", "centre": (0.0, 0.0), "radius": POST, "upper": "disc", "wall": POST, **changes})


def wires(distance):
    """Mutual inductance of two wires from the plane up to the disc, images of equal sense included, by one integral."""

    def inner(z):
        return math.asinh((HEIGHT - z) / distance) - math.asinh((-HEIGHT - z) / distance)

    return MU / (4 * math.pi) * quad(inner, 0, HEIGHT)[0]


def own(width):
    """The same of a wall with itself: the mean over its width, where 1/distance is integrated in closed form."""
    return quad(lambda d: 2 * (width - d) / width**2 * wires(d), 0, width, limit=200)[0]


def radial():
    return MU * HEIGHT / (2 * math.pi) * math.log(EVEN / POST)


def rim_alone():
    """Of currents at the rim, spread evenly over its sides."""
    width = math.dist(*EDGES[0])
    others = [wires(math.dist(MIDDLES[0], each)) for each in MIDDLES[1:]]
    return (own(width) + sum(others)) / SIDES


def compare_with_radial_line(references, layout, left_out, *, item, rtol, reason):
    """Less what the ends of ports leave out [H]."""
    references.compare(
        found=solve_plan(layout, math.inf).loop_inductance * 1e9,
        reference=(radial() - left_out) * 1e9,
        rtol=rtol,
        source="Ramo, Whinnery, Van Duzer: radial line",
        item=item,
        unit="nH",
        reason=reason,
        mark="from memory",
    )


def test_ports_round_a_disc_to_the_plane_and_a_post_in_its_middle(references):
    ports = tuple(
        Port(name=f"p{n}", entry=EdgeTerminal(sheet="disc", start=a, end=b), leave=PlaneTerminal(middle=MIDDLES[n]))
        for n, (a, b) in enumerate(TAKEN)
    )
    layout = PlanLayout(name="radial line", sheets=(DISC,), ports=ports, vias=(post(),), plane=PLANE)
    left_out = rim_alone() - 2 * wires(math.dist((0, 0), MIDDLES[0]))
    compare_with_radial_line(
        references,
        layout,
        left_out,
        item="disc over a plane, ports from its rim to the plane, a post in its middle, r = 0.3, R = 6, h = 0.5 mm",
        rtol=0.01,
        reason="a polygon of 16 sides for the rim; the mesh states 0.3 %",
    )


def test_walls_round_a_disc_and_a_port_to_the_plane_in_its_middle(references):
    turns = 2 * math.pi * (np.arange(24) + 0.5) / 24
    pad = Polygon(vertices=tuple((POST * math.cos(each), POST * math.sin(each)) for each in turns))
    port = Port(name="middle", entry=PadTerminal(sheet="disc", outline=pad), leave=PlaneTerminal(middle=(0.0, 0.0)))
    walls = tuple(Wall(name=f"w{n}", start=a, end=b, upper="disc") for n, (a, b) in enumerate(TAKEN))
    layout = PlanLayout(name="cavity", sheets=(DISC,), ports=(port,), vias=walls, plane=PLANE)
    tube = quad(lambda turn: wires(2 * POST * math.sin(turn / 2)) / math.pi, 0, math.pi)[0]
    left_out = tube - 2 * wires(math.dist((0, 0), MIDDLES[0]))
    compare_with_radial_line(
        references,
        layout,
        left_out,
        item="disc over a plane, full-width walls round it, a port from its middle to the plane",
        rtol=0.015,
        reason="polygons of 16 and 24 sides for circles; the mesh states 0.3 %",
    )


@pytest.mark.parametrize(("width", "height"), [(2.0, 0.2), (2.0, 1.5), (0.6, 1.5)])
def test_a_wall_by_itself_is_a_flat_tape(references, width, height):
    edge = (0.0, 0.0), (0.0, width * MM)
    box = ((0, 0), (4, 0), (4, width), (0, width))
    outline = Polygon(vertices=tuple((x * MM, y * MM) for x, y in box))
    sheets = tuple(
        CopperSheet(name=name, outline=outline, height=z * MM, faces=Faces.BOTH)
        for name, z in (("low", 0.0), ("high", height))
    )
    ends = [EdgeTerminal(sheet=name, start=(4 * MM, 0.0), end=(4 * MM, width * MM)) for name in ("low", "high")]
    wall = Wall(name="wall", start=edge[0], end=edge[1], upper="high", lower="low", wall=1e-6)
    layout = PlanLayout(
        name="hairpin", sheets=sheets, ports=(Port(name="p", entry=ends[0], leave=ends[1]),), vias=(wall,)
    )
    references.compare(
        found=via_inductances(layout)[0, 0] * 1e9,
        reference=tape_partial_inductance(height * MM, width * MM) * 1e9,
        rtol=0.01,
        source="Ruehli 1972",
        item=f"partial inductance of a full-width wall, {width:g} mm wide, {height:g} mm high",
        unit="nH",
        reason="sixteen distances stand for all within it",
        mark="from memory",
    )


@pytest.mark.parametrize(
    ("name", "via", "area"),
    [
        ("filled hole", post(), math.pi * POST**2),
        ("plated hole", post(wall=25e-6), math.pi * (POST**2 - (POST - 25e-6) ** 2)),
        ("wall", Wall(name="w", start=RIM[0], end=RIM[1], upper="disc", wall=50e-6), math.dist(*EDGES[0]) * 50e-6),
    ],
)
def test_resistance_at_dc_is_length_over_conductivity_and_area(references, name, via, area):
    port = Port(
        name="p", entry=EdgeTerminal(sheet="disc", start=RIM[4], end=RIM[5]), leave=PlaneTerminal(middle=MIDDLES[4])
    )
    layout = PlanLayout(name="disc", sheets=(DISC,), ports=(port,), vias=(via,), plane=PLANE)
    references.compare(
        found=float(via_impedances(layout, 0.0)[0]) * 1e6,
        reference=HEIGHT / (COPPER.conductivity * area) * 1e6,
        rtol=1e-12,
        source="length over conductivity and area",
        item=f"{name}, {HEIGHT / MM:g} mm high",
        unit="µohm",
        reason="exact",
        mark="derived",
    )
