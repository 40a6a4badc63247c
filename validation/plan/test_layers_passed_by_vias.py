"""A far side reached by vias through clearances in two ground layers: against the computation on rectangles.

The copper of the built-in placement's kind, one via per net, is drawn once more as thin perfectly conducting sheets of
rectangles, of which the vias join the upper one and the lower one; each ground layer between is a sheet of its own
with two square holes. How these sheets are summed, and how a square stands for a via, is said in
`test_plan_finite_planes.py`; of a hole the square that draws as much charge stands for the circle likewise.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from geometries import read_scenario
from geometries.layout.ground_layers import CLEARANCE
from geometries.layout.layout import Faces
from geometries.layout.real_planes import real_planes
from geometries.quantities import MM
from solver.plan import solve_plan
from validation.plan.test_plan_finite_planes import SOURCE, TUBE_SIDE, Sheet, computed, lines

DRILL, ALONG, ACROSS = 0.15, 0.6, 1.1
"""Radius of the vias, and where they stand: x, and y to both sides [mm]."""

OWN = 2 * ACROSS * 1.57
"""Area between the vias, from copper to copper [mm²]."""

SCENARIO = """
title = "check"
stackup = "4L-7628"
analysis = { report_frequency = "200 MHz", axisymmetric_view = false }
switch = { package = "land-grid", copper_width = "1.6 mm", gap = "0.6 mm" }
placement = { kind = "far-side", distance = "0.3 mm", via_count = 1 }

[[capacitor]]
case = "0603"
capacitance = "2.2 uF"
esr = "4 mohm"
electrode_height = "0.2 mm"

[[variant]]
name = "far side"
planes.L2 = { tie = "none", WIDTH }
planes.L3 = { tie = "none", WIDTH }
"""


def layout(width: float, length: float):
    """As the program draws it, every piece of copper one thin sheet."""
    size = f'width = "{width} mm", length = "{length} mm"'
    placed = read_scenario(SCENARIO.replace("WIDTH", size)).variants[0].placed
    real = real_planes("far side", placed).real
    return replace(real, sheets=tuple(replace(sheet, faces=Faces.BOTH) for sheet in real.sheets))


def bounds(shape) -> tuple[float, ...]:
    return tuple(round(each / MM, 6) for each in shape.bounds)


def around(half: float, x: float, y: float) -> tuple[float, float, float, float]:
    return (x - half, y - half, x + half, y + half)


def drawn(drawing, width: float):
    """All sheets [mm], cells `width` wide at edges of copper, and twice that in the layers."""
    pad, hole = (radius * TUBE_SIDE / 2 for radius in (DRILL, DRILL + CLEARANCE / MM))
    places = [(ALONG, y) for y in (ACROSS, -ACROSS)]
    pads, holes = (tuple(around(half, *place) for place in places) for half in (pad, hole))
    near, far, *layers = (drawing.sheet(name) for name in ("copper, part 1", "copper, far side", "L2", "L3"))
    sheets = [
        looped(near, ((0.0, -0.3, 0.9, 0.3),), pads, width),
        looped(far, notches(far), pads, width),
        *(layer_with(layer, holes, pads, width) for layer in layers),
    ]
    return {
        "sheets": sheets,
        "cut": (1, 1e-6, (sheets[0].x[0], 0.0)),
        "vias": tuple(places),
        "radius": DRILL,
    }


def looped(copper, gaps, pads, width):
    """The near side's two halves, or the far side, as one sheet of mirror symmetry."""
    left, _, right, _ = bounds(copper.shape)
    x = {left, right, *(end for box in (*gaps, *pads) for end in box[::2])}
    y = {-1.9, 1.9, *(end for box in (*gaps, *pads) for end in box[1::2])}
    return Sheet(
        x=lines(dict.fromkeys(x, width)), y=lines(dict.fromkeys(y, width)), z=copper.height / MM, holes=gaps, pads=pads
    )


def notches(copper):
    """Between input and ground copper, beside the capacitor [mm]."""
    free = shapely.get_parts(copper.shape.envelope.difference(copper.shape))
    return tuple(bounds(part) for part in free)


def layer_with(layer, holes, pads, width):
    left, low, right, high = bounds(layer.shape)
    x = {left, right, *(end for hole in holes for end in hole[::2])}
    y = {low, high, *(end for hole in holes for end in hole[1::2])}
    return Sheet(
        x=lines(dict.fromkeys(x, 2 * width)), y=lines(dict.fromkeys(y, 2 * width)), z=layer.height / MM, holes=holes
    )


@pytest.mark.parametrize("size", [(9.0, 8.0), (16.0, 6.0)], ids=["9 x 8 mm", "16 x 6 mm"])
def test_far_side_through_two_layers(references, size):
    drawing = layout(*size)
    (rough, before), (fine, after) = (computed(**drawn(drawing, width)) for width in (0.16, 0.08))
    solved = solve_plan(drawing, math.inf)
    item = f"far side through two layers {size[0]:g} x {size[1]:g} mm"
    references.compare(
        found=solved.loop_inductance * 1e9,
        reference=2 * fine - rough,
        rtol=1e-2,
        source=SOURCE,
        item=f"L, {item}",
        unit="nH",
        reason="0.3 % of the check, squares for round vias and clearances, 0.2 % stated by the plan view",
        mark="computed independently",
    )
    references.compare(
        found=OWN + float(np.linalg.norm(solved.copper_moment[0].real / MM**2 - (2 * after - before))),
        reference=OWN,
        rtol=1e-2,
        source=SOURCE,
        item=f"moment, {item}: the loop's own area and what both differ by",
        unit="mm²",
        reason="a part of the loop's own: over layers the moment that lies is a small rest",
        mark="computed independently",
    )
