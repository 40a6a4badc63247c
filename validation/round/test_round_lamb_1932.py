"""Moment of a small ring over a disc of finite radius.

Source of the field: H. Lamb, *Hydrodynamics*, 6th ed., Cambridge 1932, art. 108 (from memory), flow across a circular
disc; the ratio m/m0 = 1 - (2/pi)[arccot(h/b) - (h/b)/(1 + (h/b)^2)] follows by reciprocity and is exact for a small
loop over a perfect disc without thickness. The ring has 0.2 mm radius and lies 2 mm high or more, so that its size
enters with (R/h)^2 = 1 % times a factor that falls with h/b; 1 GHz; the disc is 10 um of copper, 5 skin depths. Its
moment is compared with that of the same ring alone. The long strip's h/sqrt(h^2 + b^2) is in
validation/section/test_section_lamb_1932.py.
"""

import pytest

from solver.formulas import disc_shielding
from solver.section.extraction import axial_moment

SOURCE = "H. Lamb, Hydrodynamics (1932), art. 108: moment over a disc"
FREQUENCY = 1e9


@pytest.fixture
def moment(turned):
    def found(height, *discs):
        ring = turned.wire("go", 0.2, height, 0.01)
        return axial_moment(turned.solve(ring, *discs, frequency=FREQUENCY, highest_frequency=FREQUENCY))

    return found


@pytest.mark.parametrize(
    ("height", "edge"), [(2.0, 1.0), (2.0, 2.0), (2.0, 5.0), (2.0, 10.0), (2.0, 40.0), (4.0, 20.0)]
)
def test_moment_ratio(turned, moment, references, height, edge):
    disc = turned.bar("floating", 0.0, edge, -0.01, 0.0)
    references.compare(
        found=abs(moment(height, disc) / moment(height)),
        reference=disc_shielding(height * 1e-3, edge * 1e-3),
        rtol=1e-2,
        source=SOURCE,
        item=f"m/m0, h = {height:g} mm, b = {edge:g} mm",
        unit="1",
        reason="small loop and perfect disc in the formula; R = 0.2 mm and a skin depth of 2 um here",
        mark="derived (by reciprocity, exact)",
    )
