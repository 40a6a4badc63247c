"""Return current in a wide plane under a thin trace.

Source: C. L. Holloway, E. F. Kuester, "Net and partial inductance of a microstrip ground plane", IEEE Transactions
on Electromagnetic Compatibility 40 (1998) 33-46 (from memory; their numbers were not at hand): the density is
I h/(pi (h^2 + x^2)). Trace 0.1 mm x 35 um, its middle 1 mm over a plane 200 mm wide; 100 MHz, where the current
flows in the upper 7 um.
"""

import numpy as np
import pytest

from solver.formulas import infinite_plane_return_density
from solver.section.extraction import sheet_current

SOURCE = "C. L. Holloway, E. F. Kuester, IEEE Transactions EMC 40 (1998) 33: return current in a plane"
HEIGHT = 1.0


@pytest.mark.parametrize("x", [0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0])
def test_density_under_a_thin_trace(fixture, references, x):
    middle = HEIGHT - 0.0175
    section = (
        fixture.bar("go", -0.05, 0.05, middle, middle + 0.035),
        fixture.bar("return", -100.0, 100.0, -0.035, 0.0),
    )
    field = fixture.solve(*section, frequency=1e8, highest_frequency=1e8)
    density = -sheet_current(field, "return", np.array([x * 1e-3]))[0].real
    references.compare(
        found=density,
        reference=infinite_plane_return_density(x * 1e-3, HEIGHT * 1e-3),
        rtol=2e-2,
        source=SOURCE,
        item=f"K, x = {x:g} h",
        unit="A/m per A",
        reason="thin line and surface current in the formula, width 0.1 h and skin depth 0.007 h here: 0.5 %; our "
        "elements along the plane, half as long as the distance to the trace, another 1 %",
        mark="from memory (exact for a thin line over a perfect plane)",
    )
