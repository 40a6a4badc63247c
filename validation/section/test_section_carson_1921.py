"""Two round wires with skin and proximity effect.

Source: J. R. Carson, "Wave propagation over parallel wires: the proximity effect", Philosophical Magazine 41
(1921) 607-633 (theory from memory; the paper's own numbers were not at hand). The reference is the multipole
series derived from it, solver.formulas.two_wires_impedance, whose table validation/formulas checks; the limits
are exact textbook formulas. Copper 58 MS/m, radius 0.5 mm.
"""

import math

import pytest

from solver.formulas import two_wires_impedance, two_wires_perfect_inductance, two_wires_uniform_inductance

SOURCE = "J. R. Carson, Philosophical Magazine 41 (1921) 607: two round wires"
COPPER = 5.8e7
RADIUS = 0.5
SPACINGS = [1.5, 5.0]
FREQUENCIES = [1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9]
INDUCTANCE_REASON = "the reference is exact to ten digits; the mesh is laid out for 0.1 % in inductance"
RESISTANCE_REASON = "the reference is exact to ten digits; surface layers laid out for 0.5 % in resistance"
SERIES = "derived (multipole series of 40 harmonics, ten digits)"
LIMIT = "from memory (exact limit)"


@pytest.fixture
def solve(fixture):
    def solved(spacing, frequency):
        wires = (fixture.wire("go", 0.0, 0.0, RADIUS), fixture.wire("return", spacing, 0.0, RADIUS))
        return fixture.solve(*wires, frequency=frequency, highest_frequency=1e9)

    return solved


@pytest.mark.parametrize("frequency", FREQUENCIES)
@pytest.mark.parametrize("spacing", SPACINGS)
def test_impedance(fixture, solve, references, spacing, frequency):
    field = solve(spacing, frequency)
    exact = two_wires_impedance(frequency, RADIUS * 1e-3, spacing * 1e-3, COPPER)
    what = f"D = {spacing / RADIUS:g} a, {frequency:.0e} Hz"
    references.compare(
        found=fixture.inductance(field),
        reference=exact.imag / (2e-9 * math.pi * frequency),
        rtol=1e-3,
        source=SOURCE,
        item=f"L', {what}",
        unit="nH/m",
        reason=INDUCTANCE_REASON,
        mark=SERIES,
    )
    references.compare(
        found=fixture.resistance(field),
        reference=exact.real,
        rtol=5e-3,
        source=SOURCE,
        item=f"R', {what}",
        unit="ohm/m",
        reason=RESISTANCE_REASON,
        mark=SERIES,
    )


@pytest.mark.parametrize("spacing", SPACINGS)
@pytest.mark.parametrize(
    ("limit", "frequency", "formula"),
    [("DC", 0.0, two_wires_uniform_inductance), ("perfect conductors", math.inf, two_wires_perfect_inductance)],
)
def test_limits(fixture, solve, references, spacing, limit, frequency, formula):
    references.compare(
        found=fixture.inductance(solve(spacing, frequency)),
        reference=formula(RADIUS * 1e-3, spacing * 1e-3) * 1e9,
        rtol=1e-3,
        source=SOURCE,
        item=f"L', D = {spacing / RADIUS:g} a, {limit}",
        unit="nH/m",
        reason=INDUCTANCE_REASON,
        mark=LIMIT,
    )
