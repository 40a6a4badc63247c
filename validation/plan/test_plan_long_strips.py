"""Long strips of real copper from above against the section view, DC sharing to thin skin.

Two strips beside each other or one over the other, of two joined faces each, closed by a port at either end; some as
single sheets. The section view solves the same section inside the metal by finite elements (itself checked against
exact solutions in validation/section): another equation, another dimension, another mesh. What the ends add to the
layout's values is b + c/length to the next order: the values of some lengths tell the part that grows with length, of
two over a plane, where ends do not see each other.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from geometries.layout.layout import CopperSheet, EdgeTerminal, Faces, PlanLayout, Port
from geometries.quantities import MM, UM
from solver.plan import solve_plan_over

SOURCE = "Section view of long strips"
FREQUENCIES = (1e3, 1e5, 1e6, 3e6, 1e7, 3e7, 1e8, 3e8)


@dataclass(frozen=True)
class Pair:
    """Lower and upper edge and height of two strips [mm], thickness [µm], lengths [mm], and how close L must be."""

    spans: tuple[tuple[float, float, float], ...]
    lengths: tuple[float, ...]
    thickness: int = 35
    faces: Faces = Faces.JOINED
    closeness: float = 3e-3


def over(width, height, plane, lengths, **more):
    """A strip with its lower face at a height over the upper one of another [mm]."""
    base = 0.0 if more.get("faces") is Faces.ONE else more.get("thickness", 35) / 1000
    spans = ((-width / 2, width / 2, height + base), (-plane / 2, plane / 2, 0.0))
    return Pair(spans=spans, lengths=lengths, **more)


def beside(width, gap, lengths, **more):
    return Pair(spans=((0.0, width, 0.0), (width + gap, 2 * width + gap, 0.0)), lengths=lengths, **more)


PAIRS = {
    "free": beside(3, 1, (20, 40, 80)),
    "free, narrow": beside(1, 0.5, (8, 16, 32)),
    "free, 70 µm": beside(3, 1, (20, 40, 80), thickness=70),
    "free, 18 µm": beside(0.5, 1, (10, 20, 40), thickness=18),
    "over a plane": over(3, 0.2, 12, (15, 30)),
    "1 mm over a plane": over(1, 1, 9, (20, 40)),
    "narrow over a plane": over(0.5, 0.2, 3, (6, 12)),
    "close over a plane": over(0.5, 0.1, 3, (5, 10), closeness=7e-3),
    "thick over a plane": over(1, 0.2, 5, (8, 16), thickness=70, closeness=5e-3),
    "free, single sheets": beside(3, 1, (20, 40, 80), faces=Faces.BOTH, closeness=0.03),
    "over a plane, single sheets": over(3, 0.2, 12, (15, 30), faces=Faces.ONE, closeness=0.05),
}


def strips(board, pair, length):
    """Two strips along x, closed at both ends."""
    sheets = tuple(
        CopperSheet(
            name=name,
            outline=board.rectangle(0, low, length, high),
            height=z * MM,
            thickness=pair.thickness * UM,
            faces=pair.faces,
        )
        for name, (low, high, z) in zip("ab", pair.spans, strict=True)
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


def section(fixture, pair, frequency):
    """Bars of the same copper; a single sheet over another has its metal above the face towards the other."""
    t = pair.thickness / 1000
    lower = -t if pair.faces is Faces.ONE else 0.0
    bottoms = [z if z > 0 else z + lower for _, _, z in pair.spans]
    bars = [
        fixture.bar(role, low, high, bottom, bottom + t)
        for role, (low, high, _), bottom in zip(("go", "return"), pair.spans, bottoms, strict=True)
    ]
    return fixture.solve(*bars, frequency=frequency, highest_frequency=FREQUENCIES[-1])


@pytest.fixture(scope="module", params=PAIRS)
def seen_from_above(request, board):
    pair = PAIRS[request.param]
    solved = [solve_plan_over(strips(board, pair, each), FREQUENCIES) for each in pair.lengths]
    return request.param, list(zip(*solved, strict=True))


@pytest.mark.parametrize("number", range(len(FREQUENCIES)), ids=[f"{each:g} Hz" for each in FREQUENCIES])
def test_long_strips(seen_from_above, fixture, references, number):
    where, solved = seen_from_above
    pair, frequency, above = PAIRS[where], FREQUENCIES[number], solved[number]
    field, single = section(fixture, pair, frequency), pair.faces is not Faces.JOINED
    references.compare(
        found=per_length(pair.lengths, [each.loop_inductance for each in above]) * 1e9,
        reference=fixture.inductance(field),
        rtol=pair.closeness if single else min(pair.closeness, 1e-3 + max(each.inductance_error for each in above)),
        source=SOURCE,
        item=f"L′, two strips, {where}, {frequency:g} Hz",
        unit="nH/m",
        reason="the plan view's own stated error, of joined faces at most 0.3 %, 0.5 and 0.7 % of the thickest and the "
        "closest, and 0.1 % of the ends",
        mark="computed independently",
    )
    stated = 3e-3 + max(each.resistance_error for each in above)
    found, expected = (
        per_length(pair.lengths, [float(each.resistance[0, 0]) for each in above]),
        fixture.resistance(field),
    )
    references.compare(
        found=found,
        reference=expected,
        rtol=float(stated * found / expected if single else min(stated, 0.05)),
        source=SOURCE,
        item=f"R′, two strips, {where}, {frequency:g} Hz",
        unit="Ω/m",
        reason="the plan view's own stated error, of joined faces at most 5 %, and 0.3 % of the ends",
        mark="computed independently",
    )
