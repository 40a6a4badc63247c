"""The stated error of layouts of every kind against what they converge to: it holds, and is no mere caution.

On thirty of them the solver's constants were found; fifteen others, narrow rings among them, were solved afterwards.
The limits are our own, of perfect conductors: three to six meshes, each with half the error of the one before, carried
on by the ratio of the last two changes. Those of joined faces hold the side walls as the solver adds them.
"""

import math

import numpy as np
import pytest

from geometries import read_builtin_scenario
from geometries.layout.layout import (
    CopperSheet,
    EdgeTerminal,
    Faces,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    RingPort,
    Side,
    Via,
)
from geometries.layout.placement_copper import placement_plan
from geometries.quantities import MM
from geometries.section.outline import Polygon, Rectangle
from solver.plan import solve_plan

PLANE = MirrorPlane(height=0.0)
JOINED = Faces.JOINED


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def polygon(*points):
    return Polygon(vertices=tuple((x * MM, y * MM) for x, y in points))


def disc(radius, x=0.0):
    reach = radius * math.sqrt(2 * math.pi / 48 / math.sin(2 * math.pi / 48))
    turns = [2 * math.pi * k / 48 for k in range(48)]
    return polygon(*((x + reach * math.cos(a), reach * math.sin(a)) for a in turns))


def ring(outer, hole, height, plane=PLANE, more=(), **copper):
    sheet = CopperSheet(name="ring", outline=outer, holes=(hole,), height=height * MM, **copper)
    inside = tuple(np.mean(hole.vertices, axis=0))
    port = RingPort(name="loop", sheet="ring", inside=inside)
    return PlanLayout(name="ring", sheets=(sheet, *more), ports=(port,), plane=plane)


def plate(outline, *slots, height=0.0):
    return CopperSheet(name="plane", outline=outline, holes=slots, height=height * MM)


def placed(number, *, bodies):
    whole = read_builtin_scenario("greenhouse-vent").variants[number].placed
    return placement_plan("placed", whole if bodies else whole.lumped).near


def angle():
    corners = polygon((0, 0), (6, 0), (6, 1.5), (2, 1.5), (2, 5), (0, 5))
    end = EdgeTerminal(sheet="L", start=(6 * MM, 0.0), end=(6 * MM, 1.5 * MM))
    port = Port(name="source", entry=end, leave=PadTerminal(sheet="L", outline=box(0.5, 3.5, 1.5, 4.5)))
    sheet = CopperSheet(name="L", outline=corners, height=MM / 5)
    return PlanLayout(name="L", sheets=(sheet,), ports=(port,), plane=PLANE)


def posts():
    sheets = (("trace", 0.0, 6.0, 5.5), ("pad", -1.1, -0.1, -0.6))
    coppers = tuple(CopperSheet(name=n, outline=box(a, -0.5, b, 0.5), height=0.2 * MM) for n, a, b, _ in sheets)
    vias = tuple(Via(name=f"via {n}", centre=(x * MM, 0.0), radius=0.15 * MM, upper=n) for n, *_, x in sheets)
    ends = [
        EdgeTerminal(sheet=name, start=(x * MM, -0.5 * MM), end=(x * MM, 0.5 * MM))
        for name, x in (("trace", 0.0), ("pad", -0.1))
    ]
    port = Port(name="gap", entry=ends[0], leave=ends[1])
    return PlanLayout(name="strip", sheets=coppers, ports=(port,), vias=vias, plane=PLANE)


def landed(side):
    upper, lower = (
        CopperSheet(name=name, outline=box(0, 0, 6, 2), height=height * MM, faces=JOINED)
        for name, height in (("upper", 0.5), ("lower", 0.2))
    )
    entry = EdgeTerminal(sheet="upper", start=(0.0, 0.3 * MM), end=(0.0, 1.7 * MM))
    leave = PadTerminal(sheet="lower", outline=box(0.5, 0.5, 1.2, 1.5), side=side)
    via = Via(name="via", centre=(5 * MM, 1 * MM), radius=0.15 * MM, upper="upper", lower="lower")
    port = Port(name="source", entry=entry, leave=leave)
    return PlanLayout(name="landed", sheets=(upper, lower), ports=(port,), vias=(via,))


