"""Round loop over a copper plate: the depth of images corrected for a finite conductivity and thickness.

C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of Applied Physics 39
(1968) 2829-2838 (re-derived; values computed independently for a filament of radius 2 mm, 0.5 mm over 35 um of copper).
The depth of the images is that of a straight line current over the same plate.
"""

import pytest

from geometries.board.materials import COPPER
from geometries.layout.layout import MirrorPlane
from geometries.quantities import UM

SOURCE = "Dodd & Deeds 1968, loop of radius 2 mm, 0.5 mm over a plate of 35 µm copper"
PLANE = MirrorPlane(height=0.0, material=COPPER, thickness=35 * UM)

# Frequency, change of R in mohm and of L in nH, and what is allowed.
CHANGES = [(1e6, 1.551557, -2.138935, 1e-2, 5e-3), (1e7, 2.445001, -2.184324, 4e-2, 1e-2)]
MARK = "computed independently"
REASON = (
    "a ring 0.1 mm wide for the filament, whose own loss changes as the plane draws its current (a "
    "quarter at half the width), and images at the depth for a straight line"
)


@pytest.mark.parametrize(("frequency", "resistance", "inductance", "r_allowed", "l_allowed"), CHANGES)
def test_change_by_the_plate(board, references, frequency, resistance, inductance, r_allowed, l_allowed):
    ring = board.annulus(1.95, 2.05, height=0.5)
    alone = board.solve(ring, frequency=frequency)
    over = board.solve(ring, plane=PLANE, frequency=frequency)
    at = f"at {frequency / 1e6:g} MHz"
    references.compare(
        found=float(over.inductance[0, 0] - alone.inductance[0, 0]) * 1e9,
        reference=inductance,
        rtol=l_allowed,
        source=SOURCE,
        item=f"change of L {at}",
        unit="nH",
        reason=REASON,
        mark=MARK,
    )
    references.compare(
        found=float(over.resistance[0, 0] - alone.resistance[0, 0]) * 1e3,
        reference=resistance,
        rtol=r_allowed,
        source=SOURCE,
        item=f"change of R {at}",
        unit="mΩ",
        reason=REASON,
        mark=MARK,
    )


def test_below_the_corner_frequency_images_are_rough(board, references):
    ring = board.annulus(1.95, 2.05, height=0.5)
    alone, over = board.solve(ring, frequency=1e5), board.solve(ring, plane=PLANE, frequency=1e5)
    references.show(
        found=float(over.inductance[0, 0] - alone.inductance[0, 0]) * 1e9,
        reference=-1.086066,
        source=SOURCE,
        item="change of L at 0.1 MHz",
        unit="nH",
        reason="near the frequency at which the plate turns transparent an image only guides; a meshed plane holds",
        mark=MARK,
    )
    plate = board.solve(ring, board.plate(24, 24), frequency=1e5)
    references.compare(
        found=float(plate.inductance[0, 0] - alone.inductance[0, 0]) * 1e9,
        reference=-1.086066,
        rtol=2.5e-2,
        source=SOURCE,
        item="the same over a meshed plane 24 x 24 mm",
        unit="nH",
        reason="a thin sheet at the plate's face stands for the plate: half its thickness is 3.5 % of the height",
        mark=MARK,
    )
