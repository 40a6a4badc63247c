"""Round wire over an infinite perfect plane.

Source: the textbook formula (mu_0/2 pi) acosh(h/a), exact, from memory (S. Ramo, J. R. Whinnery, T. Van Duzer,
*Fields and Waves in Communication Electronics*, Wiley, ch. 3 and 5); numbers of it are checked in
validation/formulas/test_carson_1921.py. Radius 0.1 mm. The infinite plane is had in two ways: by the mirrored
wire at the distance 2h, which makes twice the inductance and is exact, and by a plane 400 times as wide as the
wire is high, whose width adds (mu_0/4 pi) ln[1 + (2h/W)^2], at most 1.3e-5 of the inductance here.
"""

import math

import pytest

from solver.formulas import wire_over_plane_inductance

SOURCE = "Wire over a perfect plane, (mu_0/2 pi) acosh(h/a)"
RADIUS = 0.1
HEIGHTS = [0.15, 0.2, 0.5, 1.5]
MARK = "from memory (exact formula)"
REASON = "the reference is exact; the mesh is laid out for 0.1 % in inductance"


def _against_the_formula(references, found, height, how):
    references.compare(
        found=found,
        reference=wire_over_plane_inductance(RADIUS * 1e-3, height * 1e-3) * 1e9,
        rtol=1e-3,
        source=SOURCE,
        item=f"L', h = {height:g} mm, {how}",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )


@pytest.mark.parametrize("height", HEIGHTS)
def test_mirrored_wire(fixture, references, height):
    pair = (fixture.wire("go", 0.0, height, RADIUS), fixture.wire("return", 0.0, -height, RADIUS))
    found = fixture.inductance(fixture.solve(*pair, frequency=math.inf)) / 2
    _against_the_formula(references, found, height, "half of the mirrored pair")


@pytest.mark.parametrize("height", HEIGHTS)
def test_wide_plane(fixture, references, height):
    half = 200 * height
    section = (fixture.wire("go", 0.0, height, RADIUS), fixture.bar("return", -half, half, -0.5, 0.0))
    found = fixture.inductance(fixture.solve(*section, frequency=math.inf))
    _against_the_formula(references, found, height, "plane 400 h wide")
