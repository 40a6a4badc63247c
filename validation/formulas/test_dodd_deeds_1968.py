"""A line current and a circular loop over a conducting slab, and the field behind it.

Source: C. V. Dodd, W. E. Deeds, "Analytical solutions to eddy-current probe-coil problems", Journal of
Applied Physics 39 (1968) 2829-2838 (reflection and transmission of a plate, re-derived for a line
current and for one thin turn [D]). The tables were computed independently, copper 58 MS/m; the transmission agreed
with an integration of the field equation to 3e-15, the loop's resistance with the Joule heat in the plate to 1e-13.
"""

import math

import mpmath  # type: ignore[import-untyped]  # publishes no types
import pytest

from solver.formulas import (
    circle_axis_field,
    circle_field_behind_slab,
    circle_slab_impedance,
    coaxial_circles_mutual,
    diffusion_constant,
    field_behind_slab,
    surface_resistance,
)

COPPER = 5.8e7

# Computed independently [D, exact], t = 35 um: h mm, frequency Hz, |Hx/Hx0| directly behind at z = 0.5 mm and at z = 1
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
    # Given to six digits: half a unit of 1.07823 is 5e-6.
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


# Computed independently [D, exact], loop of 2 mm radius: t um, h mm, frequency Hz, change of R mohm, of L nH,
# |H/H0| on the axis 0.5, 1 and 2 mm below the upper face.
LOOP = [
    (18, 0.1, 1e5, 1.101426, -0.9548449, 0.8526344, 0.849041, 0.820975),
    (18, 0.1, 1e6, 10.2437, -4.814833, 0.1220584, 0.1643887, 0.1805489),
    (18, 0.1, 3e6, 15.39113, -5.60033, 0.03389927, 0.05167834, 0.06075898),
    (18, 0.1, 1e7, 18.66048, -5.829735, 0.009856639, 0.01520957, 0.01804142),
    (18, 0.1, 3e7, 24.80155, -5.872046, 0.002997904, 0.004636437, 0.005507666),
    (18, 0.1, 1e8, 49.70423, -5.92293, 0.0005022787, 0.0007805256, 0.0009296679),
    (18, 0.1, 3e8, 87.43832, -5.95846, 3.924875e-05, 6.11977e-05, 7.302843e-05),
    (18, 0.2, 1e5, 0.8929737, -0.8256563, 0.8525881, 0.8473363, 0.817162),
    (18, 0.2, 1e6, 6.643258, -3.751507, 0.1329766, 0.169362, 0.1794901),
    (18, 0.2, 3e6, 8.472336, -4.148386, 0.03833541, 0.0539446, 0.06053887),
    (18, 0.2, 1e7, 9.375076, -4.228526, 0.01118536, 0.01590044, 0.01798244),
    (18, 0.2, 3e7, 12.29185, -4.242966, 0.003404271, 0.004848308, 0.005489938),
    (18, 0.2, 1e8, 24.51265, -4.267498, 0.0005711654, 0.0008166189, 0.0009267458),
    (18, 0.2, 3e8, 42.81549, -4.284765, 4.467604e-05, 6.405118e-05, 7.280278e-05),
    (18, 0.36, 1e5, 0.6664909, -0.6645387, 0.851819, 0.8439985, 0.8108206),
    (18, 0.36, 1e6, 3.999925, -2.682335, 0.1478901, 0.1753066, 0.1773026),
    (18, 0.36, 3e6, 4.593768, -2.866828, 0.04452342, 0.05678361, 0.05996782),
    (18, 0.36, 1e7, 4.90641, -2.895711, 0.01304469, 0.01677154, 0.01782083),
    (18, 0.36, 3e7, 6.415625, -2.901657, 0.00397325, 0.005115691, 0.005440938),
    (18, 0.36, 1e8, 12.77032, -2.914316, 0.0006677427, 0.0008622314, 0.0009185532),
    (18, 0.36, 3e8, 22.23766, -2.923254, 5.229193e-05, 6.76607e-05, 7.216355e-05),
    (18, 0.5, 1e5, 0.5283312, -0.5560012, 0.8504305, 0.8405172, 0.8050639),
    (18, 0.5, 1e6, 2.803016, -2.072008, 0.158335, 0.1787455, 0.1749976),
    (18, 0.5, 3e6, 3.09366, -2.183567, 0.04900098, 0.05855987, 0.05929273),
    (18, 0.5, 1e7, 3.273243, -2.199362, 0.01439701, 0.01732172, 0.01762542),
    (18, 0.5, 3e7, 4.27847, -2.202972, 0.004387406, 0.005284791, 0.00538148),
    (18, 0.5, 1e8, 8.511317, -2.211383, 0.000738144, 0.0008911349, 0.000908557),
    (18, 0.5, 3e8, 14.80638, -2.217328, 5.784937e-05, 6.995107e-05, 7.138052e-05),
    (18, 1, 1e5, 0.2542344, -0.3137983, 0.8405172, 0.8246558, 0.7833664),
    (18, 1, 1e6, 1.031642, -0.9442813, 0.1787455, 0.1813167, 0.1649989),
    (18, 1, 3e6, 1.086726, -0.9753888, 0.05855987, 0.06085119, 0.05606695),
    (18, 1, 1e7, 1.140225, -0.9793248, 0.01732172, 0.01806121, 0.01667549),
    (18, 1, 3e7, 1.490276, -0.9804356, 0.005284791, 0.005513366, 0.005091702),
    (18, 1, 1e8, 2.962662, -0.9833524, 0.0008911349, 0.00093054, 0.0008596453),
    (18, 1, 3e8, 5.147781, -0.9854165, 6.995107e-05, 7.309197e-05, 6.753837e-05),
    (18, 1.5, 1e5, 0.1352008, -0.1914676, 0.8246558, 0.8050639, 0.7606544),
    (18, 1.5, 1e6, 0.4574127, -0.4883677, 0.1813167, 0.1749976, 0.1539652),
    (18, 1.5, 3e6, 0.4753938, -0.5002229, 0.06085119, 0.05929273, 0.05231518),
    (18, 1.5, 1e7, 0.4978887, -0.5016893, 0.01806121, 0.01762542, 0.01556083),
    (18, 1.5, 3e7, 0.6507994, -0.502152, 0.005513366, 0.00538148, 0.00475124),
    (18, 1.5, 1e8, 1.29349, -0.5034239, 0.00093054, 0.000908557, 0.0008020712),
    (18, 1.5, 3e8, 2.246579, -0.5043243, 7.309197e-05, 7.138052e-05, 6.300984e-05),
    (35, 0.1, 1e5, 1.392994, -2.01712, 0.6721634, 0.6759721, 0.6448672),
    (35, 0.1, 1e6, 6.818473, -5.272701, 0.05373537, 0.08078832, 0.09399446),
    (35, 0.1, 3e6, 9.042906, -5.651257, 0.01681113, 0.0260523, 0.03096055),
    (35, 0.1, 1e7, 13.72106, -5.761809, 0.004357801, 0.00679843, 0.008114235),
    (35, 0.1, 3e7, 26.55114, -5.855319, 0.000759183, 0.001195431, 0.001434203),
    (35, 0.1, 1e8, 49.7704, -5.923854, 3.755853e-05, 5.954472e-05, 7.170908e-05),
    (35, 0.1, 3e8, 87.4516, -5.958452, 4.476931e-07, 7.122017e-07, 8.593336e-07),
    (35, 0.2, 1e5, 1.096565, -1.706537, 0.6741971, 0.6748485, 0.6400836),
    (35, 0.2, 1e6, 4.034051, -3.992256, 0.06052918, 0.08418279, 0.09361328),
    (35, 0.2, 3e6, 4.737588, -4.148403, 0.01910156, 0.02724731, 0.03086013),
    (35, 0.2, 1e7, 6.942984, -4.189002, 0.004961164, 0.007115785, 0.008089156),
    (35, 0.2, 3e7, 13.27069, -4.234602, 0.0008666747, 0.001252499, 0.001429984),
    (35, 0.2, 1e8, 24.53704, -4.267963, 4.296283e-05, 6.243337e-05, 7.150598e-05),
    (35, 0.2, 3e8, 42.82218, -4.284761, 5.126312e-07, 7.4703e-07, 8.56947e-07),
    (35, 0.36, 1e5, 0.7890822, -1.331223, 0.6761535, 0.6719027, 0.6320941),
    (35, 0.36, 1e6, 2.274332, -2.794644, 0.06996911, 0.08840046, 0.09267806),
    (35, 0.36, 3e6, 2.516926, -2.856627, 0.02231081, 0.02875488, 0.0305833),
    (35, 0.36, 1e7, 3.655766, -2.873644, 0.00580801, 0.007517226, 0.008018098),
    (35, 0.36, 3e7, 6.95326, -2.897285, 0.001017912, 0.001324874, 0.001417664),
    (35, 0.36, 1e8, 12.78107, -2.91456, 5.058014e-05, 6.610372e-05, 7.089876e-05),
    (35, 0.36, 3e8, 22.24118, -2.923252, 6.042435e-07, 7.913239e-07, 8.497233e-07),
    (35, 0.5, 1e5, 0.6090314, -1.086066, 0.6764939, 0.668294, 0.6248334),
    (35, 0.5, 1e6, 1.551557, -2.138935, 0.0767554, 0.0910075, 0.09159973),
    (35, 0.5, 3e6, 1.686104, -2.173965, 0.02464741, 0.02970775, 0.03024778),
    (35, 0.5, 1e7, 2.445001, -2.184324, 0.006426048, 0.007771953, 0.007931051),
    (35, 0.5, 3e7, 4.643019, -2.200056, 0.001128595, 0.001370968, 0.001402402),
    (35, 0.5, 1e8, 8.518048, -2.211546, 5.616613e-05, 6.844741e-05, 7.014024e-05),
    (35, 0.5, 3e8, 14.80873, -2.217326, 6.714937e-07, 8.196446e-07, 8.406611e-07),
    (35, 1, 1e5, 0.2705279, -0.5652081, 0.668294, 0.6494561, 0.5976813),
    (35, 1, 1e6, 0.55242, -0.961747, 0.0910075, 0.09418502, 0.08654824),
    (35, 1, 3e6, 0.5898212, -0.9707628, 0.02970775, 0.03099324, 0.02861424),
    (35, 1, 1e7, 0.8545485, -0.9739536, 0.007771953, 0.008121289, 0.007503934),
    (35, 1, 3e7, 1.619761, -0.97942, 0.001370968, 0.001435178, 0.001326926),
    (35, 1, 1e8, 2.964823, -0.9834095, 6.844741e-05, 7.17479e-05, 6.636725e-05),
    (35, 1, 3e8, 5.148603, -0.985416, 8.196446e-07, 8.597387e-07, 7.954516e-07),
    (35, 1.5, 1e5, 0.1340645, -0.3211514, 0.6494561, 0.6248334, 0.5699436),
    (35, 1.5, 1e6, 0.2425137, -0.4946144, 0.09418502, 0.09159973, 0.08073484),
    (35, 1.5, 3e6, 0.2578683, -0.4979943, 0.03099324, 0.03024778, 0.02669634),
    (35, 1.5, 1e7, 0.3736232, -0.4993234, 0.008121289, 0.007931051, 0.007000537),
    (35, 1.5, 3e7, 0.7077309, -0.5017086, 0.001435178, 0.001402402, 0.001237646),
    (35, 1.5, 1e8, 1.294405, -0.5034489, 7.17479e-05, 7.014024e-05, 6.189218e-05),
    (35, 1.5, 3e8, 2.246939, -0.5043241, 8.597387e-07, 8.406611e-07, 7.417571e-07),
]


