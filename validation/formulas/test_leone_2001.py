"""Line current over a perfect plane of finite width.

Source of the problem: M. Leone, "Design expressions for the trace-to-edge common-mode inductance of a printed
circuit board", IEEE Transactions on Electromagnetic Compatibility 43 (2001) 667-671 (title from memory; its
figures were not at hand). Numbers computed independently from the exact map [D], checked with a Chebyshev
strip solution to 1e-5.
"""

import math

import pytest
from scipy.integrate import quad

from solver.formulas import (
    MU_0,
    finite_plane_flux_density,
    finite_plane_loop_inductance,
    finite_plane_return_density,
    net_plane_inductance,
)

NINE_DIGITS = 1e-8  # tables rounded to nine digits
EIGHT_DIGITS = 1e-7  # tables rounded to eight digits

# Computed independently [D, exact]: h mm, W mm, loop L' nH/m with r = 10 um, net plane L' nH/m.
CENTRED = [
    (0.2, 5, 738.413851, 15.9829823),
    (0.2, 10, 737.935763, 7.9978682),
    (0.2, 20, 737.815883, 3.99973338),
    (0.2, 50, 737.782291, 1.59998293),
    (0.2, 100, 737.777491, 0.799997867),
    (0.5, 5, 924.956109, 39.7380221),
    (0.5, 10, 922.02907, 19.9668158),
    (0.5, 20, 921.283725, 9.99583801),
    (0.5, 50, 921.074029, 3.99973338),
    (0.5, 100, 921.044037, 1.99996667),
    (1.5, 5, 1171.50497, 113.76498),
    (1.5, 10, 1149.37426, 59.1346095),
    (1.5, 20, 1142.98156, 29.888624),
    (1.5, 50, 1141.11585, 11.9928116),
    (1.5, 100, 1140.84645, 5.99910036),
]

# Computed independently [D, exact]: x0 mm, loop L' nH/m with r = 10 um, net plane L' nH/m; h = 0.5, W = 10
# mm.
OFFSET = [
    (0, 922.02907, 19.966816),
    (2, 922.43509, 21.75451),
    (4, 927.84891, 32.449737),
    (4.5, 939.1284, 41.900048),
    (4.9, 976.68564, 57.936369),
    (5, 995.47152, 63.7604),
]

# Computed independently [D, exact]: x mm, return density 1/m; h = 0.5, W = 10 mm.
DENSITY = [
    (0, 639.795),
    (0.2, 551.9891),
    (0.5, 321.5091),
    (1, 130.5976),
    (2, 41.06315),
    (4, 16.405),
    (4.9, 33.1316),
]

# Computed independently [D, exact]: x mm, y mm, Bx and By uT with the return in the plane, the same with the
# plane floating; h = 0.5, W = 10 mm.
FIELD = [
    (0, -0.5, -1.980198, 0, 37.82129, 0),
    (0, -1, -1.937149, 0, 37.28608, 0),
    (0, -2, -1.783799, 0, 35.35527, 0),
    (6, 0, 2.758621, -4.179519, 2.758621, 56.12275),
    (8, 0.5, 1.816181, -1.014713, -1.414851, 30.61595),
]


@pytest.mark.parametrize(("height", "width", "loop", "plane"), CENTRED)
def test_centred_line(height: float, width: float, loop: float, plane: float) -> None:
    computed = finite_plane_loop_inductance(10e-6, height * 1e-3, width * 1e-3)
    assert computed * 1e9 == pytest.approx(loop, rel=NINE_DIGITS, abs=0.0)
    assert net_plane_inductance(height * 1e-3, width * 1e-3) * 1e9 == pytest.approx(plane, rel=NINE_DIGITS, abs=0.0)


@pytest.mark.parametrize(("height", "width"), [row[:2] for row in CENTRED])
def test_centred_line_closed_forms(height: float, width: float) -> None:
    # (mu_0/2 pi) asinh(2h/W) and (mu_0/2 pi){ln(2h/r) + ln[1 + (2h/W)^2]/2}: the map written out.
    ratio = 2.0 * height / width
    plane = 2e-7 * math.asinh(ratio)
    loop = 2e-7 * (math.log(2.0 * height / 0.01) + 0.5 * math.log1p(ratio**2))
    assert net_plane_inductance(height, width) == pytest.approx(plane, rel=1e-12, abs=0.0)
    assert finite_plane_loop_inductance(0.01, height, width) == pytest.approx(loop, rel=1e-12, abs=0.0)


