"""Moment of a narrow flat loop over a floating strip.

Source of the field: H. Lamb, *Hydrodynamics*, 6th ed., Cambridge 1932, art. 71 (from memory), flow across a flat
plate; the shielding ratio m'/m'0 = h/sqrt(h^2 + b^2) follows by reciprocity and is exact for a perfect strip without
thickness. The loop is a pair of wires 0.05 mm apart at the height 1 mm; 100 MHz; the strip is 10 um of copper,
1.5 skin depths. Its moment is compared with that of the same pair without the strip.
"""

from dataclasses import replace

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


@pytest.mark.parametrize("offset", [20.0, 32.0])
def test_off_the_middle_of_a_wide_strip(fixture, moment, references, offset):
    strip = fixture.bar("floating", -40.0, 40.0, -0.01, 0.0)
    references.compare(
        found=abs(moment(offset, strip) / moment(offset)) / abs(moment(0.0, strip) / moment(0.0)),
        reference=(1 - (offset / 40.0) ** 2) ** -1.5,
        rtol=3e-2,
        source="Exact factor of a small loop off the middle of a wide strip",
        item=f"moment x = {offset:g} mm off the middle of a strip 80 mm wide, against the middle",
        unit="1",
        reason="the factor is that of a height far below the half-width, here a fortieth of it",
        mark="derived",
    )


def test_over_a_strip_cut_in_two(fixture, moment, references):
    # Halves 20 mm wide, 0.5 mm apart, tied nowhere to each other; the pair over the middle of one.
    left, right = fixture.bar("floating", -20.25, -0.25, -0.01, 0.0), fixture.bar("floating", 0.25, 20.25, -0.01, 0.0)
    references.compare(
        found=abs(moment(10.25, left, replace(right, name="right half", group="")) / moment(10.25)),
        reference=strip_shielding(HEIGHT * 1e-3, 10e-3),
        rtol=5e-2,
        source=SOURCE,
        item="m'/m'0 over the middle of one half of a strip cut in two, 0.5 mm apart, as over that half alone",
        unit="1",
        reason="the other half adds 2.3 %, by an integral equation (test_moment_factors.py)",
        mark="derived",
    )
