"""Wire over an infinite perfect plane with a slot along it.

No published values were at hand: the map w = arcsin(2z/S) is derived and exact; validation/formulas checks it. The
plane here reaches 200 mm to both sides and is 0.1 um thick, the wire has 10 um radius.
"""

import math

import pytest

from solver.formulas import slot_inductance_increase, slotted_plane_inductance

SOURCE = "Map of a plane with a slot, derived (problem of M. Leone, IEEE Transactions EMC 43 (2001) 667)"
MARK = "derived (exact for zero thickness)"
RADIUS, RISE, REACH = 0.01, 5e-5, 200.0


def _inductance(fixture, height, slot):
    wire = fixture.wire("go", 0.0, height, RADIUS)
    if slot == 0:
        section = (wire, fixture.bar("return", -REACH, REACH, -RISE, RISE))
    else:
        section = (
            wire,
            fixture.bar("return", -REACH, -slot / 2, -RISE, RISE, name="left half"),
            fixture.bar("return", slot / 2, REACH, -RISE, RISE, name="right half"),
        )
    return fixture.inductance(fixture.solve(*section, frequency=math.inf))


@pytest.mark.parametrize(
    ("height", "slot"), [(0.2, 0.1), (0.2, 0.5), (0.2, 2.0), (0.2, 10.0), (0.5, 0.1), (0.5, 1.0), (0.5, 10.0)]
)
def test_slot(fixture, references, height, slot):
    solid, slotted = _inductance(fixture, height, 0.0), _inductance(fixture, height, slot)
    what = f"h = {height:g} mm, slot {slot:g} mm"
    references.compare(
        found=slotted,
        reference=slotted_plane_inductance(RADIUS * 1e-3, height * 1e-3, slot * 1e-3) * 1e9,
        rtol=1e-3,
        source=SOURCE,
        item=f"L', {what}",
        unit="nH/m",
        reason="the reference is exact; the mesh is laid out for 0.1 % in inductance",
        mark=MARK,
    )
    references.compare(
        found=slotted - solid,
        reference=slot_inductance_increase(height * 1e-3, slot * 1e-3) * 1e9,
        rtol=1e-2,
        source=SOURCE,
        item=f"increase of L' over the solid plane, {what}",
        unit="nH/m",
        reason="a difference, at the least a thousandth of the two inductances it is taken from",
        mark=MARK,
    )
