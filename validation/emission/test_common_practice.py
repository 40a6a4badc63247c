"""Emission of a loop and of a cable in round figures.

Source: common practice of the trade: the small-loop formula 131.6e-16 f² A I / r and the cable formula
12.6e-7 f I l / r, the second with the reflection in the ground (both from memory), applied to a loop of 20 mm² that
switches 5 A at 400 kHz with edges of 1 ns, at 3 m; currents root mean square, as receivers are calibrated.
"""

import numpy as np
import pytest

from geometries.operation.emission import Cable, Emission, Site
from geometries.operation.published_limits import published_limit
from solver.emission.cable import current_for_field
from solver.emission.current import LoopCurrent, root_mean_square
from solver.emission.prediction import level, loop_levels
from solver.formulas import small_loop_far_field

PRACTICE = "Common practice, loop and cable formulas"
LIMITS = (published_limit("CISPR 32 class B", 3.0), published_limit("FCC 15.109 class B", 3.0))
EMISSION = Emission(
    current=5.0,
    frequency=400e3,
    duty=0.4,
    rise_time=1e-9,
    fall_time=1e-9,
    distance=3.0,
    site=Site.OPEN_AREA_MAXIMUM,
    limits=LIMITS,
)
EMISSION_HARMONIC = np.array([250])
CURRENT = LoopCurrent(amplitude=5.0, frequency=400e3, duty=0.4, rise_time=1e-9, fall_time=1e-9)


def compare(references, found: float, reference: float, rtol: float, item: str, unit: str, reason: str) -> None:
    references.compare(
        found=found,
        reference=reference,
        rtol=rtol,
        source=PRACTICE,
        item=item,
        unit=unit,
        reason=reason,
        mark="computed independently",
    )


def test_line_at_100_mhz(references) -> None:
    found = float(root_mean_square(CURRENT.bounds(np.array([100e6])))[0])
    compare(references, found * 1e3, 9.0, 0.05 / 9, "line of 5 A, 400 kHz, 1 ns at 100 MHz", "mA rms", "two digits")


def test_level_at_100_mhz_with_reflection(references) -> None:
    bound, _ = loop_levels(EMISSION, CURRENT, 20e-6, EMISSION_HARMONIC)
    reason = "two digits; ours has the near term, 0.1 dB"
    compare(references, float(bound[0]), 24.0, 0.5 / 24, "20 mm² loop, 100 MHz, 3 m, with reflection", "dBµV/m", reason)


def test_margin_of_that_line_is_16_db(references) -> None:
    bound, _ = loop_levels(EMISSION, CURRENT, 20e-6, EMISSION_HARMONIC)
    margin = LIMITS[0].level(100e6) - float(bound[0])
    compare(references, margin, 16.0, 0.5 / 16, "margin of that line to CISPR 32 class B", "dB", "two digits")


def test_level_of_5_ma_at_205_mhz(references) -> None:
    found = float(level(2 * small_loop_far_field(20e-6 * 5e-3, 205e6, 3.0)))
    compare(references, found, 31.0, 0.5 / 31, "20 mm², 5 mA, 205 MHz, 3 m, with reflection", "dBµV/m", "two digits")


@pytest.mark.parametrize(("megahertz", "microampere", "allowed"), [(50, 4.8, 100), (100, 2.4, 100)])
def test_cable_current_that_reaches_the_limit(references, megahertz: float, microampere: float, allowed: float) -> None:
    cable = Cable(length=1.0)
    found = current_for_field(allowed * 1e-6 / Site.OPEN_AREA_MAXIMUM.gain, cable, megahertz * 1e6, 3.0) * 1e6
    item = f"current on 1 m for {allowed} µV/m at {megahertz} MHz and 3 m"
    compare(references, found, microampere, 0.05 / microampere, item, "µA", "two digits")
