"""Ends of narrow loops against sums of partial inductances of straight bars, and an upright rectangle of wire.

E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau of Standards 4 (1908)
301-344, and F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, p. 60 (both from memory). A thin strip with its
own current distribution equals a round wire of a quarter of its width; its thickness t widens it by
t/pi (1 + ln(4 pi w/t)) (K. C. Gupta, R. Garg and I. J. Bahl, *Microstrip Lines and Slotlines*, 1979, from memory). The
bars end where the ports of switch and capacitor begin; over a ground layer every bar has its image.
"""

import math

import pytest

from geometries import NextLayerLoop, Plane, SameLayerLoop, named_stackup, section_plan
from geometries.section.loops import board_of
from solver.formulas import filaments_partial_mutual, rectangle_surface_inductance
from solver.loop.section_loop import SectionLoop, SectionValues, section_loop

MARK = "from memory"
WIDTH, APART, LENGTH, THIN = 0.2e-3, 4e-3, 12e-3, 5e-6
RADIUS = (WIDTH + THIN / math.pi * (1 + math.log(4 * math.pi * WIDTH / THIN))) / 4
FREQUENCY = 1e9
NOTHING = SectionValues(own=1e-9, error=0.0, planned=1e-9, more_resistance=0.0)
"""The plan alone is checked: what the ground layers change is left out."""


def solved(stackup: str, loop: SameLayerLoop | NextLayerLoop, *planes: Plane) -> SectionLoop:
    plan = section_plan("bars", board_of(named_stackup(stackup), loop), loop, planes)
    return section_loop(plan, FREQUENCY, NOTHING)


def bars(height: float = math.inf) -> float:
    """Two equal bars with opposite currents, and their images [H]."""
    pairs = [(RADIUS, 1), (APART, -1)]
    if math.isfinite(height):
        pairs += [(2 * height, -1), (math.hypot(APART, 2 * height), 1)]
    return 2 * math.fsum(sign * filaments_partial_mutual(LENGTH, LENGTH, 0.0, apart) for apart, sign in pairs)


@pytest.mark.parametrize("planes", [(), (Plane(layer="L2", tie="capacitor end", width=80e-3),)])
def test_bars_side_by_side(references, planes):
    loop = SameLayerLoop(width=WIDTH, gap=APART - WIDTH, length=LENGTH, land=WIDTH, layer="L1", copper_thickness=THIN)
    found = solved("2L-1.6", loop, *planes)
    height = 1.53e-3 if planes else math.inf
    references.compare(
        found=found.inductance * 1e9,
        reference=bars(height) * 1e9,
        rtol=1.5e-2,
        source="Rosa 1908, partial inductances of two bars, and a same-layer loop from land to land",
        item=f"0.2 mm wide, 4 mm apart, 12 mm long, {'1.53 mm over a ground layer' if planes else 'in free space'}",
        unit="nH",
        reason="the current enters at the corners of the lands that face each other: half a width at each end, 1.7 %",
        mark=MARK,
    )


def test_upright_rectangle(references):
    loop = NextLayerLoop(width=WIDTH, length=LENGTH, copper_thickness=THIN)
    found = solved("2L-1.6", loop)
    references.compare(
        found=found.inductance * 1e9,
        reference=rectangle_surface_inductance(LENGTH, 1.53e-3, RADIUS) * 1e9,
        rtol=1.5e-2,
        source="Grover 1946, rectangle of wire, and a next-layer loop with its walls",
        item="0.2 mm wide, 1.53 mm over each other, 12 mm long",
        unit="nH",
        reason="the walls are stated to 10 %, 1.1 % of the loop, and the formula leaves out terms of width over side",
        mark=MARK,
    )
