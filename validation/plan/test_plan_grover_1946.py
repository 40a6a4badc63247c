"""Rectangle of round wire against a thin outline, as its width shrinks.

F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, p. 60 (from memory). A thin strip with its own current
distribution equals a round wire of a quarter of its width.
"""

import pytest

from geometries.layout.layout import MirrorPlane
from geometries.quantities import MM
from solver.formulas import rectangle_over_plane_inductance, rectangle_surface_inductance

SOURCE = "Grover 1946, rectangle of wire, and a thin outline of four radii's width"
MARK = "from memory"


@pytest.mark.parametrize(("width", "rtol"), [(0.4, 1e-2), (0.2, 5e-3), (0.1, 2.5e-3)])
def test_rectangle_in_free_space(board, references, width, rtol):
    references.compare(
        found=board.inductance(board.frame(10 + width, 5 + width, width)),
        reference=rectangle_surface_inductance(10 * MM, 5 * MM, width * MM / 4) * 1e9,
        rtol=rtol,
        source=SOURCE,
        item=f"10 x 5 mm between centre lines, copper {width:g} mm wide",
        unit="nH",
        reason="the formula leaves out terms of the order of width over side, which halve from row to row",
        mark=MARK,
    )


@pytest.mark.parametrize("height", [0.5, 1.5])
def test_rectangle_over_a_plane(board, references, height):
    frame = board.frame(10.1, 5.1, 0.1, height=height)
    references.compare(
        found=board.inductance(frame, plane=MirrorPlane(height=0.0)),
        reference=rectangle_over_plane_inductance(10 * MM, 5 * MM, 0.025 * MM, height * MM) * 1e9,
        rtol=4e-3,
        source=SOURCE,
        item=f"the same, 0.1 mm wide, {height:g} mm over a plane",
        unit="nH",
        reason="the formula leaves out terms of the order of width over side and over height",
        mark=MARK,
    )
