"""Wire over a perfect plane of finite width: loop inductance, net inductance of the plane, field.

Source of the problem: M. Leone, "Design expressions for the trace-to-edge common-mode inductance of a printed
circuit board", IEEE Transactions on Electromagnetic Compatibility 43 (2001) 667-671 (title from memory; its figures
were not at hand). The values come from the exact map, derived, in solver.formulas, which validation/formulas
checks. Wire of 10 um radius; the plane is 0.1 um thick about y = 0. Where the plane floats, the current
returns in a tube of 2 m radius, whose field inside is zero.
"""

import math

import numpy as np
import pytest

from solver.formulas import finite_plane_flux_density, finite_plane_loop_inductance, net_plane_inductance
from solver.section.extraction import plane_net_inductance

SOURCE = "M. Leone, IEEE Transactions EMC 43 (2001) 667: wire over a plane of finite width"
MARK = "derived (exact for zero thickness)"
RADIUS = 0.01
RISE = 5e-5
REASON = "thin wire without thickness in the formula; (r/2h)^2 and the plane's thickness take up to 0.2 %"

# Height, plane width, offset in mm.
LINES = [
    (0.2, 5.0, 0.0),
    (0.2, 20.0, 0.0),
    (0.2, 100.0, 0.0),
    (0.5, 10.0, 0.0),
    (0.5, 50.0, 0.0),
    (1.5, 5.0, 0.0),
    (1.5, 20.0, 0.0),
    (0.5, 10.0, 2.0),
    (0.5, 10.0, 4.0),
    (0.5, 10.0, 4.5),
    (0.5, 10.0, 4.9),
    (0.5, 10.0, 5.0),
]
POINTS = [(0.0, -0.5), (0.0, -1.0), (0.0, -2.0), (6.0, 0.0), (8.0, 0.5)]


def _plane(fixture, role, width):
    return fixture.bar(role, -width / 2, width / 2, -RISE, RISE, name="plane")


@pytest.mark.parametrize(("height", "width", "offset"), LINES)
def test_inductances(fixture, references, height, width, offset):
    section = (fixture.wire("go", offset, height, RADIUS), _plane(fixture, "return", width))
    field = fixture.solve(*section, frequency=math.inf)
    what = f"h = {height:g} mm, W = {width:g} mm, x0 = {offset:g} mm"
    references.compare(
        found=fixture.inductance(field),
        reference=finite_plane_loop_inductance(RADIUS * 1e-3, height * 1e-3, width * 1e-3, offset * 1e-3) * 1e9,
        rtol=1e-2,
        source=SOURCE,
        item=f"loop L', {what}",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )
    # The plane carries the return, so A on it is opposite to the loop current.
    references.compare(
        found=plane_net_inductance(field, "plane") * 1e9,
        reference=net_plane_inductance(height * 1e-3, width * 1e-3, offset * 1e-3) * 1e9,
        rtol=1e-2,
        source=SOURCE,
        item=f"net plane L', {what}",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )


@pytest.mark.parametrize(("role", "plane_current"), [("return", -1.0), ("floating", 0.0)])
@pytest.mark.parametrize("point", POINTS)
def test_field_points(fixture, references, point, role, plane_current):
    section = [fixture.wire("go", 0.0, 0.5, RADIUS), _plane(fixture, role, 10.0)]
    if role == "floating":
        section.append(fixture.shell(2000.0, 2040.0))
    found = fixture.flux_density(fixture.solve(*section, frequency=math.inf), point)[0].real
    x, y = point[0] * 1e-3, point[1] * 1e-3
    exact = np.array(finite_plane_flux_density(x, y, height=0.5e-3, width=10e-3, plane_current=plane_current))
    references.compare(
        found=np.hypot(*found) * 1e6,
        reference=np.hypot(*exact) * 1e6,
        rtol=1e-2,
        source=SOURCE,
        item=f"magnitude of B at x = {point[0]:g}, y = {point[1]:g} mm, {role} plane, h = 0.5 mm, W = 10 mm",
        unit="uT/A",
        reason="the reference is exact; triangles in the air are up to half as large as the distance to the wire",
        mark=MARK,
    )
    assert found == pytest.approx(exact, abs=1e-2 * np.hypot(*exact))  # each component, so the direction too
