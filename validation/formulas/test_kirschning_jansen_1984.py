"""Two equal microstrips side by side.

Source: M. Kirschning, R. H. Jansen, "Accurate wide-range design equations for the frequency-dependent characteristic
of parallel coupled microstrip lines", IEEE Transactions on Microwave Theory and Techniques 32 (1984) 83-90, static
part (coefficients from memory). They are held here by the deviations, given to six digits, of an independent
implementation from an exact solution in air, whose inductances are given to eight digits.
"""

import pytest

from solver.formulas import (
    SPEED_OF_LIGHT,
    coupled_microstrip_even_impedance,
    coupled_microstrip_even_permittivity,
    coupled_microstrip_odd_impedance,
    coupled_microstrip_odd_permittivity,
)

# w/h, s/h, exact L' even and odd in nH/m in air, deviation of the formulas from them in percent.
EXACT = [
    (0.2, 0.15, 1090.338, 367.66599, -0.36595144, -0.5500125),
    (0.2, 1.0, 871.34354, 603.94099, -0.11802534, -0.26733502),
    (0.5, 5.0, 568.53374, 543.56183, -0.2887962, -0.086823388),
    (1.0, 0.5, 531.40371, 298.06246, -0.010740966, -0.10510824),
    (2.0, 5.0, 305.2485, 288.65655, -0.090805718, 0.25069672),
    (5.0, 0.15, 191.35874, 117.30938, 0.15842104, 0.65612925),
]


@pytest.mark.parametrize(("width", "gap", "even", "odd", "even_off", "odd_off"), EXACT)
def test_deviation_from_the_exact_solution_in_air(width, gap, even, odd, even_off, odd_off):
    # Deviations to seven digits of their own, inductances to eight: 2e-8 of the impedance.
    for function, exact, off in (
        (coupled_microstrip_even_impedance, even, even_off),
        (coupled_microstrip_odd_impedance, odd, odd_off),
    ):
        found = function(width, gap, 1.0, 1.0) / SPEED_OF_LIGHT * 1e9
        assert found == pytest.approx(exact * (1 + off / 100), rel=5e-8, abs=0)


@pytest.mark.parametrize("function", [coupled_microstrip_even_permittivity, coupled_microstrip_odd_permittivity])
def test_without_dielectric_the_permittivity_is_one(function):
    assert function(1.0, 0.5, 1.0, 1.0) == pytest.approx(1.0, rel=1e-14)