def stitched(offset, *slots):
    """A strip 10 x 2 mm, cut in its middle by the port, with two vias at either end to a plane of 40 x 30 mm."""
    spans = {"a": (offset - 5, offset - 0.01), "b": (offset + 0.01, offset + 5)}
    sheets = [CopperSheet(name=n, outline=box(a, -1, b, 1), height=MM / 2) for n, (a, b) in spans.items()]
    cuts = {"b": offset + 0.01, "a": offset - 0.01}
    entry, leave = (EdgeTerminal(sheet=n, start=(x * MM, -MM), end=(x * MM, MM)) for n, x in cuts.items())
    vias = tuple(
        Via(name=f"{n} {y}", centre=((offset + x) * MM, y * MM), radius=0.25 * MM, upper=n, lower="plane")
        for n, x in (("a", -4.4), ("b", 4.4))
        for y in (-0.4, 0.4)
    )
    port = Port(name="loop", entry=entry, leave=leave)
    sheets.append(plate(box(-20, -15, 20, 15), *slots))
    return PlanLayout(name="stitched", sheets=tuple(sheets), ports=(port,), vias=vias)


def over_plate(offset, *slots):
    outer, hole = box(offset - 3, -2.5, offset + 3, 2.5), box(offset - 2, -1.5, offset + 2, 1.5)
    return ring(outer, hole, 1.0, None, (plate(box(-20, -15, 20, 15), *slots),))


def narrow(width, plane=PLANE, **copper):
    hole = box(width - 2.5, width - 1.5, 2.5 - width, 1.5 - width)
    return ring(box(-2.5, -1.5, 2.5, 1.5), hole, 0.2, plane, **copper)


def lands(height, *, plane=PLANE, faces=Faces.BOTH, gap=0.6, width=1.6, length=2.4):
    """Two coppers side by side, a port at their ends and one between lands on both."""
    sides = {"a": (gap / 2, gap / 2 + width), "b": (-gap / 2 - width, -gap / 2)}
    sheets = tuple(
        CopperSheet(name=n, outline=box(0, low, length, high), height=height * MM, faces=faces)
        for n, (low, high) in sides.items()
    )
    entry, leave = (EdgeTerminal(sheet=n, start=(0.0, a * MM), end=(0.0, b * MM)) for n, (a, b) in sides.items())
    pads = {n: box(1.0, y - 0.2, 1.8, y + 0.2) for n, y in (("b", -gap / 2 - 0.4), ("a", gap / 2 + 0.4))}
    ends = [PadTerminal(sheet=n, outline=outline) for n, outline in pads.items()]
    ports = (Port(name="switch", entry=entry, leave=leave), Port(name="C", entry=ends[0], leave=ends[1]))
    return PlanLayout(name="lands", sheets=sheets, ports=ports, plane=plane)


FRAME = (box(-2.5, -1.5, 2.5, 1.5), box(-1.5, -0.5, 1.5, 0.5))
SMALL = (box(-1.5, -1.25, 1.5, 1.25), box(-0.5, -0.25, 0.5, 0.25))
HEXAGON = polygon(*((3 * math.cos(k * math.pi / 3), 3 * math.sin(k * math.pi / 3)) for k in range(6)))
OCTAGON = polygon(
    *((2.5 * math.cos((k + 0.5) * math.pi / 4), 2.5 * math.sin((k + 0.5) * math.pi / 4)) for k in range(8))
)
TEE = polygon((-4, -2), (4, -2), (4, 2), (1.5, 2), (1.5, 4), (-1.5, 4), (-1.5, 2), (-4, 2))
ALONG, ACROSS = box(-6, -0.5, 6, 0.5), box(-0.5, -6, 0.5, 6)

