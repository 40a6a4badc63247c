"""Inductance of a ring of round wire: uniform density and direct current are two values.

Source: Lord Rayleigh and W. D. Niven (1881), as quoted by E. B. Rosa, F. W. Grover, NBS Bulletin 8 (1912) 1-237 (from
memory), for the uniform density; the density of direct current falls as 1/r. The numbers were computed independently
by numerical integration (1e-9), which validation/formulas/test_rayleigh_niven_1881.py repeats another way.

A solid ring gives the 1/r value. The uniform density is that of many thin turns in series: the wire is cut into
slices by planes parallel to the axis, each a loop of its own, and the slices carry currents in proportion to their
areas. The third value, the skin limit, is in test_round_belevitch_boersma_1983.py.
"""

import math

import numpy as np
import pytest

from geometries.quantities import MM
from geometries.section.outline import Polygon
from geometries.section.section import CurrentLoop, Region
from solver.formulas import ring_dc_resistance

SOURCE = "Lord Rayleigh and W. D. Niven (1881): ring of round wire"

# Radius and wire radius mm; inductance nH of uniform and of 1/r density.
RINGS = [
    (2.0, 0.1, 8.361321234, 8.354393659),
    (5.0, 0.25, 20.90330308, 20.88598415),
    (1.0, 0.1, 3.314909703, 3.303219911),
]
SLICES, GAP = 10, 1e-3


def slice_of_wire(radius, wire, number):
    """Slice between two verticals, a thousandth of the wire's radius narrower than its share."""
    low, high = (2 * (number + side) / SLICES - 1 for side in (0, 1))
    low, high = max(low + GAP / 2, -1 + 1e-6), min(high - GAP / 2, 1 - 1e-6)
    angles = np.linspace(math.acos(low), math.acos(high), 9)
    arc = [(radius + wire * math.cos(angle), wire * math.sin(angle)) for angle in angles]
    below = [(x, -y) for x, y in reversed(arc)]
    points = tuple((x * MM, y * MM) for x, y in arc + below)
    return Region(name=f"slice {number}", outline=Polygon(vertices=points), role="go", group=f"slice {number}")


@pytest.mark.parametrize(("radius", "wire", "reference"), [(*row[:2], row[3]) for row in RINGS])
def test_inductance_at_direct_current(turned, references, radius, wire, reference):
    field = turned.solve(turned.wire("go", radius, 0.0, wire), frequency=0, growth=0.3)
    references.compare(
        found=turned.inductance(field),
        reference=reference,
        rtol=2e-5,
        source=SOURCE,
        item=f"L at DC (density 1/r), R = {radius:g} mm, a = {wire:g} mm",
        unit="nH",
        reason="our mesh; the uniform density would be 80 to 350 times as far off",
        mark="computed independently (numerical integration, 1e-9)",
    )


@pytest.mark.parametrize(("radius", "wire", "reference"), [row[:3] for row in RINGS])
def test_inductance_of_many_turns_in_series(turned, references, radius, wire, reference):
    slices = [slice_of_wire(radius, wire, number) for number in range(SLICES)]
    loops = tuple(CurrentLoop(name=each.name, go_group=each.name, return_group="") for each in slices)
    matrix = turned.solve(*slices, frequency=0, loops=loops, growth=0.4).inductance
    areas = np.array([each.outline.shape.area for each in slices])
    share = areas / areas.sum()
    references.compare(
        found=share @ matrix @ share * 1e9,
        reference=reference,
        rtol=2e-4,
        source=SOURCE,
        item=f"L of uniform density, R = {radius:g} mm, a = {wire:g} mm",
        unit="nH",
        reason="ten slices with cuts of a thousandth of the wire's radius between them",
        mark="computed independently (numerical integration, 1e-9)",
    )


@pytest.mark.parametrize(("radius", "wire"), [row[:2] for row in RINGS])
def test_resistance_at_direct_current(turned, references, radius, wire):
    field = turned.solve(turned.wire("go", radius, 0.0, wire), frequency=0)
    references.compare(
        found=turned.resistance(field) * 1e3,
        reference=ring_dc_resistance(radius * MM, wire * MM, 5.8e7) * 1e3,
        rtol=1e-8,
        source=SOURCE,
        item=f"R at DC, R = {radius:g} mm, a = {wire:g} mm",
        unit="mohm",
        reason="the mesh has the circle's area; its outline enters in second order",
        mark="derived (exact)",
    )
