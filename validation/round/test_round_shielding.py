"""What the program states as shielding, from the scenario file on: corner, inductance, field and moment.

Sources: C. V. Dodd, W. E. Deeds, Journal of Applied Physics 39 (1968) 2829-2838, for the inductance over a plate and
the field behind it; H. Lamb, *Hydrodynamics* (1932), art. 108 (from memory), for the moment over a disc; J. C. Maxwell,
*Treatise*, art. 654-668 (from memory), for the corner of a thin sheet. The integrals are those of solver.formulas.

A disc is transparent below the frequency at which it takes off half of the inductance that it takes off at most. For a
wide disc that frequency follows from the exact integral; the rule 1/(pi mu_0 sigma t D) with D = 2h gives its order.
"""

import math
from functools import lru_cache

import pytest
from scipy.optimize import brentq

from geometries.files.reading import parse_scenario
from solver.formulas import (
    circle_axis_field,
    circle_field_behind_slab,
    circle_slab_impedance,
    coaxial_circles_mutual,
    disc_shielding,
    sheet_corner_frequency,
)
from solver.section.axisymmetric import solve_axisymmetric

EXACT = "C. V. Dodd, W. E. Deeds (1968): shielding by a wide disc, as stated by the program"
COPPER = 5.8e7
# Height over the disc's upper face and its thickness mm.
PLATES = [(0.1, 0.035), (0.2, 0.035), (0.2, 0.018), (1.5, 0.07)]
SCENARIO = """
title = "thin ring over a disc"
stackup = "bare"

[analysis]
frequencies = ["1 MHz", "10 MHz", "REPORT"]
report_frequency = "REPORT"
heights_above = ["3 mm"]
heights_below = ["3 mm"]

[stackups.bare]
layers = [
  { copper = "L1", thickness = "1 um" },
  { dielectric = "air", thickness = "DISTANCE um", relative_permittivity = 1.0 },
  { copper = "L2", thickness = "THICKNESS um" },
]

[loop]
kind = "ring"
layer = "L1"
radius = "RADIUS mm"
wire = "20 um"
height = "50 um"

[[variant]]
name = "over the disc"
planes.L2 = { tie = "none", radius = "EDGE mm" }
"""


@lru_cache(maxsize=16)
def result(radius, height, thickness, edge, report):
    """Of a ring whose middle lies `height` above the disc's upper face; all in mm."""
    text = SCENARIO
    for name, value in (
        ("DISTANCE", f"{height * 1e3 - 51:g}"),
        ("THICKNESS", f"{thickness * 1e3:g}"),
        ("RADIUS", f"{radius:g}"),
        ("EDGE", f"{edge:g}"),
        ("REPORT", report),
    ):
        text = text.replace(name, value)
    scenario = parse_scenario(text)
    variant = scenario.variants[0]
    return solve_axisymmetric(variant.axisymmetric_loop, scenario.analysis, variant.surfaces, 5e-3)


def exact_corner(height, thickness):
    """Frequency at which a plate takes off half of the inductance that a perfect one takes off, R = 2 mm."""
    half = coaxial_circles_mutual(2e-3, 2e-3, 2e-3 * height) / 2

    def missing(log_frequency):
        frequency = math.exp(log_frequency)
        change = circle_slab_impedance(frequency, 2e-3, height * 1e-3, thickness * 1e-3, COPPER)
        return change.imag / (2 * math.pi * frequency) + half

    return math.exp(brentq(missing, math.log(1e3), math.log(1e8)))


@pytest.mark.parametrize(("height", "thickness"), PLATES)
def test_transparency_corner(references, height, thickness):
    references.compare(
        found=result(2.0, height, thickness, 40.0, "100 MHz").corner / 1e3,
        reference=exact_corner(height, thickness) / 1e3,
        rtol=1e-2,
        source=EXACT,
        item=f"shielding corner frequency, R = 2 mm, h = {height:g} mm, t = {thickness * 1e3:g} um",
        unit="kHz",
        reason="disc of 40 mm radius for a plate, wire of 0.01 mm radius",
        mark="derived (exact integral)",
    )


@pytest.mark.parametrize(("height", "thickness"), PLATES)
def test_rule_for_a_thin_sheet_gives_the_order_of_the_corner(height, thickness):
    # Near the plate the loop's size counts, far from it the height: 0.27 times the rule at h = R/20, 2.4 at h = 2.5 R.
    rule = sheet_corner_frequency(2e-3 * height, 1e-6, COPPER) * 1e-3 / thickness
    assert 0.25 < exact_corner(height, thickness) / rule < 2.5


@pytest.mark.parametrize(("height", "thickness"), PLATES)
def test_inductance_against_the_ring_alone(references, height, thickness):
    found = result(2.0, height, thickness, 40.0, "100 MHz")
    change = circle_slab_impedance(1e8, 2e-3, height * 1e-3, thickness * 1e-3, COPPER).imag / (2e8 * math.pi)
    alone = float(found.alone.inductance[found.report_index])
    references.compare(
        found=10 ** (found.inductance_db[found.report_index] / 20),
        reference=1 + change / alone,
        rtol=5e-3,
        source=EXACT,
        item=f"L/L0 at 100 MHz, R = 2 mm, h = {height:g} mm, t = {thickness * 1e3:g} um",
        unit="1",
        reason="disc of 40 mm radius for a plate, wire of 0.01 mm radius",
        mark="derived (exact integral)",
    )


@pytest.mark.parametrize("height", [0.2, 1.5])
def test_field_on_the_axis_behind_the_disc(references, height):
    found = result(2.0, height, 0.035, 40.0, "10 MHz").reading
    index = int((found.axis < -(height + 1.2) * 1e-3).nonzero()[0][-1])
    # Heights on the axis count from the underside of the first copper, 51 um below the wire's middle.
    depth = -float(found.axis[index]) + 51e-6 - height * 1e-3
    exact = circle_field_behind_slab(
        depth, frequency=1e7, radius=2e-3, height=height * 1e-3, thickness=35e-6, conductivity=COPPER
    )
    alone = circle_axis_field(2e-3, height * 1e-3 + depth)
    references.compare(
        found=abs(found.axis_field[index]) / alone,
        reference=abs(exact) / alone,
        rtol=1e-2,
        source=EXACT,
        item=f"H/H0 on the axis at 10 MHz, R = 2 mm, h = {height:g} mm, t = 35 um, {depth * 1e3:.2f} mm deep",
        unit="1",
        reason="the program's own mesh at the axis",
        mark="derived (exact integral)",
    )


@pytest.mark.parametrize(("height", "edge"), [(2.0, 2.0), (2.0, 10.0), (4.0, 20.0)])
def test_moment_against_the_ring_alone(references, height, edge):
    found = result(0.2, height, 0.035, edge, "300 MHz")
    references.compare(
        found=10 ** (found.moment_db[found.report_index] / 20),
        reference=disc_shielding(height * 1e-3, edge * 1e-3),
        rtol=1e-2,
        source="H. Lamb, Hydrodynamics (1932), art. 108: moment over a disc, as stated by the program",
        item=f"m/m0 at 300 MHz, h = {height:g} mm, b = {edge:g} mm",
        unit="1",
        reason="small loop and perfect disc in the formula; R = 0.2 mm, a skin depth of 4 um and 35 um thickness here",
        mark="derived (by reciprocity, exact)",
    )
