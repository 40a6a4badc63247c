"""Centred stripline.

Source: S. B. Cohn, "Characteristic impedance of the shielded-strip transmission line", IRE Transactions on
Microwave Theory and Techniques 2 (July 1954) 52-57 (formula from memory, exact for zero thickness). The strip
is 1e-5 of its width thick; the planes reach six spacings beyond it, where the field has fallen by exp(-6 pi).
"""

import math

import pytest

from solver.formulas import stripline_inductance

SOURCE = "S. B. Cohn, IRE Transactions MTT-2 (July 1954) 52: centred stripline"
MARK = "from memory (exact for zero thickness)"
REASON = "the mesh is laid out for 0.1 % in inductance; a strip ten times as thick moves the result by 3e-4"


@pytest.fixture
def inductance(fixture):
    def found(width, spacing, thickness):
        far, rim = width / 2 + 6 * spacing, spacing / 2
        section = (
            fixture.bar("go", -width / 2, width / 2, -thickness / 2, thickness / 2),
            fixture.bar("return", -far, far, rim, 1.2 * rim, name="upper plane"),
            fixture.bar("return", -far, far, -1.2 * rim, -rim, name="lower plane"),
        )
        return fixture.inductance(fixture.solve(*section, frequency=math.inf))

    return found


@pytest.mark.parametrize(("width", "spacing"), [(0.2, 0.4), (1.0, 1.0), (2.0, 1.5)])
def test_stripline(inductance, references, width, spacing):
    references.compare(
        found=inductance(width, spacing, 1e-5 * width),
        reference=stripline_inductance(width * 1e-3, spacing * 1e-3) * 1e9,
        rtol=1e-3,
        source=SOURCE,
        item=f"L', strip {width:g} mm, planes {spacing:g} mm apart",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )


def test_ten_times_the_thickness_takes_less_than_half_of_the_tolerance(inductance):
    thin, thicker = inductance(2.0, 1.5, 2e-5), inductance(2.0, 1.5, 2e-4)
    assert 1e-4 < 1 - thicker / thin < 5e-4
