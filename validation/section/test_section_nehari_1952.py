"""Strip of finite thickness over an infinite plane, perfect conductors.

Source of the method: Z. Nehari, *Conformal Mapping*, McGraw-Hill 1952, ch. V (from memory); the
Schwarz-Christoffel map of this section is derived, and no published table was at hand. The numbers were computed
independently from the map; a boundary-element solution agreed with three of them to 1e-6. The plane is the
mirrored strip: go and its image as the return at the distance 2h, half of their inductance, which is exact.
"""

import math

import pytest

SOURCE = "Z. Nehari, Conformal Mapping (1952), ch. V: thick strip over a plane"
MARK = "computed independently (exact map, eight digits)"
REASON = "the reference is exact; the mesh is laid out for 0.1 % in inductance, four corners each: 0.2 %"

# Computed independently: width mm, height of the lower face mm, thickness um, L' nH/m.
STRIPS = [
    (0.2, 0.1, 35, 268.73412),
    (0.2, 0.2, 35, 383.37084),
    (0.2, 0.36, 35, 490.88015),
    (0.2, 0.5, 35, 553.291),
    (0.2, 1, 35, 687.92818),
    (0.2, 1.5, 35, 767.7584),
    (0.5, 0.1, 35, 156.57954),
    (0.5, 0.2, 35, 247.30559),
    (0.5, 0.36, 35, 343.03206),
    (0.5, 0.5, 35, 401.89504),
    (0.5, 1, 35, 533.16737),
    (0.5, 1.5, 35, 612.30405),
    (1, 0.1, 35, 94.147915),
    (1, 0.2, 35, 159.68841),
    (1, 0.36, 35, 236.80329),
    (1, 0.5, 35, 288.01059),
    (1, 1, 35, 410.15338),
    (1, 1.5, 35, 487.05407),
    (2, 0.1, 35, 53.002233),
    (2, 0.2, 35, 95.176687),
    (2, 0.36, 35, 149.81719),
    (2, 0.5, 35, 189.0493),
    (2, 1, 35, 291.79056),
    (2, 1.5, 35, 362.13952),
    (5, 0.1, 35, 23.172153),
    (5, 0.2, 35, 43.787061),
    (5, 0.36, 35, 73.119534),
    (5, 0.5, 35, 95.991422),
    (5, 1, 35, 163.23281),
    (5, 1.5, 35, 215.60628),
    (0.2, 0.1, 18, 278.9315381),
    (1, 0.2, 18, 161.6400758),
    (5, 1.5, 18, 216.4046259),
    (0.2, 0.1, 70, 254.1765686),
    (1, 0.2, 70, 156.5795373),
    (5, 1.5, 70, 214.1900471),
]


@pytest.mark.parametrize(("width", "height", "thickness", "reference"), STRIPS)
def test_thick_strip(fixture, references, width, height, thickness, reference):
    half, top = width / 2, height + thickness * 1e-3
    strips = (fixture.bar("go", -half, half, height, top), fixture.bar("return", -half, half, -top, -height))
    references.compare(
        found=fixture.inductance(fixture.solve(*strips, frequency=math.inf)) / 2,
        reference=reference,
        rtol=2e-3,
        source=SOURCE,
        item=f"L', w = {width:g} mm, h = {height:g} mm, t = {thickness:g} um",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )
