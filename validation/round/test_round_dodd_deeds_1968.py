"""Ring over a conducting plate of finite thickness: inductance, loss, and the field that gets through.

Source: C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of Applied Physics
39 (1968) 2829-2838 (re-derived); C. C. Cheng, C. V. Dodd, W. E. Deeds, International Journal of Nondestructive Testing
3 (1971) 109 for several plates (from memory). The integrals are those of solver.formulas, which
validation/formulas/test_dodd_deeds_1968.py holds against a table; two plates and the flat coil were computed
independently. Copper 58 MS/m.

The integrals stand for a filament. Our wire has 0.01 mm radius and is of a poor conductor (1000 S/m), so that its
density stays that of direct current and its own loss does not change; the plate's loss is read off the plate. A copper
wire of that size at 0.2 mm has a loss of its own that the plate raises: the total change of R is then 0.22 % above the
integral at 30 MHz, 0.94 % at 100 MHz and 1.5 % at 300 MHz, and 0.08 % at 100 MHz for half the radius, of which the
plate itself has 0.03 % and 0.001 %. That is the wire's size, not an error of either side.

The plate is a disc of 120 mm radius, round whose edge 2e-9 of the field passes at most (at 40 mm it would be 5e-7, as
much as gets through 35 um at 300 MHz).
"""

import math

import pytest

from geometries.board.materials import Conductor
from solver.formulas import MU_0, circle_axis_field, circle_field_behind_slab, circle_slab_impedance

SOURCE = "C. V. Dodd, W. E. Deeds (1968): loop over a plate"
MARK = "derived (exact integral)"
RESISTIVE = Conductor(name="resistive", conductivity=1e3)
COPPER, HIGHEST = 5.8e7, 3e8
FINE = {"growth": 0.25, "axis_fraction": 0.03, "layers_per_skin_depth": 2.4, "layer_growth": 0.3}
FREQUENCIES = (1e5, 1e6, 1e7, 1e8, 3e8)
PLATES = [(0.035, 0.1), (0.035, 0.2), (0.035, 0.5), (0.035, 1.5), (0.018, 0.2)]

# Two plates of 35 um, 1 mm between them, R = 2 mm, h = 0.2 mm: frequency Hz, change of R mohm and of L nH, |H/H0| on
# the axis 1.2 and 2 mm below the upper face. Computed independently.
TWO_PLATES = [
    (1e5, 1.013064578, -1.828243829, 0.490217998, 0.4508782692),
    (1e6, 4.024565502, -3.985078007, 0.008265485548, 0.0115781883),
    (3e6, 4.743871037, -4.147649185, 0.0007963346698, 0.001244224393),
    (1e7, 6.946541347, -4.189009983, 5.355544122e-05, 8.537064023e-05),
]
# Flat coil 1.9 to 2.1 mm x 35 um of uniform density, 0.2 mm over 35 um: frequency Hz, change of R mohm and of L nH.
FLAT_COIL = [
    (1e5, 1.049880645, -1.656094779),
    (1e6, 3.66381679, -3.796959874),
    (1e7, 6.167041646, -3.961734651),
    (1e8, 21.71935086, -4.031512201),
    (3e8, 37.8696891, -4.046349885),
]


@pytest.fixture
def solve(turned):
    def solved(frequency, ring, *plates):
        discs = [turned.bar("floating", 0.0, 120.0, low, high, name=f"plate {low:g}") for low, high in plates]
        return turned.solve(ring, *discs, frequency=frequency, highest_frequency=HIGHEST, **FINE)

    return solved


@pytest.fixture
def thin_ring(turned):
    def drawn(height):
        return turned.wire("go", 2.0, height, 0.01, material=RESISTIVE)

    return drawn


@pytest.fixture
def change(turned, solve):
    """Change of R [mohm] and of L [nH] by the plates."""

    def found(frequency, ring, *plates):
        field = solve(frequency, ring, *plates)
        loss = sum(turned.loss_resistance(field, f"plate {low:g}") for low, _ in plates)
        return loss * 1e3, turned.inductance(field) - turned.inductance(solve(frequency, ring))

    return found


