"""Field of a small loop.

Sources: the exact point dipole (C. A. Balanis, *Antenna Theory*, 3rd ed., 2005, sec. 5.2, from memory); H. W. Ott,
*Electromagnetic Compatibility Engineering*, 2009 (from memory), for 131.6e-16 f² A I / r and twice that with full
reflection; a power-supply application note that prints 4.4 uV/m = 12.9 dBuV/m for 1 cm², 1 mA, 100 MHz at 3 m. The
dipole is also checked against the field of a real loop, integrated along its wire.
"""

import math

import numpy as np
import pytest

from solver.formulas import (
    ETA_0,
    MU_0,
    SPEED_OF_LIGHT,
    small_loop_electric_field,
    small_loop_far_field,
    small_loop_magnetic_field,
)

DIPOLE = "Exact magnetic point dipole"
OTT = "H. W. Ott, Electromagnetic Compatibility Engineering, 2009"
NOTE = "An application note of a maker of converters"

# Area m², current A, frequency Hz, distance m; far dBuV/m, with near terms dBuV/m.
FIELDS = [
    (1e-4, 1e-3, 1e8, 3.0, 12.84836, 12.95685),
    (1e-5, 1e-2, 1e8, 3.0, 12.84836, 12.95685),
    (1e-5, 1e-2, 3e7, 3.0, -8.066794, -6.991105),
    (1e-5, 1e-2, 3e8, 10.0, 21.47563, 21.47673),
    (1e-5, 1e-2, 1e9, 3.0, 52.84836, 52.84945),
]


def decibel(field: float) -> float:
    return 20 * math.log10(field / 1e-6)


@pytest.mark.parametrize(("area", "current", "frequency", "distance", "far", "exact"), FIELDS)
def test_levels(
    references, area: float, current: float, frequency: float, distance: float, far: float, exact: float
) -> None:
    item = f"{area * 1e4:g} cm², {current * 1e3:g} mA, {frequency / 1e6:g} MHz, {distance:g} m"
    for name, function, reference in (
        ("far field", small_loop_far_field, far),
        ("near and far", small_loop_electric_field, exact),
    ):
        references.compare(
            found=decibel(function(area * current, frequency, distance)),
            reference=reference,
            rtol=1e-6,
            source=DIPOLE,
            item=f"{item}, {name}",
            unit="dBµV/m",
            reason="seven digits",
            mark="computed independently",
        )


def test_constant(references) -> None:
    references.compare(
        found=small_loop_far_field(1.0, 1.0, 1.0),
        reference=131.6e-16,
        rtol=1e-3,
        source=OTT,
        item="far field of 1 A m² at 1 Hz and 1 m",
        unit="V/m",
        reason="four digits; with 120 pi ohm cut to 131.6 where it is 131.7",
        mark="from memory",
    )


def test_application_note(references) -> None:
    references.compare(
        found=small_loop_far_field(1e-7, 1e8, 3.0) * 1e6,
        reference=4.4,
        rtol=0.05 / 4.4,
        source=NOTE,
        item="1 cm², 1 mA, 100 MHz, 3 m, free space",
        unit="µV/m",
        reason="two printed digits",
        mark="published as printed",
    )


def potential_of_circle(radius: float, frequency: float, distance: float) -> complex:
    """Retarded vector potential along the wire of a circle of 1 A, in its plane [Wb/m]."""
    k = 2 * math.pi * frequency / SPEED_OF_LIGHT
    angle = (np.arange(4000) + 0.5) * 2 * math.pi / 4000
    gap = np.sqrt(distance**2 + radius**2 - 2 * distance * radius * np.cos(angle))
    return complex((MU_0 * radius / (4 * math.pi) * np.cos(angle) * np.exp(-1j * k * gap) / gap).mean() * 2 * math.pi)


@pytest.mark.parametrize("frequency", [30e6, 100e6, 300e6])
@pytest.mark.parametrize("distance", [0.1, 1.0, 3.0, 10.0])
def test_electric_field_is_that_of_a_circle_of_wire(frequency: float, distance: float) -> None:
    # E = -j omega A along the circle; a circle of 2 mm differs from a point by (a/r)² and (ka)², 4e-4 and 2e-4.
    expected = 2 * math.pi * frequency * abs(potential_of_circle(2e-3, frequency, distance))
    found = small_loop_electric_field(math.pi * 2e-3**2, frequency, distance)
    assert found == pytest.approx(expected, rel=2e-3, abs=0)


@pytest.mark.parametrize("frequency", [30e6, 300e6])
def test_magnetic_field_is_the_curl_of_the_potential_of_a_circle(frequency: float) -> None:
    # In the plane H_theta = -(1/r) d(r A)/dr / mu_0; central difference over 0.2 % of r, error 1e-6 of its third order.
    distance, step = 1.0, 1e-3
    high, low = (
        (distance + sign * step) * potential_of_circle(2e-3, frequency, distance + sign * step) for sign in (1, -1)
    )
    expected = abs(high - low) / (2 * step) / distance / MU_0
    found = small_loop_magnetic_field(math.pi * 2e-3**2, frequency, distance, polar_angle=math.pi / 2)
    assert found == pytest.approx(expected, rel=1e-3, abs=0)


def test_far_away_both_fields_stand_in_the_ratio_of_free_space() -> None:
    electric = small_loop_electric_field(1e-7, 1e9, 100.0)
    magnetic = small_loop_magnetic_field(1e-7, 1e9, 100.0, polar_angle=math.pi / 2)
    assert electric / magnetic == pytest.approx(ETA_0, rel=1e-6, abs=0)


def test_near_the_loop_the_field_on_its_axis_is_that_of_the_static_dipole() -> None:
    # m/(2 pi r³); (kr)²/2 = 2e-6 is missing.
    found = small_loop_magnetic_field(1e-7, 1e6, 0.1, polar_angle=0.0)
    assert found == pytest.approx(1e-7 / (2 * math.pi * 1e-3), rel=5e-6, abs=0)
