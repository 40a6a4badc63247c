"""What a ground layer leaves of a loop of soldered parts as it lies on the board: plan view against rectangles.

Source: perfectly conducting sheets cut into rectangles by partial inductances, as in
validation/plan/test_plan_finite_planes.py (Hoer and Love 1965). Here two strips lie over a layer that is tied nowhere,
and the bodies of two parts lie over the strips as further sheets. Where a body is soldered every cell of its end is one
node with the cell of the strip beneath it, so that all current that crosses there flows in copper and is mirrored in
the layer. In the plan view a land is one node, in which nothing flows that the layer would answer to: that is what is
put to the test, and the uncertainty that is stated for it.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.linalg import cho_factor, cho_solve
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from geometries.files.reading import builtin_text, parse_scenario
from solver.loop.layout_loop import LayoutLoop, layout_loop
from validation.plan.test_plan_finite_planes import SOURCE, Sheet, flat_branches, lines

CLOSE, EDGE = 0.1, 0.3
"""How close lines lie at the strips' and at the layer's edges [mm]; half of both changes the moment by 2 %."""

STRIP, LAND = (0.3, 1.9), 0.1
"""From where to where the strips lie on both sides of the loop's middle, and width of the lands [mm]."""


@dataclass(frozen=True)
class Body:
    """A part between x = left and right, soldered in the middle of two lands at y = ± reach [mm]."""

    left: float
    right: float
    reach: float


SWITCHES = Body(0.2, 1.2, 0.7)
CAPACITORS = {"behind the test point": Body(4.2, 5.0, 0.6), "close": Body(2.2, 3.0, 0.6)}


def across(*bodies: Body) -> np.ndarray:
    """Lines across the upper strip, at its edges and at the lands."""
    ends = {round(body.reach + side * LAND / 2, 6) for body in bodies for side in (-1, 1)}
    return lines(dict.fromkeys(sorted({*STRIP, *ends}), CLOSE))


def drawn(capacitor: Body) -> tuple[Sheet, ...]:
    """Both bodies 0.2 mm over two strips, and these 0.2 mm over a layer."""
    bodies = (SWITCHES, capacitor)
    x = lines(dict.fromkeys([0.0, 5.4, *(end for body in bodies for end in (body.left, body.right))], CLOSE))
    y = across(*bodies)
    strips = Sheet(x=x, y=y, z=0.2), Sheet(x=x, y=-y[::-1], z=0.2)
    layer = Sheet(
        x=lines({-5.0: 2 * EDGE, 0.0: EDGE, 0.7: EDGE, 2.6: EDGE, 5.4: EDGE, 10.4: 2 * EDGE}),
        y=lines({-7.0: 2 * EDGE, -1.9: EDGE, -0.7: EDGE, 0.7: EDGE, 1.9: EDGE, 7.0: 2 * EDGE}),
        z=0.0,
    )
    over = []
    for body in bodies:
        own = y[y < body.reach + 0.6 * LAND]
        along = x[(x > body.left - 1e-9) & (x < body.right + 1e-9)]
        over.append(Sheet(x=along, y=np.concatenate([-own[::-1], [-0.15, 0.0, 0.15], own]), z=0.4))
    return *over, *strips, layer


def soldered(sheets: tuple[Sheet, ...], first: np.ndarray, capacitor: Body) -> np.ndarray:
    """Number of the node that each node is one with: cells of a body's ends with those of the strip beneath."""
    number = np.arange(first[-1] + sheets[-1].node.max() + 1)
    for upper, body in enumerate((SWITCHES, capacitor)):
        for lower, side in ((2, 1), (3, -1)):
            columns, rows = (
                [{round(float(each), 6): k for k, each in enumerate((line[1:] + line[:-1]) / 2)} for line in (s.x, s.y)]
                for s in (sheets[upper], sheets[lower])
            )
            for y in (each for each in columns[1] if abs(each - side * body.reach) < LAND / 2):
                for x in columns[0]:
                    above = first[upper] + sheets[upper].node[columns[0][x], columns[1][y]]
                    number[above] = first[lower] + sheets[lower].node[rows[0][x], rows[1][y]]
    return number


def lying_moment(capacitor: Body) -> float:
    """Of one ampere that flux across the middle of the switches' body drives [mm²]."""
    sheets = drawn(capacitor)
    places = np.concatenate([sheet.places() for sheet in sheets])
    first = np.cumsum([0, *(len(sheet.places()) for sheet in sheets)])[:-1]
    number = soldered(sheets, first, capacitor)
    branches = [flat_branches(sheets, first, axis, (1, 1e-6, (SWITCHES.left, SWITCHES.right))) for axis in (0, 1)]
    ends = [(number[each.start], number[each.end]) for each in branches]
    conductance, drawn_off, flows = np.zeros((len(places),) * 2), np.zeros(len(places)), []
    for each, (start, end) in zip(branches, ends, strict=True):
        incidence, k = np.zeros((len(places), len(start))), np.arange(len(start))
        incidence[start, k], incidence[end, k] = 1.0, -1.0
        factor = cho_factor(each.inductances)
        free, bound = cho_solve(factor, each.driven), cho_solve(factor, incidence.T)
        conductance, drawn_off = conductance + incidence @ bound, drawn_off + incidence @ free
        flows.append((free, bound))
    start, end = (np.concatenate(each) for each in zip(*ends, strict=True))
    pieces = connected_components(coo_matrix((np.ones(len(start)), (start, end)), shape=conductance.shape))[1]
    used = np.unique(np.concatenate([start, end]))
    kept = np.setdiff1d(used, used[np.unique(pieces[used], return_index=True)[1]])  # one of each piece is at zero
    potential = np.zeros(len(places))
    potential[kept] = np.linalg.solve(conductance[np.ix_(kept, kept)], drawn_off[kept])
    total, moment = 0.0, 0.0
    for each, (free, bound) in zip(branches, flows, strict=True):
        current = free - bound @ potential
        total += each.driven @ current
        moment += current @ np.cross(places[each.start], places[each.end])[:, 2] / 2
    return abs(moment / total)


def solved(name: str) -> LayoutLoop:
    """The same copper of the built-in comparison, its strips without thickness."""
    text = builtin_text("cold-frame-fan").replace('layer = "L1"', 'layer = "L1"\nfaces = "one face"')
    (variant,) = (each for each in parse_scenario(text).variants if each.name == name)
    assert variant.laid_out is not None
    return layout_loop(variant.laid_out, (1e8,), 1e8)


@pytest.mark.parametrize("name", CAPACITORS)
def test_what_a_layer_leaves_of_a_loop_of_soldered_parts(references, name: str) -> None:
    loop, reference = solved(name), lying_moment(CAPACITORS[name])
    found = abs(complex(loop.moment_vector[2])) * 1e6
    assert abs(found - reference) < loop.moment_error * 1e6
    references.compare(
        found=found,
        reference=reference,
        rtol=0.1,
        source=SOURCE,
        item=f"moment of a loop of soldered parts over a layer, capacitor {name}",
        unit="mm²",
        reason="4 % of the loop's own moment is left; what flows within the lands is a tenth of that, and the layer "
        "is taken to leave as much of it as of all else",
        mark="computed independently",
    )
