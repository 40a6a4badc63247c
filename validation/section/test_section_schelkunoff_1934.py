"""Coaxial line, DC to 1 GHz.

Source: S. A. Schelkunoff, "The electromagnetic theory of coaxial transmission lines and cylindrical shields",
Bell System Technical Journal 13 (1934) 532-579; the wire's formula checked against published text, the shell's,
eq. (75), from memory and checked numerically. It prints no table for this size: the values come from
solver.formulas, which validation/formulas checks. Copper 58 MS/m; radii 0.5, 1.75 and 2.0 mm.
"""

import math

import pytest

from solver.formulas import coax_dc_inductance, coax_dc_resistance, coax_external_inductance, coax_impedance

SOURCE = "S. A. Schelkunoff, Bell System Technical Journal 13 (1934) 532: coaxial line"
COPPER = 5.8e7
RADII = (0.5e-3, 1.75e-3, 2e-3)
MARK = "from memory (exact formula, checked numerically)"
REASON = "the reference is exact; the mesh is laid out for 0.1 % in inductance and 0.5 % in resistance"


@pytest.fixture
def solve(fixture):
    def solved(frequency):
        line = (fixture.wire("go", 0.0, 0.0, 0.5), fixture.shell(1.75, 2.0))
        return fixture.solve(*line, frequency=frequency, highest_frequency=1e9)

    return solved


def _impedance(frequency):
    exact = coax_impedance(frequency, *RADII, COPPER)
    return exact.real, exact.imag / (2 * math.pi * frequency)


@pytest.mark.parametrize("frequency", [0.0, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9])
def test_impedance(fixture, solve, references, frequency):
    field = solve(frequency)
    if frequency == 0:
        resistance, inductance = coax_dc_resistance(*RADII, COPPER), coax_dc_inductance(*RADII)
    else:
        resistance, inductance = _impedance(frequency)
    what = f"{frequency:.0e} Hz" if frequency else "DC"
    references.compare(
        found=fixture.inductance(field),
        reference=inductance * 1e9,
        rtol=1e-3,
        source=SOURCE,
        item=f"L', {what}",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )
    references.compare(
        found=fixture.resistance(field),
        reference=resistance,
        rtol=5e-3,
        source=SOURCE,
        item=f"R', {what}",
        unit="ohm/m",
        reason=REASON,
        mark=MARK,
    )


def test_external_inductance(fixture, solve, references):
    references.compare(
        found=fixture.inductance(solve(math.inf)),
        reference=coax_external_inductance(*RADII[:2]) * 1e9,
        rtol=1e-3,
        source=SOURCE,
        item="L', perfect conductors",
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )
