"""Field behind a thin conducting sheet.

Sources: S. Levy, "Electromagnetic shielding effect of an infinite plane conducting sheet placed between circular
coaxial coils", Proceedings of the IRE 24 (1936) 923-941; J. R. Moser, "Low-frequency shielding of a circular loop
electromagnetic field source", IEEE Transactions on Electromagnetic Compatibility 9 (1967) 6-18; J. C. Maxwell, *A
Treatise on Electricity and Magnetism*, art. 654-668, for the receding image (all from memory; the integrals are
derived [D]). The tables were computed independently, copper 58 MS/m; the sheet's closed form agreed with the exact
slab at t/1000 to 3e-6, and the receding image in time with the sheet in frequency to 3e-7.
"""

import math

import numpy as np
import pytest

from solver.formulas import (
    circle_axis_field,
    circle_field_behind_slab,
    field_behind_slab,
    receding_image_speed,
    sheet_behind_line,
    sheet_behind_line_pair,
    sheet_behind_small_loop,
    sheet_corner_frequency,
    skin_depth,
)

COPPER = 5.8e7

# Computed independently [D]: thickness um, distance mm, frequency Hz, |S| of a small loop, a line, a close pair.
SHEETS = [
    (18, 0.5, 1e4, 0.9998470886, 0.971899154, 0.9987830106),
    (18, 0.5, 1e5, 0.9885244992, 0.8107854825, 0.9591561086),
    (18, 0.5, 1e6, 0.722453495, 0.3460819644, 0.5757245254),
    (18, 1, 1e4, 0.9994109366, 0.9478709384, 0.9962153597),
    (18, 1, 1e5, 0.964095428, 0.6989391687, 0.9030016434),
    (18, 1, 1e6, 0.519970218, 0.2103632699, 0.3830870581),
    (18, 2, 1e4, 0.9978018851, 0.9064372292, 0.9888933212),
    (18, 2, 1e5, 0.9022728507, 0.5550041004, 0.7976069644),
    (18, 2, 1e6, 0.3200538479, 0.1155763236, 0.2227584104),
    (18, 5, 1e4, 0.9885244992, 0.8107854825, 0.9591561086),
    (18, 5, 1e5, 0.722453495, 0.3460819644, 0.5757245254),
    (18, 5, 1e6, 0.1418003797, 0.04808847018, 0.09544339611),
    (35, 0.5, 1e4, 0.9994420761, 0.9491343861, 0.9963822284),
    (35, 0.5, 1e5, 0.9656385157, 0.7041702936, 0.9061301446),
    (35, 0.5, 1e6, 0.5286180285, 0.2151376534, 0.3905806636),
    (35, 1, 1e4, 0.9979146107, 0.9085645357, 0.9893544168),
    (35, 1, 1e5, 0.9058649436, 0.5613152728, 0.8030160786),
    (35, 1, 1e6, 0.3273170011, 0.1185969802, 0.2282108158),
    (35, 2, 1e4, 0.9926082166, 0.8425809088, 0.9709579321),
    (35, 2, 1e5, 0.7840749633, 0.4023263221, 0.6439002168),
    (35, 2, 1e6, 0.1795190557, 0.06148526752, 0.121486364),
    (35, 5, 1e4, 0.9656385157, 0.7041702936, 0.9061301446),
    (35, 5, 1e5, 0.5286180285, 0.2151376534, 0.3905806636),
    (35, 5, 1e6, 0.07432187862, 0.02489455873, 0.04968295578),
]
# Computed independently [D], R = 2 mm, distance 1.2 mm, 35 um: time after the step s, field behind over the final one.
STEP = [
    (1e-07, 0.0512818452),
    (3e-07, 0.1494307568),
    (1e-06, 0.4324944348),
    (3e-06, 0.8126865725),
    (1e-05, 0.9840138815),
    (0.0001, 0.9999748682),
]


@pytest.mark.parametrize(("thickness", "distance", "frequency", "loop", "line", "pair"), SHEETS)
def test_transmission(
    thickness: float, distance: float, frequency: float, loop: float, line: float, pair: float
) -> None:
    # Ten digits, of which the loop's formula loses one at |p| = 4.
    given = (frequency, distance * 1e-3, thickness * 1e-6, COPPER)
    assert abs(sheet_behind_small_loop(*given)) == pytest.approx(loop, rel=1e-9, abs=0.0)
    assert abs(sheet_behind_line(*given)) == pytest.approx(line, rel=1e-9, abs=0.0)
    assert abs(sheet_behind_line_pair(*given)) == pytest.approx(pair, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("thickness", "speed"), [(18e-6, 1524.472635), (35e-6, 784.014498), (70e-6, 392.007249)])
def test_speed_of_the_receding_image(thickness: float, speed: float) -> None:
    # Ten digits.
    assert receding_image_speed(thickness, COPPER) == pytest.approx(speed, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("time", "share"), STEP)
def test_step_behind_the_sheet(time: float, share: float) -> None:
    # Ten digits.
    farther = 1.2e-3 + receding_image_speed(35e-6, COPPER) * time
    found = 1.0 - circle_axis_field(2e-3, farther) / circle_axis_field(2e-3, 1.2e-3)
    assert found == pytest.approx(share, rel=1e-9, abs=0.0)


def test_line_behind_a_sheet_is_the_slab_when_it_is_thin() -> None:
    # 1 um at 1 MHz, 66 times thinner than a skin depth; t/D = 2e-3 is the shift of the point by the thickness.
    hx, _ = field_behind_slab(0.0, 0.3e-3, frequency=1e6, height=0.2e-3, thickness=1e-6, conductivity=COPPER)
    sheet = sheet_behind_line(1e6, 0.5e-3, 1e-6, COPPER)
    assert 2.0 * math.pi * 0.5e-3 * abs(hx) == pytest.approx(abs(sheet), rel=2e-3, abs=0.0)


def test_small_loop_behind_a_sheet_is_the_slab_when_it_is_thin() -> None:
    # As above; the loop is D/100 wide, which enters squared.
    field = circle_field_behind_slab(
        0.3e-3, frequency=1e6, radius=5e-6, height=0.2e-3, thickness=1e-6, conductivity=COPPER
    )
    sheet = sheet_behind_small_loop(1e6, 0.5e-3, 1e-6, COPPER)
    assert abs(field) / circle_axis_field(5e-6, 0.5e-3) == pytest.approx(abs(sheet), rel=2e-3, abs=0.0)


@pytest.mark.parametrize("distance", [0.5e-3, 5e-3])
def test_corner_is_at_the_same_transmission_for_every_distance(distance: float) -> None:
    # |p| = 1: 0.511, 0.758 and 0.875.
    corner = sheet_corner_frequency(distance, 18e-6, COPPER)
    found = [f(corner, distance, 18e-6, COPPER) for f in (sheet_behind_line, sheet_behind_line_pair)]
    found.append(sheet_behind_small_loop(corner, distance, 18e-6, COPPER))
    assert np.abs(found) == pytest.approx([0.511086, 0.757927, 0.874679], rel=1e-6, abs=0.0)


def test_skin_depth_is_the_wrong_measure() -> None:
    # A 35 um plane is half a skin depth thick at 1 MHz, yet three times above the corner of a loop at 0.2 mm.
    assert 35e-6 / skin_depth(1e6, COPPER) == pytest.approx(0.53, abs=0.01)
    assert 1e6 / sheet_corner_frequency(0.4e-3, 35e-6, COPPER) == pytest.approx(3.2, abs=0.05)
