"""Mutual inductance of a loop and a trace with its return, and L'C' as matrices.

Sources: two lines over a plane by images, (mu_0/4 pi) ln[1 + 4 h1 h2/(d² + (h1 - h2)²)], exact for round wires of
uniform current density (J. C. Maxwell, *A Treatise on Electricity and Magnetism*; from memory). Traces beside a loop:
computed independently with the conductors cut into filaments of uniform current, two digits stated; copper there has
1.72e-8 ohm m, all copper is 35 um thick, the plane is 40 mm wide. The loop: two 3 mm strips with 1 mm between them.
"""

import math

import numpy as np
import pytest

from solver.formulas import EPSILON_0, MU_0, filaments_over_plane_mutual

IMAGES = "Two wires over a plane, by images"
FILAMENTS = "Filament computation: trace beside a loop of 3 mm copper"
PICO_PER_MM = 1e-9
THICKNESS = 0.035


@pytest.mark.parametrize(("first", "second", "distance"), [(0.2, 0.2, 1.0), (0.2, 1.5, 2.0), (1.5, 1.5, 3.0)])
def test_wire_pairs_and_their_images(fixture, references, first, second, distance):
    section = fixture.section(
        fixture.wire("one", 0.0, first, 0.05),
        fixture.wire("image of one", 0.0, -first, 0.05),
        fixture.wire("two", distance, second, 0.05),
        fixture.wire("image of two", distance, -second, 0.05),
        loops=(("one", "image of one"), ("two", "image of two")),
    )
    references.compare(
        found=float(fixture.inductance(section, 0.0)[0, 1]) / 2 * 1e9,
        reference=filaments_over_plane_mutual(first * 1e-3, second * 1e-3, distance * 1e-3) * 1e9,
        rtol=1e-4,
        source=IMAGES,
        item=f"M', heights {first:g} and {second:g} mm, {distance:g} mm apart, half of the mirrored pair",
        unit="nH/m",
        reason="the reference is exact; the bounds are narrower",
        mark="from memory (exact)",
    )


def _beside_the_loop(fixture, height, left, bottom):
    return fixture.section(
        fixture.bar("go", -3.5, -0.5, 0.0, THICKNESS),
        fixture.bar("return", 0.5, 3.5, 0.0, THICKNESS),
        fixture.bar("plane", -20.0, 20.0, -height - THICKNESS, -height),
        fixture.bar("trace", left, left + 0.2, bottom, bottom + THICKNESS),
        loops=(("go", "return"), ("trace", "plane")),
    )


@pytest.mark.parametrize(
    ("height", "distance", "reference"),
    [
        (0.2, 1.0, 3.9),
        (0.2, 2.0, 1.4),
        (0.2, 3.0, 0.73),
        (0.2, 5.0, 0.28),
        (0.36, 2.0, 4.3),
        (1.53, 1.0, 77.0),
        (1.53, 2.0, 42.0),
        (1.53, 5.0, 11.0),
    ],
)
def test_trace_on_the_layer_of_the_loop(fixture, references, height, distance, reference):
    section = _beside_the_loop(fixture, height, 3.5 + distance, 0.0)
    references.compare(
        found=abs(float(fixture.inductance(section, 1e8, highest_frequency=1e8)[0, 1])) / PICO_PER_MM,
        reference=reference,
        rtol=0.1,
        source=FILAMENTS,
        item=f"M', trace 0.2 mm wide {distance:g} mm from the loop, plane {height:g} mm below, 100 MHz",
        unit="pH/mm",
        reason="two digits stated, mesh of the reference coarse at this distance: 10 % is asked for",
        mark="computed independently (filaments)",
    )


def test_below_the_plane_hardly_anything_is_left(fixture):
    section = _beside_the_loop(fixture, 0.2, 3.5, -0.2 - THICKNESS - 0.2 - THICKNESS)
    found = abs(float(fixture.inductance(section, 1e7, highest_frequency=1e8)[0, 1])) / PICO_PER_MM
    assert found < 1.0


def test_inductance_times_capacitance_in_air_is_that_of_space(fixture):
    """As matrices, L' C' = mu_0 epsilon_0 1: both are read off one potential, so that they agree to rounding."""
    section = fixture.section(
        fixture.bar("one", -2.0, -1.0, 0.0, THICKNESS),
        fixture.bar("two", 1.0, 1.2, 0.0, THICKNESS),
        fixture.wire("three", 0.0, 0.5, 0.1),
        fixture.bar("plane", -10.0, 10.0, -0.2 - THICKNESS, -0.2),
        loops=(("one", "plane"), ("two", "plane"), ("three", "plane")),
        slabs=(fixture.slab(4.4, -10.0, 10.0, -0.2, 0.0),),
    )
    matrix = fixture.capacitance(section, relative_permittivity=1.0)
    kept = [matrix.groups.index(name) for name in ("one", "two", "three")]
    product = fixture.inductance(section, math.inf) @ matrix.middle[np.ix_(kept, kept)] / (MU_0 * EPSILON_0)
    assert np.abs(product - np.eye(3)).max() < 1e-3
