"""Line current over a copper slab: loss, inductance and the field behind.

Source: J. R. Carson, "Wave propagation in overhead wires with ground return", Bell System Technical Journal 5
(1926) 539-554, for the half space (from memory); the slab is derived after C. V. Dodd, W. E. Deeds, Journal of
Applied Physics 39 (1968) 2829-2838. The values come from solver.formulas, which validation/formulas checks.

The slab is 35 um thick and here 20 m wide, so that what passes round its edges stays below a thousandth of what
passes through it (with 0.4 m it is a fifth at 100 MHz). The line is a copper wire of 2 um radius, thinner than the
skin depth; its own impedance (Schelkunoff's formula) is taken off. The excess inductance is that over the
perfect-conductor limit on the same mesh, so that the error of the wire's polygon cancels. The field behind is
computed on a mesh that grows by a quarter of the distance; on the program's own mesh, growing by a half, it is
1 to 3 % off, as triangles in the air are then as large as half the distance to the nearest copper corner.
"""

import math

import pytest

from solver.formulas import field_behind_slab, slab_excess_impedance, wire_internal_impedance

SOURCE = "J. R. Carson, Bell System Technical Journal 5 (1926) 539: line over a slab"
MARK = "derived (exact integral)"
COPPER = 5.8e7
RADIUS, THICKNESS, HALF_WIDTH = 2e-3, 0.035, 10000.0
HIGHEST = 1e8
HEIGHTS = [0.2, 0.5, 1.5]
FREQUENCIES = [1e5, 1e6, 1e7, 3e7, 1e8]


@pytest.fixture
def solve(fixture):
    def solved(height, frequency, growth=0.0):
        section = (
            fixture.wire("go", 0.0, height, RADIUS),
            fixture.bar("return", -HALF_WIDTH, HALF_WIDTH, -THICKNESS, 0.0),
        )
        return fixture.solve(*section, frequency=frequency, highest_frequency=HIGHEST, growth=growth)

    return solved


@pytest.fixture
def shielding(fixture, solve):
    """|B_x| below the line over what it is without slab, ours and exact."""

    def ratios(height, frequency, depth, growth):
        found = fixture.flux_density(solve(height, frequency, growth), (0.0, -depth))[0, 0]
        exact, _ = field_behind_slab(
            0.0,
            depth * 1e-3,
            frequency=frequency,
            height=height * 1e-3,
            thickness=THICKNESS * 1e-3,
            conductivity=COPPER,
        )
        alone = 1 / (2 * math.pi * (height + depth) * 1e-3)
        return abs(found) / (4e-7 * math.pi * alone), abs(exact) / alone

    return ratios


@pytest.mark.parametrize("frequency", FREQUENCIES)
@pytest.mark.parametrize("height", HEIGHTS)
def test_loss_and_excess_inductance(fixture, solve, references, height, frequency):
    omega = 2 * math.pi * frequency
    wire = wire_internal_impedance(frequency, RADIUS * 1e-3, COPPER)
    exact = slab_excess_impedance(frequency, height * 1e-3, THICKNESS * 1e-3, COPPER)
    perfect = fixture.inductance(solve(height, math.inf))
    field = solve(height, frequency)
    what = f"h = {height:g} mm, {frequency:.0e} Hz"
    reason = "the reference is exact; a difference against the wire's own impedance and the perfect limit"
    references.compare(
        found=fixture.resistance(field) - wire.real,
        reference=exact.real,
        rtol=1e-2,
        source=SOURCE,
        item=f"R' of the slab, {what}",
        unit="ohm/m",
        reason=reason,
        mark=MARK,
    )
    references.compare(
        found=fixture.inductance(field) - wire.imag / omega * 1e9 - perfect,
        reference=exact.imag / omega * 1e9,
        rtol=1e-2,
        source=SOURCE,
        item=f"excess L', {what}",
        unit="nH/m",
        reason=reason,
        mark=MARK,
    )


@pytest.mark.parametrize("depth", [0.5, 1.0])
@pytest.mark.parametrize("frequency", FREQUENCIES)
@pytest.mark.parametrize("height", HEIGHTS)
def test_field_behind(shielding, references, height, frequency, depth):
    found, exact = shielding(height, frequency, depth, 0.25)
    references.compare(
        found=found,
        reference=exact,
        rtol=1e-2,
        source=SOURCE,
        item=f"field behind over field without slab, h = {height:g} mm, {depth:g} mm deep, {frequency:.0e} Hz",
        unit="1",
        reason="the reference is exact; mesh in the air grown by a quarter of the distance, 1.2 layers per skin depth",
        mark=MARK,
    )


@pytest.mark.parametrize("depth", [0.5, 1.0])
@pytest.mark.parametrize("height", HEIGHTS)
def test_field_behind_on_the_programs_own_mesh(shielding, references, height, depth):
    found, exact = shielding(height, 3e7, depth, 0.0)
    references.compare(
        found=found,
        reference=exact,
        rtol=4e-2,
        source=SOURCE,
        item=f"the same on the program's own mesh, h = {height:g} mm, {depth:g} mm deep, 3e+07 Hz",
        unit="1",
        reason="triangles in the air half as large as the distance to the copper: 1 to 3 %",
        mark=MARK,
    )