@pytest.mark.parametrize(("thickness", "height", "frequency", "resistance", "inductance"), [row[:5] for row in LOOP])
def test_impedance_of_a_loop(
    thickness: float, height: float, frequency: float, resistance: float, inductance: float
) -> None:
    # Given to seven digits.
    change = circle_slab_impedance(frequency, 2e-3, height * 1e-3, thickness * 1e-6, COPPER)
    assert change.real * 1e3 == pytest.approx(resistance, rel=6e-7, abs=0.0)
    assert change.imag / (2.0 * math.pi * frequency) * 1e9 == pytest.approx(inductance, rel=6e-7, abs=0.0)


@pytest.mark.parametrize(
    ("thickness", "height", "frequency", "depth", "ratio"),
    [(*row[:3], depth, ratio) for row in LOOP for depth, ratio in zip((0.5, 1.0, 2.0), row[5:], strict=True)],
)
def test_field_of_a_loop_behind_the_slab(
    thickness: float, height: float, frequency: float, depth: float, ratio: float
) -> None:
    # Given to seven digits.
    field = circle_field_behind_slab(
        depth * 1e-3,
        frequency=frequency,
        radius=2e-3,
        height=height * 1e-3,
        thickness=thickness * 1e-6,
        conductivity=COPPER,
    )
    assert abs(field) / circle_axis_field(2e-3, (height + depth) * 1e-3) == pytest.approx(ratio, rel=6e-7, abs=0.0)


