"""Flat rings: round ones against the wire ring, and a rectangular one against an independent thin-sheet solution.

Ring of round wire with surface current, L = µ0 R [ln(8R/a) - 2] for a << R (from memory; the exact torus is in
solver.formulas). A flat ring of width w equals a wire of radius w/4. DC resistance of a flat ring,
2 pi/(sigma t ln(r2/r1)): exact. The rectangular ring: thin-sheet solution by other means, given to three and four
digits without a stated error.
"""

import pytest

from geometries.layout.layout import MirrorPlane
from geometries.quantities import MM
from solver.formulas import ring_perfect_inductance
from solver.plan import PlanMeshSettings

RING = "Ring of wire, and a flat ring of four radii's width"
SHEET = "Ring 5 x 3 mm outside, 1 mm copper, perfect conductor (thin-sheet solution by other means)"


@pytest.mark.parametrize(("width", "rtol"), [(0.4, 1.2e-2), (0.2, 4e-3)])
def test_flat_ring(board, references, width, rtol):
    references.compare(
        found=board.inductance(board.annulus(2 - width / 2, 2 + width / 2)),
        reference=ring_perfect_inductance(2 * MM, width * MM / 4) * 1e9,
        rtol=rtol,
        source=RING,
        item=f"mean radius 2 mm, copper {width:g} mm wide",
        unit="nH",
        reason="flat and round differ by the square of width over radius, a quarter from row to row",
        mark="from memory",
    )


def test_resistance_of_a_flat_ring(board, references):
    references.compare(
        found=float(board.solve(board.annulus(1.75, 2.25), frequency=0.0).resistance[0, 0]) * 1e3,
        reference=12.31622,
        rtol=2e-3,
        source="Flat ring at DC",
        item="R, radii 1.75 and 2.25 mm, 35 µm",
        unit="mΩ",
        reason="exact; polygons of 48 sides stand for the circles",
        mark="computed independently",
    )


@pytest.mark.parametrize(("height", "reference"), [(0.0, 3.44), (0.2, 1.553)])
def test_rectangular_ring(board, references, height, reference):
    plane = MirrorPlane(height=0.0) if height else None
    references.compare(
        found=board.inductance(board.frame(5, 3, 1, height=height), plane=plane, settings=PlanMeshSettings()),
        reference=reference,
        rtol=3e-3,
        source=SHEET,
        item=f"L {height:g} mm over a plane" if height else "L in free space",
        unit="nH",
        reason="three or four digits; stated error of the mesh 0.15 %",
        mark="computed independently",
    )


def test_a_plane_of_copper_as_a_sheet_of_its_own(board, references):
    references.compare(
        found=board.inductance(board.frame(5, 3, 1, height=0.2), board.plate(12, 10), settings=PlanMeshSettings()),
        reference=1.553,
        rtol=3e-3,
        source=SHEET,
        item="L 0.2 mm over a meshed plane 12 x 10 mm, reference for an infinite one",
        unit="nH",
        reason="a plane that overhangs by 3.5 mm at h = 0.2 mm is as good as infinite",
        mark="computed independently",
    )
