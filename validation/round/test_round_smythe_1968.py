"""Field of a ring, on its axis and on a line across it, and of a Helmholtz pair.

Source: W. R. Smythe, *Static and Dynamic Electricity*, 3rd ed., McGraw-Hill 1968, section 7.10 (from memory). Wires of
0.01 mm radius at direct current stand for filaments; the field on the axis as in the table that
validation/formulas/test_smythe_1968.py checks the formula against.
"""

import pytest

from solver.formulas import MU_0, circle_field, helmholtz_pair_axis_field

SOURCE = "W. R. Smythe (1968), section 7.10: field of circular currents"
MARK = "from memory (formula)"
FINE = {"growth": 0.15, "axis_fraction": 0.03}

# Computed independently, R = 2 mm: distance mm, flux density uT per ampere.
AXIS = [(0.0, 314.1592654), (0.5, 286.8510637), (1.0, 224.7940714), (2.0, 111.0720735), (5.0, 16.09321683)]
ACROSS = [(0.5, 1.0), (1.5, 1.0), (3.5, 1.0), (4.0, -1.0), (8.0, -1.0)]


@pytest.fixture
def ring(turned):
    return turned.solve(turned.wire("go", 2.0, 0.0, 0.01), frequency=0, **FINE)


@pytest.mark.parametrize(("height", "reference"), AXIS)
def test_field_on_the_axis(turned, ring, references, height, reference):
    references.compare(
        found=turned.flux_density(ring, (0.0, height))[0, 1].real * 1e6,
        reference=reference,
        rtol=2e-3 if height <= 2 else 1e-2,
        source=SOURCE,
        item=f"B on the axis, R = 2 mm, z = {height:g} mm",
        unit="uT/A",
        reason="our mesh at the axis" + (", which is no finer than elsewhere beyond one radius" if height > 2 else ""),
        mark=MARK,
    )


@pytest.mark.parametrize("component", [0, 1])
@pytest.mark.parametrize(("x", "y"), ACROSS)
def test_field_off_the_axis(turned, ring, references, x, y, component):
    references.compare(
        found=turned.flux_density(ring, (x, y))[0, component].real * 1e6,
        reference=MU_0 * circle_field(2e-3, x * 1e-3, y * 1e-3)[component] * 1e6,
        rtol=1e-2,
        source=SOURCE,
        item=f"B_{'rz'[component]}, R = 2 mm, r = {x:g} mm, z = {y:g} mm",
        unit="uT/A",
        reason="our mesh in the air",
        mark=MARK,
    )


@pytest.fixture
def pair(turned):
    coils = [turned.wire("go", 10.0, side * 5.0, 0.05, name=f"coil {side:+g}") for side in (-1.0, 1.0)]
    return turned.solve(*coils, frequency=0, **FINE)


@pytest.mark.parametrize("position", [0.0, 2.5, 5.0, 10.0])
def test_helmholtz_pair(turned, pair, references, position):
    # One ampere in both together.
    references.compare(
        found=2 * turned.flux_density(pair, (0.0, position))[0, 1].real * 1e6,
        reference=MU_0 * helmholtz_pair_axis_field(10e-3, position * 1e-3) * 1e6,
        rtol=2e-3,
        source=SOURCE,
        item=f"B of a Helmholtz pair, R = 10 mm, z = {position:g} mm from the middle",
        unit="uT/A",
        reason="our mesh at the axis",
        mark=MARK,
    )


@pytest.mark.parametrize("position", [1.0, 2.5, 5.0])
def test_uniformity_of_a_helmholtz_pair(turned, pair, references, position):
    middle, aside = turned.flux_density(pair, (0.0, 0.0), (0.0, position))[:, 1].real
    references.compare(
        found=aside / middle,
        reference=helmholtz_pair_axis_field(10e-3, position * 1e-3) / helmholtz_pair_axis_field(10e-3, 0.0),
        rtol=1e-3,
        source=SOURCE,
        item=f"uniformity of a Helmholtz pair, B(z)/B(0), R = 10 mm, z = {position:g} mm",
        unit="1",
        reason="our mesh at the axis",
        mark=MARK,
    )
