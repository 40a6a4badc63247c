"""Shielding by a perfect strip of finite width.

Source of the field: H. Lamb, *Hydrodynamics*, 6th ed., Cambridge 1932, art. 71, flow across a flat plate
(from memory [M]). The shielding ratio follows by reciprocity [D]; it is checked against the far field of a
pair of line currents over the floating strip, which comes from another map.
"""

import math

import pytest

from solver.formulas import finite_plane_flux_density, strip_shielding


def moment_ratio(height: float, half_width: float, offset: float) -> float:
    """Far field below a narrow flat pair over the floating strip, relative to that without strip."""
    gap, far = 1e-4 * height, 1e4 * half_width
    shielded = unshielded = 0.0
    for sign in (1.0, -1.0):
        place = offset + 0.5 * sign * gap
        field = finite_plane_flux_density(
            0.0, -far, height=height, width=2.0 * half_width, offset=place, plane_current=0.0
        )
        shielded += sign * field[1]
        unshielded += sign * -2e-7 * place / (place**2 + (far + height) ** 2)
    return shielded / unshielded


@pytest.mark.parametrize(
    ("height", "half_width", "offset"),
    [(0.2, 5.0, 0.0), (1.5, 5.0, 0.0), (0.5, 5.0, 3.0), (0.5, 5.0, 4.9), (0.5, 5.0, 7.0), (10.0, 1.0, 0.0)],
)
def test_ratio_is_that_of_the_far_fields(height: float, half_width: float, offset: float) -> None:
    # The far field is a difference of nearly equal numbers: (far/gap) x 1e-16 leaves about six digits; the
    # distance of 1e4 half widths costs 1e-4 of the ratio where the next multipole is as large as the dipole.
    expected = moment_ratio(height, half_width, offset)
    assert strip_shielding(height, half_width, offset) == pytest.approx(expected, rel=2e-3, abs=0.0)


@pytest.mark.parametrize("ratio", [0.01, 0.1, 1.0, 10.0])
def test_centred_strip(ratio: float) -> None:
    # h/sqrt(h^2 + b^2): the sine of the angle under which half of the strip is seen.
    assert strip_shielding(ratio, 1.0) == pytest.approx(math.sin(math.atan(ratio)), rel=1e-13, abs=0.0)


def test_ideal_field_of_a_flat_plate_crowds_at_its_edge() -> None:
    # Level with the plate at twice its half width the normal flow is 2/sqrt(3) of the undisturbed one.
    assert strip_shielding(1e-9, 1.0, 2.0) == pytest.approx(2.0 / math.sqrt(3.0), rel=1e-12, abs=0.0)