@pytest.mark.parametrize(("offset", "loop", "plane"), OFFSET)
def test_line_off_centre(offset: float, loop: float, plane: float) -> None:
    computed = finite_plane_loop_inductance(10e-6, 0.5e-3, 10e-3, offset * 1e-3)
    assert computed * 1e9 == pytest.approx(loop, rel=EIGHT_DIGITS, abs=0.0)
    assert net_plane_inductance(0.5e-3, 10e-3, offset * 1e-3) * 1e9 == pytest.approx(plane, rel=EIGHT_DIGITS, abs=0.0)
    assert net_plane_inductance(0.5e-3, 10e-3, -offset * 1e-3) * 1e9 == pytest.approx(plane, rel=EIGHT_DIGITS, abs=0.0)


@pytest.mark.parametrize(("x", "density"), DENSITY)
def test_return_density(x: float, density: float) -> None:
    # Given to seven digits: half a unit of 130.5976 is 4e-7.
    computed = finite_plane_return_density(x * 1e-3, 0.5e-3, 10e-3)
    assert computed == pytest.approx(density, rel=5e-7, abs=0.0)


@pytest.mark.parametrize("offset", [0.0, 3e-3, 6e-3])
def test_return_density_adds_up_to_one(offset: float) -> None:
    # x = (W/2) sin(angle) takes the edge singularity away; adaptive quadrature to 1e-10.
    def integrand(angle: float) -> float:
        density = finite_plane_return_density(5e-3 * math.sin(angle), 0.5e-3, 10e-3, offset)
        return density * 5e-3 * math.cos(angle)

    edge = 0.5 * math.pi - 1e-9
    peak = math.asin(min(offset / 5e-3, 0.999))
    total = quad(integrand, -edge, edge, limit=200, epsabs=1e-10, points=[peak])[0]
    assert total == pytest.approx(1.0, rel=1e-8, abs=0.0)


@pytest.mark.parametrize(("x", "y", "bx", "by", "floating_bx", "floating_by"), FIELD)
def test_flux_density(x: float, y: float, bx: float, by: float, floating_bx: float, floating_by: float) -> None:
    # Given to seven digits; absolute 1e-9 uT for the components that vanish by symmetry.
    returning = finite_plane_flux_density(x * 1e-3, y * 1e-3, height=0.5e-3, width=10e-3)
    floating = finite_plane_flux_density(x * 1e-3, y * 1e-3, height=0.5e-3, width=10e-3, plane_current=0.0)
    assert [b * 1e6 for b in returning] == pytest.approx([bx, by], rel=5e-7, abs=1e-9)
    assert [b * 1e6 for b in floating] == pytest.approx([floating_bx, floating_by], rel=5e-7, abs=1e-9)


def test_field_jumps_by_the_return_density() -> None:
    # Ampere's law across the plane at x = 2 mm; a distance of 1 nm from it changes the field by 1e-6 of it.
    above, below = (
        finite_plane_flux_density(2e-3, y, height=0.5e-3, width=10e-3, offset=1e-3)[0] for y in (1e-9, -1e-9)
    )
    density = finite_plane_return_density(2e-3, 0.5e-3, 10e-3, 1e-3)
    assert (above - below) / MU_0 == pytest.approx(density, rel=1e-5, abs=0.0)


def test_net_plane_inductance_is_the_flux_beside_the_plane() -> None:
    # By beyond the plane's edge, integrated to infinity with z = (W/2) cosh(v): the flux round the plane.
    def integrand(v: float) -> float:
        x = 5e-3 * math.cosh(v)
        return -finite_plane_flux_density(x, 0.0, height=0.5e-3, width=10e-3)[1] * 5e-3 * math.sinh(v)

    # Beyond v = 25 the remaining flux is e^-25; before 1e-7 the point would sit on the edge.
    flux = quad(integrand, 1e-7, 25.0, epsabs=1e-16, limit=200)[0]
    assert flux == pytest.approx(net_plane_inductance(0.5e-3, 10e-3), rel=1e-6, abs=0.0)


def test_line_level_with_the_plane() -> None:
    # At height 0 beyond the edge s_0 is real: L' = (mu_0/2 pi) ln[(2/r)(x_0^2 - b^2)/b], b = W/2. A height of
    # 1e-3 times x_0 changes it by about its square.
    x0, b, r = 2.0, 1.0, 1e-4
    expected = 2e-7 * math.log(2.0 / r * (x0**2 - b**2) / b)
    assert finite_plane_loop_inductance(r, 1e-3, 2.0 * b, x0) == pytest.approx(expected, rel=1e-6, abs=0.0)
