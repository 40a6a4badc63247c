"""Golden cases of emission: moments, levels and cable currents worked out by hand.

eta_0 / 4 pi is 29.979 ohm. The moment of a loop has one part of the area on the board and one of the areas that stand
on it; they are at right angles to each other.
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from geometries.operation.emission import Cable, Emission, Site
from geometries.operation.published_limits import published_limit
from solver.emission.cable import DrivingGround, node_driven_current
from solver.emission.prediction import cable_bound, closest_margin, loop_current, loop_levels
from solver.emission.variant_moment import variant_moment
from solver.variant.moments import MomentParts, parts_of_loop

EMISSION = Emission(
    current=5.0,
    frequency=400e3,
    duty=0.5,
    rise_time=1e-9,
    fall_time=1e-9,
    distance=3.0,
    site=Site.OPEN_AREA_MAXIMUM,
    limits=(published_limit("CISPR 32 class B", 3.0),),
    cable=Cable(length=1.0),
    upright_height=2e-3,
    upright_length=3e-3,
)
CURRENT = loop_current(EMISSION, None)


def result(*stretches: tuple[float, float, float], carries: bool = False) -> SimpleNamespace:
    """Stretches by lying and standing line moment and by length, without a plan."""
    parts = [(length, MomentParts(lying=lying, standing=standing)) for lying, standing, length in stretches]
    return SimpleNamespace(
        moment_parts=parts_of_loop(None, parts, carries), planned_loop=None, layout_loop=None, real_layers=None
    )


@pytest.mark.parametrize("carries", [False, True])
def test_moment_of_a_variant_from_two_stretches_of_its_section(carries: bool) -> None:
    # 3 x 10 + 1 x 5 = 35 mm2 on the board, 4 x 10 = 40 mm2 and 2 x 3 = 6 mm2 standing: sqrt(35^2 + 46^2) = 57.80 mm2.
    found = variant_moment(result((3e-3, 4e-3, 10e-3), (1e-3, 0.0, 5e-3), carries=carries), EMISSION)
    assert found.total == pytest.approx(57.801e-6, rel=1e-5, abs=0.0)


def test_area_on_the_board_alone_is_the_moment_where_nothing_stands() -> None:
    flat = result((3e-3, 0.0, 10e-3))
    assert variant_moment(flat, replace(EMISSION, upright_height=0.0)).total == pytest.approx(30e-6, rel=1e-12, abs=0.0)


def test_levels_of_a_loop():
    """20 mm2, 5 A, 400 kHz, edges of 1 ns, harmonic 250 (100 MHz), 3 m with reflection.

    Bound of the line below the corner 1/(pi t) = 318 MHz: 2 I / (pi n) = 12.7324 mA, 9.0032 mA rms. Far field twice
    1.31686e-14 f^2 m I / r = 15.808 uV/m, 23.978 dBuV/m; the near term adds 10 lg(1 + 1/(kr)^2) = 0.109 dB
    at kr = 6.2875.
    """
    bound, _ = loop_levels(EMISSION, CURRENT, 20e-6, np.array([250]))
    far = 2 * 1.31686e-14 * 1e16 * 20e-6 * 9.0032e-3 / 3
    near = 10 * math.log10(1 + 1 / 6.2875**2)
    assert bound[0] == pytest.approx(20 * math.log10(far * 1e6) + near, abs=1e-3)


def test_largest_cable_current_that_keeps_the_limit():
    """A wire of 1 m at 3 m with reflection, class B: 100 uV/m at 200 MHz, 223.9 uV/m at 300 MHz.

    50 MHz: kl = 1.04793, 2 x 29.979/3 x 1.04793 = 20.944 V/m per A, 4.775 uA. 200 MHz: kl = 4.19 is past 2.4, so 2.4
    and 47.967 V/m per A, 2.0848 uA. 300 MHz: sqrt(1.0007) x 2.4, 4.666 uA.
    """
    found = cable_bound(
        EMISSION, EMISSION.cable, CURRENT, np.array([50e6, 200e6, 300e6]), DrivingGround(copper="L2", reported=1e-10)
    )
    assert found.allowed_current == pytest.approx(2.0848e-6, rel=1e-4, abs=0.0)
    assert found.allowed_frequency == 200e6


def test_short_cable_current_that_keeps_the_limit():
    found = cable_bound(EMISSION, EMISSION.cable, CURRENT, np.array([50e6]), DrivingGround(copper="L2", reported=1e-10))
    assert found.allowed_current == pytest.approx(4.775e-6, rel=1e-3, abs=0.0)


def test_displacement_current_of_the_switch_node():
    # 2 pi x 50 MHz x 0.01 pF x 10 V = 31.416 uA.
    assert node_driven_current(10.0, 1e-14, Cable(length=1.0), 50e6) == pytest.approx(31.416e-6, rel=1e-4, abs=0.0)


def test_margin_is_the_limit_less_the_level():
    # Class B at 3 m: 40 up to 230 MHz, 47 above: 40 - 33 = 7 dB, 47 - 41 = 6 dB.
    found = closest_margin(np.array([100e6, 500e6]), np.array([33.0, 41.0]), EMISSION.limits)
    assert (found.value, found.frequency) == (pytest.approx(6.0, abs=1e-9), 500e6)