LIMITS = {
    "ring at 0.2 mm": (lambda: ring(*FRAME, 0.2), 1.55247),
    "ring, free": (lambda: ring(*FRAME, 0.0, None), 3.44018),
    "ring at 0.1 mm": (lambda: ring(*FRAME, 0.1), 0.947030),
    "wide square ring, free": (lambda: ring(box(-4, -4, 4, 4), box(-1, -1, 1, 1), 0.0, None), 3.24948),
    "disc with a hole": (lambda: ring(disc(3), disc(0.5), 0.5), 0.99352),
    "joined ring": (lambda: ring(*SMALL, 0.2, faces=JOINED), 0.65842),
    "joined ring, 70 µm, free": (lambda: ring(*SMALL, 0.2, None, faces=JOINED, thickness=70e-6), 1.01144),
    "joined ring at 0.1 mm": (lambda: ring(*FRAME, 0.1, faces=JOINED), 0.91135),
    "joined disc": (lambda: ring(disc(1.75), disc(0.75), 0.2, faces=JOINED), 1.06618),
    "hexagon": (lambda: ring(HEXAGON, box(-1, -0.6, 1, 0.6), 0.15), 0.82447),
    "T": (lambda: ring(TEE, box(-3, -1, 3, 1), 0.3), 3.54140),
    "L with a land": (angle, 0.74484),
    "strip with posts": (posts, 1.00536),
    "land above": (lambda: landed(Side.UPPER), 0.72089),
    "land below": (lambda: landed(Side.LOWER), 0.72161),
    "ring over a plate": (lambda: over_plate(0.0), 5.82049),
    "ring at a plate's edge": (lambda: over_plate(17.0), 5.87671),
    "ring along a slot": (lambda: over_plate(0.0, ALONG), 6.41089),
    "ring across a slot": (lambda: over_plate(0.0, ACROSS), 6.37964),
    "stitched strip": (lambda: stitched(0.0), 1.69089),
    "stitched strip near the edge": (lambda: stitched(14.0), 1.6929),
    "stitched strip across a slot": (lambda: stitched(0.0, ACROSS), 3.34836),
    "ring near a plate": (lambda: ring(*FRAME, 0.2, None, (plate(box(-6, -5, 6, 5)),)), 1.55242),
    "ring between planes": (lambda: ring(*FRAME, 0.3, PLANE, (plate(box(-4, -3, 4, 3), height=0.8),)), 1.71172),
    "disc, eccentric plate": (lambda: ring(disc(3), disc(1.5), 0.5, None, (plate(disc(6, 2.0)),)), 2.85667),
    "same side, body": (lambda: placed(0, bodies=True), 0.38646),
    "same side": (lambda: placed(0, bodies=False), 0.14145),
    "rotated, body": (lambda: placed(1, bodies=True), 0.68694),
    "mirrored, body": (lambda: placed(3, bodies=True), 0.38643),
    "mirrored": (lambda: placed(3, bodies=False), 0.14144),
}


OTHERS = {
    "narrow ring, free": (lambda: narrow(0.2, None), 10.55870),
    "ring of medium width, free": (lambda: narrow(0.4, None), 7.76194),
    "narrow ring": (lambda: narrow(0.2), 6.05174),
    "narrow joined ring": (lambda: narrow(0.3, faces=JOINED), 4.38757),
    "square joined ring, 70 µm": (
        lambda: ring(box(-2, -2, 2, 2), box(-0.8, -0.8, 0.8, 0.8), 0.3, faces=JOINED, thickness=70e-6),
        1.43648,
    ),
    "long frame": (lambda: ring(box(-5, -1, 5, 1), box(-4.5, -0.5, 4.5, 0.5), 0.25), 5.89438),
    "octagon": (lambda: ring(OCTAGON, box(-0.8, -0.8, 0.8, 0.8), 0.4), 1.72178),
    "ring over a small plate": (lambda: ring(*SMALL, 0.25, None, (plate(box(-3, -3, 3, 3)),)), 0.79126),
    "lands": (lambda: lands(0.2, faces=JOINED), 0.20929),
    "lands, single sheets": (lambda: lands(0.1), 0.13514),
    "lands, free": (lambda: lands(0.1, plane=None, faces=JOINED), 0.35544),
    "lands over a wide gap": (lambda: lands(0.3, gap=1.2, width=1.0, length=3.0, faces=JOINED), 0.31331),
    "stitched strip off the middle": (lambda: stitched(10.0), 1.68992),
    "return below": (lambda: placed(2, bodies=True), 0.11504),
    "rotated": (lambda: placed(1, bodies=False), 0.43846),
}


def errors(layouts):
    """Stated and true relative error of each layout's first loop."""
    found = []
    for draw, limit in layouts.values():
        solved = solve_plan(draw(), math.inf)
        found.append((solved.inductance_error, abs(solved.inductance[0, 0] * 1e9 / limit - 1)))
    return np.array(found).T


@pytest.fixture(scope="module")
def stated_and_true():
    return errors(LIMITS)


@pytest.fixture(scope="module")
def others():
    return errors(OTHERS)


def test_the_stated_error_holds_in_ninety_five_of_a_hundred(stated_and_true, others):
    stated, true = np.hstack([stated_and_true, others])
    assert len(true) >= 45
    assert np.mean(true <= stated) >= 0.95


def test_it_holds_where_no_constant_was_found(others):
    stated, true = others
    assert (true <= stated).all()


def test_in_the_median_it_is_at_most_five_times_the_true_one(stated_and_true, others):
    stated, true = np.hstack([stated_and_true, others])
    assert np.median(stated / true) <= 5
