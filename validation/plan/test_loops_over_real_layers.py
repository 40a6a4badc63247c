"""Loops over ground layers as they are drawn from a placement or a section: against the computation on rectangles.

Every layout that the program draws (layers with edges and slots, vias that are tied to a layer or pass it through a
clearance, copper on the far side) is drawn once more as thin perfectly conducting sheets of rectangles. How these are
summed, and how a square stands for a via, is said in `test_plan_finite_planes.py`; for a round clearance stands the
square that draws as much charge. The dimensions are invented.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from geometries import (
    Capacitor,
    FarSide,
    LumpedEsl,
    NextLayerLoop,
    PlacedLoop,
    Plane,
    ReturnBelow,
    SameLayerLoop,
    SameSide,
    Site,
    Stackup,
    ThroughBoardLoop,
    capacitor_case,
    section_plan,
    switch_package,
    via_type,
)
from geometries.board.stackup import CopperLayer, DielectricLayer
from geometries.layout.ground_layers import CLEARANCE
from geometries.layout.layout import Faces, PlanLayout
from geometries.layout.real_planes import real_planes
from geometries.quantities import MM
from geometries.section.loops import Slot
from solver.plan import solve_plan
from validation.plan.test_plan_finite_planes import SOURCE, TUBE_SIDE, Sheet, computed, lines

ROUGH = 0.16
"""Width of cells at edges of copper [mm]."""

BOARD = Stackup(
    name="invented",
    note="thin copper, thick dielectrics",
    layers=(
        CopperLayer(name="L1", thickness=10e-6),
        DielectricLayer(name="upper", thickness=0.5 * MM, relative_permittivity=4.3),
        CopperLayer(name="L2", thickness=10e-6),
        DielectricLayer(name="core", thickness=0.8 * MM, relative_permittivity=4.3),
        CopperLayer(name="L3", thickness=10e-6),
        DielectricLayer(name="lower", thickness=0.5 * MM, relative_permittivity=4.3),
        CopperLayer(name="L4", thickness=10e-6),
    ),
)
PART = Capacitor(case=capacitor_case("0603"), capacitance=2.2e-6, resistance=4e-3, body=LumpedEsl(inductance=0.35e-9))
COMMON = {
    "copper_width": 1.6 * MM,
    "gap": 0.6 * MM,
    "distance": 0.6 * MM,
    "capacitors": (PART,),
    "package": switch_package("land-grid"),
    "via": via_type("standard"),
}


def plane(layer, tie, width, length, **more):
    return Plane(layer=layer, tie=tie, width=width * MM, length=length * MM, **more)


def placed(placement, *planes):
    return real_planes("check", PlacedLoop(placement=placement, site=Site(stackup=BOARD, planes=planes))).real


def bare(loop, *planes):
    return section_plan("check", BOARD, loop, planes).real.real


BESIDE = SameLayerLoop(width=1.5 * MM, gap=1 * MM, land=1 * MM, length=5 * MM)
OPEN_SLOT = Slot(position=-0.5 * MM, width=1 * MM, bonded=False)
DRAWN = {
    "far side through two layers 9 x 8 mm": lambda: placed(
        FarSide(**COMMON, via_count=1), plane("L2", "none", 9, 8), plane("L3", "none", 9, 8)
    ),
    "far side through two layers, off the middle": lambda: placed(
        FarSide(**COMMON, via_count=1),
        plane("L2", "none", 12, 6, edge_distance=0.5 * MM),
        plane("L3", "none", 9, 8),
    ),
    "return below, layer 8 x 7 mm": lambda: placed(ReturnBelow(**COMMON, via_count=1), plane("L2", "both ends", 8, 7)),
    "same side, layer in two": lambda: placed(
        SameSide(**COMMON), plane("L2", "switch end", 8, 8, slots=(Slot(width=0.5 * MM, bonded=False),))
    ),
    "bare loop, layer shorter than it": lambda: bare(BESIDE, plane("L2", "capacitor end", 10, 4)),
    "bare loop, slot as long as it": lambda: bare(
        BESIDE, plane("L2", "capacitor end", 10, 9, slots=(Slot(width=0.5 * MM),))
    ),
    "bare loop, layers of which one is cut": lambda: bare(
        BESIDE, plane("L2", "none", 10, 9, slots=(OPEN_SLOT,)), plane("L3", "none", 12, 8)
    ),
    "next layer, return in a layer with edges": lambda: bare(
        NextLayerLoop(width=1 * MM, length=5 * MM), plane("L2", "both ends", 4, 9)
    ),
    "through board, past two layers": lambda: bare(
        ThroughBoardLoop(width=1 * MM, length=5 * MM), plane("L2", "none", 7, 9), plane("L3", "none", 7, 10)
    ),
}


@dataclass
class Level:
    """All copper at one height, filled where the program cuts it [mm], without clearances."""

    height: float
    shape: shapely.Geometry
    pads: tuple = ()
    holes: tuple = ()


def levels(layout: PlanLayout) -> list[Level]:
    """Those that the vias join first, the driven one at their head."""
    port, vias = layout.cut_ports[0], layout.vias
    cut = shapely.union_all([port.entry.line, port.leave.line]).convex_hull
    heights = {sheet.name: sheet.height for sheet in layout.sheets}
    driven, lowest = heights[port.entry.sheet], {heights[via.lower] for via in vias}
    pads, round_holes = (tuple(square(via, more) for via in vias) for more in (0.0, CLEARANCE))
    found = []
    for height in sorted(set(heights.values()), key=lambda each: (each != driven, each not in lowest, -each)):
        shape = shapely.union_all([sheet.shape for sheet in layout.sheets if sheet.height == height])
        if height == driven:
            shape = shape.union(cut)
        passed = bool(vias) and min(lowest) < height < driven
        if passed:
            shape = shape.union(shapely.union_all([shapely.Point(via.centre).buffer(0.6 * MM) for via in vias]))
        joined = bool(vias) and (height == driven or height in lowest)
        found.append(Level(height / MM, in_mm(shape), pads if joined else (), round_holes if passed else ()))
    return found


def in_mm(shape):
    return shapely.transform(shapely.make_valid(shape), lambda places: np.round(places / MM, 4))


def square(via, more):
    half = (via.radius + more) / MM * TUBE_SIDE / 2
    x, y = (each / MM for each in via.centre)
    return (x - half, y - half, x + half, y + half)


def missing(shape):
    """What of its envelope is no copper, as rectangles between its corners."""
    corners = shapely.get_coordinates(shape)
    x, y = (np.unique(each) for each in corners.T)
    return tuple(
        (left, low, right, high)
        for left, right in pairwise(x)
        for low, high in pairwise(y)
        if not shape.contains(shapely.Point((left + right) / 2, (low + high) / 2))
    )


def rectangles(level: Level, above: Level, width: float) -> Sheet:
    """Lines close to each other at its edges, and less so under those of the driven copper."""
    own = level is above
    marks: list[dict[float, float]] = [{}, {}]
    for axis in (0, 1):
        for shape, size in ((above.shape, 2 * width), (level.shape, width if own else 2 * width)):
            marks[axis] |= dict.fromkeys(shapely.get_coordinates(shape)[:, axis], size)
        marks[axis] |= {end: width for box in (*level.pads, *level.holes) for end in box[axis::2]}
        low, high = level.shape.bounds[axis::2]
        marks[axis] = {place: size for place, size in marks[axis].items() if low <= place <= high}
    return Sheet(
        x=lines(marks[0]),
        y=lines(marks[1]),
        z=level.height,
        holes=(*missing(level.shape), *level.holes),
        pads=level.pads,
    )


def drawn(layout: PlanLayout, width: float) -> dict:
    entry = layout.cut_ports[0].entry
    (x, y), (u, v) = ((each / MM for each in end) for end in (entry.start, entry.end))
    cut = (1, round(y, 2) + 1e-6, sorted((x, u))) if abs(y - v) < 1e-9 else (0, round(x, 2) + 1e-6, sorted((y, v)))
    found = levels(layout)
    vias = tuple((via.centre[0] / MM, via.centre[1] / MM) for via in layout.vias)
    return {
        "sheets": [rectangles(each, found[0], width) for each in found],
        "cut": cut,
        "vias": vias,
        "radius": layout.vias[0].radius / MM if vias else 0.0,
    }


@pytest.mark.parametrize("item", DRAWN)
def test_a_loop_over_its_ground_layers(references, item):
    layout = DRAWN[item]()
    thin = replace(layout, sheets=tuple(replace(sheet, faces=Faces.BOTH) for sheet in layout.sheets))
    (rough, before), (fine, after) = (computed(**drawn(thin, width)) for width in (ROUGH, ROUGH / 2))
    solved = solve_plan(thin, math.inf)
    references.compare(
        found=solved.loop_inductance * 1e9,
        reference=2 * fine - rough,
        rtol=1e-2,
        source=SOURCE,
        item=f"L, {item}",
        unit="nH",
        reason="0.5 % of the check, squares for round vias and clearances, 0.2 % stated by the plan view",
        mark="computed independently",
    )
    left, low, right, high = (each / MM for each in thin.sheets[0].shape.union(thin.sheets[1].shape).bounds)
    area = (right - left) * (high - low)
    differ = np.abs(solved.copper_moment[0].real / MM**2) - np.abs(2 * after - before)
    references.compare(
        found=area + float(np.linalg.norm(differ)),
        reference=area,
        rtol=1e-2,
        source=SOURCE,
        item=f"moment, {item}: area of the drawing and what both differ by",
        unit="mm²",
        reason="over layers the moment that lies is a small rest of large ones; what flows within pads is not shielded",
        mark="computed independently",
    )
