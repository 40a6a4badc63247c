"""Broadband model of two round wires with skin and proximity effect, 1 kHz to 1 GHz.

Source: J. R. Carson, "Wave propagation over parallel wires: the proximity effect", Philosophical Magazine 41
(1921) 607-633 (theory from memory; the paper's own numbers were not at hand). The reference is the multipole
series derived from it, solver.formulas.two_wires_impedance, whose table validation/formulas checks. Copper
58 MS/m, radius 0.5 mm, 1.5 mm between the axes.
"""

import math

import numpy as np
import pytest

from geometries.section.outline import Circle
from geometries.section.section import CrossSection, Region
from solver.formulas import two_wires_impedance
from solver.section.broadband import reduce_section
from solver.section.fields import assemble_section, solve_at_dc, solve_perfect_conductor
from solver.section.mesh import mesh_section

SOURCE = "J. R. Carson, Philosophical Magazine 41 (1921) 607: two round wires, broadband model"
COPPER = 5.8e7
RADIUS = 0.5e-3
SPACING = 1.5e-3
MARK = "derived (multipole series of 40 harmonics, ten digits)"
REASON = "the reference is exact to ten digits; the mesh is laid out for 0.1 % in inductance and 0.5 % in resistance"


@pytest.fixture(scope="module")
def model():
    regions = (
        Region(name="go", outline=Circle(centre=(0.0, 0.0), radius=RADIUS), role="go"),
        Region(name="return", outline=Circle(centre=(SPACING, 0.0), radius=RADIUS), role="return"),
    )
    section = CrossSection(name="two wires", regions=regions)
    system = assemble_section(mesh_section(section, highest_frequency=1e9))
    return reduce_section(solve_at_dc(system), solve_perfect_conductor(system), lowest=1e3, highest=1e9).model


@pytest.mark.parametrize("frequency", [float(f) for f in np.geomspace(1e3, 1e9, 19)], ids="{:.1e} Hz".format)
def test_impedance(model, references, frequency):
    exact = two_wires_impedance(frequency, RADIUS, SPACING, COPPER)
    found = complex(model.impedance(frequency)[0, 0])
    omega = 2 * math.pi * frequency
    references.compare(
        found=found.imag / omega * 1e9,
        reference=exact.imag / omega * 1e9,
        rtol=1e-3,
        source=SOURCE,
        item=f"L', {frequency:.2e} Hz",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )
    references.compare(
        found=found.real,
        reference=exact.real,
        rtol=5e-3,
        source=SOURCE,
        item=f"R', {frequency:.2e} Hz",
        unit="ohm/m",
        reason=REASON,
        mark=MARK,
    )
