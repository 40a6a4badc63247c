"""Field behind a conducting slab.

Source: C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of
Applied Physics 39 (1968) 2829-2838 (transmission of a plate, re-derived for a line current [D]). The table
was computed independently, copper 58 MS/m, t = 35 um; the transmission agreed with an integration of the
field equation to 3e-15.
"""

import math

import mpmath  # type: ignore[import-untyped]  # publishes no types
import pytest

from solver.formulas import diffusion_constant, field_behind_slab

COPPER = 5.8e7

# Computed independently [D, exact]: h mm, frequency Hz, |Hx/Hx0| directly behind at z = 0.5 mm and at z = 1
# mm.
BEHIND = [
    (0.1, 1e5, 0.670959, 0.541376),
    (0.1, 1e6, 0.189595, 0.110318),
    (0.1, 3e6, 0.0694837, 0.0378081),
    (0.1, 1e7, 0.0187045, 0.00999555),
    (0.1, 3e7, 0.00338025, 0.00178227),
    (0.1, 1e8, 0.000171781, 8.96851e-05),
    (0.1, 3e8, 2.07549e-06, 1.07823e-06),
    (0.2, 1e5, 0.639845, 0.521525),
    (0.2, 1e6, 0.166164, 0.10164),
    (0.2, 3e6, 0.0595706, 0.034631),
    (0.2, 1e7, 0.0159325, 0.00914299),
    (0.2, 3e7, 0.00286678, 0.00162817),
    (0.2, 1e8, 0.000145222, 8.18542e-05),
    (0.2, 3e8, 1.75178e-06, 9.83616e-07),
    (0.5, 1e5, 0.562864, 0.469986),
    (0.5, 1e6, 0.120558, 0.0821106),
    (0.5, 3e6, 0.0416216, 0.0276489),
    (0.5, 1e7, 0.0110231, 0.00727964),
    (0.5, 3e7, 0.00196854, 0.00129276),
    (0.5, 1e8, 9.91711e-05, 6.486e-05),
    (0.5, 3e8, 1.19295e-06, 7.78607e-07),
    (1.5, 1e5, 0.403535, 0.353313),
    (1.5, 1e6, 0.0620426, 0.0497901),
    (1.5, 3e6, 0.0206852, 0.0165199),
    (1.5, 1e7, 0.00543339, 0.00433397),
    (1.5, 3e7, 0.00096227, 0.000766328),
    (1.5, 1e8, 4.8183e-05, 3.83268e-05),
    (1.5, 3e8, 5.77831e-07, 4.59359e-07),
]


@pytest.mark.parametrize(("height", "frequency", "half", "one"), BEHIND)
def test_shielding_directly_behind(height: float, frequency: float, half: float, one: float) -> None:
    # Printed to six digits: half a unit of 1.07823 is 5e-6.
    for depth, ratio in ((0.5e-3, half), (1.0e-3, one)):
        hx, hy = field_behind_slab(
            0.0, depth, frequency=frequency, height=height * 1e-3, thickness=35e-6, conductivity=COPPER
        )
        unshielded = 1.0 / (2.0 * math.pi * (height * 1e-3 + depth))
        assert abs(hx) / unshielded == pytest.approx(ratio, rel=5e-6, abs=0.0)
        assert hy == 0.0


@pytest.mark.parametrize("x", [0.0, 1e-3, -5e-3, 60e-3])
def test_transparent_slab_leaves_the_field_of_the_line(x: float) -> None:
    # At 1 mHz the sheet answers with (g x/2) ln(2/(g x)) of the field, g = omega mu_0 sigma t: 7e-6 at 60 mm.
    hx, hy = field_behind_slab(x, 0.5e-3, frequency=1e-3, height=0.2e-3, thickness=35e-6, conductivity=COPPER)
    square = 2.0 * math.pi * (x**2 + 0.7e-3**2)
    tolerance = 1e-5 * math.hypot(x, 0.7e-3) / square
    assert hx == pytest.approx(0.7e-3 / square, rel=0.0, abs=tolerance)
    assert hy == pytest.approx(x / square, rel=0.0, abs=tolerance)


@pytest.mark.parametrize("x", [0.3e-3, -4e-3])
def test_field_aside_against_adaptive_quadrature(x: float) -> None:
    thickness, height, depth, frequency = 35e-6, 0.2e-3, 1e-3, 3e6
    k2 = diffusion_constant(frequency, COPPER) ** 2

    def spectrum(a: mpmath.mpf) -> mpmath.mpc:
        a1 = mpmath.sqrt(a**2 + k2)
        below = (a + a1) ** 2 - (a - a1) ** 2 * mpmath.exp(-2 * a1 * thickness)
        return 4 * a * a1 * mpmath.exp(-(a1 - a) * thickness - a * (height + depth)) / below

    with mpmath.workdps(20):
        edges = [0, *(n * mpmath.pi / abs(x) for n in range(1, 80))]
        edges = [edge for edge in edges if edge < 5e4] + [mpmath.mpf("5e4")]
        across = complex(mpmath.quad(lambda a: spectrum(a) * mpmath.cos(a * x), edges) / (2 * mpmath.pi))
        up = complex(mpmath.quad(lambda a: spectrum(a) * mpmath.sin(a * x), edges) / (2 * mpmath.pi))
    hx, hy = field_behind_slab(x, depth, frequency=frequency, height=height, thickness=thickness, conductivity=COPPER)
    assert hx == pytest.approx(across, rel=1e-9, abs=0.0)
    assert hy == pytest.approx(up, rel=1e-9, abs=0.0)