def test_loop_over_a_perfect_slab_sees_its_image() -> None:
    # At 1e22 S/m and 1 MHz a skin depth is 5 nm, h = 0.2 mm: the rest is of order delta/h = 3e-5.
    change = circle_slab_impedance(1e6, 2e-3, 0.2e-3, math.inf, 1e22)
    image = -coaxial_circles_mutual(2e-3, 2e-3, 0.4e-3)
    assert change.imag / (2e6 * math.pi) == pytest.approx(image, rel=1e-4, abs=0.0)


def test_loss_of_a_thick_slab_at_high_frequency_is_that_of_the_surface_current() -> None:
    # K = H_t of the loop and its image; loss R_s times the integral of K^2. In the wave domain with k = (1+j)/delta:
    # 1 + Gamma = 2 a/k + O(a/k)^2; a is about 1/h, so that the rest is about 2 delta/h = 2e-3 at 10 GHz.
    loss = circle_slab_impedance(1e10, 2e-3, 1e-3, math.inf, COPPER).real
    with mpmath.workdps(20):
        integral = mpmath.quad(
            lambda a: a * mpmath.besselj(1, 2e-3 * a) ** 2 * mpmath.exp(-2e-3 * a), [0, 1e3, 3e3, 1e4, 3e4]
        )
    expected = 2.0 * math.pi * 2e-3**2 * surface_resistance(1e10, COPPER) * float(integral)
    assert loss == pytest.approx(expected, rel=2e-3, abs=0.0)
