"""Resistance by receding surfaces.

Source: H. A. Wheeler, "Formulas for the skin effect", Proceedings of the IRE 30 (1942) 412-424 (from memory
[M]): R' = (Rs/mu_0) dL'/dn, every surface receding by n.
"""

import pytest

from solver.formulas import (
    MU_0,
    surface_resistance,
    two_wires_impedance,
    two_wires_perfect_inductance,
    two_wires_perfect_resistance,
)

COPPER = 5.8e7


@pytest.mark.parametrize("spacing", [1.1e-3, 1.5e-3, 5e-3])
def test_two_wires_resistance_is_the_slope_of_the_inductance(spacing: float) -> None:
    step = 1e-9
    rise = two_wires_perfect_inductance(0.5e-3 - step, spacing) - two_wires_perfect_inductance(0.5e-3 + step, spacing)
    rule = surface_resistance(1e9, COPPER) / MU_0 * rise / (2.0 * step)
    # Central difference: truncation (step/gap)^2 = 1e-10, rounding 1e-16 x radius/step = 5e-10 of the
    # inductance.
    assert two_wires_perfect_resistance(1e9, 0.5e-3, spacing, COPPER) == pytest.approx(rule, rel=3e-8, abs=0.0)


def test_two_wires_resistance_at_1_ghz() -> None:
    # Computed independently [M]: 7.046642634 ohm/m, ten digits.
    resistance = two_wires_perfect_resistance(1e9, 0.5e-3, 1.5e-3, COPPER)
    assert resistance == pytest.approx(7.046642634, rel=1e-9, abs=0.0)
    # With finite skin depth (0.4 % of the radius) the wires show a little more, by a tenth of that.
    exact = two_wires_impedance(1e9, 0.5e-3, 1.5e-3, COPPER).real
    assert resistance == pytest.approx(exact, rel=5e-4, abs=0.0)
