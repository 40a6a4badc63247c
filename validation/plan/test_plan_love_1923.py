"""Long thin strip over a perfect plane: inductance per length from two lengths.

A. E. H. Love, Proceedings of the London Mathematical Society 22 (1923) 337; M. V. Schneider, "Microstrip lines for
microwave integrated circuits", Bell System Technical Journal 48 (1969) 1421 (from memory). Exact for zero thickness;
the difference of two lengths leaves out what the ends add.
"""

import math

import pytest

from geometries.layout.layout import MirrorPlane, Via
from geometries.quantities import MM
from solver.formulas import MU_0, strip_over_plane_inductance

SOURCE = "Love 1923, strip over a plane (section × length)"
PLANE = MirrorPlane(height=0.0)


def _per_length(board, width, height, lengths):
    values = []
    for length in lengths:
        strip = board.strip("strip", length, width, height=height)
        values.append(board.inductance(strip, ports=(board.ends(strip),), plane=PLANE))
    return (values[1] - values[0]) / (lengths[1] - lengths[0]) * 1e3


@pytest.mark.parametrize(("width", "length"), [(0.2, 4), (1.0, 6), (4.0, 16)])
def test_added_length(board, references, width, length):
    references.compare(
        found=_per_length(board, width, 0.2, (length, 2 * length)),
        reference=strip_over_plane_inductance(width * MM, 0.2 * MM) * 1e9,
        rtol=3e-3,
        source=SOURCE,
        item=f"L' from {length} and {2 * length} mm, w = {width:g} mm, h = 0.2 mm",
        unit="nH/m",
        reason="exact; stated error of the mesh 0.1 %, and the ends of the shorter strip still feel each other",
        mark="from memory",
    )


def _standing(board, width, length):
    """Strip 0.2 mm over the plane with four posts at its end; the other end is driven against a pad with four more."""
    trace = board.strip("trace", length, width, y=-width / 2, height=0.2)
    pad = board.strip("pad", 1, width, x=-1.1, y=-width / 2, height=0.2)
    sides = [width * (k - 1.5) / 4 for k in range(4)]
    vias = [
        Via(name=f"{name} {k}", centre=(x * MM, y * MM), radius=0.15 * MM, upper=name)
        for name, x in (("trace", length - 0.5), ("pad", -0.6))
        for k, y in enumerate(sides)
    ]
    port = board.between(trace, pad)
    return board.inductance(trace, pad, ports=(port,), vias=vias, plane=PLANE)


def test_wide_strip_with_posts_tends_to_a_plate_line(board, references):
    short, long = _standing(board, 4, 6), _standing(board, 4, 12)
    references.compare(
        found=(long - short) / 6 * 1e3,
        reference=strip_over_plane_inductance(4 * MM, 0.2 * MM) * 1e9,
        rtol=3e-3,
        source=SOURCE,
        item="L' from 6 and 12 mm with posts, w = 4 mm, h = 0.2 mm",
        unit="nH/m",
        reason="exact; stated error of the mesh 0.1 % of the whole",
        mark="from memory",
    )
    references.show(
        found=(long - short) / 6 * 1e3,
        reference=MU_0 * 0.2 / 4 * 1e9,
        source=SOURCE,
        item="the same beside µ0 h/w, which has no fringing",
        unit="nH/m",
        reason="fringing lowers it by 14 % at w/h = 20",
        mark="from memory",
    )
    assert math.isclose(short, 5.5 * strip_over_plane_inductance(4 * MM, 0.2 * MM) * 1e6, rel_tol=0.25)
