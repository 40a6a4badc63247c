"""Microstrip without dielectric, w/h from 0.1 to 10, 35 um thick, against the fitted formula.

Source: E. Hammerstad, O. Jensen, "Accurate models for microstrip computer-aided design", IEEE MTT-S
International Microwave Symposium Digest (1980) 407-409, eqs (1) to (9) (from memory). The plane is the mirrored
strip: go and its image as the return, half of their inductance; perfect conductors.
"""

import math

import pytest

from solver.formulas import hammerstad_jensen_inductance

SOURCE = "E. Hammerstad, O. Jensen, IEEE MTT-S Digest (1980) 407: microstrip"
MARK = "from memory (fitted formula)"
REASON = (
    "eq. (1) is stated to 0.03 % without thickness; its thickness correction was found up to 0.6 % off an exact "
    "conformal map over 90 sections (test_section_nehari_1952.py), rounded up"
)
THICKNESS = 0.035
RATIOS = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0]


@pytest.mark.parametrize(("ratio", "height"), [(u, 1.0) for u in RATIOS] + [(u, 0.2) for u in RATIOS[2:]])
def test_microstrip(fixture, references, ratio, height):
    half, top = ratio * height / 2, height + THICKNESS
    strips = (fixture.bar("go", -half, half, height, top), fixture.bar("return", -half, half, -top, -height))
    references.compare(
        found=fixture.inductance(fixture.solve(*strips, frequency=math.inf)) / 2,
        reference=hammerstad_jensen_inductance(2e-3 * half, height * 1e-3, THICKNESS * 1e-3) * 1e9,
        rtol=8e-3,
        source=SOURCE,
        item=f"L', w/h = {ratio:g}, h = {height:g} mm",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )
