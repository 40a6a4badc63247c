"""Broadband model of a coaxial line, 1 kHz to 1 GHz.

Source: S. A. Schelkunoff, "The electromagnetic theory of coaxial transmission lines and cylindrical shields",
Bell System Technical Journal 13 (1934) 532-579; the wire's formula checked against published text, the shell's,
eq. (75), from memory and checked numerically. It prints no table for this size: the values come from
solver.formulas, which validation/formulas checks. Copper 58 MS/m; radii 0.5, 1.75 and 2.0 mm.
"""

import math

import numpy as np
import pytest

from geometries.section.outline import Circle, Ring
from geometries.section.section import CrossSection, Region
from solver.formulas import coax_impedance
from solver.section.broadband import reduce_section
from solver.section.fields import assemble_section, solve_at_dc, solve_perfect_conductor
from solver.section.mesh import mesh_section

SOURCE = "S. A. Schelkunoff, Bell System Technical Journal 13 (1934) 532: coaxial line, broadband model"
COPPER = 5.8e7
RADII = (0.5e-3, 1.75e-3, 2e-3)
MARK = "from memory (exact formula, checked numerically)"
REASON = "the reference is exact; the mesh is laid out for 0.1 % in inductance and 0.5 % in resistance"


@pytest.fixture(scope="module")
def model():
    regions = (
        Region(name="go", outline=Circle(centre=(0.0, 0.0), radius=RADII[0]), role="go"),
        Region(
            name="shell",
            outline=Ring(centre=(0.0, 0.0), inner_radius=RADII[1], outer_radius=RADII[2]),
            role="return",
        ),
    )
    section = CrossSection(name="coaxial line", regions=regions)
    system = assemble_section(mesh_section(section, highest_frequency=1e9))
    return reduce_section(solve_at_dc(system), solve_perfect_conductor(system), lowest=1e3, highest=1e9).model


@pytest.mark.parametrize("frequency", [float(f) for f in np.geomspace(1e3, 1e9, 19)], ids="{:.1e} Hz".format)
def test_impedance(model, references, frequency):
    exact = coax_impedance(frequency, *RADII, COPPER)
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