@pytest.mark.parametrize("frequency", FREQUENCIES)
@pytest.mark.parametrize(("thickness", "height"), PLATES)
def test_change_of_the_impedance(change, thin_ring, references, thickness, height, frequency):
    exact = circle_slab_impedance(frequency, 2e-3, height * 1e-3, thickness * 1e-3, COPPER)
    resistance, inductance = change(frequency, thin_ring(height), (-thickness, 0.0))
    where = f"R = 2 mm, h = {height:g} mm, t = {thickness * 1e3:g} um, {frequency:.0e} Hz"
    references.compare(
        found=inductance,
        reference=exact.imag / (2 * math.pi * frequency) * 1e9,
        rtol=5e-3,
        source=SOURCE,
        item=f"change of L, {where}",
        unit="nH",
        reason="our mesh; wire of 0.01 mm radius for a filament",
        mark=MARK,
    )
    references.compare(
        found=resistance,
        reference=exact.real * 1e3,
        rtol=1e-2,
        source=SOURCE,
        item=f"change of R, {where}",
        unit="mohm",
        reason="our mesh; wire of 0.01 mm radius for a filament",
        mark=MARK,
    )


@pytest.mark.parametrize("depth", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("frequency", FREQUENCIES)
@pytest.mark.parametrize(("thickness", "height"), [(0.035, 0.2), (0.035, 1.5), (0.018, 0.2)])
def test_field_through_the_plate(turned, solve, thin_ring, references, thickness, height, frequency, depth):
    exact = circle_field_behind_slab(
        depth * 1e-3,
        frequency=frequency,
        radius=2e-3,
        height=height * 1e-3,
        thickness=thickness * 1e-3,
        conductivity=COPPER,
    )
    field = solve(frequency, thin_ring(height), (-thickness, 0.0))
    alone = circle_axis_field(2e-3, (height + depth) * 1e-3)
    references.compare(
        found=abs(turned.flux_density(field, (0.0, -depth))[0, 1]) / MU_0 / alone,
        reference=abs(exact) / alone,
        rtol=1e-2,
        source=SOURCE,
        item=f"|H/H0| on the axis {depth:g} mm deep, h = {height:g} mm, t = {thickness * 1e3:g} um, {frequency:.0e} Hz",
        unit="1",
        reason="our mesh at the axis",
        mark=MARK,
    )


@pytest.mark.parametrize(("frequency", "resistance", "inductance"), [row[:3] for row in TWO_PLATES])
def test_two_plates(change, thin_ring, references, frequency, resistance, inductance):
    found = change(frequency, thin_ring(0.2), (-0.035, 0.0), (-1.07, -1.035))
    for value, reference, quantity, unit, rtol in (
        (found[1], inductance, "L", "nH", 5e-3),
        (found[0], resistance, "R", "mohm", 1e-2),
    ):
        references.compare(
            found=value,
            reference=reference,
            rtol=rtol,
            source=SOURCE,
            item=f"change of {quantity} by two plates, {frequency:.0e} Hz",
            unit=unit,
            reason="our mesh; wire of 0.01 mm radius for a filament",
            mark="computed independently (transfer matrices)",
        )


@pytest.mark.parametrize(
    ("frequency", "depth", "reference"),
    [(row[0], depth, ratio) for row in TWO_PLATES for depth, ratio in zip((1.2, 2.0), row[3:], strict=True)],
)
def test_field_through_two_plates(turned, solve, thin_ring, references, frequency, depth, reference):
    field = solve(frequency, thin_ring(0.2), (-0.035, 0.0), (-1.07, -1.035))
    alone = circle_axis_field(2e-3, (0.2 + depth) * 1e-3)
    references.compare(
        found=abs(turned.flux_density(field, (0.0, -depth))[0, 1]) / MU_0 / alone,
        reference=reference,
        rtol=1e-2,
        source=SOURCE,
        item=f"|H/H0| on the axis behind two plates, {depth:g} mm deep, {frequency:.0e} Hz",
        unit="1",
        reason="our mesh at the axis",
        mark="computed independently (transfer matrices)",
    )


@pytest.mark.parametrize(("frequency", "resistance", "inductance"), FLAT_COIL)
def test_flat_coil(turned, change, references, frequency, resistance, inductance):
    ring = turned.bar("go", 1.9, 2.1, 0.2, 0.235, material=RESISTIVE)
    found = change(frequency, ring, (-0.035, 0.0))
    for value, reference, quantity, unit, rtol in (
        (found[1], inductance, "L", "nH", 5e-3),
        (found[0], resistance, "R", "mohm", 1e-2),
    ):
        references.compare(
            found=value,
            reference=reference,
            rtol=rtol,
            source=SOURCE,
            item=f"change of {quantity}, flat coil 1.9 to 2.1 mm, {frequency:.0e} Hz",
            unit=unit,
            reason="uniform density in the table, 1/r in a ring of one turn: about 0.2 % in L, 0.3 % in R",
            mark="computed independently",
        )
