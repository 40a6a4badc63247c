"""Long strips of real copper from above, two joined faces each, against the section view, DC sharing to thin skin.

Two strips 3 mm x 35 µm 1 mm apart, and a strip 3 mm over one of 12 mm at 0.2 mm, closed by a port at either end. The
section view solves the same section inside the metal by finite elements (itself checked against exact solutions in
validation/section): another equation, another dimension, another mesh. What the ends add to the layout's values is
b + c/length to the next order: the values of some lengths tell the part that grows with length, of two over a plane,
where ends do not see each other.
"""

import numpy as np
import pytest

from geometries.layout.layout import CopperSheet, EdgeTerminal, Faces, PlanLayout, Port
from geometries.quantities import MM
from solver.plan import PlanMeshSettings, solve_plan_over

SOURCE = "Section view of long strips"
FREQUENCIES = (1e3, 1e5, 1e6, 1e7, 1e8, 3e8)
PAIRS = {"free": ((0.0, 3.0, 0.0), (4.0, 7.0, 0.0)), "over a plane": ((-1.5, 1.5, 0.235), (-6.0, 6.0, 0.0))}
LENGTHS = {"free": (20.0, 40.0, 80.0), "over a plane": (15.0, 30.0)}
SETTINGS = PlanMeshSettings(along_fraction=0.35)


def strips(board, spans, length):
    """Two strips along x by their lower and upper edge and height [mm], closed at both ends."""
    sheets = tuple(
        CopperSheet(name=name, outline=board.rectangle(0, low, length, high), height=z * MM, faces=Faces.JOINED)
        for name, (low, high, z) in zip("ab", spans, strict=True)
    )
    ends = [
        [EdgeTerminal(sheet=s.name, start=(x * MM, s.outline.bottom), end=(x * MM, s.outline.top)) for s in sheets]
        for x in (0.0, length)
    ]
    ports = (
        Port(name="source", entry=ends[0][0], leave=ends[0][1]),
        Port(name="end", entry=ends[1][1], leave=ends[1][0]),
    )
    return PlanLayout(name="strips", sheets=sheets, ports=ports)


def per_length(lengths, values):
    """What grows with length [per metre], from values at some lengths [mm]."""
    along = np.array(lengths) * MM
    powers = np.column_stack([along, np.ones(len(along)), 1 / along])[:, : len(along)]
    return np.linalg.solve(powers, values)[0]


@pytest.fixture(scope="module", params=PAIRS)
def seen_from_above(request, board):
    where = request.param
    solved = [solve_plan_over(strips(board, PAIRS[where], each), FREQUENCIES, SETTINGS) for each in LENGTHS[where]]
    return where, list(zip(*solved, strict=True))


@pytest.mark.parametrize("number", range(len(FREQUENCIES)), ids=[f"{each:g} Hz" for each in FREQUENCIES])
def test_long_strips(seen_from_above, fixture, references, number):
    where, solved = seen_from_above
    frequency = FREQUENCIES[number]
    roles = zip(("go", "return"), PAIRS[where], strict=True)
    bars = [fixture.bar(role, low, high, z, z + 0.035) for role, (low, high, z) in roles]
    field = fixture.solve(*bars, frequency=frequency, highest_frequency=FREQUENCIES[-1])
    above = solved[number]
    references.compare(
        found=per_length(LENGTHS[where], [each.loop_inductance for each in above]) * 1e9,
        reference=fixture.inductance(field),
        rtol=3e-3,
        source=SOURCE,
        item=f"L′, two strips, {where}, {frequency:g} Hz",
        unit="nH/m",
        reason="0.2 % of the plan view's mesh, 0.1 % of the ends",
        mark="computed independently",
    )
    references.compare(
        found=per_length(LENGTHS[where], [float(each.resistance[0, 0]) for each in above]),
        reference=fixture.resistance(field),
        rtol=3e-3 + max(each.resistance_error for each in above),
        source=SOURCE,
        item=f"R′, two strips, {where}, {frequency:g} Hz",
        unit="Ω/m",
        reason="the plan view's own stated error, most of it for the edges of real copper, and 0.3 % of the ends",
        mark="computed independently",
    )
