"""Moment of a narrow flat loop over a floating strip.

Source of the field: H. Lamb, *Hydrodynamics*, 6th ed., Cambridge 1932, art. 71 (from memory), flow across a flat
plate; the shielding ratio m'/m'0 = h/sqrt(h^2 + b^2) follows by reciprocity and is exact for a perfect strip without
thickness. The loop is a pair of wires 0.05 mm apart at the height 1 mm; 100 MHz; the strip is 10 um of copper,
1.5 skin depths. Its moment is compared with that of the same pair without the strip.
"""

import pytest

from solver.formulas import strip_shielding
from solver.section.extraction import line_moment

SOURCE = "H. Lamb, Hydrodynamics (1932), art. 71: moment over a floating strip"
HEIGHT, GAP, RADIUS = 1.0, 0.05, 0.005
FREQUENCY = 1e8


@pytest.fixture
def moment(fixture):
    def found(offset, *others):
        pair = (
            fixture.wire("go", offset - GAP / 2, HEIGHT, RADIUS),
            fixture.wire("return", offset + GAP / 2, HEIGHT, RADIUS),
        )
        return line_moment(fixture.solve(*pair, *others, frequency=FREQUENCY, highest_frequency=FREQUENCY))[1]

    return found


@pytest.mark.parametrize(("half_width", "offset"), [(0.5, 0.0), (0.5, 0.4), (2.0, 0.0), (2.0, 1.6), (10.0, 0.0)])
def test_moment_ratio(fixture, moment, references, half_width, offset):
    strip = fixture.bar("floating", -half_width, half_width, -0.01, 0.0)
    references.compare(
        found=abs(moment(offset, strip) / moment(offset)),
        reference=strip_shielding(HEIGHT * 1e-3, half_width * 1e-3, offset * 1e-3),
        rtol=1e-2,
        source=SOURCE,
        item=f"m'/m'0, b = {half_width:g} h, x = {offset:g} h",
        unit="1",
        reason="perfect strip and dipole in the formula; gap 0.05 h and skin depth 0.007 h here",
        mark="derived (by reciprocity, exact)",
    )
