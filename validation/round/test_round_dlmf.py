"""Mutual inductance of two coaxial rings.

Sources: J. C. Maxwell, *A Treatise on Electricity and Magnetism*, art. 701 (from memory); NIST Digital Library of
Mathematical Functions, section 19.34. Two wires of 0.01 mm radius at direct current, each a loop of its own; the
values stand for filaments.
"""

import pytest

from geometries.section.section import CurrentLoop

SOURCE = "NIST DLMF 19.34, J. C. Maxwell art. 701: mutual inductance of coaxial circles"
LOOPS = tuple(CurrentLoop(name=name, go_group=name, return_group="") for name in ("lower", "upper"))

# Computed independently from both forms: radii and distance mm, mutual inductance nH.
CIRCLES = [
    (2.0, 2.0, 0.2, 6.005752607),
    (2.0, 2.0, 1.0, 2.225221787),
    (2.0, 2.0, 3.0, 0.5055196155),
    (2.0, 1.0, 0.5, 0.9593293994),
    (100.0, 100.0, 100.0, 49.40784631),
]


@pytest.mark.parametrize(("first", "second", "distance", "reference"), CIRCLES)
def test_mutual_inductance(turned, references, first, second, distance, reference):
    pair = (
        turned.wire("go", first, 0.0, 0.01, name="lower", group="lower"),
        turned.wire("go", second, distance, 0.01, name="upper", group="upper"),
    )
    matrix = turned.solve(*pair, frequency=0, loops=LOOPS).inductance
    references.compare(
        found=matrix[0, 1] * 1e9,
        reference=reference,
        rtol=1e-3,
        source=SOURCE,
        item=f"M, radii {first:g} and {second:g} mm, {distance:g} mm apart",
        unit="nH",
        reason="filaments in the formula; our mesh in the air",
        mark="computed independently (both closed forms)",
    )
