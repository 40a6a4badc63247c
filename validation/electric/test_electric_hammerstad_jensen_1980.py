"""Microstrip on a dielectric: impedance and effective permittivity from capacitance and inductance.

Source: E. Hammerstad, O. Jensen, "Accurate models for microstrip computer-aided design", IEEE MTT-S International
Microwave Symposium Digest (1980) 407-409, eqs (1) to (5) (from memory). Stated accuracy: 0.03 % for the impedance in
air, 0.2 % for the permittivity. Z0 = sqrt(L'/C'), the permittivity is C' over that in air. The strip is 1e-5 of its
width thick; plane and dielectric reach 40 heights beyond it on each side.
"""

import math

import pytest

from solver.formulas import hammerstad_jensen_effective_permittivity, hammerstad_jensen_impedance

SOURCE = "E. Hammerstad, O. Jensen, IEEE MTT-S Digest (1980) 407: microstrip on a dielectric"
MARK = "from memory (fitted formula)"
REASON = "eq. (1) is stated to 0.03 %, eq. (3) to 0.2 %; the mesh is laid out for 0.1 %"
HEIGHT = 1.0


@pytest.mark.parametrize("permittivity", [1.0, 2.2, 4.4, 10.0])
@pytest.mark.parametrize("ratio", [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0])
def test_microstrip(fixture, references, ratio, permittivity):
    half, reach = ratio * HEIGHT / 2, ratio * HEIGHT / 2 + 40 * HEIGHT
    section = fixture.section(
        fixture.bar("strip", -half, half, 0.0, 1e-5 * ratio),
        fixture.bar("plane", -reach, reach, -HEIGHT - 0.1, -HEIGHT),
        loops=(("strip", "plane"),),
        slabs=(fixture.slab(permittivity, -reach, reach, -HEIGHT, 0.0),),
    )
    on_board = fixture.capacitance(section).between("strip", "plane")
    in_air = fixture.capacitance(section, relative_permittivity=1.0).between("strip", "plane")
    inductance = float(fixture.inductance(section, math.inf)[0, 0])
    line = (2e-3 * half, 1e-3 * HEIGHT, 0.0, permittivity)
    item = f"w/h = {ratio:g}, relative permittivity {permittivity:g}"
    values = (
        (math.sqrt(inductance / on_board), hammerstad_jensen_impedance(*line), 5e-3, f"Z0, {item}", "ohm"),
        (
            on_board / in_air,
            hammerstad_jensen_effective_permittivity(*line),
            1e-2,
            f"effective permittivity, {item}",
            "1",
        ),
    )
    for found, reference, rtol, label, unit in values:
        references.compare(
            found=found, reference=reference, rtol=rtol, source=SOURCE, item=label, unit=unit, reason=REASON, mark=MARK
        )
